//! Which records the present state of a machine rests on, and which of them a release rests on: told apart once, for every
//! paper that says what counts.

use std::collections::{BTreeMap, BTreeSet};

use crate::facts::running_force;
use crate::facts::steps::joint_state;
use crate::facts::survey_state::CurrentSurveys;
use crate::finding::Place;
use crate::judging::what_if::without;
use crate::ledger::seal::{about, records_under};
use crate::ledger::{Body, Interface, Ledger, RailId, Record, Stage, SurveyKind, Target};
use crate::rules::Case;

/// The records that say how things stand now. Whether each counts as proof, [`standing`] tells.
pub(crate) fn counting(ledger: &Ledger) -> BTreeSet<usize> {
    let mut all = BTreeSet::new();
    for (id, _, rail) in ledger.machine.rails() {
        for joint in 0..rail.joints.len() {
            let records = joint_state(ledger, id, joint).records();
            all.extend(records.into_iter().filter(|record| !joint_undone(ledger, id, joint, *record)));
        }
        for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
            // The shims slacken what the survey before them read: of two surveys only the later one can be undone.
            for surveys in CurrentSurveys::planes(ledger, id, kind) {
                let latest = surveys.records(surveys.latest().into_iter());
                let undone = |record: &usize| latest.contains(record) && survey_undone(ledger, id, *record);
                all.extend(surveys.records(surveys.all()).into_iter().filter(|record| !undone(record)));
            }
        }
        all.extend(tightened(ledger, id));
        for support in 0..rail.supports.len() {
            all.extend(ledger.shims(id, support, None).map(|(event, _)| event.record));
        }
    }
    // A record of fewer places leaves the others as they were.
    for axis in 0..ledger.machine.axes.len() {
        all.extend(running_force::latest(ledger, axis).iter().map(|at| at.record));
    }
    // Of these, each stands for itself until it is withdrawn, but of one kind about one thing the last is the word.
    let mut last = BTreeMap::new();
    for &index in &ledger.timeline.order {
        let record = &ledger.records[index];
        let on = record.on.as_ref().map(|on| on.value.as_str());
        match record.body {
            Body::Release(_) => {
                last.insert((record.kind, on), index);
            }
            Body::Inspect(_) | Body::Survey(_) | Body::Fasten(_) | Body::Shim(_) | Body::RunningForce(_) => {}
            Body::Hold(_) if !ledger.holds.iter().any(|hold| hold.record == index && hold.in_force()) => {}
            _ => {
                all.insert(index);
            }
        }
    }
    all.extend(last.into_values());
    all
}

fn tightened(ledger: &Ledger, id: RailId) -> BTreeSet<usize> {
    let supports = 0..ledger.machine.rail(id).supports.len();
    let each = supports.flat_map(|support| {
        [Interface::Rail, Interface::Base].into_iter().flat_map(move |interface| {
            [Stage::Snug, Stage::Full].into_iter().flat_map(move |stage| ledger.held(id, support, interface, stage))
        })
    });
    each.flatten().map(|held| held.record).collect()
}

/// The joint was slackened since, at its own support or beside it.
fn joint_undone(ledger: &Ledger, id: RailId, joint: usize, record: usize) -> bool {
    ledger.joint_undone(id, joint, record).is_some_and(|undone| undone.distance < 2)
}

/// Every station of a survey was slackened since.
fn survey_undone(ledger: &Ledger, id: RailId, record: usize) -> bool {
    let Body::Survey(survey) = &ledger.records[record].body else { return false };
    let undone = |position| ledger.station_undone(id, position, record).is_some();
    !survey.stations.is_empty() && survey.stations.iter().all(|station| undone(station.position))
}

/// How a record stands beside those that count now.
pub(crate) fn standing(case: &Case, counting: &BTreeSet<usize>, index: usize) -> &'static str {
    let ledger = case.ledger;
    let record = &ledger.records[index];
    if record.void.is_some() {
        return if ledger.corrected_by(index).is_some() { "corrected since" } else { "withdrawn" };
    }
    if counting.contains(&index) {
        return if case.counts(index) { "counts now" } else { "does not count" };
    }
    if record.is_aligning() {
        return "read while it was set";
    }
    let undone = match (&record.body, record.target) {
        (Body::Inspect(_), Some(Target::Joint(id, joint))) => joint_undone(ledger, id, joint, index),
        (Body::Survey(_), Some(Target::Rail(id))) => survey_undone(ledger, id, index),
        (Body::Fasten(fasten), Some(Target::Rail(id))) => fasten.rows.iter().any(|row| {
            let mut events = ledger.history(id).supports[row.support].iter();
            events.any(|event| event.slackens(fasten.interface) && ledger.after(event.record, index))
        }),
        _ => false,
    };
    let replaces = |other: &&usize| ledger.after(**other, index) && alike(record, &ledger.records[**other]);
    match (counting.iter().any(|other| replaces(&other)), undone) {
        (true, _) => "replaced since",
        (false, true) => "undone since",
        (false, false) => "does not count",
    }
}

/// Whether two records are of one kind and about the same thing.
fn alike(one: &Record, other: &Record) -> bool {
    let subject = |record: &Record| record.on.as_ref().map(|on| on.value.clone());
    let what = |record: &Record| match &record.body {
        Body::Fasten(fasten) => (fasten.stage.map(|stage| *stage as u8), fasten.interface as u8),
        Body::Survey(survey) => (survey.kind.map(|kind| *kind as u8), 0),
        _ => (None, 0),
    };
    one.kind == other.kind && subject(one) == subject(other) && what(one) == what(other)
}

/// The records that the release of an axis rests on: of those under it the ones that counted when it was written.
pub(crate) fn of_release(ledger: &Ledger, axis: usize) -> BTreeSet<usize> {
    let under = records_under(ledger, axis);
    let later = |index: &usize| about(ledger, axis, *index) && !under.contains(index);
    let later: Vec<Place> = (0..ledger.records.len()).filter(later).map(|index| ledger.records[index].whole).collect();
    if later.is_empty() && ledger.records.iter().all(|record| record.void.is_none()) {
        let now = counting(ledger);
        return under.into_iter().filter(|index| now.contains(index)).collect();
    }
    let then = without(ledger, later);
    let counted: BTreeSet<Place> = counting(&then).into_iter().map(|index| then.records[index].place).collect();
    under.into_iter().filter(|index| counted.contains(&ledger.records[*index].place)).collect()
}
