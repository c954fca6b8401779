//! What several rules ask of a ledger, worked out once, when the first of them asks.
//!
//! Limits play no part in it, but for what counts as evidence: how long a calibration holds and how fine a gauge must be
//! are limits, those of the case.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use super::Case;
use super::facts::{
    Course, InstrumentUses, Measured, Parts, Settled, Slackened, Slip, WorkDone, of_part, of_rail, of_record,
};
use super::fitting::course::course;
use super::fitting::{gauge_calibration, parts_mixed};
use super::flaws::needs_instrument;
use super::gap::shim_total::predicted;
use super::keeping::date_order::slips;
use super::keeping::work::{all_voids, all_work, first_releases, last_work, wholes};
use super::torques::RecordTorques;
use crate::calc::exact::Ratio;
use crate::facts::FactError;
use crate::facts::motion::{BorneLoads, borne};
use crate::facts::shimmed::surveyed_before;
use crate::facts::steps::{JointState, joint_state};
use crate::facts::survey::SurveyReadings;
use crate::facts::torque_sides::{Sides, sides};
use crate::finding::Place;
use crate::ledger::{
    Axis, Body, Interface, Name, OnHold, Rail, RailId, Record, Spanned, SurveyKind, Target, person_keys,
};
use crate::quantity::Moment;

/// With more holds in force than that, a lift that fits none is compared with these only.
const MOST_HELD: usize = 64;

impl<'l> Case<'l> {
    /// What is wrong with where a record stands among the others.
    pub(super) fn slips(&self, record: usize) -> &[(usize, Slip)] {
        of_record(self.facts.slips.get_or_init(|| slips(self)), record)
    }

    /// What somebody did on an axis, or on one of its rails, however their name is spelt.
    pub(super) fn work_of(&self, axis: usize, rail: Option<RailId>, by: &str) -> Vec<WorkDone> {
        let work = self.facts.work.get_or_init(|| all_work(self));
        let spelt = person_keys(by).into_iter().filter_map(|key| work.spelt.get(&key));
        let names: BTreeSet<&str> = spelt.flatten().copied().collect();
        names.into_iter().filter_map(|name| work.of.get(name)?.get(&(axis, rail))).flatten().copied().collect()
    }

    /// When an axis was first released, whether or not that was withdrawn.
    pub(super) fn first_released(&self, axis: usize) -> Option<Moment> {
        self.facts.first_releases.get_or_init(|| first_releases(self))[axis]
    }

    /// The holds that a record lifted, or that stay in force though it speaks of them, each behind that record.
    pub(super) fn lifted_by(&self, record: usize) -> &[(usize, usize)] {
        let lifts = self.facts.lifts.get_or_init(|| {
            let of = |on: &OnHold| [on.lifted, on.disposed].map(|lift| Some((lift?, on.record)));
            let mut lifts: Vec<_> = self.holds.iter().flat_map(of).flatten().collect();
            lifts.sort_by_key(|(lift, _)| *lift);
            lifts
        });
        of_record(lifts, record)
    }

    /// Who withdrew a record, each behind that record.
    pub(super) fn voided_by(&self, record: usize) -> &[(usize, &'l Spanned<Name>)] {
        of_record(self.facts.voids.get_or_init(|| all_voids(self)), record)
    }

    /// The last work or reading at an address, at a part of it or at what it is a part of.
    pub(super) fn worked_at(&self, address: &str) -> Option<usize> {
        let last = self.facts.last_work.get_or_init(|| last_work(self));
        let above = wholes(address).skip(1).filter_map(|whole| last.get(whole)?.own);
        above.chain(last.get(address).and_then(|of| of.within)).max_by_key(|index| self.timeline.rank[*index])
    }

    /// The last work or reading at an address or at a part of it.
    pub(super) fn worked_within(&self, address: &str) -> Option<usize> {
        self.facts.last_work.get_or_init(|| last_work(self)).get(address)?.within
    }

    /// What is on hold now, as it is written, with the place of the hold; of very many the first only.
    pub(super) fn held_now(&self) -> &[(&'l Spanned<Name>, Place)] {
        self.facts.held_now.get_or_init(|| {
            let held = self.ledger.holds.iter().filter(|on| on.in_force()).filter_map(|on| {
                let record = &self.ledger.records[on.record];
                Some((record.on.as_ref()?, record.place))
            });
            held.take(MOST_HELD).collect()
        })
    }

    /// What the blocks of an axis bear along the stroke, or what is lacking to work it out.
    pub(super) fn borne(&self, axis: usize) -> Result<&BorneLoads, FactError> {
        let all = self.facts.borne.get_or_init(|| self.machine.axes.iter().map(|_| OnceCell::new()).collect());
        all[axis]
            .get_or_init(|| borne(self.ledger, axis, &|record| self.counts(record)))
            .as_ref()
            .map_err(FactError::clone)
    }

    /// The numbers of a survey record that counts; nothing where it has no reading.
    pub fn readings(&self, record: usize) -> Option<&SurveyReadings<'l>> {
        let all = self.facts.readings.get_or_init(|| {
            // In the order of the records, to be found by them.
            let surveys = (0..self.ledger.records.len()).filter(|index| self.ledger.records[*index].counts());
            surveys.filter_map(|index| SurveyReadings::for_record(self.ledger, index)).collect()
        });
        let at = all.binary_search_by_key(&record, |readings| readings.record).ok()?;
        Some(&all[at])
    }

    /// The torques of a record; nothing where it is no fastening.
    pub(super) fn torques(&self, record: usize) -> Option<&RecordTorques> {
        let all = self.facts.torques.get_or_init(|| {
            let records = self.ledger.records.iter().enumerate();
            let torques = records.filter_map(|(index, record)| match &record.body {
                Body::Fasten(fasten) => Some(RecordTorques::new(index, fasten)),
                _ => None,
            });
            torques.collect()
        });
        let at = all.binary_search_by_key(&record, |torques| torques.record).ok()?;
        Some(&all[at])
    }

    /// How the bolts between a rail and each of its supports were tightened.
    pub(super) fn courses(&self, id: RailId) -> &[Course] {
        self.courses_of(id, Interface::Rail)
    }

    /// How the bolts of an interface were tightened at each support of a rail.
    pub(super) fn courses_of(&self, id: RailId, interface: Interface) -> &[Course] {
        let all = self.facts.courses[interface as usize].get_or_init(|| {
            let rails = self.rails().map(|(id, _, rail)| {
                let supports = rail.supports.iter().zip(self.history(id).supports.iter());
                (id, supports.map(|(it, events)| course(self, it, events, interface)).collect())
            });
            rails.collect()
        });
        of_rail(all, id).map_or(&[], Vec::as_slice)
    }

    /// Whether every support of a rail certainly had full torque when a record was made, told without looking at each. It
    /// may say no too often.
    pub(super) fn settled_at(&self, id: RailId, record: usize) -> bool {
        let all = self
            .facts
            .settled
            .get_or_init(|| self.rails().map(|(id, _, rail)| (id, settled(self, id, rail))).collect());
        let Some(Some(Settled { first, until, now })) = of_rail(all, id) else { return false };
        let at_first = || self.after(record, *first) && until.is_none_or(|until| !self.after(record, until));
        self.after(record, *now) || at_first()
    }

    /// What is on record about a joint now.
    pub fn joint_state(&self, id: RailId, joint: usize) -> &JointState<'l> {
        let all = self.facts.joints.get_or_init(|| {
            let joints =
                |id, rail: &Rail| (0..rail.joints.len()).map(|joint| joint_state(self.ledger, id, joint)).collect();
            self.rails().map(|(id, _, rail)| (id, joints(id, rail))).collect()
        });
        // Every rail is among them, with each of its joints.
        &all[all.partition_point(|(rail, _)| *rail < id)].1[joint]
    }

    /// The last record that shimmed a rail.
    pub fn last_shimmed(&self, id: RailId) -> Option<usize> {
        self.slackened(id)?.shimmed
    }

    /// The rails that shims were put under, with their addresses.
    pub fn shimmed_rails(&self) -> impl Iterator<Item = (RailId, &'l Axis, &'l Rail)> {
        self.rails().filter(|(id, ..)| self.last_shimmed(*id).is_some())
    }

    /// A rail was shimmed after a record.
    pub fn shimmed_since(&self, id: RailId, since: usize) -> bool {
        self.last_shimmed(id).is_some_and(|record| self.after(record, since))
    }

    /// Supports of a rail were slackened or shimmed after a record.
    pub fn slackened_since(&self, id: RailId, since: usize) -> bool {
        self.slackened(id).is_some_and(|of| self.after(of.last, since))
    }

    /// Supports of a rail had been slackened or shimmed before a record.
    pub fn slackened_before(&self, id: RailId, when: usize) -> bool {
        self.slackened(id).is_some_and(|of| self.after(when, of.first))
    }

    fn slackened(&self, id: RailId) -> Option<&Slackened> {
        let all = self.facts.slackened.get_or_init(|| {
            let mut all: Vec<(RailId, Slackened)> = Vec::new();
            for (index, record) in self.in_order() {
                let shimmed = match &record.body {
                    Body::Shim(shim) if !shim.rows.is_empty() => Some(index),
                    Body::Loosen(loosen) if !loosen.supports.is_empty() => None,
                    // A bolt that turned had come loose.
                    Body::Fasten(fasten) if !fasten.turned.is_empty() => None,
                    _ => continue,
                };
                let Some(id) = record.rail() else { continue };
                match all.binary_search_by_key(&id, |(id, _)| *id) {
                    Ok(at) => {
                        let of = &mut all[at].1;
                        *of = Slackened { last: index, shimmed: shimmed.or(of.shimmed), ..*of };
                    }
                    Err(at) => all.insert(at, (id, Slackened { first: index, last: index, shimmed })),
                }
            }
            all
        });
        of_rail(all, id)
    }

    /// What the surveys of a kind said that stood when a rail was shimmed last.
    pub(super) fn before_shims(&self, id: RailId, kind: SurveyKind) -> Option<&SurveyReadings<'l>> {
        let all = self.facts.before_shims.get_or_init(|| {
            let both = |id| [(id, SurveyKind::Gap), (id, SurveyKind::Height)];
            let read = |(id, kind)| {
                let readings = surveyed_before(self.ledger, id, kind, self.last_shimmed(id)?)?;
                Some(((id, kind as usize), readings))
            };
            let mut all: Vec<_> = self.shimmed_rails().flat_map(|(id, ..)| both(id)).filter_map(read).collect();
            all.sort_by_key(|(of, _)| *of);
            all
        });
        of_part(all, (id, kind as usize))
    }

    /// How far each station of the survey before the last shims of a rail should stand from the place that the others
    /// are shimmed to, now that they are in.
    pub(crate) fn predicted(&self, id: RailId) -> Option<&[Ratio]> {
        let all = self
            .facts
            .predicted
            .get_or_init(|| self.shimmed_rails().filter_map(|(id, ..)| Some((id, predicted(self, id)?))).collect());
        of_rail(all, id).map(Vec::as_slice)
    }

    /// Every dated use of every instrument.
    pub(super) fn uses(&self) -> &InstrumentUses<'l> {
        self.facts.uses.get_or_init(|| gauge_calibration::all_uses(self))
    }

    /// The records of an axis as a whole, or of one of its rails, that an instrument must vouch for, in the order of the
    /// timeline.
    pub(super) fn measured(&self, axis: usize, rail: Option<RailId>) -> impl DoubleEndedIterator<Item = usize> {
        let all = self.facts.measured.get_or_init(|| {
            let records = self.in_order().filter(|(_, record)| needs_instrument(record));
            let mut all: Vec<(Measured, usize)> = records
                .filter_map(|(index, record)| match (record.rail(), record.target) {
                    (Some(id), _) => Some(((id.axis, Some(id)), index)),
                    (None, Some(Target::Axis(axis))) => Some(((axis, None), index)),
                    _ => None,
                })
                .collect();
            all.sort_by_key(|(of, _)| *of);
            all
        });
        let from = all.partition_point(|(of, _)| *of < (axis, rail));
        let to = all.partition_point(|(of, _)| *of <= (axis, rail));
        all[from..to].iter().map(|(_, record)| *record)
    }

    /// The supports of both sides of every joint of a rail.
    pub(super) fn sides(&self, id: RailId) -> &[Sides] {
        let all = self.facts.sides.get_or_init(|| self.rails().map(|(id, _, rail)| (id, sides(rail))).collect());
        of_rail(all, id).map_or(&[], Vec::as_slice)
    }

    /// What is known of every serial number.
    pub(super) fn parts(&self) -> &Parts<'l> {
        self.facts.parts.get_or_init(|| parts_mixed::parts(self))
    }

    /// Whether the ledger says of any two records which was made first. Where it seems not to, a rule looks at the two
    /// that it is about. Where each always does, the lint takes 1.10 times the instructions (benches/README.md).
    #[inline]
    pub fn order_is_certain(&self) -> bool {
        *self.facts.order_is_certain.get_or_init(|| order_is_certain(self))
    }
}

fn order_is_certain(case: &Case) -> bool {
    let order = || case.in_order().map(|(_, record)| record);
    let dated = order().all(|record| record.date.is_some());
    // A record without a time stands in no certain order to any of its day.
    let timed = order().all(|record| record.date.is_some_and(|date| date.minute.is_some()));
    let when = |record: &Record| record.date.map(|date| (date.date, date.minute.filter(|_| timed)));
    let mut neighbours = order().zip(order().skip(1));
    neighbours.all(|(a, b)| a.place.source == b.place.source || dated && when(a) != when(b))
}

/// Nothing where one has none now, or where it takes a closer look.
fn settled(case: &Case, id: RailId, rail: &Rail) -> Option<Settled> {
    if !case.order_is_certain() {
        return None;
    }
    let later = |a: usize, b: usize| if case.after(b, a) { b } else { a };
    let mut settled: Option<Settled> = None;
    let mut take = |course: &Course| {
        let now = course.tight?;
        case.ledger.records[now].date?;
        let (first, until) = course.tight_before.first().map_or((now, None), |(from, until)| (*from, Some(*until)));
        settled = Some(match settled.take() {
            None => Settled { first, until, now },
            Some(all) => Settled {
                first: later(all.first, first),
                until: match (all.until, until) {
                    (Some(one), Some(other)) => Some(if case.after(one, other) { other } else { one }),
                    (one, other) => one.or(other),
                },
                now: later(all.now, now),
            },
        });
        Some(())
    };
    for (at, (support, course)) in rail.supports.iter().zip(case.courses(id)).enumerate() {
        take(course)?;
        // Base bolts count where it is known how many there are.
        if support.base_bolts.is_some() {
            take(&case.courses_of(id, Interface::Base)[at])?;
        }
    }
    settled
}
