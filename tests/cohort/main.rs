//! The cohort summary against the definitions, worked out by hand.

mod by_hand;
#[path = "../support/by_hand.rs"]
mod by_hand_records;
mod earlier;
mod edges;
mod experience;
mod first_page;
mod pages;
mod properties;
mod released;
mod reviews;
mod second_reading;
mod support;
