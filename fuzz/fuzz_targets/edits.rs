#![no_main]

#[path = "../../tests/it/fuzz/edits.rs"]
mod edits;

// The second reader may stop on a text, which refuses the edit and is no failure of ours: that thread's panic must not
// end the run. A panic of the target itself still does.
libfuzzer_sys::fuzz_target!(
    init: drop(std::panic::take_hook()),
    |bytes: &[u8]| edits::check(bytes)
);
