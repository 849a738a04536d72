//! Bytes of three tables → pages.
#![no_main]

#[path = "../../support/entry.rs"]
mod entry;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    entry::pages(bytes);
});
