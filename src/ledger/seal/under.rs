//! The records that a release names: those that stood there when it was written.

use std::collections::{BTreeMap, BTreeSet};

use super::digest::digest;
use super::in_force::release_of;
use super::rests::{about, heads, of_record, record_name};
use crate::ledger::Ledger;

/// The records under the release that counts for an axis; none where it is not released. A record is known by what it
/// says, or where that was altered since, by what it is called. A release without a seal names nothing: then it is what
/// comes before it.
pub(crate) fn records_under(ledger: &Ledger, axis: usize) -> BTreeSet<usize> {
    let Some((index, release)) = release_of(ledger, axis) else { return BTreeSet::new() };
    let own = (0..ledger.records.len()).filter(|record| about(ledger, axis, *record));
    if release.groups.is_empty() {
        // A withdrawn record has no place in the order: its date tells.
        let date = |record: usize| ledger.records[record].date.map(|date| date.value);
        let before = |record: &usize| match ledger.timeline.rank[*record] {
            Some(_) => ledger.after(index, *record),
            None => date(*record).is_some_and(|own| Some(own) <= date(index)),
        };
        return own.filter(before).collect();
    }
    let mut exact: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut called: BTreeMap<&str, usize> = BTreeMap::new();
    for group in &release.groups {
        *exact.entry((group.name.clone(), group.digest.clone())).or_default() += 1;
        *called.entry(&group.name).or_default() += 1;
    }
    let heads = heads(ledger);
    let mut under = BTreeSet::new();
    let mut altered = Vec::new();
    for record in own {
        let Some(group) = of_record(&heads, &ledger.records[record]) else { continue };
        let facts = group.facts.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
        let digest = digest(&group.name, group.ordered, facts);
        match exact.get_mut(&(group.name.clone(), digest)) {
            Some(left) if *left > 0 => {
                *left -= 1;
                if let Some(left) = called.get_mut(group.name.as_str()) {
                    *left -= 1;
                }
                under.insert(record);
            }
            _ => altered.push((record, group.name)),
        }
    }
    for (record, name) in altered {
        if let Some(left) = called.get_mut(name.as_str()).filter(|left| **left > 0) {
            *left -= 1;
            under.insert(record);
        }
    }
    under
}

/// The records about an axis that came since it was released, by their names, in their order.
pub(crate) fn added_since(ledger: &Ledger, axis: usize) -> Vec<String> {
    let under = records_under(ledger, axis);
    let added = |index: &usize| about(ledger, axis, *index) && !under.contains(index);
    let mut added: Vec<usize> = (0..ledger.records.len()).filter(added).collect();
    added.sort_by_key(|index| ledger.timeline.place[*index]);
    added.into_iter().map(|index| record_name(&ledger.records[index])).collect()
}
