//! The limits in force for a machine: every entry of the rulebook, what seals of its axes hold otherwise, and the windows
//! of fasteners of its own.

use std::collections::BTreeSet;

use super::gather::ReportBuilder;
use super::model::LimitInForce;
use crate::facts::torque_window::{INTERFACES, fastener};
use crate::language::rulebook::{ENTRIES, LimitEntry, Rulebook};
use crate::ledger::seal::sealed_limits;
use crate::quantity::Amount;

impl ReportBuilder<'_> {
    pub(super) fn limits(&self) -> Vec<LimitInForce> {
        let rulebook = &self.case.ledger.rulebook;
        let mut limits: Vec<LimitInForce> = ENTRIES.iter().map(|entry| of_entry(rulebook, entry)).collect();
        // A released axis is judged by the limits of its seal: those that are others today are said beside them.
        for (index, axis) in self.case.ledger.machine.axes.iter().enumerate() {
            let Some(sealed) = sealed_limits(self.case.ledger, index) else { continue };
            for entry in ENTRIES.iter().filter(|entry| sealed.sealed(entry.limit).is_some()) {
                let it = of_entry(sealed, entry);
                limits.push(LimitInForce {
                    entry: format!("{} for axis {}", it.entry, *axis.name),
                    axis: Some(axis.name.to_string()),
                    ..it
                });
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
                        axis: None,
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

fn of_entry(rulebook: &Rulebook, entry: &LimitEntry) -> LimitInForce {
    LimitInForce {
        entry: entry.name.to_string(),
        axis: None,
        what: entry.what.to_string(),
        limit: rulebook.printed(entry),
        source: rulebook.source(entry),
        changed: rulebook.change(entry.limit).is_some(),
    }
}
