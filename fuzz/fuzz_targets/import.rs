#![no_main]

#[path = "../../tests/it/fuzz/import.rs"]
mod import;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| import::check(bytes));
