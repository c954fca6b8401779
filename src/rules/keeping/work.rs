//! Who did what: the work and the readings on an axis by who signed them. Several rules ask that somebody else looks.

use std::collections::BTreeMap;

use crate::ledger::{Body, Name, Record, Spanned, Target, person_keys};
use crate::quantity::Moment;
use crate::rules::Case;
use crate::rules::facts::{LastWork, WorkByPerson};

pub(in crate::rules) fn all_work<'l>(case: &Case<'l>) -> WorkByPerson<'l> {
    let mut work = WorkByPerson::default();
    for (_, record) in case.in_order() {
        let did = match record.body {
            Body::Fasten(_) => "tightened here",
            Body::Shim(_) => "shimmed here",
            Body::Loosen(_) => "loosened here",
            Body::Inspect(_) => "inspected here",
            Body::Survey(_) => "surveyed here",
            _ => continue,
        };
        let (Some(by), Some(target)) = (&record.by, record.target) else { continue };
        let rail = target.rail();
        let theirs = work.of.entry(by.as_str()).or_default();
        for of in std::iter::once(None).chain(rail.map(Some)) {
            let all = theirs.entry((target.axis(), of)).or_default();
            if !all.iter().any(|(other, _)| *other == did) {
                all.push((did, record.place));
            }
        }
    }
    for name in work.of.keys() {
        for key in person_keys(name) {
            work.spelt.entry(key).or_default().push(name);
        }
    }
    work
}

/// Who withdrew each record that was withdrawn, in the order of those.
pub(in crate::rules) fn all_voids<'l>(case: &Case<'l>) -> Vec<(usize, &'l Spanned<Name>)> {
    let of = |void: &'l Record| match &void.body {
        Body::Void(of) if void.counts() => Some((of.withdraws?, void.by.as_ref()?)),
        _ => None,
    };
    let mut all: Vec<_> = case.ledger.records.iter().filter_map(of).collect();
    all.sort_by_key(|(withdrawn, _)| *withdrawn);
    all
}

/// The last work or reading at each address.
pub(in crate::rules) fn last_work<'l>(case: &Case<'l>) -> BTreeMap<&'l str, LastWork> {
    let mut last: BTreeMap<&str, LastWork> = BTreeMap::new();
    for (index, record) in case.in_order().filter(|(_, record)| is_work(record)) {
        let Some(on) = &record.on else { continue };
        for whole in wholes(on) {
            let at = last.entry(whole).or_default();
            at.within = Some(index);
            if whole == on.as_str() {
                at.own = Some(index);
            }
        }
    }
    last
}

fn is_work(record: &Record) -> bool {
    matches!(
        record.body,
        Body::Fasten(_) | Body::Inspect(_) | Body::Survey(_) | Body::Shim(_) | Body::RunningForce(_) | Body::Receive(_)
    )
}

/// An address and all that it is a part of: `X.a.J1`, `X.a`, `X`.
pub(in crate::rules) fn wholes(address: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(Some(address), |part| part.rsplit_once('.').map(|(whole, _)| whole))
}

/// The first release of each axis, whether or not it was withdrawn.
pub(in crate::rules) fn first_releases(case: &Case) -> Vec<Option<Moment>> {
    let mut first: Vec<Option<Moment>> = vec![None; case.machine.axes.len()];
    for record in case.records.iter().filter(|record| matches!(record.body, Body::Release(_))) {
        if let (Some(Target::Axis(axis)), Some(date)) = (record.target, record.date) {
            first[axis] = Some(first[axis].map_or(date.value, |first| first.min(date.value)));
        }
    }
    first
}
