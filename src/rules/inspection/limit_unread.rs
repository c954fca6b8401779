//! What a limit is stated for is read.
//!
//! Joint steps, the gap and torques have a default limit and are always asked for, by rules of their own. This rule asks
//! for what is only judged because a shop or a machine stated a limit.

use smallvec::SmallVec;

use crate::facts::running_force;
use crate::finding::{Grade, Limit, Place};
use crate::language::rulebook::{InForce, SEAL};
use crate::ledger::{Axis, Body, RailId, SurveyKind};
use crate::quantity::{Force, Length, Temperature};
use crate::rules::gap::shim_total::before_last_shims;
use crate::rules::gap::{Standing, reference, subject};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "limit-unread",
    group: Group::Inspection,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Where the rulebook states a limit, what it limits is read. Straightness: of each rail that another follows, or of every rail of an axis where none follows another; three stations at least, in whichever plane. Height: of each rail that follows another; two stations at least. Running force: of each axis, and again after a rail of it was loosened. Where a shop or a machine states them itself: a closing reading in each survey, the temperature of surveys that are compared, a feeler at each joint that is inspected, and the length of each segment as it came in.",
    why: "A limit that nobody measured against says that somebody relies on it, and nothing says that it is kept.",
    limits: &[
        "straightness",
        "height-range",
        "running-force",
        "survey-closure",
        "survey-temperature",
        "feeler",
        "received-length",
    ],
    source: "judgement: a stated limit is a requirement",
    wrong: r#"
machine m {
    rulebook { straightness most=0.03 reason="drawing 118-1" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 } }
}
"#,
    right: r#"
machine m {
    rulebook { straightness most=0.03 reason="drawing 118-1" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 stage=as-fitted plus=right { at S1 0; at S3 0.01; at S5 0 }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (index, axis) in case.machine.axes.iter().enumerate() {
        if axis.rails.is_empty() {
            continue;
        }
        straightness(case, findings, index);
        height(case, findings, index);
        running_force(case, findings, index);
    }
    closure(case, findings);
    temperature(case, findings);
    feeler(case, findings);
    received(case, findings);
}

/// Starts a finding about something that is limited and was not read.
fn add(
    findings: &mut Findings,
    address: String,
    place: Place,
    limit: impl Into<Limit>,
    (message, next): (String, String),
) {
    let finding = findings.finding(address, place, message).here("not read").limit(limit).next(next);
    findings.add(finding);
}

/// The upper limit of an entry that has a default, where the shop or the machine states it all the same.
fn stated<'c, A>(case: &'c Case, entry: &str) -> Option<InForce<'c>>
where
    A: crate::quantity::Amount + Into<crate::finding::Value>,
{
    case.rulebook.change(entry).filter(|change| change.by != SEAL && change.most.is_some())?;
    case.rulebook.most::<A>(entry).map(|(_, limit)| limit)
}

fn rails(case: &Case, axis: usize) -> impl Iterator<Item = RailId> {
    (0..case.machine.axes[axis].rails.len()).map(move |rail| RailId { axis, rail })
}

fn straightness(case: &Case, findings: &mut Findings, axis: usize) {
    let Some((_, limit)) = case.rulebook.most::<Length>("straightness") else { return };
    let followed: SmallVec<[RailId; 2]> = rails(case, axis).filter_map(|id| reference(case, id)).collect();
    for id in rails(case, axis).filter(|id| followed.is_empty() || followed.contains(id)) {
        surveyed(case, findings, id, (SurveyKind::Straightness, 3), limit);
    }
}

fn height(case: &Case, findings: &mut Findings, index: usize) {
    let Some((_, limit)) = case.rulebook.most::<Length>("height-range") else { return };
    let axis: &Axis = &case.machine.axes[index];
    let mut follow = rails(case, index).filter(|id| case.machine.rail(*id).follows.is_some()).peekable();
    if follow.peek().is_none() && axis.rails.len() > 1 {
        let message = "the height between the rails is limited, and none of them says which one it follows";
        let next = "say of each rail but the reference which one it is fitted to: follows=…; then survey its height";
        add(findings, axis.name.to_string(), axis.place, limit, (message.into(), next.into()));
    }
    for id in follow {
        surveyed(case, findings, id, (SurveyKind::Height, 2), limit);
    }
}

/// Asks for a survey of a kind that has so many stations: fewer can show no fault.
fn surveyed(case: &Case, findings: &mut Findings, id: RailId, (kind, least): (SurveyKind, usize), limit: InForce) {
    let planes = Standing::planes(case, id, kind);
    let most = planes.iter().flat_map(Standing::now).filter_map(|record| case.readings(record));
    let most = most.max_by_key(|readings| readings.stations.len());
    let (subject, address) = (subject(kind), case.machine.rail_address(id));
    let plus = if kind == SurveyKind::Height { "up" } else { "right" };
    let next = format!(
        "read it from one end of the rail to the other and record it: survey {} {address} stage=as-fitted plus={plus} …",
        subject
    );
    match most {
        None => {
            let message = format!("the {subject} of {address} is limited and not surveyed");
            add(findings, address, case.machine.rail(id).place, limit, (message, next));
        }
        Some(readings) if readings.stations.len() < least => {
            let few = readings.stations.len();
            let message = format!("the {subject} of {address} was read at {few} of at least {least} stations");
            add(findings, address, readings.place, limit, (message, next));
        }
        Some(_) => {}
    }
}

fn running_force(case: &Case, findings: &mut Findings, index: usize) {
    let Some((_, limit)) = case.rulebook.most::<Force>("running-force") else { return };
    let axis = &case.machine.axes[index];
    let name = axis.name.as_str();
    let readings = running_force::latest(case, index);
    let Some(oldest) = readings.iter().map(|reading| reading.record).min_by_key(|at| case.timeline.rank[*at]) else {
        let message = format!("the running force of {name} is limited and not read");
        let next =
            format!("push the carriage along its stroke with a force gauge and record it: running-force {name} …");
        return add(findings, name.into(), axis.place, limit, (message, next));
    };
    if let Some(id) = rails(case, index).find(|id| case.slackened_since(*id, oldest)) {
        let rail = case.machine.rail_address(id);
        let message = format!("the running force of {name} was read before {rail} was loosened");
        let next = "read it again at every place, once all is tight".into();
        add(findings, name.into(), case.records[oldest].place, limit, (message, next));
    }
}

fn closure(case: &Case, findings: &mut Findings) {
    let Some((_, limit)) = case.rulebook.most::<Length>("survey-closure") else { return };
    for (id, ..) in case.rails() {
        for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
            let planes = Standing::planes(case, id, kind);
            for readings in planes.iter().flat_map(Standing::all).filter_map(|record| case.readings(record)) {
                let closes = readings.survey.closure.as_ref().is_some_and(|closure| {
                    let read = |station: &&crate::facts::survey::Station| station.row.position == closure.position;
                    !closure.readings.is_empty() && readings.stations.iter().any(|station| read(&station))
                });
                if !closes {
                    let first = readings.survey.stations.first().map_or("the first station", |row| row.name.as_str());
                    let message = format!("the {} survey was not closed, though its closure is limited", subject(kind));
                    let next = format!("survey again and read {first} once more at the end: closure {first} …");
                    add(findings, case.machine.rail_address(id), readings.place, limit, (message, next));
                }
            }
        }
    }
}

fn temperature(case: &Case, findings: &mut Findings) {
    let Some(limit) = stated::<Temperature>(case, "survey-temperature") else { return };
    for (id, ..) in case.rails() {
        for kind in [SurveyKind::Gap, SurveyKind::Height] {
            let Some(before) = before_last_shims(case, id, kind) else { continue };
            let after = Standing::of(case, id, kind).verifications(case).last();
            let after = after.filter(|record| case.after(*record, before.record));
            let both = [Some(before), after.and_then(|record| case.readings(record))];
            for readings in both.into_iter().flatten().filter(|readings| readings.survey.temperature.is_none()) {
                let message = format!(
                    "the {} survey has no temperature, though it is compared with another and the difference is limited",
                    subject(kind)
                );
                let next = "add temperature=… to the record, as it was read on the rails".into();
                add(findings, case.machine.rail_address(id), readings.place, limit, (message, next));
            }
        }
    }
}

fn feeler(case: &Case, findings: &mut Findings) {
    let Some(limit) = stated::<Length>(case, "feeler") else { return };
    for (id, _, rail) in case.rails() {
        for (joint, it) in rail.joints.iter().enumerate() {
            let records = &case.history(id).inspections[joint];
            let with = |record: &usize| match &case.records[*record].body {
                Body::Inspect(inspect) => inspect.feeler.is_some(),
                _ => false,
            };
            let Some(last) = records.last().filter(|_| !records.iter().any(with)) else { continue };
            let message = format!("no feeler was tried at {}, though its thickness is limited", it.name);
            let next = "try it and add the thickest that goes in, 0 for none, to an inspection: feeler 0".into();
            add(findings, case.machine.joint_address(id, joint), case.records[*last].place, limit, (message, next));
        }
    }
}

fn received(case: &Case, findings: &mut Findings) {
    let Some(limit) = stated::<Length>(case, "received-length") else { return };
    let parts = || {
        case.in_order().flat_map(|(_, record)| match &record.body {
            Body::Receive(receive) => &receive.parts[..],
            _ => &[],
        })
    };
    let came: std::collections::BTreeSet<&str> = parts()
        .filter(|part| part.length.is_some())
        .filter_map(|part| part.serial.as_ref().map(|serial| serial.as_str()))
        .collect();
    for (id, _, rail) in case.rails() {
        for (index, segment) in rail.segments.iter().enumerate() {
            let address = case.machine.segment_address(id, index);
            let (message, next) = match &segment.serial {
                Some(serial) if came.contains(serial.as_str()) => continue,
                Some(serial) => (
                    format!("no length of {} is on record as it came in, though it is limited", **serial),
                    format!("measure it and record it: receive … {{ part serial={} length=… }}", **serial),
                ),
                None => (
                    format!("{address} has no serial number, so nobody knows its length as it came in"),
                    "read the number off the rail: serial=…; and record the length that came in under it".into(),
                ),
            };
            add(findings, address, segment.place, limit, (message, next));
        }
    }
}
