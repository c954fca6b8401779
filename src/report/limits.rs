//! The limits in force for a machine: every entry of the rulebook, and the windows of fasteners of its own.

use std::collections::BTreeSet;

use super::{Gather, LimitInForce};
use crate::finding::Value;
use crate::quantity::{
    Acceleration, Amount, Dimension, Force, Length, Mass, PerKelvin, Ratio, Stiffness, Temperature, Torque, Travel,
};
use crate::rulebook::{ENTRIES, Entry, Holds, Rulebook};
use crate::rules::fitting::{INTERFACES, fastener};
use crate::seal::limits_of;

impl Gather<'_> {
    pub(super) fn limits(&self) -> Vec<LimitInForce> {
        let rulebook = &self.case.ledger.rulebook;
        let mut limits: Vec<LimitInForce> = ENTRIES.iter().map(|entry| of_entry(rulebook, entry)).collect();
        // A released axis is judged by the limits of its seal: those that are others today are said.
        for (index, axis) in self.case.ledger.machine.axes.iter().enumerate() {
            let Some(sealed) = limits_of(self.case.ledger, index) else { continue };
            for (at, entry) in ENTRIES.iter().enumerate() {
                let it = of_entry(&sealed, entry);
                if it.limit != limits[at].limit {
                    limits.push(LimitInForce { entry: format!("{} for axis {}", it.entry, *axis.name), ..it });
                }
            }
        }
        let mut seen = BTreeSet::new();
        for (id, ..) in self.case.rails() {
            for fastener in INTERFACES.into_iter().filter_map(|interface| fastener(self.case.ledger, id, interface)) {
                if !seen.insert(fastener.name.as_str()) {
                    continue;
                }
                for (stage, window) in [("full", &fastener.full), ("snug", &fastener.snug)] {
                    let Some(window) = window else { continue };
                    limits.push(LimitInForce {
                        entry: format!("{} {stage}", *fastener.name),
                        what: format!("the {stage} torque of this fastener, instead of the general window"),
                        limit: format!("{} to {}", window.least.number(), window.most),
                        source: format!("set for the fastener: {}", window.reason),
                        changed: true,
                    });
                }
            }
        }
        limits
    }
}

fn of_entry(rulebook: &Rulebook, entry: &Entry) -> LimitInForce {
    let change = rulebook.change(entry.name);
    let limit = match entry.holds {
        Holds::Choice(_) => Some(rulebook.choice(entry.name).to_string()),
        Holds::Count => printed::<Ratio>(rulebook, entry.name),
        Holds::Amount(dimension) => match dimension {
            Dimension::Length => printed::<Length>(rulebook, entry.name),
            Dimension::Travel => printed::<Travel>(rulebook, entry.name),
            Dimension::Torque => printed::<Torque>(rulebook, entry.name),
            Dimension::Force => printed::<Force>(rulebook, entry.name),
            Dimension::Mass => printed::<Mass>(rulebook, entry.name),
            Dimension::Temperature => printed::<Temperature>(rulebook, entry.name),
            Dimension::Acceleration => printed::<Acceleration>(rulebook, entry.name),
            Dimension::Stiffness => printed::<Stiffness>(rulebook, entry.name),
            Dimension::PerKelvin => printed::<PerKelvin>(rulebook, entry.name),
            Dimension::Ratio => printed::<Ratio>(rulebook, entry.name),
        },
    };
    LimitInForce {
        entry: entry.name.to_string(),
        what: entry.what.to_string(),
        limit: limit.unwrap_or_else(|| "none".into()),
        source: match change {
            Some(change) => format!("set by the {}: {}", change.by, change.reason),
            None => entry.source.to_string(),
        },
        changed: change.is_some(),
    }
}

fn printed<A: Amount + Into<Value>>(rulebook: &Rulebook, name: &str) -> Option<String> {
    let window = rulebook.window::<A>(name).map(|(_, _, limit)| limit);
    let limit = window
        .or_else(|| rulebook.most::<A>(name).map(|(_, limit)| limit))
        .or_else(|| rulebook.least::<A>(name).map(|(_, limit)| limit))?;
    Some(limit.text())
}
