//! Numbers under attack: random cases whose results must not depend on how the tables are written, must not get milder
//! where the measurement gets worse, and must be the same wherever they are told.

#[path = "../support/generate/mod.rs"]
mod generate;
#[path = "../cli/support.rs"]
mod support;
#[path = "../support/traces.rs"]
mod traces;

mod everywhere;
mod hard;
mod order;
mod pages;
mod worse;
