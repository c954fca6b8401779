//! Records that say the same in another order: of one day and file, their order says what was done first.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::ledger::Ledger;
use crate::ledger::seal::FactGroup;

/// The days whose records came into another order.
pub(super) fn reordered(before: (&Ledger, &[FactGroup]), after: (&Ledger, &[FactGroup])) -> Vec<Date> {
    let old = sequence(before.0, before.1);
    let new = sequence(after.0, after.1);
    let mut places: BTreeMap<&str, Option<(usize, usize)>> = BTreeMap::new();
    for (place, (_, said, record)) in old.iter().enumerate() {
        // Of two that say the same nobody can tell which is which.
        places.entry(said).and_modify(|place| *place = None).or_insert(Some((place, *record)));
    }
    let common: Vec<(Date, usize, usize, usize)> = new
        .iter()
        .filter_map(|(date, said, record)| {
            let (place, was) = (*places.get(said.as_str())?)?;
            Some((*date, place, was, *record))
        })
        .collect();
    let mut days: Vec<Date> = common
        .windows(2)
        .filter(|pair| {
            let (first, second) = (pair[0], pair[1]);
            let certain = |ledger: &Ledger, a: usize, b: usize| ledger.timeline.certain(&ledger.records, a, b);
            first.0 == second.0
                && first.1 > second.1
                && certain(before.0, first.2, second.2)
                && certain(after.0, first.3, second.3)
        })
        .map(|pair| pair[0].0)
        .collect();
    days.dedup();
    days
}

/// Day, words and index of each record, in the order they count.
fn sequence(ledger: &Ledger, groups: &[FactGroup]) -> Vec<(Date, String, usize)> {
    let said: BTreeMap<_, &FactGroup> = groups.iter().map(|group| (group.place, group)).collect();
    let of = |index: &usize| {
        let record = &ledger.records[*index];
        let group = said.get(&record.place)?;
        let facts = group.facts.iter().flat_map(|fact| [fact.address.as_str(), &fact.value]);
        let said: Vec<&str> = std::iter::once(group.name.as_str()).chain(facts).collect();
        Some((record.date?.date, said.join("\0"), *index))
    };
    ledger.timeline.order.iter().filter_map(of).collect()
}
