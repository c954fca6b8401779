//! Supports do not stand in each other's place.

use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::ledger::{RailId, Support};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("support-overlap"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "No two supports of a rail cover the same stretch.",
    why: "Two supports cannot stand in one place: one of them is described wrongly, and its bolts with it.",
    limits: &[],
    source: "geometry",
    wrong: r#"
machine m {
    axis X {
        rail a {
            segment 1200; segment 1200
            supports S first=120 pitch=240 count=10 length=80
            joint-support J1 at=1200 length=200
        }
    }
}
"#,
    right: r#"
machine m {
    axis X {
        rail a {
            segment 1200; segment 1200
            supports S first=120 pitch=240 count=10 length=80
            joint-support J1 at=1200 length=160
        }
    }
}
"#,
    follows_from: &[Ground::Described],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let supports = &case.machine.rail(id).supports;
    let Some(last) = supports.last() else { return Verdict::Awaits("no supports are described") };
    // The support that reaches farthest so far; a long one may overlap more than its next neighbour.
    let mut reach = &supports[0];
    let mut stated = reach.covers.is_some();
    for (index, support) in supports.iter().enumerate().skip(1) {
        let over = reach.to() - support.from();
        if over > Length::ZERO {
            findings.add(overlap(case, findings, (id, index), reach, over));
        }
        if support.to() > reach.to() {
            reach = support;
        }
        stated &= support.covers.is_some();
    }
    match stated {
        true => Verdict::Conforms(last.place),
        false => Verdict::NotJudged("not every support says what it covers"),
    }
}

fn overlap(case: &Case, findings: &Findings, (id, index): (RailId, usize), other: &Support, over: Length) -> Finding {
    let support = &case.machine.rail(id).supports[index];
    findings
        .finding(
            case.machine.support_address(id, index),
            support.place,
            format!("{} and {} overlap by {over}", other.name, support.name),
        )
        .here(format!("{} covers {} to {}", support.name, support.from(), support.to()))
        .also(other.place, format!("{} covers {} to {}", other.name, other.from(), other.to()))
        .found(Measure::too_large(over))
        .limit(Limit { entry: None, text: "0 mm".into(), source: "geometry".into(), set_at: None })
        .next("shorten one of them, move it, or leave it out with `omit`")
}
