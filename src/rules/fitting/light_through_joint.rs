//! No light shows through a joint, and no feeler goes in.

use crate::facts::torque_sides::in_words;
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Inspect, Rail, RailId, Spanned};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("light-through-joint"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "No light shows through a joint, and no feeler thicker than the limit goes in. Where the rulebook's `light-gap` allows some light, a feeler says how wide the gap is.",
    why: "The balls drop into a gap at every pass: they hammer its edges and shed steel into the block.",
    limits: &[LimitName::LightGap, LimitName::Feeler],
    holds: &[LimitName::LightGap],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light seen }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; feeler 0.03 }
"#,
    judges: &[ReadingKind::Light],
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    // The last word on each of the two counts.
    let last = |has: fn(&Inspect) -> bool| {
        case.history(id).inspections[joint].iter().rev().find_map(|index| match &case.records[*index].body {
            Body::Inspect(inspect) if has(inspect) => Some((*index, inspect)),
            _ => None,
        })
    };
    // What was seen before a support beside it was loosened, or first tightened, is history.
    let stands = |record: usize| case.joint_stands(id, joint, record);
    let feeler = last(|inspect| inspect.feeler.is_some());
    let feeler = feeler.and_then(|(record, inspect)| Some((record, inspect.feeler?)));
    let mut told = false;
    if let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::Feeler)
        && let Some((record, feeler)) = feeler.filter(|(_, feeler)| feeler.value > most)
        && stands(record)
    {
        report(case, findings, (id, joint), feeler, most, limit.words());
        told = true;
    }
    let light = last(|inspect| inspect.light.is_some()).and_then(|(record, inspect)| Some((record, inspect.light?)));
    let Some((record, light)) = light else { return Verdict::Awaits("light was not looked for") };
    if !case.latest_stands(id, joint, record) {
        return Verdict::Awaits("light was not looked for since the rail could move there");
    }
    if !light.value {
        return Verdict::Conforms(light.place);
    }
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::LightGap) else {
        return Verdict::Conforms(light.place);
    };
    let address = || case.machine.joint_address(id, joint);
    let seen =
        |findings: &Findings, message: &str| findings.finding(address(), light.place, message).here("light was seen");
    if most <= Length::ZERO {
        let no_light = Limit { text: "no light".into(), ..limit.words() };
        findings.add(seen(findings, "light shows through the joint").limit(no_light).next(next(case.machine.rail(id))));
        return Verdict::Broken;
    }
    // How wide it is, a feeler tells that went in when the light was seen or later.
    match feeler.filter(|(read, _)| (*read == record || case.after(*read, record)) && stands(*read)) {
        Some((_, feeler)) if feeler.value <= most => Verdict::Conforms(feeler.place),
        Some(_) if told => Verdict::Broken,
        Some((_, feeler)) => {
            report(case, findings, (id, joint), feeler, most, limit.words());
            Verdict::Broken
        }
        None => {
            let mut finding = seen(findings, "light shows through the joint, and no feeler says how wide the gap is")
                .limit(limit.words())
                .next("record the thickest feeler that goes in, as feeler 0.02, or feeler 0 where none does");
            finding.grade = Grade::Outstanding;
            findings.add(finding);
            Verdict::Outstanding
        }
    }
}

/// A feeler that is too thick goes in.
fn report(
    case: &Case,
    findings: &mut Findings,
    (id, joint): (RailId, usize),
    feeler: Spanned<Length>,
    most: Length,
    limit: Limit,
) {
    findings.add(
        findings
            .finding(
                case.machine.joint_address(id, joint),
                feeler.place,
                format!("a feeler of {} goes into the joint", *feeler),
            )
            .here(format!("{} over the limit", feeler.value - most))
            .found(Measure::too_large(feeler.value))
            .limit(limit)
            .next(next(case.machine.rail(id))),
    );
}

fn next(rail: &Rail) -> String {
    format!(
        "loosen one of the two segments, clean the ends and push them together, snug and tighten {}, then look again",
        in_words(rail)
    )
}
