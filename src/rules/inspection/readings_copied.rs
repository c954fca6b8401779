//! No two joints have the very same readings, nor two days, nor two ledgers.

use std::collections::BTreeMap;

use super::{day_copies, elsewhere};
use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::facts::ReadJoint;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("readings-copied"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "No joint has the same readings in all four grooves, on either side, as another. All zeros do not count. No day has twelve readings or more that are those of another day at the same places, all alike left out. No record of work or readings stands word for word in another ledger of the shop that is judged with it: the one whose folder comes later in their order does not count, which is a nonconformity. Nor has such a ledger twelve readings or more of another one at the same places on other days.",
    why: "Eight numbers that all agree are seldom chance. Most often a block of text was copied and its numbers never changed, or yesterday's file was and only its date.",
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
    about: About::Taking,
    follows_from: &[Ground::Records],
    checks: &[Check::Joints(check), Check::Machine(day_copies::check), Check::Records(elsewhere::check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let state = case.joint_state(id, joint);
    let (Some(last), true) =
        (state.last, state.grooves.iter().flatten().filter(|of| !of.what.pairs.is_empty()).count() == 4)
    else {
        return Verdict::Awaits("not all four grooves are read");
    };
    let mut pairs = state.grooves.iter().flatten().flat_map(|of| &of.what.pairs);
    if pairs.all(|(before, after)| before.value == Length::ZERO && after.value == Length::ZERO) {
        return Verdict::NotRequired;
    }
    if let Some(other) = case.copied(id, joint) {
        findings.add(copied(case, findings, id, joint, last, other));
    }
    Verdict::Conforms(case.records[last].place)
}

fn copied(case: &Case, findings: &Findings, id: RailId, joint: usize, last: usize, other: &ReadJoint) -> Finding {
    let address = case.machine.joint_address(other.rail, other.joint);
    findings
        .finding(
            case.machine.joint_address(id, joint),
            case.records[last].place,
            format!("all readings here are those of {address}"),
        )
        .here("the same four grooves")
        .also(case.records[other.last].place, format!("as {address}"))
        .next("look at the paper they were taken from, or read one of the joints again")
}

/// The pairs of each of the four grooves.
type GroovePairs = Vec<Vec<(Length, Length)>>;

/// The joints that have the readings of an earlier one, in their order, each with that one; [`Case::copied`] keeps them.
pub(in crate::rules) fn copies(case: &Case) -> Vec<((RailId, usize), ReadJoint)> {
    let mut copies = Vec::new();
    let mut known: BTreeMap<GroovePairs, ReadJoint> = BTreeMap::new();
    for (id, _, rail) in case.rails() {
        for joint in 0..rail.joints.len() {
            let state = case.joint_state(id, joint);
            let Some(last) = state.last else { continue };
            let readings: Option<GroovePairs> = state
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
            match known.get(&readings) {
                Some(other) => copies.push(((id, joint), *other)),
                None => {
                    known.insert(readings, ReadJoint { rail: id, joint, last });
                }
            }
        }
    }
    copies
}
