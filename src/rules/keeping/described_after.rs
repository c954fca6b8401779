//! The description is the one that the records were made for.

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::{Body, RailId, Spanned, TorqueReading};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("described-after"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No torque record has more torques than its support has bolts, and a joint lies where it was inspected. What was recorded of a part before it came (`since`) or of one that went (`until`) is history and not judged here.",
    why: "A description that was changed under its records makes old readings speak of parts they never touched.",
    limits: &[],
    source: "the ledger's own facts against each other",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X { rail a profile=R20 { segment 1200; segment 1200; support S1 at=1380 length=80 } }
}
fasten X.a date="2026-04-14" by=fitter-2 stage=full { at S1 10.4 10.5 10.5 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 position=1260 { light none }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X { rail a profile=R20 { segment 1200; segment 1200; support S1 at=1380 length=80 } }
}
fasten X.a date="2026-04-14" by=fitter-2 stage=full { at S1 10.4 10.5 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 position=1200 { light none }
"#,
    follows_from: &[Ground::Described, Ground::Lengths, Ground::CountedHoles],
    checks: &[Check::Joints(moved), Check::Records(too_many_torques)],
    ..Rule::PLAIN
};

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
            .next("where it was moved, keep the segments that went with `until=`, give the new ones `since=` that day, and inspect the joint again; where it was described wrong, correct the segments or the record"),
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
        if torques.len() <= count {
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
