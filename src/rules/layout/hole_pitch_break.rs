//! The hole pitch carries on across a joint.

use crate::finding::{Grade, Measure};
use crate::language::rulebook::LimitName;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "hole-pitch-break",
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "From the last hole before a joint to the first one after it is one hole pitch.",
    why: "Supports are drilled on one pitch. Where the rails break it, no bolt of the next segment finds its hole.",
    limits: &[LimitName::HolePitchTolerance],
    source: "geometry",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m { axis X { rail a profile=R20 { segment 1200; segment 1200 near-distance=20 } } }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m { axis X { rail a profile=R20 { segment 1210; segment 1190 near-distance=20 } } }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((tolerance, limit)) = case.rulebook.most::<Length>(LimitName::HolePitchTolerance) else { return };
    for (id, _, rail) in case.rails() {
        let Some(pitch) = super::hole_pitch(case, rail) else { continue };
        for (index, joint) in rail.joints.iter().enumerate() {
            let (near, far) = (&rail.segments[joint.before], &rail.segments[joint.before + 1]);
            let (Some(last), Some(first)) = (near.holes.last(), far.holes.first()) else { continue };
            let step = *first - *last;
            let off = (step - pitch).abs();
            if off <= tolerance {
                continue;
            }
            findings.add(
                findings
                    .finding(
                        case.machine.joint_address(id, index),
                        joint.place,
                        format!("from hole to hole across the joint is {step}; the hole pitch is {pitch}"),
                    )
                    .here(format!("first hole {} after the joint", *first - joint.position))
                    .also(near.place, format!("last hole {} before the joint", joint.position - *last))
                    .found(Measure::too_large(off))
                    .limit(limit)
                    .next(format!(
                        "let the two end distances add up to {pitch}, or check near-distance and far-distance"
                    )),
            );
        }
    }
}
