//! The hole pitch carries on across a joint.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("hole-pitch-break"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "From the last hole before a joint to the first one after it is one hole pitch.",
    why: "Supports are drilled on one pitch. Where the rails break it, no bolt of the next segment finds its hole.",
    limits: &[LimitName::HolePitchTolerance],
    holds: &[LimitName::HolePitchTolerance],
    source: "geometry",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m { axis X { rail a profile=R20 { segment 1200; segment 1200 near-distance=20 } } }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m { axis X { rail a profile=R20 { segment 1210; segment 1190 near-distance=20 } } }
"#,
    follows_from: &[Ground::Described, Ground::Part, Ground::HolePitch],
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let Some((tolerance, limit)) = case.rulebook.most::<Length>(LimitName::HolePitchTolerance) else {
        return Verdict::NotRequired;
    };
    let rail = case.machine.rail(id);
    let Some(pitch) = super::hole_pitch(case, rail) else { return Verdict::NotJudged("no hole pitch is described") };
    let it = &rail.joints[joint];
    let (near, far) = (&rail.segments[it.before], &rail.segments[it.before + 1]);
    let (Some(last), Some(first)) = (near.holes.last(), far.holes.first()) else {
        return super::holes_lacking(case, rail).map_or(Verdict::NotRequired, Verdict::NotJudged);
    };
    let step = *first - *last;
    let off = (step - pitch).abs();
    if off > tolerance {
        findings.add(
            findings
                .finding(
                    case.machine.joint_address(id, joint),
                    it.place,
                    format!("from hole to hole across the joint is {step}; the hole pitch is {pitch}"),
                )
                .here(format!("first hole {} after the joint", *first - it.position))
                .also(near.place, format!("last hole {} before the joint", it.position - *last))
                .found(Measure::too_large(off))
                .limit(limit)
                .next(format!("let the two end distances add up to {pitch}, or check near-distance and far-distance")),
        );
    }
    Verdict::Conforms(near.place)
}
