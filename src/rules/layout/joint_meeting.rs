//! Two blocks do not meet two joints together.

use crate::calc::layout::meeting::{Meeting, PositionRange, meeting_slack};
use crate::finding::{Finding, Grade, Limit, Measure, Place, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{Axis, Carriage, RailId};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-meeting"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Nowhere in the stroke do two blocks of the carriage stand over two joints together. One joint under two blocks of its rail does not count.",
    why: "Joints staggered by the spacing of the blocks are as bad as joints side by side: the front block meets one as the rear block meets the other.",
    limits: &[LimitName::MeetingMargin],
    holds: &[LimitName::MeetingMargin],
    source: "geometry",
    wrong: r#"
shop { block B20 length=80 }
machine m {
    axis X {
        rail a { segment 1200; segment 1200 }
        rail b { segment 840; segment 1560 }
        stroke from=300 to=2100
        carriage {
            block a at=180 type=B20
            block b at=-180 type=B20
        }
    }
}
"#,
    right: r#"
shop { block B20 length=80 }
machine m {
    axis X {
        rail a { segment 1200; segment 1200 }
        rail b { segment 960; segment 1440 }
        stroke from=300 to=2100
        carriage {
            block a at=180 type=B20
            block b at=-180 type=B20
        }
    }
}
"#,
    follows_from: &[Ground::Described, Ground::Part, Ground::Lengths],
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

/// A block over a joint.
struct BlockOverJoint {
    meeting: Meeting,
    /// The block's number and where it is described.
    block: usize,
    place: Place,
    rail: usize,
    joint: usize,
}

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some((margin, limit)) = case.rulebook.least::<Length>(LimitName::MeetingMargin) else {
        return Verdict::NotRequired;
    };
    let it = &case.machine.axes[axis];
    if it.rails.iter().all(|rail| rail.joints.is_empty()) {
        return Verdict::NotRequired;
    }
    let Some(carriage) = &it.carriage else { return Verdict::NotJudged("no carriage is described") };
    let stroke = it.stroke.map(|stroke| PositionRange { from: stroke.from.nm(), to: stroke.to.nm() });
    let meetings = meetings(it, carriage);
    let longest = meetings.iter().map(|over| over.meeting.length).max().unwrap_or(0);
    for (i, a) in meetings.iter().enumerate() {
        for b in &meetings[i + 1..] {
            if b.meeting.centre() - a.meeting.centre() >= longest + margin.nm() {
                break;
            }
            // Two blocks over one joint are no two joints: a joint does not meet itself.
            if (a.rail, a.joint) == (b.rail, b.joint) {
                continue;
            }
            if meeting_slack(&a.meeting, &b.meeting, margin.nm(), stroke) < 0 {
                findings.add(together(case, findings, axis, [a, b], (margin, limit)));
            }
        }
    }
    match carriage.blocks.first() {
        None => Verdict::NotJudged("no block of the carriage is described"),
        Some(_) if carriage.blocks.iter().any(|block| block.rail.is_none() || block.length.is_none()) => {
            Verdict::NotJudged("a block's rail or length is not described")
        }
        Some(block) => Verdict::Conforms(block.place),
    }
}

/// Every meeting of a block with a joint, in the order in which the carriage comes to them.
fn meetings(axis: &Axis, carriage: &Carriage) -> Vec<BlockOverJoint> {
    let mut meetings = Vec::new();
    for (block, it) in carriage.blocks.iter().enumerate() {
        let (Some(rail), Some(length)) = (it.rail, it.length) else { continue };
        meetings.extend(axis.rails[rail].joints.iter().enumerate().map(|(joint, at)| {
            let meeting = Meeting { joint: at.position.nm(), offset: it.at.nm(), length: length.nm() };
            BlockOverJoint { meeting, block, place: it.place, rail, joint }
        }));
    }
    meetings.sort_by_key(|over| (over.meeting.centre(), over.block, over.joint));
    meetings
}

/// Two meetings that coincide. The finding stands at the joint that is written later.
fn together(
    case: &Case,
    findings: &Findings,
    axis: usize,
    [a, b]: [&BlockOverJoint; 2],
    (margin, limit): (Length, InForce),
) -> Finding {
    let at = |over: &BlockOverJoint| (RailId { axis, rail: over.rail }, over.joint);
    let (later, earlier) = if at(a) < at(b) { (b, a) } else { (a, b) };
    let (here, there) = (at(later), at(earlier));
    let joint = &case.machine.rail(here.0).joints[here.1];
    let partner = &case.machine.rail(there.0).joints[there.1];
    let apart = Length(b.meeting.centre() - a.meeting.centre());
    let needed = Length((a.meeting.length + b.meeting.length) / 2) + margin;
    // Several pairs of blocks may come to one pair of joints.
    let block = |over: &BlockOverJoint| Length(over.meeting.offset);
    findings
        .finding(
            case.machine.joint_address(here.0, here.1),
            joint.place,
            format!(
                "the block at {} meets this joint while the one at {} meets {}: the two meetings are {apart} of carriage travel apart",
                block(later),
                block(earlier),
                case.machine.joint_address(there.0, there.1)
            ),
        )
        .here(format!("joint {} at {}", joint.name, joint.position))
        .also(partner.place, format!("joint {} at {}", partner.name, partner.position))
        .also(later.place, "the block over the first")
        .also(earlier.place, "the block over the second")
        .found(Measure::too_small(apart))
        .limit(Limit { text: format!("at least {needed}"), ..limit.words() })
        .next(format!("move one of the two joints by {} or more, or a block", needed - apart))
}
