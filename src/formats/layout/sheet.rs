//! A plan as people read it: the drawing, the segments of every rail, what to order, how to cut it, and what is proven.

use super::drawing::{KEY, drawing};
use crate::calc::layout::plan::{
    Binding, BindingTo, CutBar, EndKind, PlanProof, PlannedLayout, PlannedSegment, SegmentSource,
};
use crate::facts::layout_plan::LayoutPlan;
use crate::finding::counted;
use crate::ledger::{EndCut, Ledger};
use crate::quantity::{Amount, Length};
use crate::views::paper::{Content, Figure, ListItem, Paper, TableCell};
use crate::views::requirement_rule::rule_of;

/// How a sheet is told.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SheetOptions {
    /// Whether the lint finds nothing broken in the plan; nothing where it could not be asked.
    pub kept: Option<bool>,
    /// Columns of the drawing.
    pub width: usize,
}

/// The whole plan.
pub(crate) fn sheet(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, telling: SheetOptions) -> Paper {
    let mut paper = Paper::new(title(ledger, plan));
    let body = &mut paper.body;
    body.say(summary(planned));
    body.figure(Some(Figure {
        title: "The rails drawn to scale".into(),
        caption: KEY.into(),
        svg: None,
        characters: Some(drawing(ledger, plan, planned, telling.width)),
    }));
    for rail in 0..planned.rails.len() {
        self::rail(body, ledger, plan, planned, rail);
    }
    order(body, plan, planned);
    cuts(body, ledger, plan, planned);
    proof(body, ledger, plan, planned, telling.kept);
    if !plan.assumed.is_empty() {
        body.heading(2, "Taken to be so, because the description does not say");
        body.list(plan.assumed.iter().map(|what| ListItem::new(0, what.as_str())).collect());
    }
    paper
}

/// What a sheet is called.
pub(crate) fn title(ledger: &Ledger, plan: &LayoutPlan) -> String {
    let name = ledger.machine.name.as_ref().map_or(String::new(), |name| format!("{}, ", **name));
    format!("Layout of {name}axis {}", *ledger.machine.axes[plan.axis].name)
}

fn summary(planned: &PlannedLayout) -> String {
    let segments: usize = planned.rails.iter().map(|rail| rail.segments.len()).sum();
    let bars: u32 = planned.order.iter().map(|line| line.count).sum();
    format!(
        "{}, {}, {}, {} to order, waste {}.",
        counted(planned.rails.len(), "rail", "rails"),
        counted(segments, "segment", "segments"),
        counted(planned.joints as usize, "joint", "joints"),
        counted(bars as usize, "bar", "bars"),
        Length(planned.waste)
    )
}

fn rail(body: &mut Content, ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, rail: usize) {
    let of = &planned.rails[rail];
    body.heading(2, ledger.machine.rail_address(plan.rail(rail)));
    let number = |nm: i64| TableCell::Number(Length(nm).number());
    let rows = of.segments.iter().enumerate().map(|(at, segment)| {
        let end = |kind| TableCell::text(end_word(ledger, plan, rail, segment, kind));
        vec![
            format!("seg{}", at + 1).into(),
            number(segment.length),
            number(segment.start),
            number(segment.start + segment.length),
            bar(ledger, plan, planned, rail, segment).into(),
            number(segment.near),
            end(segment.near_end),
            number(segment.far),
            end(segment.far_end),
            TableCell::Number(segment.holes.len().to_string()),
        ]
    });
    let head = [
        "Segment",
        "Length, mm",
        "From, mm",
        "To, mm",
        "Bar",
        "Near hole, mm",
        "Near end",
        "Far hole, mm",
        "Far end",
        "Holes",
    ];
    body.table("", &head, rows.collect());
    let rows = of.joints.iter().enumerate().map(|(at, joint)| {
        let covers = plan.task.rails[rail].supports.joint_covers.filter(|_| joint.support.is_some());
        vec![
            format!("J{}", at + 1).into(),
            number(joint.at),
            TableCell::number(joint.support.map(|at| Length(at).number())),
            TableCell::number(covers.map(|covers| Length(covers).number())),
        ]
    });
    body.table("", &["Joint", "At, mm", "Support at, mm", "Covers, mm"], rows.collect());
    let standing = |it| plan.standing(rail, it);
    let gone = of.dropped.iter().filter_map(standing).filter(|grid| !grid.left_out);
    let back = of.supports.iter().filter_map(standing).filter(|grid| grid.left_out);
    for (word, names) in [
        ("Left out for a joint support", gone.map(|grid| grid.name.as_str()).collect::<Vec<_>>()),
        ("Put back", back.map(|grid| grid.name.as_str()).collect()),
    ] {
        if !names.is_empty() {
            body.say(format!("{word}: {}", names.join(" ")));
        }
    }
}

/// What a segment is made of.
pub(crate) fn bar(
    ledger: &Ledger,
    plan: &LayoutPlan,
    planned: &PlannedLayout,
    rail: usize,
    segment: &PlannedSegment,
) -> String {
    match segment.source {
        SegmentSource::Whole { .. } => "whole bar".into(),
        SegmentSource::Cut { cut } => match planned.cuts.get(cut) {
            Some(from) => format!("from {}, cut {}", Length(from.length).number(), cut + 1),
            None => "cut".into(),
        },
        SegmentSource::Owned { owned } => {
            let of = plan.owned[owned].1;
            let segment = &ledger.machine.rail(plan.rail(rail)).segments[of];
            segment.serial.as_ref().map_or("owned".into(), |serial| format!("owned, {}", **serial))
        }
    }
}

/// How an end of a segment is made.
pub(crate) fn end_word(
    ledger: &Ledger,
    plan: &LayoutPlan,
    rail: usize,
    segment: &PlannedSegment,
    end: EndKind,
) -> &'static str {
    let it = ledger.machine.rail(plan.rail(rail));
    let profile = it.profile.as_ref().and_then(|name| ledger.shop.profile(name));
    let ground_after_cutting =
        profile.and_then(|profile| profile.cut_ends()).is_some_and(|ends| *ends == EndCut::Ground);
    match (end, segment.source) {
        (_, SegmentSource::Owned { .. }) => "as owned",
        (EndKind::Ground, _) => "ground",
        (EndKind::Sawn, _) if ground_after_cutting => "cut, ground",
        (EndKind::Sawn, _) => "sawn",
    }
}

fn order(body: &mut Content, plan: &LayoutPlan, planned: &PlannedLayout) {
    body.heading(2, "To order");
    match planned.proof.waste {
        _ if planned.order.is_empty() => body.say("Nothing has to be ordered."),
        None => body.say("It is proven that with these joints and this slack no order wastes less."),
        Some(least) => body.say(format!(
            "It is not proven that so much is needed: the waste is {}, another order could waste {} at the least. More steps of search may find one.",
            Length(planned.waste),
            Length(least)
        )),
    }
    let rows = planned.order.iter().map(|line| {
        let left = plan.task.profiles[line.profile].stock.get(line.bar).and_then(|bar| bar.count);
        vec![
            plan.profiles[line.profile].as_str().into(),
            TableCell::Number(Length(line.length).number()),
            TableCell::Number(line.count.to_string()),
            TableCell::number(left.map(|left| left.to_string())),
        ]
    });
    body.table("", &["Profile", "Bar, mm", "Count", "Can be had"], rows.collect());
}

fn cuts(body: &mut Content, ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout) {
    if planned.cuts.is_empty() {
        return;
    }
    body.heading(2, "To cut");
    let row = |(at, cut): (usize, &CutBar)| {
        let pieces = cut.pieces.iter().map(|piece| {
            let address = ledger.machine.rail_address(plan.rail(piece.rail));
            let (from, to) = (Length(piece.start).number(), Length(piece.end).number());
            format!("{from} to {to} is {address}.seg{}", piece.segment + 1)
        });
        let used: i64 = cut.pieces.iter().map(|piece| piece.end - piece.start).sum();
        vec![
            format!("cut {}", at + 1).into(),
            plan.profiles[cut.profile].as_str().into(),
            TableCell::Number(Length(cut.length).number()),
            TableCell::Number(Length(cut.length - used).number()),
            pieces.collect::<Vec<_>>().join(", ").into(),
        ]
    };
    let head = ["Cut", "Profile", "Bar, mm", "Left or lost, mm", "Places on the bar, from its near end"];
    body.table("", &head, planned.cuts.iter().enumerate().map(row).collect());
}

fn proof(body: &mut Content, ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, kept: Option<bool>) {
    let PlanProof { joints, slack, waste, .. } = &planned.proof;
    body.heading(2, "How good it is");
    let count = planned.joints;
    let mut facts = vec![(
        "Joints",
        match joints {
            None if kept == Some(true) => format!("{count}: no layout that keeps every requirement has fewer"),
            None if kept.is_none() => {
                format!(
                    "{count}: no layout that keeps what was planned for has fewer; the lint was not asked, see below"
                )
            }
            None => format!(
                "{count}: no layout that keeps what was planned for has fewer; the lint finds fault with it, see below"
            ),
            Some(least) => format!("{count}: not proven; there may be a layout with {least}"),
        }
        .into(),
    )];
    if let Some(most) = planned.slack.map(Length) {
        let proof = match slack {
            None => "with so many joints no layout has more".to_string(),
            Some(_) => match planned.proof.slack_bound() {
                Some(bound) => format!("not proven; it could be {} at the most", Length(bound)),
                None => "not proven; no bound is known".to_string(),
            },
        };
        facts.push(("Slack", format!("{most} beyond what is required: {proof}").into()));
        let line = |binding: &Binding| {
            let joint = |(rail, joint): (usize, usize)| {
                format!("{}.J{}", ledger.machine.rail_address(plan.rail(rail)), joint + 1)
            };
            let against = match binding.against {
                BindingTo::Joint(rail, other) => joint((rail, other)),
                BindingTo::Seam(at) => format!("the seam at {}", Length(at).number()),
            };
            format!("{} of {} against {against}", rule_of(&binding.requirement), joint(binding.joint))
        };
        let mut lines: Vec<String> = planned.binding.iter().take(4).map(line).collect();
        if planned.binding.len() > 4 {
            lines.push(format!("and {} more", planned.binding.len() - 4));
        }
        facts.extend(lines.into_iter().map(|line| ("Least slack", line.into())));
    }
    let proof = match waste {
        None => "with these joints and this slack none has less".to_string(),
        Some(least) => format!("not proven; it could be {} at the least", Length(*least)),
    };
    facts.push(("Waste", format!("{}: {proof}", Length(planned.waste)).into()));
    body.facts(facts);
}
