//! The release that is in force.

use crate::ledger::{Body, Ledger, Release, Target};

/// The release that counts for an axis: the last one.
pub(crate) fn release_of(ledger: &Ledger, axis: usize) -> Option<(usize, &Release)> {
    ledger.timeline.order.iter().rev().find_map(|index| match &ledger.records[*index] {
        record if record.target != Some(Target::Axis(axis)) => None,
        record => match &record.body {
            Body::Release(release) => Some((*index, release)),
            _ => None,
        },
    })
}
