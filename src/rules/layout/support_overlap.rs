//! Supports do not stand in each other's place.

use crate::finding::{Grade, Limit, Measure};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "support-overlap",
    group: Group::Layout,
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
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, _, rail) in case.rails() {
        // The support that reaches farthest so far; a long one may overlap more than its next neighbour.
        let mut reach: Option<usize> = None;
        for (index, support) in rail.supports.iter().enumerate() {
            if let Some(before) = reach {
                let other = &rail.supports[before];
                let over = other.to() - support.from();
                if over > Length::ZERO {
                    findings.add(
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
                            .next("shorten one of them, move it, or leave it out with `omit`"),
                    );
                }
            }
            if reach.is_none_or(|before| support.to() > rail.supports[before].to()) {
                reach = Some(index);
            }
        }
    }
}
