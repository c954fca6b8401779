//! What the tests of the whole program share: what unit tests share too, the program itself, and a terminal.

pub(crate) mod program;
pub(crate) mod python;
pub(crate) mod terminal;
#[path = "../../../src/testing/mod.rs"]
mod testing;

pub(crate) use testing::*;
