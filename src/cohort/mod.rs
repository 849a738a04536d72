//! What the cases of a period add up to.

pub mod statistics;
