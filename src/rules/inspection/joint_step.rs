//! The step of each groove across a joint is within the limit.

use crate::calc::grooves::GaugePlus;
use crate::finding::{Grade, Measure};
use crate::ledger::Word;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};
use crate::worked::steps::{mean_step, plus};

pub static RULE: Rule = Rule {
    name: "joint-step",
    group: Group::Inspection,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The latest reading of each groove gives a step within the limit; repeats count by their mean, and a step of just the limit conforms.",
    why: "Every ball that passes a step is hit by it. The block hammers, the carriage jumps, and the edge breaks down.",
    limits: &["joint-step"],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { UL -0.04 -> -0.019 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { UL -0.04 -> -0.02 }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Length>("joint-step") else { return };
    for (id, _, rail) in case.rails() {
        for (joint, it) in rail.joints.iter().enumerate() {
            for reading in case.joint_state(id, joint).grooves.into_iter().flatten() {
                let Some(step) = mean_step(&reading).filter(|step| step.over(most.nm())) else { continue };
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
                findings.add(
                    findings
                        .finding(
                            case.machine.joint_address(id, joint),
                            reading.what.place,
                            format!("groove {groove} steps by {found}, {} over the limit", found - most),
                        )
                        .here(here)
                        .also(it.place, format!("{} at {}", it.name, it.position))
                        .found(Measure::too_large(found))
                        .limit(limit)
                        .next(format!(
                            "loosen beside {}, align and tighten from it outward, then inspect light and all four grooves again",
                            it.name
                        )),
                );
            }
        }
    }
}
