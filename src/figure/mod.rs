//! Charts as display lists.

pub mod recorder;
