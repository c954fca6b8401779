//! Tests of what the room does inside.

mod causes;
mod history;
mod layout_planned;
mod looser;
mod not_judged;
mod shims_planned;
mod surveys_tied;
mod what_if;
mod withdrawn;
