//! Tests of what the room does inside.

mod gap;
mod registry;
mod rule_names;
mod verdicts;
mod verdicts_of_readings;
