//! Tests of what the room does inside.

mod disk;
mod git;
mod ledgers;
mod touched;
