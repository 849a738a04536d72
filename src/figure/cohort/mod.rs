//! The charts of the cohort summary: vectors in greys, labels beside what they name, shapes told apart without colour.

pub mod deaths;
pub mod experience;
pub mod funnel;
pub mod gradients;
pub mod oversizing;
pub mod plot;
pub mod quarters;
pub mod survival;
