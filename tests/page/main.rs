//! The case page as a reader holds it: whole, on one sheet, nothing on top of anything else.

mod content;
mod follow_up;
mod golden;
mod layout;
mod random;
mod signing;
mod support;
