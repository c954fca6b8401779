//! Torques against their window: shared by the rules on full torque and on snug torque, which differ in the stage only.
//!
//! What counts is what each bolt holds now. A torque that a later one of the same stage replaced, or that was slackened
//! since, is history: reworking a bolt ends its nonconformity. One that does not count, since its wrench cannot vouch for
//! it, replaces none. One over the window is replaced by none: tightening takes nothing off a bolt, so that it holds until
//! the bolt is slackened, or turned before it held.

use std::collections::BTreeMap;

use super::bolts::on_day;
use super::unstated_window::ask_for_window;
use super::{INTERFACES, bolts_of, shown};
use crate::facts::torque_window::{self, WindowError, WindowSource, window_or_why};
use crate::finding::{Grade, Measure, Place};
use crate::ledger::{Body, HeldBolts, HeldTorque, Interface, Keyword, RailId, Stage};
use crate::quantity::Torque;
use crate::rules::torques::RecordTorques;
use crate::rules::{Case, Findings, Verdict};

/// A torque that is not in the window.
struct TorqueOffWindow {
    support: usize,
    bolt: usize,
    torque: Torque,
    place: Place,
    by: Torque,
    /// Where it was tightened again since.
    again: Option<Place>,
}

/// The window of an interface and stage, by the limits that apply to the axis.
pub(in crate::rules) fn window<'l>(
    case: &Case<'l>,
    id: RailId,
    interface: Interface,
    stage: Stage,
) -> Option<(Torque, Torque, WindowSource<'l>)> {
    torque_window::window(case.ledger, case.limits(id.axis), id, interface, stage)
}

/// Judges every torque of a stage that the bolts of a rail hold now.
pub(crate) fn check(case: &Case, id: RailId, findings: &mut Findings, stage: Stage) -> Verdict {
    let (mut shown, mut lacking) = (None, None::<Verdict>);
    for interface in INTERFACES {
        let mut torques = of_stage(case, id, interface, stage).peekable();
        let (least, most, limit) = match window_or_why(case.ledger, case.limits(id.axis), id, interface, stage) {
            Ok(window) => window,
            Err(WindowError::NotStated(fastener)) => {
                // It is wanted before the first bolt is tightened.
                ask_for_window(case, findings, id, interface, stage, fastener);
                continue;
            }
            Err(WindowError::NotDescribed(what)) => {
                // Bolts that nobody described or tightened are not missed.
                if torques.peek().is_some() {
                    lacking = Some(Verdict::NotJudged(what));
                }
                continue;
            }
        };
        if torques.peek().is_none() {
            continue;
        }
        // Mostly nothing was ever out of it, so that what the bolts hold now need not be known.
        if !torques.all(|torques| !torques.unset && torques.within(Some(least), Some(most))) {
            WindowCheck { id, interface, stage, least, most, limit }.held(case, findings);
        }
        match proof(case, id, interface, stage) {
            Ok(place) => shown = shown.or(Some(place)),
            Err(of_it) => lacking = Some(Verdict::Awaits(of_it)),
        }
    }
    match (lacking, shown) {
        (Some(lacking), _) => lacking,
        (None, Some(place)) => Verdict::Conforms(place),
        (None, None) => Verdict::Awaits("no torque of this stage is recorded"),
    }
}

/// The torques of each fastening of a stage of some bolts of a rail.
fn of_stage<'c>(
    case: &'c Case,
    id: RailId,
    interface: Interface,
    stage: Stage,
) -> impl Iterator<Item = &'c RecordTorques> {
    case.measured(id.axis, Some(id)).filter_map(move |index| {
        let Body::Fasten(fasten) = &case.records[index].body else { return None };
        let of_it = fasten.interface == interface && fasten.stage.is_some_and(|of| of.value == stage);
        of_it.then(|| case.torques(index))?
    })
}

/// Where a torque that bolts hold now was recorded, or what is lacking: each that a support holds must count.
fn proof(case: &Case, id: RailId, interface: Interface, stage: Stage) -> Result<Place, &'static str> {
    let mut shown = Err("no bolt holds a torque of this stage now");
    for events in case.history(id).supports.iter() {
        let mut since = events.iter().rev().take_while(|event| !event.slackens(interface));
        let last = since.find(|event| case.tightening(event, interface, stage).is_some());
        let Some(last) = last else { continue };
        if !case.counts(last.record) {
            return Err("a record of these torques does not count");
        }
        shown = shown.or(Ok(last.place));
        if case.all_count() {
            break;
        }
    }
    shown
}

/// What a bolt was tightened to: what was read, or what the wrench was set to.
fn read_or_set(case: &Case, held: &HeldTorque) -> Option<Torque> {
    let setting = || match &case.records[held.record].body {
        Body::Fasten(fasten) => fasten.setting.map(|setting| *setting),
        _ => None,
    };
    held.torque.or_else(setting)
}

impl Case<'_> {
    /// The full torque that each bolt of a support holds now. One over its window is held whatever was recorded since, until
    /// the bolt is slackened: the greatest of them.
    pub(crate) fn full_torque_now(&self, id: RailId, support: usize, interface: Interface) -> HeldBolts {
        let mut now = self.held(id, support, interface, Stage::Full);
        let Some((_, most, _)) = window(self, id, interface, Stage::Full) else { return now };
        let over = |held: &HeldTorque| read_or_set(self, held).filter(|torque| *torque > most);
        let back = self.held_back(id, support, interface, Stage::Full, |held| over(held).is_some());
        for (now, back) in now.iter_mut().zip(&back) {
            let Some(last) = now else { continue };
            let greatest = back.iter().filter(|held| over(held).is_some()).max_by_key(|held| over(held));
            if let Some(greatest) = greatest.filter(|held| over(held) > over(last)) {
                *last = *greatest;
            }
        }
        now
    }
}

struct WindowCheck<'l> {
    id: RailId,
    interface: Interface,
    stage: Stage,
    least: Torque,
    most: Torque,
    limit: WindowSource<'l>,
}

impl WindowCheck<'_> {
    /// Judges what each bolt holds now.
    fn held(&self, case: &Case, findings: &mut Findings) {
        // For each record that clicked, the supports that rest on its setting.
        let mut clicked: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for support in 0..case.machine.rail(self.id).supports.len() {
            let (mut low, mut high) = (Vec::new(), Vec::new());
            let too_much = |held: &HeldTorque| read_or_set(case, held).is_some_and(|torque| torque > self.most);
            let bolts = case.held_back(self.id, support, self.interface, self.stage, too_much);
            let held = bolts.iter().enumerate().flat_map(|(bolt, all)| {
                let last = all.last().map(|last| last.place);
                all.iter().rev().map(move |it| (bolt, it, last.filter(|last| *last != it.place)))
            });
            for (bolt, held, again) in held {
                let Some(torque) = held.torque else {
                    let supports = clicked.entry(held.record).or_default();
                    if supports.last() != Some(&support) {
                        supports.push(support);
                    }
                    continue;
                };
                let off = |by| TorqueOffWindow { support, bolt, torque, place: held.place, by, again };
                if torque < self.least {
                    low.push(off(self.least - torque));
                } else if torque > self.most {
                    high.push(off(torque - self.most));
                }
            }
            self.read(case, findings, low, true);
            self.read(case, findings, high, false);
        }
        for (record, supports) in clicked {
            self.setting(case, findings, record, &supports);
        }
    }

    /// The bolts of one support that were read too low, or those too high.
    fn read(&self, case: &Case, findings: &mut Findings, off: Vec<TorqueOffWindow>, low: bool) {
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
        if let Some(again) = worst.again.filter(|_| !low) {
            finding = finding.also(again, "tightening it again takes nothing off");
        }
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
                .next(format!("add setting=… to the record: what the wrench was set to{}", on_day(record)));
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
