//! The charts of the cohort summary.

pub mod gradients;
pub mod plot;
