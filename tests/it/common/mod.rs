//! What the tests of the whole program share: what unit tests share too, the program itself, and a terminal.

pub(crate) mod program;
pub(crate) mod python;
pub(crate) mod terminal;
#[path = "../../../src/testing/mod.rs"]
mod testing;

pub(crate) use testing::*;

/// Whether tests that go through very many cases are to try each of them, as `.ci/run all` asks.
pub(crate) fn whole() -> bool {
    std::env::var_os("WAYLEDGER_WHOLE").is_some()
}

/// Of very many cases every so manieth, always the same ones; all where the whole is asked for.
pub(crate) fn share<T>(cases: impl IntoIterator<Item = T>, every: usize) -> impl Iterator<Item = T> {
    cases.into_iter().step_by(if whole() { 1 } else { every })
}
