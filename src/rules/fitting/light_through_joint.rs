//! No light shows through a joint, and no feeler goes in.

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Inspect, RailId};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("light-through-joint"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "No light shows through a joint, and no feeler thicker than the limit goes in.",
    why: "The balls drop into a gap at every pass: they hammer its edges and shed steel into the block.",
    limits: &[LimitName::Feeler],
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

const NEXT: &str = "loosen one of the two segments, clean the ends and push them together, snug and tighten from the joint outward, then look again";

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
    let address = || case.machine.joint_address(id, joint);
    if let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::Feeler)
        && let Some((record, inspect)) = last(|inspect| inspect.feeler.is_some())
        && let Some(feeler) = inspect.feeler.filter(|feeler| feeler.value > most)
        && stands(record)
    {
        findings.add(
            findings
                .finding(address(), feeler.place, format!("a feeler of {} goes into the joint", *feeler))
                .here(format!("{} over the limit", feeler.value - most))
                .found(Measure::too_large(feeler.value))
                .limit(limit)
                .next(NEXT),
        );
    }
    let light = last(|inspect| inspect.light.is_some()).and_then(|(record, inspect)| Some((record, inspect.light?)));
    let Some((record, light)) = light else { return Verdict::Awaits("light was not looked for") };
    if !stands(record) {
        return Verdict::Awaits("light was not looked for since the rail could move there");
    }
    if !light.value {
        return Verdict::Conforms(light.place);
    }
    findings.add(
        findings
            .finding(address(), light.place, "light shows through the joint")
            .here("light was seen")
            .limit(Limit {
                entry: None,
                text: "no light".into(),
                source: "common practice, no source".into(),
                set_at: None,
            })
            .next(NEXT),
    );
    Verdict::Broken
}
