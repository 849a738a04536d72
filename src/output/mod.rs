//! What leaves the program.

pub mod pdf;
