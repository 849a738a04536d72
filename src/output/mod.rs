//! What leaves the program.

pub mod calendar;
pub mod changes;
pub mod described;
pub mod disk;
pub mod earlier;
pub mod folder;
pub mod ledger;
mod lock;
pub mod pdf;
pub mod results;
pub mod sheet_text;
pub mod stream;
pub mod verify;

pub use lock::{LOCK, Standing};
pub mod worklist;
