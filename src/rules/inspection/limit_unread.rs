//! What a limit is stated for is read.
//!
//! Joint steps, the gap and torques have a default limit and are always asked for, by rules of their own. This rule asks
//! for what is only judged because a shop or a machine stated a limit.

use crate::facts::running_force;
use crate::facts::survey::reference;
use crate::facts::survey_limits::survey_limits;
use crate::finding::{Grade, Limit, Place, RuleName};
use crate::language::rulebook::{InForce, LimitName, SEAL};
use crate::ledger::{Body, NodeDraft, RailId, SpeltValue, SurveyKind};
use crate::quantity::{Force, Length};
use crate::rules::gap::survey_stale::loosened;
use crate::rules::gap::{CurrentSurveys, subject};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("limit-unread"),
    group: RuleGroup::Inspection,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Where the rulebook states a limit, over all or local, what it limits is read. Straightness: of each rail that another follows, or of every rail of an axis where none follows another; three stations at least, in whichever plane. Height: of each rail that follows another; two stations at least. Running force: of each axis, and again after a rail of it was loosened. Where a shop or a machine states them itself: a feeler at each joint that is inspected, and the length of each segment as it came in.",
    why: "A limit that nobody measured against says that somebody relies on it, and nothing says that it is kept.",
    limits: &[
        LimitName::Straightness,
        LimitName::HeightRange,
        LimitName::StraightnessLocal,
        LimitName::HeightLocal,
        LimitName::RunningForce,
        LimitName::Feeler,
        LimitName::ReceivedLength,
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
    checks: &[Check::Axes(axes), Check::Rails(rails), Check::Joints(feeler), Check::Segments(received)],
    ..Rule::PLAIN
};

fn axes(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    if case.machine.axes[axis].rails.is_empty() {
        return Verdict::NotRequired;
    }
    follows_none(case, axis, findings).and(running_force(case, axis, findings))
}

fn rails(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let all = [straightness, height].map(|read| read(case, id, findings));
    all.into_iter().fold(Verdict::NotRequired, Verdict::and)
}

/// Starts a finding about something that is limited and was not read.
fn unread(
    findings: &mut Findings,
    address: String,
    place: Place,
    limit: impl Into<Limit>,
    (message, next): (String, String),
) -> Verdict {
    let finding = findings.finding(address, place, message).here("not read").limit(limit).next(next);
    findings.add(finding);
    Verdict::Outstanding
}

/// The upper limit of an entry that has a default, where the shop or the machine states it all the same.
fn stated<'c, A>(case: &'c Case, entry: LimitName) -> Option<InForce<'c>>
where
    A: crate::quantity::Amount + Into<crate::finding::MeasuredValue>,
{
    case.rulebook.change(entry).filter(|change| change.by != SEAL && change.most.is_some())?;
    case.rulebook.most::<A>(entry).map(|(_, limit)| limit)
}

/// The first that is stated of the limit over the whole rail and of the local one.
fn either<'c>(case: &'c Case, kind: SurveyKind) -> Option<InForce<'c>> {
    survey_limits(case.rulebook, kind).next().map(|stated| stated.limit)
}

/// The height is limited, and no rail says to which other one it is read.
fn follows_none(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some(limit) = either(case, SurveyKind::Height) else { return Verdict::NotRequired };
    let axis = &case.machine.axes[axis];
    // A line that is at fault may have said it.
    if axis.rails.len() < 2 || axis.rails.iter().any(|rail| rail.follows.is_some() || rail.damaged) {
        return Verdict::NotRequired;
    }
    let message = "the height between the rails is limited, and none of them says which one it follows";
    let next = "say of each rail but the reference which one it is fitted to: follows=…; then survey its height";
    unread(findings, axis.name.to_string(), axis.place, limit, (message.into(), next.into()))
}

fn running_force(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some((_, limit)) = case.rulebook.most::<Force>(LimitName::RunningForce) else { return Verdict::NotRequired };
    let of = &case.machine.axes[axis];
    let name = of.name.as_str();
    let readings = running_force::latest(case, axis);
    let Some(oldest) = readings.iter().map(|reading| reading.record).min_by_key(|at| case.timeline.rank[*at]) else {
        let message = format!("the running force of {name} is limited and not read");
        let line = NodeDraft::new("running-force").value(name).value(SpeltValue::open()).line();
        let next = format!("push the carriage along its stroke with a force gauge and record it: {line}");
        return unread(findings, name.into(), of.place, limit, (message, next));
    };
    let place = case.records[oldest].place;
    let mut rails = (0..of.rails.len()).map(|rail| RailId { axis, rail });
    if let Some(id) = rails.find(|id| case.slackened_since(*id, oldest)) {
        let supports = 0..case.machine.rail(id).supports.len();
        let loose: Vec<usize> = supports.filter(|at| loosened(case, id, *at, oldest, true).is_some()).collect();
        let at = if loose.is_empty() { String::new() } else { format!(" at {}", case.ranges(id, &loose)) };
        let rail = case.machine.rail_address(id);
        let message = format!("the running force of {name} was read before {rail} was loosened{at}");
        let next = "read it again at every place, once all is tight".into();
        return unread(findings, name.into(), place, limit, (message, next));
    }
    Verdict::Conforms(place)
}

/// Asked of each rail that another follows, or of every rail of an axis where none follows another.
fn straightness(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some(limit) = either(case, SurveyKind::Straightness) else {
        return Verdict::NotRequired;
    };
    let rail = case.machine.rail(id);
    if rail.follows.is_some() && reference(case, id).is_none() {
        return Verdict::Awaits("the rail that it follows is not described");
    }
    let followed = case.followed(id.axis);
    if !followed.is_empty() && followed.binary_search(&id).is_err() {
        return Verdict::NotRequired;
    }
    surveyed(case, findings, id, (SurveyKind::Straightness, 3), limit)
}

fn height(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some(limit) = either(case, SurveyKind::Height) else { return Verdict::NotRequired };
    if case.machine.rail(id).follows.is_none() {
        return Verdict::NotRequired;
    }
    surveyed(case, findings, id, (SurveyKind::Height, 2), limit)
}

/// Asks for a survey of a kind that has so many stations: fewer can show no fault.
fn surveyed(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    (kind, least): (SurveyKind, usize),
    limit: InForce,
) -> Verdict {
    let most = case.planes(id, kind).iter().flat_map(CurrentSurveys::now).filter_map(|record| case.state(record));
    let most = most.max_by_key(|readings| readings.stations.len());
    if let Some(readings) = most.filter(|readings| readings.stations.len() >= least) {
        return Verdict::Conforms(readings.place);
    }
    let (subject, address) = (subject(kind), case.machine.rail_address(id));
    let plus = if kind == SurveyKind::Height { "up" } else { "right" };
    let line = NodeDraft::new("survey").value(subject).value(&address).property("stage", "as-fitted");
    let next = format!(
        "read it from one end of the rail to the other and record it: {} …",
        line.property("plus", plus).line()
    );
    match most {
        None => {
            let message = format!("the {subject} of {address} is limited and not surveyed");
            unread(findings, address, case.machine.rail(id).place, limit, (message, next))
        }
        Some(readings) => {
            let few = readings.stations.len();
            let message = format!("the {subject} of {address} was read at {few} of at least {least} stations");
            unread(findings, address, readings.place, limit, (message, next))
        }
    }
}

fn feeler(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let Some(limit) = stated::<Length>(case, LimitName::Feeler) else { return Verdict::NotRequired };
    let records = &case.history(id).inspections[joint];
    let tried = records.iter().find_map(|record| match &case.records[*record].body {
        Body::Inspect(inspect) => inspect.feeler,
        _ => None,
    });
    match (tried, records.last()) {
        (Some(feeler), _) => Verdict::Conforms(feeler.place),
        (None, None) => Verdict::Awaits("it is not inspected"),
        (None, Some(last)) => {
            let name = &case.machine.rail(id).joints[joint].name;
            let message = format!("no feeler was tried at {name}, though its thickness is limited");
            let next = "try it and add the thickest that goes in, 0 for none, to an inspection: feeler 0".into();
            unread(findings, case.machine.joint_address(id, joint), case.records[*last].place, limit, (message, next))
        }
    }
}

fn received(case: &Case, id: RailId, segment: usize, findings: &mut Findings) -> Verdict {
    let Some(limit) = stated::<Length>(case, LimitName::ReceivedLength) else { return Verdict::NotRequired };
    let it = &case.machine.rail(id).segments[segment];
    let known = it.serial.as_ref().and_then(|serial| case.received_length(serial.as_str()));
    if let Some(place) = known {
        return Verdict::Conforms(place);
    }
    let address = case.machine.segment_address(id, segment);
    let words = match &it.serial {
        Some(serial) => (
            format!("no length of {} is on record as it came in, though it is limited", **serial),
            format!(
                "measure it and record it: {}",
                NodeDraft::new("receive")
                    .property("date", SpeltValue::open_text())
                    .property("by", SpeltValue::open())
                    .row(
                        NodeDraft::new("part")
                            .property("serial", serial.as_str())
                            .property("length", SpeltValue::open())
                    )
                    .line()
            ),
        ),
        None => (
            format!("{address} has no serial number, so nobody knows its length as it came in"),
            "read the number off the rail: serial=…; and record the length that came in under it".into(),
        ),
    };
    unread(findings, address, it.place, limit, words)
}
