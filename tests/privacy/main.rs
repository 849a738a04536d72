//! What may be seen of a patient, and by whom: modes of files, logs, data about the data, de-identified results.

#[path = "../support/generate/mod.rs"]
mod generate;
#[path = "../cli/support.rs"]
mod support;
#[path = "../support/traces.rs"]
mod traces;

mod deidentified;
mod logs;
mod modes;
mod words;
