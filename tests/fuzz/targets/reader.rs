//! Bytes of three tables → records.
#![no_main]

#[path = "../../support/entry.rs"]
mod entry;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let _ = entry::reader(bytes);
});
