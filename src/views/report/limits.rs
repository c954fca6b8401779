//! The limits in force for a machine: every entry of the rulebook, what is derived where one states none, what seals of its axes hold otherwise, and the windows
//! of fasteners of its own.

use std::collections::{BTreeMap, BTreeSet};

use super::gather::ReportBuilder;
use super::model::LimitInForce;
use crate::facts::expansion::beam;
use crate::facts::survey::subject;
use crate::facts::survey_doubt::{ClosureBasis, closure_limit};
use crate::facts::survey_state::CurrentSurveys;
use crate::facts::torque_window::{INTERFACES, fastener};
use crate::facts::{seam_clearance, stagger};
use crate::language::rulebook::{ENTRIES, LimitEntry, LimitName, Rulebook};
use crate::ledger::seal::{limits_applying, sealed_limits};
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::{Amount, Length};

impl ReportBuilder<'_> {
    pub(super) fn limits(&self) -> Vec<LimitInForce> {
        let rulebook = &self.case.ledger.rulebook;
        let mut limits: Vec<LimitInForce> = Vec::new();
        for entry in ENTRIES {
            let derived = self.derived(entry);
            let stated = of_entry(rulebook, entry);
            limits.push(if derived.is_empty() { stated } else { LimitInForce { limit: DERIVED.into(), ..stated } });
            limits.extend(derived);
        }
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
                        derived: false,
                    });
                }
            }
        }
        limits
    }

    /// The limits of an entry that nobody states, as the rules derive them from what is described.
    fn derived(&self, entry: &LimitEntry) -> Vec<LimitInForce> {
        let all: Vec<(String, String, String)> = match entry.limit {
            LimitName::Stagger => self.staggers(),
            LimitName::SeamClearance => self.seam_clearances(),
            LimitName::SurveyClosure => self.closures(),
            _ => Vec::new(),
        };
        let row = |(on, limit, from)| LimitInForce {
            entry: format!("{} of {on}", entry.name),
            axis: None,
            what: entry.what.to_string(),
            limit,
            source: format!("derived: {from}"),
            changed: false,
            derived: true,
        };
        all.into_iter().map(row).collect()
    }

    /// Of each two rails of an axis that both have joints: on which, the limit, and what it is derived from.
    fn staggers(&self) -> Vec<(String, String, String)> {
        let ledger = self.case.ledger;
        let jointed: Vec<RailId> =
            self.case.rails().filter(|(_, _, rail)| !rail.joints.is_empty()).map(|(id, ..)| id).collect();
        let mut all = Vec::new();
        for (at, a) in jointed.iter().enumerate() {
            for b in jointed[at + 1..].iter().filter(|b| b.axis == a.axis) {
                let limits = limits_applying(ledger, a.axis);
                if limits.least::<Length>(LimitName::Stagger).is_some() {
                    continue;
                }
                let basis = stagger::Needs::of_pair(ledger, *a, *b).basis();
                let Some(((_, limit), basis)) = stagger::required(ledger, limits, *a, *b).zip(basis) else { continue };
                let on = [*a, *b].map(|id| ledger.machine.rail_address(id)).join(" and ");
                all.push((on, limit.text(), basis));
            }
        }
        all
    }

    /// Of the joints over beams with seams, those with one limit together.
    fn seam_clearances(&self) -> Vec<(String, String, String)> {
        let ledger = self.case.ledger;
        let mut all: Vec<(String, String, String)> = Vec::new();
        for (id, axis, rail) in self.case.rails() {
            let limits = limits_applying(ledger, id.axis);
            let over_seams = beam(axis, rail).is_some_and(|beam| !beam.seams.is_empty());
            if !over_seams || limits.least::<Length>(LimitName::SeamClearance).is_some() {
                continue;
            }
            let mut by_length: BTreeMap<Length, Vec<&str>> = BTreeMap::new();
            for joint in 0..rail.joints.len() {
                if let Some(covers) = seam_clearance::covered(ledger, id, joint) {
                    by_length.entry(covers).or_default().push(&rail.joints[joint].name);
                }
            }
            for (covers, joints) in by_length {
                let first = rail.joints.iter().position(|joint| *joint.name == *joints[0]).unwrap_or(0);
                let (_, limit) = seam_clearance::required(ledger, limits, id, first);
                let on = format!("{}.{}", ledger.machine.rail_address(id), joints.join(", "));
                all.push((on, limit.text(), format!("half of what the support under the joint covers, {covers}")));
            }
        }
        all
    }

    /// Of the surveys as they count now.
    fn closures(&self) -> Vec<(String, String, String)> {
        let ledger = self.case.ledger;
        let mut all = Vec::new();
        for (id, ..) in self.case.rails() {
            let limits = limits_applying(ledger, id.axis);
            for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
                for plane in CurrentSurveys::planes(ledger, id, kind) {
                    let latest = plane.latest().and_then(|record| plane.readings(ledger, record));
                    let Some(readings) = latest else { continue };
                    let Some(limit) = closure_limit(ledger, limits, readings.survey) else { continue };
                    if limit.basis == ClosureBasis::Stated {
                        continue;
                    }
                    let with = readings
                        .survey
                        .gauge
                        .as_ref()
                        .map_or(String::new(), |gauge| format!(", with {gauge}", gauge = **gauge));
                    let on = format!("the {} of {}{with}", subject(kind), ledger.machine.rail_address(id));
                    let (limit, from) = limit.derived();
                    all.push((on, limit, from));
                }
            }
        }
        all.sort();
        all.dedup();
        all
    }
}

/// Stands for a limit that is another one from place to place.
const DERIVED: &str = "derived, as below";

fn of_entry(rulebook: &Rulebook, entry: &LimitEntry) -> LimitInForce {
    LimitInForce {
        entry: entry.name.to_string(),
        axis: None,
        what: entry.what.to_string(),
        limit: rulebook.printed(entry),
        source: rulebook.source(entry),
        changed: rulebook.change(entry.limit).is_some(),
        derived: false,
    }
}
