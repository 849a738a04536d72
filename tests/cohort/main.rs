//! The cohort summary against the definitions, worked out by hand.

mod by_hand;
mod edges;
mod pages;
mod properties;
mod released;
mod reviews;
mod second_reading;
mod support;
