//! No sawn end lies in a joint.

use crate::finding::{Grade, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{End, Profile, Rail, Segment};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("joint-end"),
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "The two ends that meet in a joint are as the maker ground them. A segment cut to length has a sawn end; it belongs at an end of the axis.",
    why: "A sawn edge is not square to the rail and has lost its chamfer: the joint gapes, and the balls hit its edge.",
    limits: &[LimitName::SawnEnds],
    source: "judgement: a sawn end's edge and squareness are not the maker's",
    wrong: r#"
machine m { axis X { rail a { segment 1200 far-end=sawn; segment 1200 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 near-end=sawn; segment 1200 } } }
"#,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    if case.rulebook.choice(LimitName::SawnEnds) != "forbidden" {
        return;
    }
    let limit = case.rulebook.computed(LimitName::SawnEnds, "no sawn end in a joint".into());
    for (id, _, rail) in case.rails() {
        let profile = rail.profile.as_ref().and_then(|name| case.shop.profile(name));
        for (index, joint) in rail.joints.iter().enumerate() {
            let (near, far) = (&rail.segments[joint.before], &rail.segments[joint.before + 1]);
            let sawn = |end: Option<crate::ledger::Given<End>>| end.filter(|end| end.value == End::Sawn);
            let ends = [(sawn(near.far_end), "far", joint.before), (sawn(far.near_end), "near", joint.before + 1)];
            for (end, side, segment) in ends {
                let Some(end) = end else { continue };
                let name = format!("segment {}", segment + 1);
                findings.add(
                    findings
                        .finding(
                            case.machine.joint_address(id, index),
                            end.place,
                            format!("the {side} end of {name} is sawn and lies in {}", joint.name),
                        )
                        .here("sawn")
                        .limit(limit.clone())
                        .next(turned(rail, segment)),
                );
            }
        }
        let inner = rail.segments.len().saturating_sub(1);
        for (index, segment) in rail.segments.iter().enumerate().take(inner).skip(1) {
            let Some(stock) = profile.and_then(|profile| cut_and_sawn(profile, segment)) else { continue };
            findings.add(
                findings
                    .finding(
                        case.machine.segment_address(id, index),
                        segment.length.place,
                        "the segment is cut to length, so one of its ends is sawn, and both lie in joints",
                    )
                    .here("not a bar length")
                    .also(stock, "the bars that can be had")
                    .limit(limit.clone())
                    .next("put a whole bar here and the cut one at an end of the axis, or have the cut end ground"),
            );
        }
    }
}

fn turned(rail: &Rail, segment: usize) -> String {
    if segment == 0 || segment + 1 == rail.segments.len() {
        "turn the segment round, so that the sawn end lies at the end of the axis, or have it ground".into()
    } else {
        "have the end ground, or put the segment at an end of the axis".into()
    }
}

/// The place of the stock, where a segment must have been cut and its cut end is sawn.
fn cut_and_sawn(profile: &Profile, segment: &Segment) -> Option<Place> {
    let stated = segment.near_end.is_some() || segment.far_end.is_some();
    let sawn = profile.cut_ends.is_some_and(|ends| *ends == End::Sawn);
    let whole = profile.stock.iter().any(|(bar, _)| **bar == *segment.length);
    let first = profile.stock.first()?;
    (!stated && !segment.owned && sawn && profile.cutting_allowed && !whole).then_some(first.0.place)
}
