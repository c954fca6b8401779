//! Two blocks do not meet two joints together.

use crate::calc::layout::meeting::{Meeting, Stroke, meeting_slack};
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("joint-meeting"),
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Nowhere in the stroke do two blocks of the carriage stand over two joints together. One joint under two blocks of its rail does not count.",
    why: "Joints staggered by the spacing of the blocks are as bad as joints side by side: the front block meets one as the rear block meets the other.",
    limits: &[LimitName::MeetingMargin],
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
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    let margin = case.rulebook.least::<Length>(LimitName::MeetingMargin);
    let (margin, limit) = match margin {
        Some((margin, limit)) => (margin.nm(), limit),
        None => return,
    };
    for (axis, of) in case.machine.axes.iter().enumerate() {
        let Some(carriage) = &of.carriage else { continue };
        let stroke = of.stroke.map(|stroke| Stroke { from: stroke.from.nm(), to: stroke.to.nm() });
        // Every meeting of a block with a joint, in the order in which the carriage comes to them.
        let mut meetings: Vec<(Meeting, usize, usize)> = Vec::new();
        for (index, block) in carriage.blocks.iter().enumerate() {
            let (Some(rail), Some(length)) = (block.rail, block.length) else { continue };
            meetings.extend(of.rails[rail].joints.iter().enumerate().map(|(joint, at)| {
                (Meeting { joint: at.position.nm(), offset: block.at.nm(), length: length.nm() }, index, joint)
            }));
        }
        meetings.sort_by_key(|(meeting, block, joint)| (meeting.centre(), *block, *joint));
        let longest = meetings.iter().map(|(meeting, ..)| meeting.length).max().unwrap_or(0);
        for (i, (a, block_a, joint_a)) in meetings.iter().enumerate() {
            for (b, block_b, joint_b) in &meetings[i + 1..] {
                if b.centre() - a.centre() >= longest + margin {
                    break;
                }
                // Two blocks over one joint are no two joints: a joint does not meet itself.
                let rail_of = |block: usize| carriage.blocks[block].rail;
                if joint_a == joint_b && rail_of(*block_a) == rail_of(*block_b) {
                    continue;
                }
                let slack = meeting_slack(a, b, margin, stroke);
                if slack >= 0 {
                    continue;
                }
                let at = |block: usize, joint: usize| {
                    let rail = carriage.blocks[block].rail.unwrap_or(0);
                    (crate::ledger::RailId { axis, rail }, joint)
                };
                let (mut here, mut there) = (at(*block_a, *joint_a), at(*block_b, *joint_b));
                let (mut block, mut other) = (*block_a, *block_b);
                if (here.0, here.1) < (there.0, there.1) {
                    std::mem::swap(&mut here, &mut there);
                    std::mem::swap(&mut block, &mut other);
                }
                let joint = &case.machine.rail(here.0).joints[here.1];
                let partner = &case.machine.rail(there.0).joints[there.1];
                let apart = Length(b.centre() - a.centre());
                let needed = Length((a.length + b.length) / 2 + margin);
                findings.add(
                    findings
                        .finding(
                            case.machine.joint_address(here.0, here.1),
                            joint.place,
                            format!(
                                "a block meets this joint while another meets {}: the two meetings are {apart} of carriage travel apart",
                                case.machine.joint_address(there.0, there.1)
                            ),
                        )
                        .here(format!("joint {} at {}", joint.name, joint.position))
                        .also(partner.place, format!("joint {} at {}", partner.name, partner.position))
                        .also(carriage.blocks[block].place, "the block over the first")
                        .also(carriage.blocks[other].place, "the block over the second")
                        .found(Measure::too_small(apart))
                        .limit(crate::finding::Limit { text: format!("at least {needed}"), ..limit.words() })
                        .next(format!("move one of the two joints by {} or more, or a block", needed - apart)),
                );
            }
        }
    }
}
