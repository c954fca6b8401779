//! The lines that more than one message proposes, with `…` for what is to be filled in. Whoever proposes another one makes it
//! of a draft too: names are quoted there as they must be.

use super::draft::{NodeDraft, SpeltValue};
use crate::quantity::Moment;

/// The line that lifts what is held at an address.
pub(crate) fn lift_line(on: &str, disposition: &str) -> String {
    let line = NodeDraft::new("lift").value(on).property("date", SpeltValue::open_text());
    let line = line.property("by", SpeltValue::open()).property("disposition", SpeltValue::typed(disposition));
    line.property("reason", SpeltValue::open_text()).line()
}

/// The line that withdraws a record of a kind and moment.
pub(crate) fn void_line(kind: &str, on: &str, of: Option<Moment>) -> String {
    let of = of.map_or_else(SpeltValue::open_text, SpeltValue::from);
    NodeDraft::new("void").value(kind).value(on).property("of", of).unsigned().line()
}

/// The line that says why a rule does not apply at an address.
pub(crate) fn not_applicable_line(rule: &str, on: &str) -> String {
    NodeDraft::new("not-applicable").value(rule).value(on).unsigned().line()
}

/// The line that describes the support under a joint, where it is known where that lies.
pub(crate) fn joint_support_line(joint: &str, at: Option<SpeltValue>) -> String {
    let line = NodeDraft::new("joint-support").value(joint).property("at", at.unwrap_or_else(SpeltValue::open));
    line.property("length", SpeltValue::open()).line()
}
