//! What is known of what was read: which surveys stand, whether the rails still lie as they were read, and what is
//! lacking for somebody to say that it conforms. Worked out once, when the first rule asks.

use std::cell::{Cell, OnceCell};

use smallvec::SmallVec;

use super::Case;
use super::facts::{FewestOfAxes, InUse, OfJoint, ReadJoint, Shown, Torque, of_part, of_rail};
use super::fitting::unit_mistaken;
use super::gap::{shim_leaves, shim_stock};
use super::inspection::readings_copied;
use crate::calc::layout::FewestAnswer;
use crate::facts::layout_plan::{FEWEST_STEPS_IN_ALL, fewest_joints};
use crate::facts::shim_plan::shim_plans;
use crate::facts::shim_words;
use crate::facts::survey::{SurveyReadings, reference};
use crate::facts::survey_state::CurrentSurveys;
use crate::finding::Place;
use crate::ledger::{Body, Rail, RailId, SurveyKind};
use crate::quantity::Length;

impl<'l> Case<'l> {
    /// The surveys of one kind that count for a rail now, for each plane; one that is empty where nothing was read.
    pub(super) fn planes(&self, id: RailId, kind: SurveyKind) -> &[CurrentSurveys<'l>] {
        let all = self.facts.planes.get_or_init(|| {
            let kinds = [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height];
            self.rails().map(|(id, ..)| (id, kinds.map(|kind| CurrentSurveys::planes(self.ledger, id, kind)))).collect()
        });
        of_rail(all, id).map_or(&[], |kinds| match kind {
            SurveyKind::Gap => &kinds[0],
            SurveyKind::Straightness => &kinds[1],
            SurveyKind::Height => &kinds[2],
        })
    }

    /// The same of the plane that was read last.
    pub(super) fn standing(&self, id: RailId, kind: SurveyKind) -> &CurrentSurveys<'l> {
        let latest = |of: &&CurrentSurveys| of.latest().and_then(|record| self.timeline.rank[record]);
        self.planes(id, kind).iter().max_by_key(latest).unwrap_or(&self.facts.nothing)
    }

    /// What a survey says, together with those it is tied to where there are any; nothing where it has no reading.
    pub(crate) fn state(&self, record: usize) -> Option<&SurveyReadings<'l>> {
        let own = self.readings(record)?;
        let id = self.records[record].rail()?;
        let tied = self.planes(id, own.kind()).iter().find_map(|plane| plane.tied(record));
        Some(tied.unwrap_or(own))
    }

    /// Nothing that a survey rests on was loosened or tightened since, as a glance at whole rails shows. It may say no
    /// where a closer look says yes.
    pub(super) fn survey_undisturbed(&self, record: usize) -> bool {
        let all = self.facts.undisturbed.get_or_init(|| {
            let mut all: Vec<(usize, bool)> = self
                .in_order()
                .filter(|(_, record)| matches!(record.body, Body::Survey(_)))
                .map(|(index, _)| (index, survey_undisturbed(self, index)))
                .collect();
            all.sort_unstable();
            all
        });
        all.binary_search_by_key(&record, |of| of.0).is_ok_and(|at| all[at].1)
    }

    /// The same for all that is on record about a joint now.
    pub(super) fn joint_undisturbed(&self, id: RailId, joint: usize) -> bool {
        self.of_joint(id, joint).undisturbed
    }

    /// Whether what one of the latest records about a joint read there still says how it lies.
    pub(super) fn latest_stands(&self, id: RailId, joint: usize, record: usize) -> bool {
        let of = self.of_joint(id, joint);
        let known = || of.stands.iter().find(|(of, _)| *of == record);
        of.undisturbed || known().map_or_else(|| self.joint_stands(id, joint, record), |(_, stands)| *stands)
    }

    /// All four grooves of a joint are read, by what counts, and still lie so.
    pub(super) fn steps_shown(&self, id: RailId, joint: usize) -> Shown {
        self.of_joint(id, joint).steps
    }

    /// A survey counts, and all of it still says how the rails lie.
    pub(super) fn survey_shown(&self, id: RailId, readings: &SurveyReadings) -> Shown {
        let counts = match readings.ties.is_empty() {
            true => self.counts(readings.record),
            false => readings.records().into_iter().all(|record| self.counts(record)),
        };
        if !counts {
            Err("no survey with a gauge that can vouch for it")
        } else if self.shimmed_since_read(id, readings) {
            Err("no survey since it was shimmed")
        } else if self.all_stations_stand(id, readings) {
            Ok(readings.place)
        } else {
            Err("no survey since a support was loosened or first tightened")
        }
    }

    /// The joint that has the very readings of another one, an earlier one.
    pub(super) fn copied(&self, id: RailId, joint: usize) -> Option<&ReadJoint> {
        of_part(self.facts.copies.get_or_init(|| readings_copied::copies(self)), (id, joint))
    }

    /// The records whose values were meant in another unit, in their order.
    pub(super) fn in_another_unit(&self) -> &[usize] {
        self.facts.in_another_unit.get_or_init(|| unit_mistaken::mistaken(self))
    }

    /// The rails of an axis that others follow, in order.
    pub(crate) fn followed(&self, axis: usize) -> &[RailId] {
        let all = self.facts.followed.get_or_init(|| {
            let mut all: Vec<RailId> = self.rails().filter_map(|(id, ..)| reference(self, id)).collect();
            all.sort_unstable();
            all.dedup();
            all
        });
        &all[all.partition_point(|id| id.axis < axis)..all.partition_point(|id| id.axis <= axis)]
    }

    /// Whether another rail is adjusted to it.
    pub(crate) fn is_followed(&self, id: RailId) -> bool {
        self.followed(id.axis).binary_search(&id).is_ok()
    }

    /// Where the length of a part is recorded as it came in, by its serial number.
    pub(super) fn received_length(&self, serial: &str) -> Option<Place> {
        let all = self.facts.received.get_or_init(|| {
            let parts = self.in_order().flat_map(|(_, record)| match &record.body {
                Body::Receive(receive) => &receive.parts[..],
                _ => &[],
            });
            parts.filter_map(|part| Some((part.serial.as_ref()?.as_str(), part.length?.place))).collect()
        });
        all.get(serial).copied()
    }

    /// The leaves of each thickness that lie in the machine, in the order they were put in.
    pub(super) fn leaves_in_use(&self) -> &InUse {
        self.facts.in_use.get_or_init(|| shim_stock::in_use(self))
    }

    /// What the shim plan of a rail asks for, or why there is none; nothing where none can be asked for.
    pub(super) fn shim_advice(&self, id: RailId) -> Option<String> {
        let plans = self.facts.shim_plans.get_or_init(|| shim_plans(self.ledger, self.today));
        shim_words::advice(self.ledger, plans.get(&id)?.as_ref().ok()?)
    }

    /// The fewest joints that an axis needs; nothing where that cannot be asked. The axes share the steps for it, in the
    /// order in which they are asked about, which is that of the ledger.
    pub(super) fn fewest_joints(&self, axis: usize) -> Option<&FewestAnswer> {
        let all = self.facts.fewest_joints.get_or_init(|| FewestOfAxes {
            of_axes: self.machine.axes.iter().map(|_| OnceCell::new()).collect(),
            steps_left: Cell::new(FEWEST_STEPS_IN_ALL),
        });
        all.of_axes[axis].get_or_init(|| fewest_joints(self.ledger, axis, &all.steps_left).ok()).as_ref()
    }

    /// The leaves that would do under a support that has more of them, or what is lacking to tell.
    pub(super) fn fewer_leaves(&self, id: RailId, support: usize) -> Result<Option<&[Length]>, &'static str> {
        let all = self.facts.too_many.get_or_init(|| shim_leaves::too_many(self)).as_ref();
        match of_part(all.map_err(|lacking| *lacking)?, (id, support)) {
            Some(fewer) => Ok(Some(fewer.as_ref().ok_or("no leaves in stock make its total")?)),
            None => Ok(None),
        }
    }

    fn of_joint(&self, id: RailId, joint: usize) -> &OfJoint {
        let all = self.facts.joints_shown.get_or_init(|| {
            let joints = |id, rail: &Rail| (0..rail.joints.len()).map(|joint| of_joint(self, id, joint)).collect();
            self.rails().map(|(id, _, rail)| (id, joints(id, rail))).collect()
        });
        // Every rail is among them, with each of its joints.
        &all[all.partition_point(|(rail, _)| *rail < id)].1[joint]
    }
}

fn survey_undisturbed(case: &Case, record: usize) -> bool {
    let Body::Survey(survey) = &case.records[record].body else { return false };
    let (Some(id), Some(kind)) = (case.records[record].rail(), survey.kind) else { return false };
    case.rails_read(id, kind.value).all(|rail| {
        let mut supports = 0..case.machine.rail(rail).supports.len();
        !case.slackened_since(rail, record)
            && (case.settled_at(rail, record)
                || supports.all(|support| case.torque_at(rail, support, record) == Torque::There))
    })
}

fn of_joint(case: &Case, id: RailId, joint: usize) -> OfJoint {
    let records = case.joint_state(id, joint).records();
    let undisturbed = records.iter().all(|record| {
        let mut beside = case.beside_joint(id, joint);
        !case.slackened_since(id, *record)
            && (case.settled_at(id, *record)
                || beside.all(|support| case.torque_at(id, support, *record) == Torque::There))
    });
    let moved = records.iter().filter(|_| !undisturbed);
    let stands = moved.map(|record| (*record, case.joint_stands(id, joint, *record))).collect();
    let steps = steps_shown(case, id, joint, &stands);
    OfJoint { undisturbed, stands, steps }
}

fn steps_shown(case: &Case, id: RailId, joint: usize, stands: &SmallVec<[(usize, bool); 2]>) -> Shown {
    let mut shown = Err("not all four grooves are read");
    for groove in case.joint_state(id, joint).grooves {
        let Some(latest) = groove.filter(|latest| !latest.what.pairs.is_empty()) else {
            return Err("not all four grooves are read");
        };
        if !case.counts(latest.record) {
            return Err("a groove is not read with a gauge that can vouch for it");
        }
        if stands.contains(&(latest.record, false)) {
            return Err("a groove is not read since a support beside it was loosened or first tightened");
        }
        shown = Ok(latest.what.place);
    }
    shown
}
