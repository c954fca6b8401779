//! No two joints have the very same readings.

use std::collections::BTreeMap;

use crate::finding::Grade;
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "readings-copied",
    group: Group::Inspection,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "No joint has the same readings in all four grooves, before and after, as another. All zeros do not count.",
    why: "Eight numbers that all agree are seldom chance. Most often a block of text was copied and its numbers never changed.",
    limits: &[],
    source: "judgement",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL -0.04 -> -0.03; UR 0.01 -> 0.02; LL 0 -> -0.01; LR 0.02 -> 0.01 }
inspect X.a.J2 date="2026-04-15" by=inspector-1 { light none; UL -0.04 -> -0.03; UR 0.01 -> 0.02; LL 0 -> -0.01; LR 0.02 -> 0.01 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL -0.04 -> -0.03; UR 0.01 -> 0.02; LL 0 -> -0.01; LR 0.02 -> 0.01 }
inspect X.a.J2 date="2026-04-15" by=inspector-1 { light none; UL -0.04 -> -0.03; UR 0.01 -> 0.02; LL 0 -> -0.01; LR 0.02 -> 0.015 }
"#,
    check: Check::Ledger(check),
};

/// The pairs of each of the four grooves.
type Readings = Vec<Vec<(Length, Length)>>;

fn check(case: &Case, findings: &mut Findings) {
    let mut known: BTreeMap<Readings, (RailId, usize, usize)> = BTreeMap::new();
    for (id, _, rail) in case.rails() {
        for joint in 0..rail.joints.len() {
            let state = case.joint_state(id, joint);
            let Some(last) = state.last else { continue };
            let readings: Option<Readings> = state
                .grooves
                .iter()
                .map(|reading| {
                    let pairs = &reading.as_ref()?.what.pairs;
                    (!pairs.is_empty())
                        .then(|| pairs.iter().map(|(before, after)| (before.value, after.value)).collect())
                })
                .collect();
            let zero = (Length::ZERO, Length::ZERO);
            let Some(readings) = readings.filter(|all| all.iter().flatten().any(|pair| *pair != zero)) else {
                continue;
            };
            let Some((other, other_joint, record)) = known.get(&readings) else {
                known.insert(readings, (id, joint, last));
                continue;
            };
            let address = case.machine.joint_address(*other, *other_joint);
            findings.add(
                findings
                    .finding(
                        case.machine.joint_address(id, joint),
                        case.records[last].place,
                        format!("all readings here are those of {address}"),
                    )
                    .here("the same four grooves")
                    .also(case.records[*record].place, format!("as {address}"))
                    .next("look at the paper they were taken from, or read one of the joints again"),
            );
        }
    }
}
