//! The cohort summary against the definitions, worked out by hand.

mod pages;
mod second_reading;
mod support;
