//! The step of each groove across a joint is within the limit.

use crate::calc::grooves::GaugePlus;
use crate::calc::step::MeanStep;
use crate::facts::steps::{Latest, mean_step, plus};
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{GrooveReading, Inspect, Keyword, RailId};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-step"),
    group: RuleGroup::Inspection,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The latest reading of each groove gives a step within the limit; repeats count by their mean, and a step of just the limit conforms. A later reading that does not count, since its instrument cannot vouch for it, clears nothing. A reading is history once a support beside the joint was loosened, or first tightened, after it.",
    why: "Every ball that passes a step is hit by it. The block hammers, the carriage jumps, and the edge breaks down.",
    limits: &[LimitName::JointStep],
    holds: &[LimitName::JointStep],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { UL -0.04 -> -0.019 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { UL -0.04 -> -0.02 }
"#,
    judges: &[ReadingKind::Step],
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::JointStep) else { return Verdict::NotRequired };
    for latest in case.joint_state(id, joint).grooves.into_iter().flatten() {
        if let Some((reading, step)) = broken(case, id, joint, latest, most) {
            findings.add(over(case, findings, id, joint, (reading, step), most).limit(limit));
        }
    }
    case.steps_shown(id, joint).into()
}

/// The last reading of a groove that breaks the limit and was neither undone since nor read again by one that counts.
fn broken<'l>(
    case: &Case<'l>,
    id: RailId,
    joint: usize,
    latest: Latest<'l, &'l GrooveReading>,
    most: Length,
) -> Option<(Latest<'l, &'l GrooveReading>, MeanStep)> {
    let over = |reading| Some((reading, mean_step(&reading).filter(|step| step.over(most.nm()))?));
    // Mostly the latest counts and is within the limit.
    if over(latest).is_none() && case.counts(latest.record) {
        return None;
    }
    let groove = latest.what.groove;
    let of_groove = |inspect: &'l Inspect| inspect.grooves.iter().rfind(|of| of.groove == groove);
    let back = case.inspections_back(id, joint, |inspect| of_groove(inspect).is_some_and(|of| !of.pairs.is_empty()));
    back.into_iter()
        .filter_map(|(record, inspect)| over(Latest { record, inspect, what: of_groove(inspect)? }))
        .find(|(reading, _)| case.joint_stands(id, joint, reading.record))
}

fn over(
    case: &Case,
    findings: &Findings,
    id: RailId,
    joint: usize,
    (reading, step): (Latest<&GrooveReading>, MeanStep),
    most: Length,
) -> Finding {
    let it = &case.machine.rail(id).joints[joint];
    let found = Length(step.magnitude_nm());
    let groove = reading.what.groove.word();
    let mut here = format!("step of {found}");
    if step.count > 1 {
        here = format!("{here}, the mean of {}", step.count);
    }
    if step.slanted {
        here = format!("{here}, read as √2 times as much");
    }
    if let Some(plus) = plus(case.ledger, reading.inspect) {
        let far = (plus == GaugePlus::Outward) == (step.sum_nm > 0);
        here = format!("{here}: the {} rail's groove stands proud", if far { "far" } else { "near" });
    }
    findings
        .finding(
            case.machine.joint_address(id, joint),
            reading.what.place,
            format!("groove {groove} steps by {found}, {} over the limit", found - most),
        )
        .here(here)
        .also(it.place, format!("{} at {}", it.name, it.position))
        .found(Measure::too_large(found))
        .next(format!(
            "loosen beside {}, align and tighten {}, then inspect light and all four grooves again",
            it.name,
            if case.machine.rail(id).tightened_along() { "one way along the rail" } else { "from it outward" }
        ))
}
