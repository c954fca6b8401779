//! Rules about how the record is kept.

pub mod attachment_changed;
pub mod concession_expired;
pub mod concession_idle;
pub mod concession_self;
pub mod concession_unreasoned;
pub mod date_order;
pub mod described_after;
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
