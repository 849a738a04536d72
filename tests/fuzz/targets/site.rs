//! Bytes of a site file.
#![no_main]

#[path = "../../support/entry.rs"]
mod entry;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    entry::site(bytes);
});
