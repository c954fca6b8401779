#![no_main]

#[path = "../../tests/it/fuzz/quantities.rs"]
mod quantities;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| quantities::check(bytes));
