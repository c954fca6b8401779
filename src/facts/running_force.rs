//! The running force of an axis as it is known now.

use std::collections::BTreeMap;

use smallvec::SmallVec;

use crate::ledger::{Body, Ledger, Spanned, Target};
use crate::quantity::{Force, Length};

/// The force at one place of the carriage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ForceAtPosition {
    pub record: usize,
    pub position: Spanned<Length>,
    pub force: Spanned<Force>,
}

/// The latest reading at each place, in order along the axis. A record of fewer places leaves the others as they were.
/// A place read twice in one record keeps what lies farther from zero: which of the two holds nobody knows.
pub(crate) fn latest(ledger: &Ledger, axis: usize) -> Vec<ForceAtPosition> {
    since(ledger, axis, |_| true).into_values().filter_map(|all| all.last().copied()).collect()
}

/// The readings at each place, in the order they were taken: from the last record on that counts.
pub(crate) fn since(
    ledger: &Ledger,
    axis: usize,
    counts: impl Fn(usize) -> bool,
) -> BTreeMap<Length, SmallVec<[ForceAtPosition; 1]>> {
    let mut places: BTreeMap<Length, SmallVec<[ForceAtPosition; 1]>> = BTreeMap::new();
    for &record in &ledger.timeline.order {
        let Body::RunningForce(run) = &ledger.records[record].body else { continue };
        if ledger.records[record].target != Some(Target::Axis(axis)) {
            continue;
        }
        for &(position, force) in &run.readings {
            let reading = ForceAtPosition { record, position, force };
            let all = places.entry(*position).or_default();
            match all.last_mut() {
                Some(other) if other.record == record && other.force.abs() >= force.abs() => {}
                Some(other) if other.record == record => *other = reading,
                _ => {
                    if counts(record) {
                        all.clear();
                    }
                    all.push(reading);
                }
            }
        }
    }
    places
}
