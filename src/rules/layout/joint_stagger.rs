//! Joints of parallel rails are staggered.

use crate::facts::stagger;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-stagger"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Joints of parallel rails do not lie side by side.",
    why: "Where two joints lie side by side, the whole carriage goes over them at once and their errors add up.",
    limits: &[LimitName::Stagger],
    holds: &[LimitName::Stagger],
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
    follows_from: &[Ground::Described, Ground::Part, Ground::Lengths],
    checks: &[Check::Pairs(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, pair: [RailId; 2], findings: &mut Findings) -> Verdict {
    let rails = pair.map(|id| case.machine.rail(id));
    let [Some(_), Some(joint)] = rails.map(|rail| rail.joints.first()) else { return Verdict::NotRequired };
    let Some(limit) = required(case, pair[0], pair[1]) else {
        return Verdict::NotJudged("neither a stagger nor a hole pitch is stated");
    };
    // Joints stand in order along the rail.
    let [first, second] = rails.map(|rail| rail.joints.as_slice());
    for (at, joint) in second.iter().enumerate() {
        let within = first.partition_point(|other| joint.position - other.position >= limit.0);
        let near = first.iter().enumerate().skip(within);
        for (other, _) in near.take_while(|(_, other)| other.position - joint.position < limit.0) {
            findings.add(too_near(case, findings, (pair[1], at), (pair[0], other), limit));
        }
    }
    Verdict::Conforms(joint.place)
}

/// The finding stands at the rail that is written later.
fn too_near(
    case: &Case,
    findings: &Findings,
    (id, joint): (RailId, usize),
    (other, at): (RailId, usize),
    (required, limit): (Length, InForce),
) -> Finding {
    let here = &case.machine.rail(id).joints[joint];
    let there = &case.machine.rail(other).joints[at];
    let apart = (here.position - there.position).abs();
    findings
        .finding(
            case.machine.joint_address(id, joint),
            here.place,
            format!("{apart} from joint {} of the parallel rail", case.machine.joint_address(other, at)),
        )
        .here(format!("joint {} at {}", here.name, here.position))
        .also(there.place, format!("joint {} at {}", there.name, there.position))
        .found(Measure::too_small(apart))
        .limit(limit)
        .next(format!("move one of the two joints by {} or more, by another choice of segments", required - apart))
}

fn required<'l>(case: &Case<'l>, a: RailId, b: RailId) -> Option<(Length, InForce<'l>)> {
    stagger::required(case.ledger, case.rulebook, a, b)
}
