//! Rules about how the record is kept.

use crate::rules::Rule;
pub mod attachment_changed;
pub mod concession_expired;
pub mod concession_idle;
pub mod concession_self;
pub mod concession_unreasoned;
pub mod date_order;
pub mod described_after;
pub mod hold_idle;
pub mod hold_in_force;
pub mod lift_idle;
pub mod lift_self;
pub mod release_altered;
pub mod release_incomplete;
pub mod release_self;
mod same_day;
pub mod service_due;
pub mod void_self;

use crate::finding::Place;
use crate::ledger::Body;
use crate::rules::Case;

/// The records of work and of readings on an axis that one person signed, the latest of each kind: what they did.
fn work_of(case: &Case, axis: usize, on: Option<crate::ledger::RailId>, by: &str) -> Vec<(&'static str, Place)> {
    let mut all: Vec<(&'static str, Place)> = Vec::new();
    for (_, record) in case.in_order() {
        let theirs = record.by.as_ref().is_some_and(|name| **name == *by);
        let here = record.target.is_some_and(|target| target.axis() == axis)
            && on.is_none_or(|rail| record.rail() == Some(rail));
        let did = match record.body {
            Body::Fasten(_) => "tightened here",
            Body::Shim(_) => "shimmed here",
            Body::Loosen(_) => "loosened here",
            Body::Inspect(_) => "inspected here",
            Body::Survey(_) => "surveyed here",
            _ => continue,
        };
        if theirs && here && !all.iter().any(|(other, _)| *other == did) {
            all.push((did, record.place));
        }
    }
    all
}

/// In the order of the catalogue.
pub static RULES: &[&Rule] = &[
    &date_order::RULE,
    &void_self::RULE,
    &described_after::RULE,
    &attachment_changed::RULE,
    &concession_expired::RULE,
    &concession_idle::RULE,
    &concession_unreasoned::RULE,
    &concession_self::RULE,
    &release_incomplete::RULE,
    &release_altered::RULE,
    &release_self::RULE,
    &service_due::RULE,
    &hold_in_force::RULE,
    &hold_idle::RULE,
    &lift_idle::RULE,
    &lift_self::RULE,
];
