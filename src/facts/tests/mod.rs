//! Tests of what the room does inside.

mod angles;
mod lines;
mod lying;
