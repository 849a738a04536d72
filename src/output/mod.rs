//! What leaves the program.

pub mod pdf;
pub mod results;
pub mod sheet_text;
