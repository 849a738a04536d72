//! What leaves the program.

pub mod calendar;
pub mod folder;
pub mod ledger;
pub mod pdf;
pub mod results;
pub mod sheet_text;
pub mod verify;
pub mod worklist;
