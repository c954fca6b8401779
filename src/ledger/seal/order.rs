//! In what order the records under a seal count where their own dates and times do not say it, and which of them withdraw or
//! correct which: what is known from where records stand in their files, and would else change with nothing else.
//!
//! A seal holds such an order for each pair of records of one day that touch the same thing, a support, a joint, the surveys
//! of a rail, and only where it was certain. Where it was not, it meant nothing, or `date-order` asked for the time and the
//! axis was not released.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::change::SealChange;
use super::digest::digest;
use super::facts::Fact;
use super::group::{FactGroup, ORDER, WITHDRAWN, is_about_others, is_record};
use super::rests::record_name;
use super::subjects::{ChainLink, ChainSubject, touched};
use crate::finding::Place;
use crate::ledger::{Body, Ledger, SealedGroup};

/// More records that touch one thing on one day are held each against the one before it only.
const FEW: usize = 64;

/// The order of some records, and which withdraw which, as groups of facts; those that hold nothing are left out.
pub(super) fn groups(ledger: &Ledger, all: &[FactGroup]) -> Vec<FactGroup> {
    let records: Vec<&FactGroup> = all.iter().filter(|group| group.record.is_some()).collect();
    let labels = labels(records.iter().map(|group| group.name.as_str()));
    let indexes: Vec<usize> = records.iter().filter_map(|group| group.record).collect();
    let label: BTreeMap<usize, &String> = indexes.iter().copied().zip(&labels).collect();
    let fact =
        |address: &str, value: &str| Fact { address: address.into(), value: value.into(), place: Place::default() };
    let order = pairs(ledger, &indexes).into_iter().map(|(first, then)| fact(label[&then], label[&first])).collect();
    let meant = |index: &usize| {
        let of = meant(ledger, *index)?;
        Some(fact(label[index], &label.get(&of).map_or_else(|| record_name(&ledger.records[of]), |of| (*of).clone())))
    };
    let withdrawn: Vec<Fact> = indexes.iter().filter_map(meant).collect();
    let group = |(name, facts): (&str, Vec<Fact>)| FactGroup {
        name: name.into(),
        facts,
        place: Place::default(),
        record: None,
        ordered: false,
    };
    [(ORDER, order), (WITHDRAWN, withdrawn)].into_iter().filter(|(_, facts)| !facts.is_empty()).map(group).collect()
}

/// Names with a number behind those that stand there before.
fn labels<'n>(names: impl Iterator<Item = &'n str>) -> Vec<String> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let label = |name| {
        let count = seen.entry(name).or_default();
        *count += 1;
        if *count == 1 { name.to_string() } else { format!("{name} #{count}") }
    };
    names.map(label).collect()
}

/// The record that a void withdraws, or a correction stands for.
fn meant(ledger: &Ledger, index: usize) -> Option<usize> {
    let record = &ledger.records[index];
    match &record.body {
        Body::Void(void) => void.withdraws,
        _ => record.stands_for,
    }
}

/// The pairs of records, the first of each before the other, whose order hangs on where they stand.
fn pairs(ledger: &Ledger, records: &[usize]) -> BTreeSet<(usize, usize)> {
    let date = |index: usize| ledger.records[index].date.map(|date| *date);
    let mut of_day: BTreeMap<Option<Date>, Vec<usize>> = BTreeMap::new();
    for &index in records {
        of_day.entry(date(index).map(|date| date.date)).or_default().push(index);
    }
    let mut pairs = BTreeSet::new();
    for day in of_day.values() {
        let minutes: BTreeSet<Option<u16>> = day.iter().map(|index| date(*index).and_then(|it| it.minute)).collect();
        if day.len() < 2 || minutes.len() == day.len() && !minutes.contains(&None) {
            continue;
        }
        let mut touching: BTreeMap<ChainSubject, Vec<(usize, ChainLink)>> = BTreeMap::new();
        for &index in day {
            touched(ledger, index, |subject, touch| {
                let all = touching.entry(subject).or_default();
                match all.last_mut() {
                    Some((last, how)) if *last == index => *how = (*how).min(touch),
                    _ => all.push((index, touch)),
                }
            });
        }
        for all in touching.values() {
            for (at, (then, how)) in all.iter().enumerate() {
                let reach = if all.len() > FEW { 1 } else { at };
                for (first, its) in all[..at].iter().rev().take(reach) {
                    let minutes = [*first, *then].map(|index| date(index).and_then(|it| it.minute));
                    let told = minutes[0].is_some() && minutes[1].is_some() && minutes[0] != minutes[1];
                    let matters = [*how, *its].contains(&ChainLink::Changes);
                    if matters && !told && ledger.timeline.certain(&ledger.records, *first, *then) {
                        pairs.insert((*first, *then));
                    }
                }
            }
        }
    }
    pairs
}

/// What is no longer so of the order that a seal holds, and of what withdraws what.
pub(super) fn changes(ledger: &Ledger, sealed: &[&SealedGroup], now: &[FactGroup], all: &mut Vec<SealChange>) {
    if !sealed.iter().any(|group| [ORDER, WITHDRAWN].contains(&group.name.as_str())) {
        return;
    }
    let records: Vec<&SealedGroup> = sealed.iter().copied().filter(|group| is_record(&group.name)).collect();
    let labels = labels(records.iter().map(|group| group.name.as_str()));
    let known = matched(&records, now);
    let of: BTreeMap<&str, (usize, usize)> = labels
        .iter()
        .zip(&known)
        .enumerate()
        .filter_map(|(at, (label, index))| Some((label.as_str(), (at, (*index)?))))
        .collect();
    for group in sealed.iter().filter(|group| is_about_others(&group.name)) {
        for (address, value, place) in &group.facts {
            let Some(&(_, index)) = of.get(address.as_str()) else { continue };
            let first = of.get(value.as_str());
            match (group.name.as_str(), first) {
                (ORDER, Some((_, first))) if !still_before(ledger, *first, index) => {
                    all.push(SealChange::Swapped {
                        first: (value.clone(), ledger.records[*first].place),
                        then: (address.clone(), ledger.records[index].place),
                        sealed: *place,
                    });
                }
                (WITHDRAWN, was) => {
                    let now_means = meant(ledger, index);
                    let same = |at: usize, of: usize| {
                        // Of records that say the same it does not matter which one is meant.
                        known[at] == Some(of) || {
                            let twin =
                                |it: &&SealedGroup| (&it.name, &it.digest) == (&records[at].name, &records[at].digest);
                            records.iter().zip(&known).any(|(it, known)| *known == Some(of) && twin(it))
                        }
                    };
                    let unchanged = now_means.is_some_and(|of| match was {
                        Some((at, _)) => same(*at, of),
                        None => record_name(&ledger.records[of]) == *value || labels.contains(value),
                    });
                    if !unchanged {
                        all.push(SealChange::Meant {
                            by: (address.clone(), ledger.records[index].place),
                            was: value.clone(),
                            now: now_means.map(|of| ledger.records[of].place),
                            sealed: *place,
                        });
                    }
                }
                _ => {}
            }
        }
    }
}

/// Whether a record certainly counts before another.
fn still_before(ledger: &Ledger, first: usize, then: usize) -> bool {
    ledger.timeline.place[first] < ledger.timeline.place[then] && ledger.timeline.certain(&ledger.records, first, then)
}

/// For each sealed record the one that stands there now: the same one, or where that was altered one of its name.
fn matched(sealed: &[&SealedGroup], now: &[FactGroup]) -> Vec<Option<usize>> {
    let mut same: BTreeMap<(String, String), Vec<usize>> = BTreeMap::new();
    for group in now.iter().rev() {
        let facts = group.facts.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
        let digest = digest(&group.name, group.ordered, facts);
        same.entry((group.name.clone(), digest)).or_default().extend(group.record);
    }
    let exact = |group: &&SealedGroup| same.get_mut(&(group.name.clone(), group.digest.clone()))?.pop();
    let mut found: Vec<Option<usize>> = sealed.iter().map(exact).collect();
    let mut left: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for ((name, _), records) in same {
        left.entry(name).or_default().extend(records);
    }
    for (group, found) in sealed.iter().zip(&mut found) {
        if found.is_none() {
            *found = left.get_mut(group.name.as_str()).and_then(Vec::pop);
        }
    }
    found
}
