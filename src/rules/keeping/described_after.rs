//! The description is the one that the records were made for.

use std::collections::BTreeMap;

use crate::finding::{Grade, Limit, Measure, Place, RuleName};
use crate::ledger::{Body, Interface, RailId, Spanned, SurveyKind, TorqueReading};
use crate::quantity::{Length, Moment};
use crate::rules::gap::CurrentSurveys;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("described-after"),
    group: RuleGroup::Keeping,
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
    follows_from: &[Ground::Records],
    checks: &[Check::Rails(changed), Check::Joints(moved), Check::Records(too_many_torques)],
    ..Rule::PLAIN
};

/// What rests on a part that came in later.
#[derive(Default)]
struct Resting {
    /// One date can stand for a whole row of supports.
    addresses: Vec<String>,
    torques: Vec<usize>,
    proofs: Vec<String>,
    places: Vec<(Place, String)>,
    /// A record that it was held against.
    read: Option<Place>,
}

fn changed(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let mut dates = rail.segments.iter().map(|it| it.since).chain(rail.supports.iter().map(|it| it.since));
    // What came in later is dated; nobody need date what was there from the start.
    if dates.all(|since| since.is_none()) {
        return Verdict::NotRequired;
    }
    let mut all: BTreeMap<Place, (Spanned<Moment>, Resting)> = BTreeMap::new();
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
    let mut verdict = Verdict::NotJudged("nothing is recorded of the parts that came in");
    for (since, resting) in all.into_values() {
        if let Some(read) = resting.read {
            verdict = Verdict::Conforms(read);
        }
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
    verdict
}

fn join(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn older(case: &Case, record: usize, since: Spanned<Moment>) -> bool {
    case.ledger.records[record].date.is_some_and(|date| date.date < since.date)
}

fn inspection(case: &Case, id: RailId, joint: usize, since: Spanned<Moment>, resting: &mut Resting) {
    let records = case.joint_state(id, joint).records();
    resting.read = records.first().map(|record| case.records[*record].place).or(resting.read);
    if let Some(&record) = records.iter().find(|record| older(case, **record, since)) {
        let name = &case.machine.rail(id).joints[joint].name;
        resting.proofs.push(format!("the inspection of {name}"));
        resting.places.push((case.ledger.records[record].place, format!("{name} was inspected before")));
    }
}

fn torque(
    case: &Case,
    id: RailId,
    support: usize,
    interface: Interface,
    since: Spanned<Moment>,
    resting: &mut Resting,
) {
    let bolts = case.torqued(id, support, interface);
    let held = || bolts.iter().flatten();
    resting.read = held().next().map(|held| held.place).or(resting.read);
    let Some(held) = held().find(|held| older(case, held.record, since)) else { return };
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
        let latest = case.planes(id, kind).iter().filter_map(CurrentSurveys::latest);
        for readings in latest.filter_map(|record| case.state(record)) {
            for record in readings.records() {
                let read = readings.stations.iter().filter(|station| station.record == record);
                all.push((record, kind, read.map(|station| station.row.position).collect()));
            }
        }
    }
    all
}

fn survey(
    case: &Case,
    surveys: &[(usize, SurveyKind, Vec<Length>)],
    (from, to): (Length, Length),
    since: Spanned<Moment>,
    resting: &mut Resting,
) {
    for (record, kind, positions) in surveys {
        let touched = positions.get(positions.partition_point(|at| *at < from)).is_some_and(|at| *at <= to);
        if !touched {
            continue;
        }
        resting.read = Some(case.records[*record].place);
        if older(case, *record, since) {
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
fn moved(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let joint = &case.machine.rail(id).joints[index];
    let counting = case.joint_state(id, index).records();
    let mut said = counting.iter().filter_map(|record| inspected_at(case, *record));
    let Some(place) = said.clone().next().map(|position| position.place) else {
        return Verdict::NotJudged("no inspection says where the joint lay");
    };
    let Some(position) = said.find(|position| **position != joint.position) else { return Verdict::Conforms(place) };
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
    Verdict::Broken
}

/// Where an inspection says that the joint lay.
fn inspected_at(case: &Case, record: usize) -> Option<Spanned<Length>> {
    match &case.records[record].body {
        Body::Inspect(inspect) => inspect.position,
        _ => None,
    }
}

/// Rows with more torques than their support has bolts.
fn too_many_torques(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let (Body::Fasten(fasten), Some(id)) = (&record.body, record.rail()) else { return Verdict::NotRequired };
    let supports = &case.machine.rail(id).supports;
    let mut verdict = Verdict::NotRequired;
    for row in fasten.rows.iter().filter(|row| row.what != TorqueReading::Clicked) {
        let torques = fasten.torques_of(row);
        let support = &supports[row.support];
        let Some(count) = support.bolt_count(fasten.interface) else {
            verdict = Verdict::NotJudged("nothing says how many bolts the support has");
            continue;
        };
        if verdict == Verdict::NotRequired {
            verdict = Verdict::Conforms(row.place);
        }
        // The support may have been another one then.
        let other = || support.since.zip(record.date).is_some_and(|(since, date)| date.date < since.date);
        if torques.len() <= count || other() {
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
    verdict
}
