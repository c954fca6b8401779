//! At every joint somebody looked for light.

use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::RailId;
use crate::rules::{Case, Check, Cure, Findings, Ground, RequiredWork, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("light-missing"),
    group: RuleGroup::Inspection,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Each joint whose grooves are read has a light check on record. Before that, groove-missing asks for both.",
    why: "Four grooves in line say nothing about a gap between the rail ends. Only light through the joint shows it.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
"#,
    follows_from: &[Ground::Part],
    asks_for: Some(RequiredWork::Inspection),
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let state = case.joint_state(id, joint);
    if let Some(light) = &state.light {
        return Verdict::Conforms(case.records[light.record].place);
    }
    match state.last {
        Some(last) if state.grooves.iter().all(Option::is_some) => {
            findings.add(unlit(case, findings, id, joint, last));
            Verdict::Outstanding
        }
        _ => Verdict::Awaits("not all four grooves are read"),
    }
}

fn unlit(case: &Case, findings: &Findings, id: RailId, joint: usize, last: usize) -> Finding {
    let it = &case.machine.rail(id).joints[joint];
    findings
        .finding(
            case.machine.joint_address(id, joint),
            case.records[last].place,
            format!("no record says whether light shows through {}", it.name),
        )
        .here("no light check")
        .also(it.place, format!("{} at {}", it.name, it.position))
        .next("hold a lamp behind the joint and add `light none` or `light seen` to an inspection")
}
