//! Torques against their window: shared by the rules on full torque and on snug torque, which differ in the stage only.
//!
//! What counts is what each bolt holds now. A torque that a later one of the same stage replaced, or that was slackened
//! since, is history: reworking a bolt ends its nonconformity. One that does not count, since its wrench cannot vouch for
//! it, replaces none.

use std::collections::BTreeMap;

use super::{INTERFACES, bolts_of, fastener, of_day, shown};
use crate::finding::{Grade, Limit, Measure, Place};
use crate::language::rulebook::InForce;
use crate::ledger::{Body, Fastener, Interface, RailId, Stage, Window as OwnWindow, Word};
use crate::quantity::Torque;
use crate::rules::facts::Torques;
use crate::rules::{Case, Findings};

/// A torque that is not in the window.
struct Off {
    support: usize,
    bolt: usize,
    torque: Torque,
    place: Place,
    by: Torque,
}

/// What a torque window comes from. It is put into words where a finding needs them.
#[derive(Clone, Copy, Debug)]
pub enum Stated<'l> {
    /// The fastener's own.
    Own(&'l Fastener, &'l OwnWindow),
    Rulebook(InForce<'l>),
}

impl Stated<'_> {
    /// `10 to 11 N·m`.
    pub fn text(&self) -> String {
        match self {
            Stated::Own(_, window) => format!("{} to {}", number(window.least), shown(window.most)),
            Stated::Rulebook(limit) => limit.text(),
        }
    }

    /// All that a finding says of it.
    pub fn words(&self) -> Limit {
        match self {
            Stated::Own(fastener, window) => Limit {
                entry: None,
                text: self.text(),
                source: format!("fastener `{}`: {}", *fastener.name, window.reason),
                set_at: Some(window.place),
            },
            Stated::Rulebook(limit) => limit.words(),
        }
    }
}

impl From<Stated<'_>> for Limit {
    fn from(stated: Stated<'_>) -> Limit {
        stated.words()
    }
}

/// The window of an interface and stage: the fastener's own, else that of the limits that apply to the axis.
pub fn window<'l>(
    case: &Case<'l>,
    id: RailId,
    interface: Interface,
    stage: Stage,
) -> Option<(Torque, Torque, Stated<'l>)> {
    let own = fastener(case.ledger, id, interface).and_then(|fastener| {
        let window = if stage == Stage::Full { &fastener.full } else { &fastener.snug };
        window.as_ref().map(|window| (fastener, window))
    });
    if let Some((fastener, window)) = own {
        return Some((window.least, window.most, Stated::Own(fastener, window)));
    }
    let (least, most, limit) =
        case.limits(id.axis).window::<Torque>(if stage == Stage::Full { "full-torque" } else { "snug-torque" })?;
    Some((least, most, Stated::Rulebook(limit)))
}

fn number(torque: Torque) -> String {
    shown(torque).trim_end_matches(" N·m").to_string()
}

/// Judges every torque of a stage that bolts hold now.
pub fn check(case: &Case, findings: &mut Findings, stage: Stage) {
    let fastenings: Vec<_> = case.in_order().filter_map(|(index, _)| of_stage(case, index, stage)).collect();
    for (id, _, rail) in case.rails() {
        for interface in INTERFACES {
            let of_rail = fastenings.iter().filter(|(rail, which, _)| *rail == id && *which == interface);
            let mut of_rail = of_rail.map(|(.., torques)| *torques).peekable();
            if of_rail.peek().is_none() {
                continue;
            }
            let Some((least, most, limit)) = window(case, id, interface, stage) else { continue };
            // Mostly nothing was ever out of it, so that what the bolts hold now need not be known.
            if of_rail.all(|torques| !torques.unset && torques.within(Some(least), Some(most))) {
                continue;
            }
            let window = Window { id, interface, stage, least, most, limit };
            // For each record that clicked, the supports that rest on its setting.
            let mut clicked: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
            for support in 0..rail.supports.len() {
                let (mut low, mut high) = (Vec::new(), Vec::new());
                let bolts = case.held_back(id, support, interface, stage);
                let held = bolts.iter().enumerate().flat_map(|(bolt, all)| all.iter().rev().map(move |it| (bolt, it)));
                for (bolt, held) in held {
                    let Some(torque) = held.torque else {
                        let supports = clicked.entry(held.record).or_default();
                        if supports.last() != Some(&support) {
                            supports.push(support);
                        }
                        continue;
                    };
                    let off = |by| Off { support, bolt, torque, place: held.place, by };
                    if torque < least {
                        low.push(off(least - torque));
                    } else if torque > most {
                        high.push(off(torque - most));
                    }
                }
                window.read(case, findings, low, true);
                window.read(case, findings, high, false);
            }
            for (record, supports) in clicked {
                window.setting(case, findings, record, &supports);
            }
        }
    }
}

/// The torques of a fastening of a stage, with what it is about.
fn of_stage<'c>(case: &'c Case, index: usize, stage: Stage) -> Option<(RailId, Interface, &'c Torques)> {
    let record = &case.records[index];
    let Body::Fasten(fasten) = &record.body else { return None };
    fasten.stage.filter(|of| of.value == stage)?;
    Some((record.rail()?, fasten.interface, case.torques(index)?))
}

struct Window<'l> {
    id: RailId,
    interface: Interface,
    stage: Stage,
    least: Torque,
    most: Torque,
    limit: Stated<'l>,
}

impl Window<'_> {
    /// The bolts of one support that were read too low, or those too high.
    fn read(&self, case: &Case, findings: &mut Findings, off: Vec<Off>, low: bool) {
        // The first of the worst.
        let Some(worst) = off.iter().rev().max_by_key(|off| off.by) else { return };
        let support = case.machine.support_address(self.id, worst.support);
        let name = &case.machine.rail(self.id).supports[worst.support].name;
        let (way, measure) =
            if low { ("under", Measure::too_small(worst.torque)) } else { ("over", Measure::too_large(worst.torque)) };
        let message = format!(
            "bolt {} of {name} was tightened to {}, {} {way} the {} window",
            worst.bolt + 1,
            shown(worst.torque),
            shown(worst.by),
            self.stage.word(),
        );
        let next = match (self.stage, low) {
            (Stage::Full, true) => format!("tighten it on into {} and record it", self.limit.text()),
            (Stage::Full, false) => {
                format!(
                    "loosen it, look whether the bolt is still sound, snug it and tighten it to {}",
                    self.limit.text()
                )
            }
            (Stage::Snug, true) => format!("snug it again to {} and record it, before full torque", self.limit.text()),
            (Stage::Snug, false) => {
                format!("loosen it, push the rail to its datum face, and snug it again to {}", self.limit.text())
            }
        };
        let mut finding = findings
            .finding(support, worst.place, message)
            .here(format!("bolt {}: {}", worst.bolt + 1, shown(worst.torque)))
            .found(measure)
            .limit(self.limit)
            .next(next);
        for other in off.iter().filter(|off| off.bolt != worst.bolt) {
            finding = finding.also(other.place, format!("bolt {}: {}", other.bolt + 1, shown(other.torque)));
        }
        findings.add(finding);
    }

    /// What a setting wrench was set to, for the supports that hold it.
    fn setting(&self, case: &Case, findings: &mut Findings, index: usize, supports: &[usize]) {
        let record = &case.records[index];
        let Body::Fasten(fasten) = &record.body else { return };
        let (address, names) = (case.machine.rail_address(self.id), case.ranges(self.id, supports));
        let (stage, bolts) = (self.stage.word(), bolts_of(self.interface));
        let Some(setting) = fasten.setting else {
            let message = format!("the {bolts} of {names} clicked at a setting that is not recorded");
            let mut finding = findings
                .finding(address, record.place, message)
                .here("says nothing of the setting")
                .limit(self.limit)
                .next(format!("add setting=… to the record: what the wrench was set to{}", of_day(record)));
            finding.grade = Grade::Outstanding;
            findings.add(finding);
            return;
        };
        let (way, by, measure) = if *setting < self.least {
            ("under", self.least - *setting, Measure::too_small(*setting))
        } else if *setting > self.most {
            ("over", *setting - self.most, Measure::too_large(*setting))
        } else {
            return;
        };
        let (set, by) = (shown(*setting), shown(by));
        findings.add(
            findings
                .finding(address, setting.place, format!("the wrench was set to {set}, {by} {way} the {stage} window"))
                .here(format!("holds for {names}"))
                .found(measure)
                .limit(self.limit)
                .next(if *setting < self.least {
                    format!("set the wrench to {} and go over {names} again", self.limit.text())
                } else {
                    format!("loosen {names}, snug again and tighten at {}", self.limit.text())
                }),
        );
    }
}
