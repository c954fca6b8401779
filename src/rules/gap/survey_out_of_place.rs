//! A survey is taken where, and it and an inspection are taken when, they say something.

use std::ops::Range;

use crate::finding::{Grade, RuleName};
use crate::ledger::{Body, RailId, SurveyKind, Target};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

use super::reference;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("survey-out-of-place"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A gap is recorded along the rail that follows, not along the one that it follows; and what is read while a rail is set (`stage=aligning`), along it or at a joint, is read before the bolts there have their full torque.",
    why: "Nothing judges either of them. A gap under the wrong rail is missed under the right one, and a bad reading of a tightened rail would be kept and never judged.",
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { supports S first=100 pitch=240 count=3 }; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.a date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.01 }
"#,
    right: r#"
machine m { axis X { rail a { supports S first=100 pitch=240 count=3 }; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.01 }
"#,
    never_conceded: true,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    if let (Body::Inspect(_), Some(Target::Joint(id, joint))) = (&record.body, record.target) {
        if !record.is_aligning() {
            return Verdict::NotRequired;
        }
        let address = case.machine.joint_address(id, joint);
        return set_loose(case, index, (id, case.ledger.beside_joint(id, joint)), "inspection", address, findings);
    }
    let (Body::Survey(survey), Some(id)) = (&record.body, record.rail()) else { return Verdict::NotRequired };
    let address = || case.machine.rail_address(id);
    if survey.kind.is_some_and(|kind| kind.value == SurveyKind::Gap)
        && let Some(follower) = follower(case, id)
    {
        let other = case.machine.rail_address(follower);
        let message = format!("this gap is recorded along {}, which others follow: nothing judges it", address());
        findings.add(
            findings
                .finding(address(), record.place, message)
                .here("the rail that is followed")
                .next(format!("a gap is read along the rail that follows: withdraw it, and record it on {other}")),
        );
        return Verdict::Broken;
    }
    if record.is_aligning() {
        let all = 0..case.machine.rail(id).supports.len();
        return set_loose(case, index, (id, all), "survey", address(), findings);
    }
    Verdict::Conforms(record.place)
}

/// Whether none of the supports that a reading rests on had full torque while the rail was set.
fn set_loose(
    case: &Case,
    index: usize,
    (id, supports): (RailId, Range<usize>),
    what: &str,
    address: String,
    findings: &mut Findings,
) -> Verdict {
    let record = &case.records[index];
    let all = supports.len();
    let tight = supports.filter(|support| case.ledger.tight(id, *support, Some(index))).count();
    if tight == 0 {
        return Verdict::Conforms(record.place);
    }
    let message =
        format!("this {what} is called aligning, and {tight} of {all} supports of {address} had their full torque");
    let stages = match what {
        "survey" => "give the survey its stage: as-fitted, verification or service",
        _ => "take the stage off",
    };
    findings.add(
        findings
            .finding(address, record.place, message)
            .here("nothing judges it")
            .next(format!("if the rail was loose, record that it was loosened; else {stages}")),
    );
    Verdict::Broken
}

/// A rail that follows this one, where this one follows none.
fn follower(case: &Case, id: RailId) -> Option<RailId> {
    let none = case.machine.rail(id).follows.is_none();
    case.rails().map(|(other, ..)| other).find(|other| none && reference(case, *other) == Some(id))
}
