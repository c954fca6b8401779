//! No joint lies over a beam seam.

use crate::calc::layout::clearance::default_seam_clearance;
use crate::finding::{Grade, Measure};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "joint-over-seam",
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each joint keeps clear of the seams of the beam under it.",
    why: "A seam moves and steps as the beam does. A joint over it opens, and its support stands on two beams.",
    limits: &["seam-clearance"],
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
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    let stated = case.rulebook.least::<Length>("seam-clearance");
    for (id, axis, rail) in case.rails() {
        let Some(beam) = rail.beam.as_ref().and_then(|name| axis.beams.iter().find(|beam| *beam.name == **name)) else {
            continue;
        };
        for (index, joint) in rail.joints.iter().enumerate() {
            let (required, limit) = match &stated {
                Some(stated) => *stated,
                None => {
                    let covers = joint.support.and_then(|support| rail.supports[support].covers);
                    // Without a support that says its length, a joint right on a seam is still wrong.
                    let required = Length(covers.map_or(1, |covers| default_seam_clearance(covers.nm())));
                    (required, case.rulebook.computed_least("seam-clearance", required))
                }
            };
            let after = beam.seams.partition_point(|seam| seam.position < joint.position);
            let near = [after.checked_sub(1), Some(after)];
            let seams = near.into_iter().flatten().filter_map(|seam| beam.seams.get(seam));
            let Some(seam) = seams.min_by_key(|seam| (seam.position - joint.position).abs()) else { continue };
            let apart = (seam.position - joint.position).abs();
            if apart >= required {
                continue;
            }
            findings.add(
                findings
                    .finding(
                        case.machine.joint_address(id, index),
                        joint.place,
                        format!("{apart} from a seam of beam `{}`", *beam.name),
                    )
                    .here(format!("joint {} at {}", joint.name, joint.position))
                    .also(seam.place, format!("the seam at {}", seam.position))
                    .found(Measure::too_small(apart))
                    .limit(limit)
                    .next(format!("move the joint or the seam by {} or more", required - apart)),
            );
        }
    }
}
