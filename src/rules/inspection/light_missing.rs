//! At every joint somebody looked for light.

use crate::finding::{Grade, RuleName};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule, Work};

pub static RULE: Rule = Rule {
    name: RuleName::new("light-missing"),
    group: Group::Inspection,
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
    asks_for: Some(Work::Inspection),
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, _, rail) in case.rails() {
        for (joint, it) in rail.joints.iter().enumerate() {
            let state = case.joint_state(id, joint);
            let (Some(last), None) = (state.last, &state.light) else { continue };
            if state.grooves.iter().any(Option::is_none) {
                continue;
            }
            findings.add(
                findings
                    .finding(
                        case.machine.joint_address(id, joint),
                        case.records[last].place,
                        format!("no record says whether light shows through {}", it.name),
                    )
                    .here("no light check")
                    .also(it.place, format!("{} at {}", it.name, it.position))
                    .next("hold a lamp behind the joint and add `light none` or `light seen` to an inspection"),
            );
        }
    }
}
