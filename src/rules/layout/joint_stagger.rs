//! Joints of parallel rails are staggered.

use crate::facts::stagger::{self, Needs};
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("joint-stagger"),
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Joints of parallel rails do not lie side by side.",
    why: "Where two joints lie side by side, the whole carriage goes over them at once and their errors add up.",
    limits: &[LimitName::Stagger],
    source: "common practice, no source",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X {
        rail a profile=R20 { segment 1200; segment 1200 }
        rail b profile=R20 { segment 1200; segment 1200 }
    }
}
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X {
        rail a profile=R20 { segment 1200; segment 1200 }
        rail b profile=R20 { segment 960; segment 1440 }
    }
}
"#,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    let stated = case.rulebook.least::<Length>(LimitName::Stagger).map(|(stated, _)| stated);
    for (axis, of) in case.machine.axes.iter().enumerate() {
        // All joints of the axis in order: only neighbours within the widest clearance can be too close.
        let mut joints: Vec<(Length, RailId, usize)> = Vec::new();
        for (rail, it) in of.rails.iter().enumerate() {
            let id = RailId { axis, rail };
            joints.extend(it.joints.iter().enumerate().map(|(joint, at)| (at.position, id, joint)));
        }
        joints.sort();
        let rails = 0..of.rails.len();
        let needs: Vec<Needs> = rails.map(|rail| Needs::of(case, RailId { axis, rail })).collect();
        let widest = needs.iter().fold(Needs::default(), |widest, needs| widest.and(*needs)).stagger(stated);
        for (i, &(a, first, first_joint)) in joints.iter().enumerate() {
            for &(b, second, second_joint) in &joints[i + 1..] {
                if first.rail == second.rail {
                    continue;
                }
                let Some(required) = needs[first.rail].and(needs[second.rail]).stagger(stated) else { continue };
                let apart = b - a;
                if apart >= required {
                    // The stagger that others of these rails need may be wider.
                    if widest.is_none_or(|widest| apart >= widest) {
                        break;
                    }
                    continue;
                }
                // The finding stands at the rail that is written later.
                let ((id, joint), (other, other_joint)) = if first < second {
                    ((second, second_joint), (first, first_joint))
                } else {
                    ((first, first_joint), (second, second_joint))
                };
                let Some((_, limit)) = self::required(case, first, second) else { continue };
                let here = &case.machine.rail(id).joints[joint];
                let there = &case.machine.rail(other).joints[other_joint];
                findings.add(
                    findings
                        .finding(
                            case.machine.joint_address(id, joint),
                            here.place,
                            format!(
                                "{apart} from joint {} of the parallel rail",
                                case.machine.joint_address(other, other_joint)
                            ),
                        )
                        .here(format!("joint {} at {}", here.name, here.position))
                        .also(there.place, format!("joint {} at {}", there.name, there.position))
                        .found(Measure::too_small(apart))
                        .limit(limit)
                        .next(format!(
                            "move one of the two joints by {} or more, by another choice of segments",
                            required - apart
                        )),
                );
            }
        }
    }
}

fn required<'l>(case: &Case<'l>, a: RailId, b: RailId) -> Option<(Length, InForce<'l>)> {
    stagger::required(case.ledger, case.rulebook, a, b)
}
