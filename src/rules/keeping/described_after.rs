//! The description is the one that the records were made for.

use std::collections::BTreeMap;

use crate::finding::{Grade, Limit, Measure, Place};
use crate::ledger::{Body, Given, Interface, Joint, RailId, SurveyKind, Tightened};
use crate::quantity::{Length, Moment};
use crate::rules::gap::Standing;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "described-after",
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No torque, inspection or survey that counts is older than the part it is about, none has more torques than the support has bolts, and a joint lies where it was inspected.",
    why: "A description that was changed under its records makes old readings speak of parts they never touched.",
    limits: &[],
    source: "the ledger's own facts against each other",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X { rail a profile=R20 { segment 1200; segment 1200 since="2026-05-02"; support S1 at=1380 length=80 } }
}
fasten X.a date="2026-04-14" by=fitter-2 stage=full { at S1 10.4 10.5 10.5 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 position=1260 { light none }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X { rail a profile=R20 { segment 1200; segment 1200 since="2026-04-02"; support S1 at=1380 length=80 } }
}
fasten X.a date="2026-04-14" by=fitter-2 stage=full { at S1 10.4 10.5 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 position=1200 { light none }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, ..) in case.rails() {
        changed(case, findings, id);
        moved(case, findings, id);
    }
    too_many_torques(case, findings);
}

/// What rests on a part that came in later.
#[derive(Default)]
struct Resting {
    /// One date can stand for a whole row of supports.
    addresses: Vec<String>,
    torques: Vec<usize>,
    proofs: Vec<String>,
    places: Vec<(Place, String)>,
}

fn changed(case: &Case, findings: &mut Findings, id: RailId) {
    let rail = case.machine.rail(id);
    let mut dates = rail.segments.iter().map(|it| it.since).chain(rail.supports.iter().map(|it| it.since));
    if dates.all(|since| since.is_none()) {
        return;
    }
    let mut all: BTreeMap<Place, (Given<Moment>, Resting)> = BTreeMap::new();
    let surveys = surveys(case, id);
    for (index, segment) in rail.segments.iter().enumerate() {
        let Some(since) = segment.since else { continue };
        let resting = &mut all.entry(since.place).or_insert((since, Resting::default())).1;
        resting.addresses.push(case.machine.segment_address(id, index));
        for joint in [index.checked_sub(1), (index < rail.joints.len()).then_some(index)].into_iter().flatten() {
            inspection(case, id, joint, since, resting);
        }
        let first = rail.supports.partition_point(|support| support.at < segment.from);
        let last = rail.supports.partition_point(|support| support.at <= segment.to);
        for support in first..last {
            torque(case, id, support, Interface::Rail, since, resting);
        }
        survey(case, &surveys, (segment.from, segment.to), since, resting);
    }
    for (index, support) in rail.supports.iter().enumerate() {
        let Some(since) = support.since else { continue };
        let resting = &mut all.entry(since.place).or_insert((since, Resting::default())).1;
        resting.addresses.push(case.machine.support_address(id, index));
        for interface in [Interface::Rail, Interface::Base] {
            torque(case, id, index, interface, since, resting);
        }
        if let Some(Some(joint)) = support.joint {
            inspection(case, id, joint, since, resting);
        }
        survey(case, &surveys, (support.at, support.at), since, resting);
    }
    for (since, resting) in all.into_values() {
        let mut what = resting.proofs;
        if !resting.torques.is_empty() {
            let mut torques = resting.torques;
            torques.sort_unstable();
            torques.dedup();
            what.insert(0, format!("the full torque of {}", case.ranges(id, &torques)));
        }
        if what.is_empty() {
            continue;
        }
        what.dedup();
        let address = match &resting.addresses[..] {
            [one] => one.clone(),
            _ => case.machine.rail_address(id),
        };
        let mut finding = findings
            .finding(
                address,
                since.place,
                format!(
                    "the part is of {}, and older than that {} {}",
                    *since,
                    if what.len() == 1 { "is" } else { "are" },
                    join(&what)
                ),
            )
            .here("came in later")
            .cured(Cure::AtMachine)
            .next("do it again for the part that is there now, or correct the date it came in");
        for (place, text) in resting.places.into_iter().take(4) {
            finding = finding.also(place, text);
        }
        findings.add(finding);
    }
}

fn join(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn older(case: &Case, record: usize, since: Given<Moment>) -> bool {
    case.ledger.records[record].date.is_some_and(|date| date.date < since.date)
}

fn inspection(case: &Case, id: RailId, joint: usize, since: Given<Moment>, resting: &mut Resting) {
    let records = case.joint_state(id, joint).records();
    if let Some(&record) = records.iter().find(|record| older(case, **record, since)) {
        let name = &case.machine.rail(id).joints[joint].name;
        resting.proofs.push(format!("the inspection of {name}"));
        resting.places.push((case.ledger.records[record].place, format!("{name} was inspected before")));
    }
}

fn torque(case: &Case, id: RailId, support: usize, interface: Interface, since: Given<Moment>, resting: &mut Resting) {
    let held = case.torqued(id, support, interface);
    let Some(held) = held.into_iter().flatten().find(|held| older(case, held.record, since)) else { return };
    if resting.torques.is_empty() {
        resting
            .places
            .push((held.place, format!("{} was tightened before", case.machine.rail(id).supports[support].name)));
    }
    resting.torques.push(support);
}

/// The surveys that count for a rail, with the positions they read, in order.
fn surveys(case: &Case, id: RailId) -> Vec<(usize, SurveyKind, Vec<Length>)> {
    let mut all = Vec::new();
    for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
        for record in Standing::planes(case, id, kind).iter().filter_map(Standing::latest) {
            let Body::Survey(survey) = &case.ledger.records[record].body else { continue };
            let read = survey.stations.iter().filter(|row| !row.readings.is_empty());
            let mut positions: Vec<Length> = read.map(|row| row.position).collect();
            positions.sort_unstable();
            all.push((record, kind, positions));
        }
    }
    all
}

fn survey(
    case: &Case,
    surveys: &[(usize, SurveyKind, Vec<Length>)],
    (from, to): (Length, Length),
    since: Given<Moment>,
    resting: &mut Resting,
) {
    for (record, kind, positions) in surveys {
        let touched = positions.get(positions.partition_point(|at| *at < from)).is_some_and(|at| *at <= to);
        if touched && older(case, *record, since) {
            let subject = crate::rules::gap::subject(*kind);
            let text = format!("the {subject} survey");
            if !resting.proofs.contains(&text) {
                resting.proofs.push(text);
                resting.places.push((case.ledger.records[*record].place, format!("the {subject} was surveyed before")));
            }
        }
    }
}

/// A joint that was inspected elsewhere than it lies now.
fn moved(case: &Case, findings: &mut Findings, id: RailId) {
    let rail = case.machine.rail(id);
    for (index, joint) in rail.joints.iter().enumerate() {
        let mut inspections = case.history(id).inspections[index].iter();
        if inspections.all(|record| elsewhere(case, *record, joint).is_none()) {
            continue;
        }
        let counting = case.joint_state(id, index).records();
        let Some(position) = counting.into_iter().find_map(|record| elsewhere(case, record, joint)) else { continue };
        let off = (position.value - joint.position).abs();
        findings.add(
            findings
                .finding(
                    case.machine.joint_address(id, index),
                    position.place,
                    format!("{} was inspected at {}, and lies {off} from there", joint.name, *position),
                )
                .here("inspected here")
                .also(joint.place, format!("the joint lies at {}", joint.position))
                .found(Measure::too_large(off))
                .limit(Limit {
                    entry: None,
                    text: "the same place".into(),
                    source: RULE.source.into(),
                    set_at: Some(joint.place),
                })
                .next("correct the segments or the record; if the rail was rebuilt, inspect the joint again"),
        );
    }
}

/// Where a record inspected a joint, if not where it lies.
fn elsewhere(case: &Case, record: usize, joint: &Joint) -> Option<Given<Length>> {
    let Body::Inspect(inspect) = &case.ledger.records[record].body else { return None };
    inspect.position.filter(|position| **position != joint.position)
}

/// Rows with more torques than their support has bolts.
fn too_many_torques(case: &Case, findings: &mut Findings) {
    for (_, record) in case.in_order() {
        let (Body::Fasten(fasten), Some(id)) = (&record.body, record.rail()) else { continue };
        let supports = &case.machine.rail(id).supports;
        for row in fasten.rows.iter().filter(|row| row.what != Tightened::Clicked) {
            let torques = fasten.torques_of(row);
            let support = &supports[row.support];
            let Some(count) = support.bolt_count(fasten.interface).filter(|count| torques.len() > *count) else {
                continue;
            };
            // The support may have been another one then.
            if support.since.zip(record.date).is_some_and(|(since, date)| date.date < since.date) {
                continue;
            }
            let bolts = if count == 1 { "1 bolt".to_string() } else { format!("{count} bolts") };
            findings.add(
                findings
                    .finding(
                        case.machine.support_address(id, row.support),
                        row.place,
                        format!("{} torques are recorded at {}, which has {bolts}", torques.len(), support.name),
                    )
                    .here(format!("{} torques", torques.len()))
                    .also(support.place, bolts.clone())
                    .found(Measure::too_large(torques.len()))
                    .limit(Limit { entry: None, text: bolts, source: RULE.source.into(), set_at: Some(support.place) })
                    .next("correct the row, or the support's length or bolts"),
            );
        }
    }
}
