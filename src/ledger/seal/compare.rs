//! What changed under a seal: each change by its group and address, with the old value and the new one.

use std::collections::BTreeMap;

use super::EDITION;
use super::change::SealChange;
use super::digest::{digest, seal};
use super::facts::Fact;
use super::group::{FactGroup, is_about_others, is_ordered};
use super::order;
use super::rests::{Until, groups, own_facts};
use crate::finding::Place;
use crate::ledger::{Ledger, Release, SealedGroup};

/// All that changed since the release of an axis that record `index` is.
pub(crate) fn changes(ledger: &Ledger, axis: usize, index: usize, release: &Release) -> Vec<SealChange> {
    let record = &ledger.records[index];
    let Some(date) = record.date else { return Vec::new() };
    if release.seal.is_none() {
        return vec![SealChange::Unsealed { place: record.place }];
    }
    let (mut sealed, unsound, mut all) = opened(ledger, index, release);
    if all.iter().any(|change| matches!(change, SealChange::Edition { .. })) {
        return all;
    }
    let now = groups(ledger, axis, Until { moment: date.value, record: Some(index) });
    order::changes(ledger, &sealed, &now, &mut all);
    sealed.retain(|group| !is_about_others(&group.name));
    pair(sealed, now, unsound, &mut all);
    all
}

/// The groups of a seal that fit their digests, the names of those that do not, and what is wrong with the seal itself. Of an
/// edition that is not known nothing is.
pub(super) fn opened<'r>(
    ledger: &Ledger,
    index: usize,
    release: &'r Release,
) -> (Vec<&'r SealedGroup>, Vec<&'r str>, Vec<SealChange>) {
    let place = ledger.records[index].place;
    let edition = release.edition.map(|edition| *edition);
    if edition != Some(EDITION) {
        return (Vec::new(), Vec::new(), vec![SealChange::Edition { edition, place }]);
    }
    let mut all = Vec::new();
    let own = own_facts(ledger, index);
    let own = own.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
    let pairs = release.groups.iter().map(|group| (group.name.as_str(), group.digest.as_str()));
    if release.seal.as_ref().is_none_or(|written| seal(own, pairs) != written.as_str()) {
        all.push(SealChange::Seal { group: None, place });
    }
    let sound = |group: &SealedGroup| {
        let facts = group.facts.iter().map(|(address, value, _)| (address.as_str(), value.as_str()));
        digest(&group.name, is_ordered(&group.name), facts) == group.digest
    };
    let mut sealed: Vec<&SealedGroup> = Vec::new();
    let mut unsound: Vec<&str> = Vec::new();
    for group in &release.groups {
        if sound(group) {
            sealed.push(group);
        } else {
            all.push(SealChange::Seal { group: Some(group.name.clone()), place: group.place });
            unsound.push(&group.name);
        }
    }
    (sealed, unsound, all)
}

/// What differs between the groups of one ledger at two times.
pub(crate) fn differences(before: &[FactGroup], now: Vec<FactGroup>) -> Vec<SealChange> {
    let seal = |group: &FactGroup| {
        let facts = group.facts.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
        SealedGroup {
            place: group.place,
            name: group.name.clone(),
            digest: digest(&group.name, group.ordered, facts),
            facts: group.facts.iter().map(|fact| (fact.address.clone(), fact.value.clone(), fact.place)).collect(),
        }
    };
    let before: Vec<SealedGroup> = before.iter().map(seal).collect();
    let mut all = Vec::new();
    pair(before.iter().collect(), now, Vec::new(), &mut all);
    all
}

/// A sealed group beside the one that stands there now.
type SealedPair<'s> = (&'s SealedGroup, FactGroup);

/// Brings what was sealed and what is there together: what is the same first, then what has the same name, then what
/// is most alike of the same kind.
pub(super) fn pair(sealed: Vec<&SealedGroup>, now: Vec<FactGroup>, unsound: Vec<&str>, all: &mut Vec<SealChange>) {
    let key = |name: &str, digest: &str| format!("{name}\n{digest}");
    let mut same: BTreeMap<String, usize> = BTreeMap::new();
    for group in &sealed {
        *same.entry(key(&group.name, &group.digest)).or_default() += 1;
    }
    let mut left_now: Vec<FactGroup> = Vec::new();
    for group in now {
        let facts = group.facts.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
        match same.get_mut(&key(&group.name, &digest(&group.name, group.ordered, facts))) {
            Some(count) if *count > 0 => *count -= 1,
            _ => left_now.push(group),
        }
    }
    let mut left_sealed: Vec<&SealedGroup> = Vec::new();
    for group in sealed.into_iter().rev() {
        match same.get_mut(&key(&group.name, &group.digest)) {
            Some(count) if *count > 0 => {
                *count -= 1;
                left_sealed.push(group);
            }
            _ => {}
        }
    }
    left_sealed.reverse();
    // What a group that was tampered with held is not known, so what stands there now is compared with nothing.
    for name in unsound {
        if let Some(at) = left_now.iter().position(|group| group.name == name) {
            left_now.remove(at);
        }
    }

    let mut pairs: Vec<SealedPair> = Vec::new();
    left_sealed.retain(|group| match left_now.iter().position(|other| other.name == group.name) {
        Some(at) => {
            pairs.push((*group, left_now.remove(at)));
            false
        }
        None => true,
    });
    left_sealed.retain(|group| match most_alike(group, &left_now) {
        Some(at) => {
            pairs.push((*group, left_now.remove(at)));
            false
        }
        None => true,
    });
    for (old, new) in pairs {
        facts(old, &new, all);
    }
    for group in left_sealed {
        all.push(SealChange::Group { name: group.name.clone(), old: Some(group.place), new: None });
    }
    for group in left_now {
        all.push(SealChange::Group { name: group.name, old: None, new: Some(group.place) });
    }
}

/// The group of the same kind that shares most facts with a sealed one, and at least half of them.
fn most_alike(sealed: &SealedGroup, now: &[FactGroup]) -> Option<usize> {
    let kind = |name: &str| name.split(' ').next().unwrap_or("").to_string();
    let alike = |group: &FactGroup| {
        let held = |fact: &&Fact| sealed.facts.iter().any(|(at, value, _)| *at == fact.address && *value == fact.value);
        group.facts.iter().filter(held).count()
    };
    // Few groups are left over where something changed; many only where nearly all did, and then likeness says little.
    let best = now
        .iter()
        .enumerate()
        .take(64)
        .filter(|(_, group)| kind(&group.name) == kind(&sealed.name))
        .map(|(at, group)| (alike(group), at))
        .max_by_key(|(count, at)| (*count, usize::MAX - at))?;
    (best.0 * 2 >= sealed.facts.len().max(1)).then_some(best.1)
}

/// The facts of one group that differ.
fn facts(old: &SealedGroup, new: &FactGroup, all: &mut Vec<SealChange>) {
    let before = all.len();
    let known: BTreeMap<&str, &Fact> = new.facts.iter().map(|fact| (fact.address.as_str(), fact)).collect();
    let mut gone: Vec<(&str, &str, Place)> = Vec::new();
    let mut kept: Vec<&str> = Vec::new();
    for (address, value, place) in &old.facts {
        match known.get(address.as_str()) {
            Some(fact) => {
                kept.push(address);
                if fact.value != *value {
                    all.push(SealChange::Fact {
                        group: old.name.clone(),
                        address: address.clone(),
                        old: Some((value.clone(), *place)),
                        new: Some((fact.value.clone(), fact.place)),
                    });
                }
            }
            None => gone.push((address, value, *place)),
        }
    }
    kept.sort_unstable();
    let mut come: Vec<&Fact> =
        new.facts.iter().filter(|fact| kept.binary_search(&fact.address.as_str()).is_err()).collect();
    for (address, value, place) in gone {
        // A row whose own name changed: the next new one of the same word.
        let word = |address: &str| address.split(' ').next().unwrap_or("").to_string();
        let renamed = come.iter().position(|fact| word(&fact.address) == word(address));
        let new = renamed.map(|at| come.remove(at)).map(|fact| (fact.value.clone(), fact.place));
        all.push(SealChange::Fact {
            group: old.name.clone(),
            address: address.to_string(),
            old: Some((value.to_string(), place)),
            new,
        });
    }
    for fact in come {
        all.push(SealChange::Fact {
            group: old.name.clone(),
            address: fact.address.clone(),
            old: None,
            new: Some((fact.value.clone(), fact.place)),
        });
    }
    if all.len() == before {
        all.push(SealChange::Order { group: old.name.clone(), old: old.place, new: new.place });
    }
}
