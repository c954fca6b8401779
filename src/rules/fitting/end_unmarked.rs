//! What is described of one end at a joint is described of the other.

use crate::finding::{Grade, RuleName};
use crate::ledger::{Name, RailId, Segment, Spanned};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("end-unmarked"),
    group: RuleGroup::Fitting,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Of the two ends that meet at a joint, both carry a match mark or neither, and both segments a lot or neither.",
    why: "A mark says that one other end belongs to it. Where that end bears none, the pair is unproven: a mark was not copied, or another bar lies there.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200 far-mark=A1; segment 1200 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 far-mark=A1; segment 1200 near-mark=A1 } } }
"#,
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let it = &rail.joints[joint];
    let (before, after) = (&rail.segments[it.before], &rail.segments[it.before + 1]);
    let mut verdict = Verdict::NotRequired;
    let pairs = [("match mark", &before.far_mark, &after.near_mark), ("lot", &before.lot, &after.lot)];
    for (what, near, far) in pairs {
        let (told, lacking): (&Spanned<Name>, &Segment) = match (near, far) {
            (None, None) => continue,
            (Some(_), Some(told)) => {
                verdict = Verdict::Conforms(told.place);
                continue;
            }
            (Some(told), None) => (told, after),
            (None, Some(told)) => (told, before),
        };
        findings.add(
            findings
                .finding(
                    case.machine.joint_address(id, joint),
                    lacking.place,
                    format!("of the two ends that meet in {} one has {what} {}, and the other none", it.name, **told),
                )
                .here("no such thing here")
                .also(told.place, format!("{what} of the other"))
                .next("read it off the rail and add it, or take it away from the other"),
        );
    }
    verdict
}
