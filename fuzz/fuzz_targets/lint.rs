#![no_main]

#[path = "../../tests/it/fuzz/lint.rs"]
mod lint;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| lint::check(bytes));
