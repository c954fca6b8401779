//! Tests of what the room does inside.

mod lines;
mod lying;
