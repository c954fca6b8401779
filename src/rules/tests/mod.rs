//! Tests of what the room does inside.

mod aligning;
mod conforms_rests;
mod gap;
mod proposed_lines;
mod registry;
mod rule_names;
mod sealed_rules;
mod tightened;
mod verdicts;
mod verdicts_of_readings;
