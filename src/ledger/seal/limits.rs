//! The limits in force as facts of a seal, and by which limits an axis is judged: a released one by those of its seal.
//!
//! Whoever names or applies a limit of an axis asks here, so that rules, papers, tables and plans say the same.

use std::collections::BTreeMap;

use super::facts::Fact;
use super::group::{FactGroup, LIMITS};
use super::in_force::release_of;
use crate::finding::Place;
use crate::language::rulebook::{ENTRIES, LimitChange, LimitType, Rulebook, SEAL, SpeltNumber};
use crate::ledger::Ledger;

/// Every limit as it stands, each part in the plain unit.
pub(super) fn group(book: &Rulebook) -> FactGroup {
    let mut facts = Vec::new();
    let mut fact = |entry: &str, what: &str, value: String| {
        facts.push(Fact { address: format!("{entry} {what}"), value, place: Place::default() });
    };
    for entry in ENTRIES.iter().filter(|entry| !entry.is_of_today()) {
        if let LimitType::Choice(_) = entry.holds {
            fact(entry.name, "is", book.choice(entry.limit).to_string());
        }
        let (least, most) = (book.plain_least(entry), book.plain_most(entry));
        if let Some(least) = &least {
            fact(entry.name, "least", least.clone());
        }
        if let Some(most) = &most {
            fact(entry.name, "most", most.clone());
        }
        if let Some(over) = book.plain_over(entry) {
            fact(entry.name, "over", over);
        }
        if least.is_none() && most.is_none() && !matches!(entry.holds, LimitType::Choice(_)) {
            fact(entry.name, "none", "no limit was stated".into());
        }
        if book.change(entry.limit).is_some() {
            fact(entry.name, "source", book.source(entry));
        }
    }
    FactGroup { name: LIMITS.into(), facts, place: Place::default(), ordered: false, record: None }
}

/// The limits that an axis is judged by: those of its seal where it is released, and today's otherwise. Of a limit that
/// is not today's the source says both.
pub(crate) fn limits_applying(ledger: &Ledger, axis: usize) -> &Rulebook {
    sealed_limits(ledger, axis).unwrap_or(&ledger.rulebook)
}

/// The limits that an axis is judged by, where its seal holds others than today's.
pub(crate) fn sealed_limits(ledger: &Ledger, axis: usize) -> Option<&Rulebook> {
    let of = |axis| of_release(ledger, axis);
    let all = ledger.sealed_limits.get_or_init(|| (0..ledger.machine.axes.len()).map(of).collect());
    all.get(axis)?.as_ref()
}

/// Today's limits with those over them that a release holds otherwise; nothing where it holds none otherwise.
fn of_release(ledger: &Ledger, axis: usize) -> Option<Rulebook> {
    let (index, release) = release_of(ledger, axis)?;
    let group = release.groups.iter().find(|group| group.name == LIMITS)?;
    let date = ledger.records[index].date.map_or(String::new(), |date| format!(" of {}", date.value));
    let today = &ledger.rulebook;
    let sealed: BTreeMap<(&str, &str), (&str, Place)> = group
        .facts
        .iter()
        .filter_map(|(address, value, place)| Some((address.split_once(' ')?, (value.as_str(), *place))))
        .rev()
        .collect();
    let mut others = None;
    for entry in ENTRIES.iter().filter(|entry| !entry.is_of_today()) {
        let of = |what| sealed.get(&(entry.name, what)).copied();
        let parts = [of("least"), of("most"), of("is"), of("none")];
        // A limit that the program learnt after the release is not in the seal: today's default holds.
        let Some((_, place)) = parts.into_iter().flatten().next() else { continue };
        let [least, most, choice, _] = parts.map(|part| part.map(|(value, _)| value.to_string()));
        let change = LimitChange {
            entry,
            least: least.map(|raw| SpeltNumber { raw, unit: None }),
            most: most.map(|raw| SpeltNumber { raw, unit: None }),
            over: of("over").map(|(raw, _)| SpeltNumber { raw: raw.to_string(), unit: None }),
            choice,
            reason: String::new(),
            place,
            by: SEAL,
            farther: None,
        };
        let mut alone = Rulebook::default();
        alone.apply(change.clone());
        if !alone.same_limit(today, entry) {
            let source = of("source").map_or(entry.source, |(text, _)| text);
            let reason = format!(
                "{source}; as sealed with the release{date}, whereas today's is {} ({})",
                today.printed(entry),
                today.source(entry)
            );
            others.get_or_insert_with(|| today.clone()).apply(LimitChange { reason, ..change });
        }
    }
    others
}
