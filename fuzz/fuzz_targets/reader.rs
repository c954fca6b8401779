#![no_main]

#[path = "../../tests/it/fuzz/reader.rs"]
mod reader;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reader::check(bytes));
