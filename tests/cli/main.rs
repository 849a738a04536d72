//! The program as people run it: arguments in, files, messages and exit codes out.

mod columns;
mod compare;
mod export;
mod faults;
mod joined;
mod keeping;
mod packet;
mod pages;
mod report;
mod since;
mod support;
#[path = "../support/traces.rs"]
mod traces;
