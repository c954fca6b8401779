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

/// The release that services of an axis are counted from: the one in force, or where that replaces others the first of those,
/// since replacing a release services nothing.
pub(crate) fn serviced_from(ledger: &Ledger, axis: usize) -> Option<usize> {
    let (mut first, mut release) = release_of(ledger, axis)?;
    // Each is earlier than the one before, so this ends.
    while let Some(moment) = release.supersedes {
        let earlier = ledger.timeline.order.iter().rev().find_map(|index| match &ledger.records[*index].body {
            Body::Release(other)
                if ledger.records[*index].target == Some(Target::Axis(axis))
                    && ledger.records[*index].date.is_some_and(|date| date.is_meant_by(*moment))
                    && ledger.after(first, *index) =>
            {
                Some((*index, other))
            }
            _ => None,
        });
        let Some(earlier) = earlier else { break };
        (first, release) = earlier;
    }
    Some(first)
}

/// The last release of an axis that was withdrawn.
pub(crate) fn last_withdrawn(ledger: &Ledger, axis: usize) -> Option<usize> {
    let withdrawn = |index: &usize| {
        let record = &ledger.records[*index];
        !record.counts() && record.target == Some(Target::Axis(axis)) && matches!(record.body, Body::Release(_))
    };
    (0..ledger.records.len()).filter(withdrawn).max_by_key(|index| ledger.timeline.place[*index])
}
