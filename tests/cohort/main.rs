//! The cohort summary against the definitions, worked out by hand.

mod second_reading;
mod support;
