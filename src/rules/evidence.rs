//! What counts as proof: one idea of evidence for every rule.
//!
//! A record counts when the instrument it was made with is named and could vouch for it. One that does not count cannot
//! make anything conform, and nothing older speaks again in its place; but a break that it shows stays one, and so does
//! an earlier break that it would have cured, until a later record that counts covers the same. From then on it is
//! history, and no rule speaks of it.
//!
//! Most records of most ledgers count: those that do not are listed, and everything else is looked up in that list.

use std::borrow::Cow;

use smallvec::SmallVec;

use super::Case;
use super::facts::of_rail;
use super::fitting::{gauge_calibration, gauge_graduation, gauge_range, instrument_missing, instrument_unsuited};
use super::flaws::{Evidence, Flaw, needs_instrument};
use crate::facts::survey::SurveyReadings;
use crate::facts::survey_state::{CurrentSurveys, Plane, unread_again};
use crate::ledger::{
    Body, Event, EventKind, Fasten, FastenRow, HeldTorque, Inspect, Interface, RailId, Record, RunningForce, Stage,
    Survey, SurveyKind, Target,
};
use crate::quantity::Length;

/// The records that do not count, with their reasons.
fn gathered(case: &Case) -> Evidence {
    let mut flaws: Vec<(usize, Flaw)> = Vec::new();
    let limits = gauge_graduation::GraduationLimits::new(case);
    for (index, record) in case.in_order().filter(|(_, record)| needs_instrument(record)) {
        if instrument_missing::unnamed(record) {
            flaws.push((index, Flaw::Unnamed));
        }
        let Some(gauge) = record.gauge().and_then(|name| case.ledger.shop.gauge(name)) else {
            if beyond_wrench(case, index, record) {
                flaws.push((index, Flaw::BeyondWrench));
            }
            continue;
        };
        if instrument_unsuited::unsuited(record, gauge).is_some() {
            flaws.push((index, Flaw::Unsuited));
        }
        if gauge_range::beyond(record, gauge).is_some() {
            flaws.push((index, Flaw::BeyondGauge));
        }
        if limits.too_coarse(&record.body, gauge) {
            flaws.push((index, Flaw::Coarse));
        }
    }
    flaws.extend(gauge_calibration::uncalibrated(case).into_iter().map(|index| (index, Flaw::Uncalibrated)));
    flaws.extend(case.elsewhere.copies.iter().map(|(index, _)| (*index, Flaw::Copied)));
    flaws.sort_unstable();
    let flawed = flaws.chunk_by(|a, b| a.0 == b.0).map(|all| (all[0].0, all.iter().map(|of| of.1).collect()));
    Evidence { flawed: flawed.collect() }
}

fn beyond_wrench(case: &Case, index: usize, record: &Record) -> bool {
    let Body::Fasten(fasten) = &record.body else { return false };
    let Some(wrench) = fasten.wrench.as_ref().and_then(|name| case.ledger.shop.wrench(name)) else { return false };
    let (least, most) = (wrench.least.map(|least| least.value), wrench.most.map(|most| most.value));
    !case.torques(index).is_some_and(|torques| torques.within(least, most))
}

impl<'l> Case<'l> {
    /// Which records count as proof.
    fn evidence(&self) -> &Evidence {
        self.facts.evidence.get_or_init(|| gathered(self))
    }

    /// Whether a record counts as proof.
    pub fn counts(&self, record: usize) -> bool {
        self.evidence().counts(record)
    }

    /// Whether every record counts as proof.
    pub(in crate::rules) fn all_count(&self) -> bool {
        self.evidence().flawed.is_empty()
    }

    /// Whether a record does not count for that reason.
    pub(in crate::rules) fn flawed(&self, record: usize, flaw: Flaw) -> bool {
        self.evidence().has(record, flaw)
    }

    /// Whether a record does not count for that reason and is not history yet.
    pub(in crate::rules) fn wanting(&self, record: usize, flaw: Flaw) -> bool {
        self.flawed(record, flaw) && !self.covered(record)
    }

    /// Whether records that count cover all that an earlier one read or did, or what it says was undone since.
    pub(in crate::rules) fn covered(&self, record: usize) -> bool {
        let of = &self.ledger.records[record];
        // What was read of a part that went is asked for no more.
        if of.history {
            return true;
        }
        match (&of.body, of.target) {
            (Body::Inspect(inspect), Some(Target::Joint(id, joint))) => {
                self.joint_slackened(id, joint, record) || self.grooves_covered(id, joint, record, inspect)
            }
            (Body::Survey(survey), Some(Target::Rail(id))) => self.stations_covered(id, record, survey),
            (Body::Fasten(fasten), Some(Target::Rail(id))) => self.bolts_covered(id, record, fasten),
            (Body::RunningForce(run), _) => self.places_covered(record, run),
            _ => false,
        }
    }

    fn grooves_covered(&self, id: RailId, joint: usize, record: usize, inspect: &Inspect) -> bool {
        let ledger = self.ledger;
        let later = || {
            let all = ledger.history(id).inspections[joint].iter();
            all.copied().filter(|later| self.after(*later, record) && self.counts(*later))
        };
        if inspect.grooves.is_empty() {
            return later().next().is_some();
        }
        inspect.grooves.iter().all(|groove| {
            later().any(|later| match &ledger.records[later].body {
                Body::Inspect(other) => {
                    other.grooves.iter().any(|other| other.groove == groove.groove && !other.pairs.is_empty())
                }
                _ => false,
            })
        })
    }

    fn stations_covered(&self, id: RailId, record: usize, survey: &Survey) -> bool {
        let ledger = self.ledger;
        let kind = survey.kind.map(|kind| kind.value);
        let later = self.counting_surveys_after(id, record).filter(|later| {
            let Body::Survey(other) = &ledger.records[*later].body else { return false };
            // One that does not say its plane, as without a gauge, is answered by a reading in either.
            let plane = Plane::for_survey(ledger, survey);
            other.kind.map(|kind| kind.value) == kind
                && (plane == Plane::Unsaid || plane == Plane::for_survey(ledger, other))
        });
        let mut left: Option<Vec<Length>> = None;
        for later in later {
            let unread = unread_again(ledger, id, record, later);
            let open = |at: &Length| left.as_ref().is_none_or(|left| left.contains(at));
            left = Some(unread.into_iter().map(|row| row.position).filter(open).collect());
            if left.as_ref().is_some_and(Vec::is_empty) {
                return true;
            }
        }
        false
    }

    /// The surveys of a rail that count and stand behind a record in the timeline. Of thousands in a row that do not count
    /// none looks at the others.
    fn counting_surveys_after(&self, id: RailId, record: usize) -> impl Iterator<Item = usize> {
        let all = self.facts.counting_surveys.get_or_init(|| {
            let counting = |id| self.ledger.history(id).surveys.iter().copied().filter(|it| self.counts(*it)).collect();
            self.rails().map(|(id, ..)| (id, counting(id))).collect()
        });
        let all = of_rail(all, id).map_or(&[][..], Vec::as_slice);
        let rank = |record: usize| self.timeline.rank[record];
        all[all.partition_point(|it| rank(*it) <= rank(record))..].iter().copied()
    }

    fn places_covered(&self, record: usize, run: &RunningForce) -> bool {
        let target = self.ledger.records[record].target;
        let reads = |later: usize, at: Length| match &self.ledger.records[later].body {
            Body::RunningForce(run) => run.rows.iter().any(|row| *row.position == at),
            _ => false,
        };
        let later: Vec<usize> = self
            .in_order()
            .filter(|(later, it)| it.target == target && self.after(*later, record) && self.counts(*later))
            .map(|(later, _)| later)
            .collect();
        run.rows.iter().all(|row| later.iter().any(|later| reads(*later, *row.position)))
    }

    fn bolts_covered(&self, id: RailId, record: usize, fasten: &Fasten) -> bool {
        let history = self.ledger.history(id);
        fasten.rows.iter().all(|row| {
            let events = &history.supports[row.support];
            let Some(at) = events.iter().rposition(|event| event.record == record) else { return true };
            let own = &events[at];
            let count = self.ledger.machine.rail(id).supports[row.support].bolt_count(fasten.interface);
            let count = count.unwrap_or(row.readings()).max(1);
            let mut open: SmallVec<[usize; 8]> =
                (0..count).filter(|bolt| self.bolt_tightened(own, row, *bolt).is_some()).collect();
            for event in &events[at + 1..] {
                if event.slackens(fasten.interface) {
                    return true;
                }
                if let Some(row) = self.same_stage(own, event).filter(|_| self.counts(event.record)) {
                    open.retain(|bolt| self.bolt_tightened(event, row, *bolt).is_none());
                }
            }
            open.is_empty()
        })
    }

    /// The row of an event that tightened bolts in the same way as another.
    fn same_stage(&self, own: &Event, event: &Event) -> Option<&'l FastenRow> {
        let stage = if own.what == EventKind::Full { Stage::Full } else { Stage::Snug };
        self.ledger.tightening(event, own.interface?, stage)
    }

    /// The surveys of a kind that may show a break: of those that count the ones that stand, and beside them those that
    /// do not count and were not read again since by one that does.
    pub(in crate::rules) fn surveys_judged(
        &self,
        id: RailId,
        kind: SurveyKind,
        stand: impl Fn(&CurrentSurveys) -> SmallVec<[usize; 2]>,
    ) -> SmallVec<[Cow<'_, SurveyReadings<'l>>; 2]> {
        let ledger = self.ledger;
        let all = ledger.history(id).surveys.iter().copied();
        let flawed: SmallVec<[usize; 2]> = all
            .filter(|record| !self.counts(*record))
            .filter(|record| match &ledger.records[*record].body {
                Body::Survey(survey) => survey.kind.is_some_and(|of| of.value == kind) && survey.stage.is_some(),
                _ => false,
            })
            .collect();
        if flawed.is_empty() {
            let all = self.planes(id, kind).iter().flat_map(stand);
            let mut judged: SmallVec<_> = all.filter_map(|record| Some(Cow::Borrowed(self.state(record)?))).collect();
            judged.sort_unstable_by_key(|of: &Cow<SurveyReadings>| self.timeline.rank[of.record]);
            return judged;
        }
        // What does not count is no part of what it would be tied to either.
        let mut judged: SmallVec<[Cow<'_, SurveyReadings<'l>>; 2]> = SmallVec::new();
        for plane in &CurrentSurveys::among(ledger, id, kind, |record| self.counts(record)) {
            let own = |record| self.readings(record).map(Cow::Borrowed);
            let all = stand(plane).into_iter();
            judged.extend(all.filter_map(|record| plane.tied(record).cloned().map(Cow::Owned).or_else(|| own(record))));
        }
        let open = flawed.into_iter().filter(|record| !self.covered(*record));
        judged.extend(open.filter_map(|record| Some(Cow::Borrowed(self.readings(record)?))));
        judged.sort_unstable_by_key(|of| self.timeline.rank[of.record]);
        judged
    }

    /// The inspections of a joint that say something, the latest first: back to the one that counts, and no further.
    pub(in crate::rules) fn inspections_back(
        &self,
        id: RailId,
        joint: usize,
        says: impl Fn(&'l Inspect) -> bool,
    ) -> SmallVec<[(usize, &'l Inspect); 2]> {
        let mut found = SmallVec::new();
        for &record in self.ledger.history(id).inspections[joint].iter().rev() {
            let Body::Inspect(inspect) = &self.ledger.records[record].body else { continue };
            if !says(inspect) {
                continue;
            }
            found.push((record, inspect));
            if self.counts(record) {
                break;
            }
        }
        found
    }

    /// What each bolt of a support may be held to: the torques of a stage since it was last slackened or had come loose,
    /// from the last one that counts on; and those before it that were too much, which no tightening takes off again.
    pub(in crate::rules) fn held_back(
        &self,
        id: RailId,
        support: usize,
        interface: Interface,
        stage: Stage,
        too_much: impl Fn(&HeldTorque) -> bool,
    ) -> Vec<SmallVec<[HeldTorque; 1]>> {
        let ledger = self.ledger;
        let count = ledger.machine.rail(id).supports[support].bolt_count(interface);
        let mut bolts: Vec<SmallVec<[HeldTorque; 1]>> = vec![SmallVec::new(); count.unwrap_or(1)];
        for event in &ledger.history(id).supports[support] {
            if event.slackens(interface) {
                bolts.iter_mut().for_each(SmallVec::clear);
            }
            if let Some(bolt) = ledger.turned(event, interface).filter(|_| self.counts(event.record))
                && let Some(held) = bolts.get_mut(bolt)
            {
                held.clear();
            }
            let Some(row) = ledger.tightening(event, interface, stage) else { continue };
            if count.is_none() && row.readings() > bolts.len() {
                bolts.resize(row.readings(), SmallVec::new());
            }
            for (bolt, held) in bolts.iter_mut().enumerate() {
                let Some(now) = ledger.bolt_tightened(event, row, bolt) else { continue };
                if self.counts(event.record) {
                    held.retain(|before| too_much(before));
                }
                held.push(now);
            }
        }
        bolts
    }
}
