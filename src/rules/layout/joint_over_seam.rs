//! No joint lies over a beam seam.

use crate::facts::expansion::beam;
use crate::facts::seam_clearance;
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-over-seam"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each joint keeps clear of the seams of the beam under it.",
    why: "A seam moves and steps as the beam does. A joint over it opens, and its support stands on two beams.",
    limits: &[LimitName::SeamClearance],
    holds: &[LimitName::SeamClearance],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X {
        beam front { piece 1250; piece 1150 }
        rail a beam=front { segment 1200; segment 1200; joint-support J1 at=1200 length=200 }
    }
}
"#,
    right: r#"
machine m {
    axis X {
        beam front { piece 1500; piece 900 }
        rail a beam=front { segment 1200; segment 1200; joint-support J1 at=1200 length=200 }
    }
}
"#,
    follows_from: &[Ground::Described, Ground::Part, Ground::Lengths],
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let it = &rail.joints[joint];
    let Some(beam) = beam(&case.machine.axes[id.axis], rail) else {
        return Verdict::NotJudged("no beam under it is described");
    };
    let Some(piece) = beam.pieces.first() else { return Verdict::NotJudged("no pieces of its beam are described") };
    let after = beam.seams.partition_point(|seam| seam.position < it.position);
    let near = [after.checked_sub(1), Some(after)];
    let seams = near.into_iter().flatten().filter_map(|seam| beam.seams.get(seam));
    let Some(seam) = seams.min_by_key(|seam| (seam.position - it.position).abs()) else {
        return Verdict::Conforms(piece.place);
    };
    let (required, limit) = seam_clearance::required(case.ledger, case.rulebook, id, joint);
    let apart = (seam.position - it.position).abs();
    if apart < required {
        findings.add(
            findings
                .finding(
                    case.machine.joint_address(id, joint),
                    it.place,
                    format!("{apart} from a seam of beam `{}`", *beam.name),
                )
                .here(format!("joint {} at {}", it.name, it.position))
                .also(seam.place, format!("the seam at {}", seam.position))
                .found(Measure::too_small(apart))
                .limit(limit)
                .next(format!("move the joint or the seam by {} or more", required - apart)),
        );
    }
    let stated = case.rulebook.least::<Length>(LimitName::SeamClearance);
    match stated.is_some() || seam_clearance::covered(case.ledger, id, joint).is_some() {
        true => Verdict::Conforms(seam.place),
        false => Verdict::NotJudged("no support under it is described"),
    }
}
