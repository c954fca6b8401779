//! The limits in force for one machine: defaults, the shop's changes over them, the machine's over those.

use super::entries::{ENTRIES, Entry, Holds, entry};
use crate::finding::{Limit, Place};
use crate::quantity::{
    Acceleration, Amount, Dimension, Force, Length, Mass, PerKelvin, Ratio, Stiffness, Temperature, Torque, Travel,
};

/// A number as spelt, with its unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spelt {
    pub raw: String,
    pub unit: Option<String>,
}

/// One entry as a shop or machine changed it.
#[derive(Clone, Debug)]
pub struct Change {
    pub entry: &'static Entry,
    pub least: Option<Spelt>,
    pub most: Option<Spelt>,
    pub choice: Option<String>,
    pub reason: String,
    pub place: Place,
    /// `shop` or `machine`; `seal` where a release holds the limit as it stood.
    pub by: &'static str,
}

impl Change {
    /// It stands for the whole entry: a part it does not give has no limit, whatever the default is.
    fn whole(&self) -> bool {
        self.by == SEAL
    }
}

/// Who set the limits that a released axis is judged by.
pub const SEAL: &str = "seal";

/// What is in force.
#[derive(Clone, Debug, Default)]
pub struct Rulebook {
    changes: Vec<Change>,
}

impl Rulebook {
    /// Takes changes in the order of their weight: a later one of the same entry wins.
    pub fn apply(&mut self, change: Change) {
        self.changes.retain(|old| old.entry.name != change.entry.name);
        self.changes.push(change);
    }

    /// The change of an entry, where there is one.
    pub fn change(&self, name: &str) -> Option<&Change> {
        self.changes.iter().find(|change| change.entry.name == name)
    }

    /// The upper limit of an entry, with all that a finding says of it.
    pub fn most<A: Amount>(&self, name: &str) -> Option<(A, Limit)> {
        let entry = entry(name);
        let change = self.change(name);
        let value = match change {
            Some(Change { most: Some(spelt), .. }) => read(spelt),
            Some(change) if change.whole() => None,
            _ => A::read(entry.most?, None).ok(),
        }?;
        let changed = change.filter(|change| change.most.is_some());
        Some((value, limit(entry, format!("at most {value}"), changed)))
    }

    /// The lower limit of an entry, with all that a finding says of it.
    pub fn least<A: Amount>(&self, name: &str) -> Option<(A, Limit)> {
        let entry = entry(name);
        let change = self.change(name);
        let value = match change {
            Some(Change { least: Some(spelt), .. }) => read(spelt),
            Some(change) if change.whole() => None,
            _ => A::read(entry.least?, None).ok(),
        }?;
        let changed = change.filter(|change| change.least.is_some());
        Some((value, limit(entry, format!("at least {value}"), changed)))
    }

    /// Both limits of an entry as one: `10 to 11 N·m`.
    pub fn window<A: Amount>(&self, name: &str) -> Option<(A, A, Limit)> {
        let (least, mut limit) = self.least::<A>(name)?;
        let (most, upper) = self.most::<A>(name)?;
        limit.text = format!("{} to {most}", least.number());
        if limit.set_at.is_none() {
            limit.set_at = upper.set_at;
            limit.source = upper.source;
        }
        Some((least, most, limit))
    }

    /// The upper limit of a counted entry.
    pub fn most_count(&self, name: &str) -> Option<(i64, Limit)> {
        self.most::<Ratio>(name).map(|(ratio, limit)| (ratio.0 / 1_000_000_000, limit))
    }

    /// The lower limit of a counted entry.
    pub fn least_count(&self, name: &str) -> Option<(i64, Limit)> {
        self.least::<Ratio>(name).map(|(ratio, limit)| (ratio.0 / 1_000_000_000, limit))
    }

    /// The word in force for an entry that is a choice.
    pub fn choice(&self, name: &str) -> &str {
        let entry = entry(name);
        let Holds::Choice(words) = entry.holds else { return "" };
        match self.change(name) {
            Some(Change { choice: Some(word), .. }) if words.contains(&word.as_str()) => word,
            _ => words[0],
        }
    }

    /// The lower limit of an entry as a number in the plain unit.
    pub fn plain_least(&self, entry: &Entry) -> Option<String> {
        match self.change(entry.name) {
            Some(Change { least: Some(spelt), .. }) => plain(entry, spelt),
            Some(change) if change.whole() => None,
            _ => entry.least.map(str::to_string),
        }
    }

    /// The upper limit of an entry as a number in the plain unit.
    pub fn plain_most(&self, entry: &Entry) -> Option<String> {
        match self.change(entry.name) {
            Some(Change { most: Some(spelt), .. }) => plain(entry, spelt),
            Some(change) if change.whole() => None,
            _ => entry.most.map(str::to_string),
        }
    }

    /// Whether another rulebook has the same limits, wherever they come from.
    pub fn same_limits(&self, other: &Rulebook) -> bool {
        ENTRIES.iter().all(|entry| {
            self.plain_least(entry) == other.plain_least(entry)
                && self.plain_most(entry) == other.plain_most(entry)
                && self.choice(entry.name) == other.choice(entry.name)
        })
    }

    /// What a finding says of an entry's source, for limits that a rule computes.
    pub fn computed(&self, name: &str, text: String) -> Limit {
        limit(entry(name), text, None)
    }
}

fn read<A: Amount>(spelt: &Spelt) -> Option<A> {
    A::read(&spelt.raw, spelt.unit.as_deref()).ok()
}

/// A number as spelt, in the plain unit of its entry.
fn plain(entry: &Entry, spelt: &Spelt) -> Option<String> {
    fn number<A: Amount>(spelt: &Spelt) -> Option<String> {
        read::<A>(spelt).map(Amount::number)
    }
    match entry.holds {
        Holds::Amount(Dimension::Length) => number::<Length>(spelt),
        Holds::Amount(Dimension::Travel) => number::<Travel>(spelt),
        Holds::Amount(Dimension::Torque) => number::<Torque>(spelt),
        Holds::Amount(Dimension::Force) => number::<Force>(spelt),
        Holds::Amount(Dimension::Mass) => number::<Mass>(spelt),
        Holds::Amount(Dimension::Temperature) => number::<Temperature>(spelt),
        Holds::Amount(Dimension::Acceleration) => number::<Acceleration>(spelt),
        Holds::Amount(Dimension::Stiffness) => number::<Stiffness>(spelt),
        Holds::Amount(Dimension::PerKelvin) => number::<PerKelvin>(spelt),
        Holds::Amount(Dimension::Ratio) | Holds::Count => number::<Ratio>(spelt),
        Holds::Choice(_) => None,
    }
}

fn limit(entry: &'static Entry, text: String, change: Option<&Change>) -> Limit {
    let source = match change {
        Some(change) if change.whole() => change.reason.clone(),
        Some(change) => format!("set by the {}: {}", change.by, change.reason),
        None => entry.source.to_string(),
    };
    Limit { entry: Some(entry.name), text, source, set_at: change.map(|change| change.place) }
}
