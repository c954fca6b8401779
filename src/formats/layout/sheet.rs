//! A plan as people read it: the drawing, the segments of every rail, what to order, how to cut it, and what is proven.

use std::fmt::Write as _;

use super::drawing::drawing;
use crate::calc::layout::plan::{Against, EndKind, Plan, Segment, Source};
use crate::facts::layout_plan::LayoutPlan;
use crate::formats::clean;
use crate::ledger::{End, Ledger};
use crate::quantity::{Amount, Length};
use crate::views::requirement_rule::rule_of;

/// The whole plan.
pub fn sheet(ledger: &Ledger, plan: &LayoutPlan, planned: &Plan, kept: bool, width: usize) -> String {
    let axis = &ledger.machine.axes[plan.axis];
    let mut out = format!("{}: ", clean(&axis.name));
    let _ = writeln!(out, "{}\n", summary(planned));
    out += &drawing(ledger, plan, planned, width);
    for rail in 0..planned.rails.len() {
        out += &segments(ledger, plan, planned, rail);
    }
    out += &order(plan, planned);
    out += &cuts(ledger, plan, planned);
    out += &proof(ledger, plan, planned, kept);
    if !plan.assumed.is_empty() {
        out.push_str("\nTaken to be so, because the description does not say:\n");
        for what in &plan.assumed {
            let _ = writeln!(out, "  {}", clean(what));
        }
    }
    out
}

fn summary(planned: &Plan) -> String {
    let segments: usize = planned.rails.iter().map(|rail| rail.segments.len()).sum();
    let bars: u32 = planned.order.iter().map(|line| line.count).sum();
    format!(
        "{} rails, {segments} segments, {} joints, {bars} bars to order, waste {}",
        planned.rails.len(),
        planned.joints,
        Length(planned.waste)
    )
}

fn segments(ledger: &Ledger, plan: &LayoutPlan, planned: &Plan, rail: usize) -> String {
    let of = &planned.rails[rail];
    let mut out = format!("\n{}\n", clean(&ledger.machine.rail_address(plan.rail(rail))));
    let _ = writeln!(
        out,
        "  {:<6} {:>9} {:>9} {:>9}  {:<26} {:>16} {:>16} {:>6}",
        "", "length", "from", "to", "bar", "near end", "far end", "holes"
    );
    for (number, segment) in of.segments.iter().enumerate() {
        let end =
            |kind, distance| format!("{} {}", Length(distance).number(), end_word(ledger, plan, rail, segment, kind));
        let _ = writeln!(
            out,
            "  {:<6} {:>9} {:>9} {:>9}  {:<26} {:>16} {:>16} {:>6}",
            format!("seg{}", number + 1),
            Length(segment.length).number(),
            Length(segment.start).number(),
            Length(segment.start + segment.length).number(),
            bar(ledger, plan, planned, rail, segment),
            end(segment.near_end, segment.near),
            end(segment.far_end, segment.far),
            segment.holes.len()
        );
    }
    for (number, joint) in of.joints.iter().enumerate() {
        let _ = write!(out, "  J{:<5} at {}", number + 1, Length(joint.at).number());
        if let (Some(at), Some(covers)) = (joint.support, plan.task.rails[rail].supports.joint_covers) {
            let _ = write!(out, ": joint support at {} covers {}", Length(at).number(), Length(covers).number());
        }
        out.push('\n');
    }
    let standing = |it| plan.standing(rail, it);
    let gone = of.dropped.iter().filter_map(standing).filter(|grid| !grid.left_out);
    let back = of.supports.iter().filter_map(standing).filter(|grid| grid.left_out);
    for (word, names) in [
        ("left out for a joint support", gone.map(|grid| clean(&grid.name)).collect::<Vec<_>>()),
        ("put back", back.map(|grid| clean(&grid.name)).collect()),
    ] {
        if !names.is_empty() {
            let _ = writeln!(out, "  {word}: {}", names.join(" "));
        }
    }
    out
}

/// What a segment is made of.
pub fn bar(ledger: &Ledger, plan: &LayoutPlan, planned: &Plan, rail: usize, segment: &Segment) -> String {
    match segment.source {
        Source::Whole { .. } => "whole bar".into(),
        Source::Cut { cut } => match planned.cuts.get(cut) {
            Some(from) => format!("from {}, cut {}", Length(from.length).number(), cut + 1),
            None => "cut".into(),
        },
        Source::Owned { owned } => {
            let of = plan.owned[owned].1;
            let segment = &ledger.machine.rail(plan.rail(rail)).segments[of];
            segment.serial.as_ref().map_or("owned".into(), |serial| format!("owned, {}", clean(serial)))
        }
    }
}

/// How an end of a segment is made.
pub fn end_word(ledger: &Ledger, plan: &LayoutPlan, rail: usize, segment: &Segment, end: EndKind) -> &'static str {
    let it = ledger.machine.rail(plan.rail(rail));
    let profile = it.profile.as_ref().and_then(|name| ledger.shop.profile(name));
    let ground_after_cutting = profile.and_then(|profile| profile.cut_ends).is_some_and(|ends| *ends == End::Ground);
    match (end, segment.source) {
        (_, Source::Owned { .. }) => "as owned",
        (EndKind::Ground, _) => "ground",
        (EndKind::Sawn, _) if ground_after_cutting => "cut, ground",
        (EndKind::Sawn, _) => "sawn",
    }
}

fn order(plan: &LayoutPlan, planned: &Plan) -> String {
    if planned.order.is_empty() {
        return "\nNothing has to be ordered.\n".into();
    }
    let mut out = "\nTo order\n".to_string();
    for line in &planned.order {
        let left = plan.task.profiles[line.profile].stock.get(line.bar).and_then(|bar| bar.count);
        let left = left.map_or(String::new(), |left| format!("   of {left} that can be had"));
        let (count, length) = (line.count, Length(line.length).number());
        let _ = writeln!(out, "  {count:>4} x {:<12} {length:>9}{left}", clean(&plan.profiles[line.profile]));
    }
    out
}

fn cuts(ledger: &Ledger, plan: &LayoutPlan, planned: &Plan) -> String {
    if planned.cuts.is_empty() {
        return String::new();
    }
    let mut out = "\nTo cut (places on the bar, from its near end)\n".to_string();
    for (number, cut) in planned.cuts.iter().enumerate() {
        let pieces = cut.pieces.iter().map(|piece| {
            let address = ledger.machine.rail_address(plan.rail(piece.rail));
            let (from, to) = (Length(piece.start).number(), Length(piece.end).number());
            format!("{from} to {to} is {}.seg{}", clean(&address), piece.segment + 1)
        });
        let used: i64 = cut.pieces.iter().map(|piece| piece.end - piece.start).sum();
        let _ = writeln!(
            out,
            "  cut {}: {} {}: {}; {} left or lost",
            number + 1,
            clean(&plan.profiles[cut.profile]),
            Length(cut.length).number(),
            pieces.collect::<Vec<_>>().join(", "),
            Length(cut.length - used).number()
        );
    }
    out
}

fn proof(ledger: &Ledger, plan: &LayoutPlan, planned: &Plan, kept: bool) -> String {
    let proof = &planned.proof;
    let mut out = "\nHow good it is\n".to_string();
    let _ = match proof.joints {
        None if kept => {
            writeln!(out, "  joints  {}: no layout that keeps every requirement has fewer", planned.joints)
        }
        None => writeln!(
            out,
            "  joints  {}: no layout that keeps what was planned for has fewer; the lint finds fault with it, see below",
            planned.joints
        ),
        Some(least) => writeln!(out, "  joints  {}: not proven; there may be a layout with {least}", planned.joints),
    };
    if let Some(slack) = planned.slack {
        let _ = match proof.slack {
            None => writeln!(
                out,
                "  slack   {} beyond what is required: with so many joints no layout has more",
                Length(slack)
            ),
            Some(most) => {
                writeln!(
                    out,
                    "  slack   {} beyond what is required: not proven; it could be {} at the most",
                    Length(slack),
                    Length(most)
                )
            }
        };
        for binding in planned.binding.iter().take(4) {
            let joint = |(rail, joint): (usize, usize)| {
                format!("{}.J{}", clean(&ledger.machine.rail_address(plan.rail(rail))), joint + 1)
            };
            let against = match binding.against {
                Against::Joint(rail, other) => joint((rail, other)),
                Against::Seam(at) => format!("the seam at {}", Length(at).number()),
            };
            let _ = writeln!(
                out,
                "          {} of {} against {against}",
                rule_of(&binding.requirement),
                joint(binding.joint)
            );
        }
        if planned.binding.len() > 4 {
            let _ = writeln!(out, "          and {} more", planned.binding.len() - 4);
        }
    }
    let _ = match proof.waste {
        None => writeln!(out, "  waste   {}: with these joints and this slack none has less", Length(planned.waste)),
        Some(least) => {
            writeln!(out, "  waste   {}: not proven; it could be {} at the least", Length(planned.waste), Length(least))
        }
    };
    out
}
