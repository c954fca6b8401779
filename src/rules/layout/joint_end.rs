//! No sawn end lies in a joint.

use crate::finding::{Grade, Limit, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{EndCut, Profile, Rail, RailId, Segment, Spanned};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-end"),
    group: RuleGroup::Layout,
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
    follows_from: &[Ground::Described, Ground::Part],
    checks: &[Check::Joints(ends), Check::Segments(between)],
    ..Rule::PLAIN
};

/// Both ends that meet in a joint, as far as the description says how they were cut.
fn ends(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    if case.rulebook.choice(LimitName::SawnEnds) != "forbidden" {
        return Verdict::NotRequired;
    }
    let rail = case.machine.rail(id);
    let joint = &rail.joints[index];
    let (near, far) = (&rail.segments[joint.before], &rail.segments[joint.before + 1]);
    for (end, side, segment) in [(near.far_end, "far", joint.before), (far.near_end, "near", joint.before + 1)] {
        let Some(end) = end.filter(|end| end.value == EndCut::Sawn) else { continue };
        let name = format!("segment {}", segment + 1);
        findings.add(
            findings
                .finding(
                    case.machine.joint_address(id, index),
                    end.place,
                    format!("the {side} end of {name} is sawn and lies in {}", joint.name),
                )
                .here("sawn")
                .limit(limit(case))
                .next(turned(rail, segment)),
        );
    }
    let profile = super::profile(case, rail);
    let ground = |end: Option<Spanned<EndCut>>, of: &Segment| {
        end.is_some() || profile.is_some_and(|profile| whole(profile, of) || profile.cut_ends().is_some_and(is_ground))
    };
    match ground(near.far_end, near) && ground(far.near_end, far) {
        true => Verdict::Conforms(joint.place),
        false => Verdict::NotJudged("how an end in it was cut is not described"),
    }
}

/// A segment whose ends both lie in joints, where the stock says that one of them must be a cut one.
fn between(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let segment = &rail.segments[index];
    let outer = index == 0 || index + 1 == rail.segments.len();
    // Where the ends are stated, the joints are judged by that.
    let stated = segment.near_end.is_some() || segment.far_end.is_some();
    if outer || stated || case.rulebook.choice(LimitName::SawnEnds) != "forbidden" {
        return Verdict::NotRequired;
    }
    let Some((profile, stock)) = super::profile(case, rail).and_then(|it| Some((it, it.stock.first()?.0.place))) else {
        return Verdict::NotJudged("no stock of its profile is described");
    };
    if whole(profile, segment) || profile.cut_ends().is_some_and(is_ground) {
        return Verdict::Conforms(segment.length.place);
    }
    if segment.owned || !profile.cutting_allowed() || profile.cut_ends().is_none() {
        return Verdict::NotJudged("how a cut end is left is not described");
    }
    findings.add(
        findings
            .finding(
                case.machine.segment_address(id, index),
                segment.length.place,
                "the segment is cut to length, so one of its ends is sawn, and both lie in joints",
            )
            .here("not a bar length")
            .also(stock, "the bars that can be had")
            .limit(limit(case))
            .next("put a whole bar here and the cut one at an end of the axis, or have the cut end ground"),
    );
    Verdict::Broken
}

fn limit(case: &Case) -> Limit {
    case.rulebook.computed(LimitName::SawnEnds, "no sawn end in a joint".into())
}

fn is_ground(end: Spanned<EndCut>) -> bool {
    *end == EndCut::Ground
}

/// The segment is a whole bar of the stock, with both ends as the maker ground them.
fn whole(profile: &Profile, segment: &Segment) -> bool {
    profile.stock.iter().any(|(bar, _)| **bar == *segment.length)
}

fn turned(rail: &Rail, segment: usize) -> String {
    if segment == 0 || segment + 1 == rail.segments.len() {
        "turn the segment round, so that the sawn end lies at the end of the axis, or have it ground".into()
    } else {
        "have the end ground, or put the segment at an end of the axis".into()
    }
}
