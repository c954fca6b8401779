//! Who did what: the work and the readings on an axis by who signed them. Several rules ask that somebody else looks.

use crate::ledger::{Body, Target, person_keys};
use crate::quantity::Moment;
use crate::rules::Case;
use crate::rules::facts::WorkByPerson;

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
