//! Every joint has its four groove readings.

use super::named;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::ledger::{Groove, RailId};
use crate::rules::{Case, Check, Cure, Findings, Ground, RequiredWork, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("groove-missing"),
    group: RuleGroup::Inspection,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Each joint has a reading of each of its four grooves, on either side of the joint.",
    why: "The balls run in all four grooves. Three good ones say nothing about the fourth.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL -0.04 -> -0.03; UR 0 -> 0.01; LL 0 -> 0 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL -0.04 -> -0.03; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
"#,
    follows_from: &[Ground::Part],
    asks_for: Some(RequiredWork::Inspection),
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let state = case.joint_state(id, joint);
    let missing: Vec<Groove> =
        Groove::ALL.into_iter().filter(|groove| state.grooves[*groove as usize].is_none()).collect();
    let (Some(last), true) = (state.last, missing.is_empty()) else {
        findings.add(missing_at(case, findings, id, joint, &missing));
        return Verdict::Outstanding;
    };
    Verdict::Conforms(case.records[last].place)
}

fn missing_at(case: &Case, findings: &Findings, id: RailId, joint: usize, missing: &[Groove]) -> Finding {
    let it = &case.machine.rail(id).joints[joint];
    let state = case.joint_state(id, joint);
    // The light is told of here as well, so that one joint is one item of work.
    let light = if state.light.is_none() { "look for light, then " } else { "" };
    let (place, message, here) = match state.last {
        None => (it.place, format!("{} is not inspected yet", it.name), "this joint".to_string()),
        Some(last) => {
            let of = if missing.len() == 1 { "groove" } else { "grooves" };
            let names = named(missing);
            let unlit = if state.light.is_none() { ", and light was not looked for" } else { "" };
            (
                case.records[last].place,
                format!("{of} {names} of {} not read yet{unlit}", it.name),
                format!("{} of 4 grooves so far", 4 - missing.len()),
            )
        }
    };
    let address = case.machine.joint_address(id, joint);
    let finding =
        findings.finding(address, place, message).here(here).found(Measure::too_large(missing.len())).next(format!(
            "{light}read {} just before and just past {} and record it as `{} -0.01 -> 0`",
            named(missing),
            it.name,
            named(&missing[..1]),
        ));
    match state.last {
        Some(_) => finding.also(it.place, format!("{} at {}", it.name, it.position)),
        None => match case.machine.rail(id).stands_since(it.support, it.position) {
            Some(since) => finding.also(since.place, format!("it is so since {}: what is older is history", *since)),
            None => finding,
        },
    }
}
