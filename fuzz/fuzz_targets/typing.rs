#![no_main]

#[path = "../../tests/it/fuzz/typing.rs"]
mod typing;

// The server turns a panic of its own into an answer, which the check then finds: the panic itself must not end the run before.
libfuzzer_sys::fuzz_target!(
    init: drop(std::panic::take_hook()),
    |bytes: &[u8]| typing::check(bytes)
);
