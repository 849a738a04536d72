//! What the page says.
