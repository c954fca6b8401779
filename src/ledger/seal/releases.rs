//! All releases of an axis: the one in force, and what those before it still hold.
//!
//! A release that was withdrawn, or that a later one replaced, no longer holds the description: that may be worked on. It
//! still holds the records it names, since a record is added to and never rewritten.

use std::collections::BTreeSet;

use super::change::SealChange;
use super::compare::{opened, pair};
use super::digest::digest;
use super::group::{FactGroup, is_record};
use super::in_force::release_of;
use super::order;
use super::rests::{Until, groups};
use crate::ledger::{Body, Ledger, Release, SealedGroup, Target};
use crate::quantity::Moment;

/// The releases of an axis.
pub(crate) struct Releases<'l> {
    /// The last one that was not withdrawn, by its record.
    pub in_force: Option<(usize, &'l Release)>,
    /// The others by their records, each with the sealed records that changed since, and what was done to its seal.
    pub earlier: Vec<(usize, Vec<SealChange>)>,
}

impl<'l> Releases<'l> {
    pub(crate) fn for_axis(ledger: &'l Ledger, axis: usize) -> Releases<'l> {
        let in_force = release_of(ledger, axis);
        let others = ledger.records.iter().enumerate().filter_map(|(index, record)| match &record.body {
            Body::Release(release) if record.target == Some(Target::Axis(axis)) => Some((index, release)),
            _ => None,
        });
        let others = others.filter(|(index, _)| in_force.is_none_or(|(own, _)| own != *index));
        let others: Vec<(usize, &Release)> = others.collect();
        if others.is_empty() {
            return Releases { in_force, earlier: Vec::new() };
        }
        let last = Moment { date: jiff::civil::Date::MAX, minute: None };
        let now = groups(ledger, axis, Until { moment: last, record: None });
        let now: Vec<FactGroup> = now.into_iter().filter(|group| is_record(&group.name)).collect();
        let unchanged: BTreeSet<(String, String)> = now
            .iter()
            .map(|group| {
                let facts = group.facts.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
                (group.name.clone(), digest(&group.name, group.ordered, facts))
            })
            .collect();
        let earlier = others
            .into_iter()
            .map(|(index, release)| (index, changed_records(ledger, index, release, &now, &unchanged)));
        Releases { in_force, earlier: earlier.collect() }
    }
}

/// The records that a release names and that are not there any more as it names them.
fn changed_records(
    ledger: &Ledger,
    index: usize,
    release: &Release,
    now: &[FactGroup],
    unchanged: &BTreeSet<(String, String)>,
) -> Vec<SealChange> {
    if release.seal.is_none() {
        return Vec::new();
    }
    let (sealed, unsound, mut all) = opened(ledger, index, release);
    order::changes(ledger, &sealed, now, &mut all);
    let sealed: Vec<&SealedGroup> = sealed.into_iter().filter(|group| is_record(&group.name)).collect();
    if sealed.iter().all(|group| unchanged.contains(&(group.name.clone(), group.digest.clone()))) {
        return all;
    }
    pair(sealed, now.to_vec(), unsound, &mut all);
    // What came since was not named.
    all.retain(|change| !matches!(change, SealChange::Group { old: None, .. }));
    all
}
