//! The running force of an axis as it is known now.

use std::collections::BTreeMap;

use smallvec::SmallVec;

use crate::finding::Place;
use crate::ledger::{Axis, Body, ForceRow, Ledger, Target};
use crate::quantity::{Force, Length};

/// The force at one place of the carriage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ForceAtPosition<'l> {
    pub record: usize,
    pub row: &'l ForceRow,
    /// Its size; of repeats their mean, rounded up to the smallest unit.
    pub size: Force,
}

/// The latest reading at each place, in order along the axis. A record of fewer places leaves the others as they were.
/// A place read twice in one record keeps what lies farther from zero: which of the two holds nobody knows.
pub(crate) fn latest(ledger: &Ledger, axis: usize) -> Vec<ForceAtPosition<'_>> {
    since(ledger, axis, |_| true).into_values().filter_map(|all| all.last().copied()).collect()
}

/// The greatest of the latest; of those that are alike the first.
pub(crate) fn greatest(ledger: &Ledger, axis: usize) -> Option<ForceAtPosition<'_>> {
    latest(ledger, axis).into_iter().reduce(|most, it| if it.size > most.size { it } else { most })
}

/// The readings at each place, in the order they were taken: from the last record on that counts.
pub(crate) fn since(
    ledger: &Ledger,
    axis: usize,
    counts: impl Fn(usize) -> bool,
) -> BTreeMap<Length, SmallVec<[ForceAtPosition<'_>; 1]>> {
    let mut places: BTreeMap<Length, SmallVec<[ForceAtPosition; 1]>> = BTreeMap::new();
    for &record in &ledger.timeline.order {
        let Body::RunningForce(run) = &ledger.records[record].body else { continue };
        if ledger.records[record].target != Some(Target::Axis(axis)) {
            continue;
        }
        for row in &run.rows {
            let reading = ForceAtPosition { record, row, size: row.size() };
            let all = places.entry(*row.position).or_default();
            match all.last_mut() {
                Some(other) if other.record == record && other.size >= reading.size => {}
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

/// Whether a reading with the carriage's middle at one place says how it runs at another: it reaches over it. Nothing where
/// nobody says how long the carriage is.
pub(crate) fn reaches(axis: &Axis, read_at: Length, place: Length) -> Option<bool> {
    let length = axis.carriage.as_ref().and_then(|carriage| carriage.length)?;
    Some((read_at - place).abs() <= Length(length.nm() / 2))
}

/// A place where the running force is to be read.
pub(crate) struct ForcePlace {
    pub what: String,
    pub at: Length,
    pub described: Place,
}

/// Both ends of the stroke and every joint between them; nothing where no stroke is stated.
pub(crate) fn places(axis: &Axis) -> Vec<ForcePlace> {
    let Some(stroke) = axis.stroke else { return Vec::new() };
    let (from, to) = (*stroke.from, *stroke.to);
    let end = |what: &str, at| ForcePlace { what: what.into(), at, described: stroke.place };
    let mut places = vec![end("the near end of the stroke", from), end("the far end of the stroke", to)];
    for rail in &axis.rails {
        let passed = rail.joints.iter().filter(|joint| joint.position >= from && joint.position <= to);
        places.extend(passed.map(|joint| ForcePlace {
            what: format!("{} of {}", joint.name, *rail.name),
            at: joint.position,
            described: joint.place,
        }));
    }
    places
}
