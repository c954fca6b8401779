//! A plan for programs. Lengths are millimetres as exact decimals, spelt as strings.

use schemars::JsonSchema;
use serde::Serialize;

use super::refusal::told;
use super::sheet::end_word;
use crate::calc::layout::plan::{
    Binding, BindingTo, Contradiction, EndKind, LayoutOutcome, PlannedLayout, PlannedSegment, SegmentSource,
};
use crate::facts::layout_plan::LayoutPlan;
use crate::ledger::Ledger;
use crate::quantity::Length;
use crate::views::requirement_rule::rule_of;

/// The name of this shape; another number means another shape.
pub(crate) const FORMAT: &str = "wayledger-layout-2";

/// A layout, or why there is none.
#[derive(Serialize, JsonSchema)]
pub(crate) struct LayoutJson {
    #[schemars(extend("const" = FORMAT))]
    format: &'static str,
    axis: String,
    /// What the description does not say, and how it was taken to be.
    assumed: Vec<String>,
    outcome: OutcomeWord,
    #[serde(flatten)]
    planned: Option<PlannedJson>,
    #[serde(flatten)]
    refused: Option<RefusedJson>,
    /// Where nothing was found and nothing ruled out.
    #[serde(skip_serializing_if = "Option::is_none")]
    joints_at_least: Option<u32>,
}

#[derive(Clone, Copy, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum OutcomeWord {
    Planned,
    Impossible,
    Unsettled,
}

/// There is a layout.
#[derive(Serialize, JsonSchema)]
struct PlannedJson {
    rails: Vec<RailJson>,
    joint_count: JointCountJson,
    slack: SlackJson,
    waste: WasteJson,
    order: Vec<OrderJson>,
    cuts: Vec<CutJson>,
    /// What the lint would say of it.
    lint: Vec<String>,
    /// Whether the lint finds nothing broken; null where it was not asked.
    kept: Option<bool>,
}

#[derive(Serialize, JsonSchema)]
struct JointCountJson {
    count: u32,
    proven: bool,
    /// Where it is not proven: the fewest that there could be.
    count_at_least: Option<u32>,
}

/// How far every requirement is kept beyond what is asked.
#[derive(Serialize, JsonSchema)]
struct SlackJson {
    length: Option<Length>,
    proven: bool,
    /// Where it is not proven: the most that there could be.
    at_most: Option<Length>,
    binding: Vec<BindingJson>,
}

/// What leaves no more slack.
#[derive(Serialize, JsonSchema)]
struct BindingJson {
    rule: String,
    joint: String,
    against: String,
}

#[derive(Serialize, JsonSchema)]
struct WasteJson {
    length: Length,
    proven: bool,
    /// Where it is not proven: the least that there could be.
    at_least: Option<Length>,
}

#[derive(Serialize, JsonSchema)]
struct OrderJson {
    profile: String,
    length: Length,
    count: u32,
}

#[derive(Serialize, JsonSchema)]
struct CutJson {
    profile: String,
    length: Length,
    pieces: Vec<PieceJson>,
}

/// A piece by its places on the bar.
#[derive(Serialize, JsonSchema)]
struct PieceJson {
    segment: String,
    from: Length,
    to: Length,
}

#[derive(Serialize, JsonSchema)]
struct RailJson {
    address: String,
    segments: Vec<SegmentJson>,
    joints: Vec<JointJson>,
    /// Supports that give way to a joint support.
    left_out: Vec<String>,
}

#[derive(Serialize, JsonSchema)]
struct SegmentJson {
    from: Length,
    length: Length,
    made_from: &'static str,
    /// Of the cut, or of the owned segment, from 1.
    made_from_number: Option<usize>,
    near: EndJson,
    far: EndJson,
}

/// An end of a segment.
#[derive(Serialize, JsonSchema)]
struct EndJson {
    /// To the first hole.
    distance: Length,
    finish: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct JointJson {
    position: Length,
    support_at: Option<Length>,
    covers: Option<Length>,
}

/// There is no layout.
#[derive(Serialize, JsonSchema)]
struct RefusedJson {
    /// What cannot be met together.
    requirements: Vec<RequirementJson>,
    /// With any one of them eased there is a layout.
    irreducible: bool,
    nearest_run_below: Option<Length>,
    nearest_run_above: Option<Length>,
}

#[derive(Serialize, JsonSchema)]
struct RequirementJson {
    rule: String,
    what: String,
    next: String,
}

/// What the lint says of a plan.
#[derive(Clone, Debug, Default)]
pub(crate) struct VerdictJson {
    pub lint: Vec<String>,
    pub kept: Option<bool>,
}

pub(crate) fn layout(ledger: &Ledger, plan: &LayoutPlan, verdict: VerdictJson) -> LayoutJson {
    let mut json = LayoutJson {
        format: FORMAT,
        axis: ledger.machine.axes[plan.axis].name.to_string(),
        assumed: plan.assumed.clone(),
        outcome: OutcomeWord::Unsettled,
        planned: None,
        refused: None,
        joints_at_least: None,
    };
    match &plan.outcome {
        LayoutOutcome::Planned(planned) => {
            json.outcome = OutcomeWord::Planned;
            json.planned = Some(whole(ledger, plan, planned, verdict));
        }
        LayoutOutcome::Infeasible(why) => {
            json.outcome = OutcomeWord::Impossible;
            json.refused = Some(refused(ledger, plan, why));
        }
        LayoutOutcome::Unsettled { joints_at_least } => json.joints_at_least = Some(*joints_at_least),
    }
    json
}

fn whole(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, verdict: VerdictJson) -> PlannedJson {
    let joint =
        |(rail, joint): (usize, usize)| format!("{}.J{}", ledger.machine.rail_address(plan.rail(rail)), joint + 1);
    let binding = |binding: &Binding| BindingJson {
        rule: rule_of(&binding.requirement).to_string(),
        joint: joint(binding.joint),
        against: match binding.against {
            BindingTo::Joint(rail, other) => joint((rail, other)),
            BindingTo::Seam(at) => format!("seam at {}", crate::quantity::Amount::number(Length(at))),
        },
    };
    let cuts = planned.cuts.iter().map(|cut| {
        let pieces = cut.pieces.iter().map(|piece| PieceJson {
            segment: format!("{}.seg{}", ledger.machine.rail_address(plan.rail(piece.rail)), piece.segment + 1),
            from: Length(piece.start),
            to: Length(piece.end),
        });
        let profile = plan.profiles[cut.profile].to_string();
        CutJson { profile, length: Length(cut.length), pieces: pieces.collect() }
    });
    let order = planned.order.iter().map(|line| OrderJson {
        profile: plan.profiles[line.profile].to_string(),
        length: Length(line.length),
        count: line.count,
    });
    let proof = &planned.proof;
    PlannedJson {
        rails: (0..planned.rails.len()).map(|rail| rail_of(ledger, plan, planned, rail)).collect(),
        joint_count: JointCountJson {
            count: planned.joints,
            proven: proof.joints.is_none(),
            count_at_least: proof.joints,
        },
        slack: SlackJson {
            length: planned.slack.map(Length),
            proven: proof.slack.is_none(),
            at_most: proof.slack_bound().map(Length),
            binding: planned.binding.iter().map(binding).collect(),
        },
        waste: WasteJson {
            length: Length(planned.waste),
            proven: proof.waste.is_none(),
            at_least: proof.waste.map(Length),
        },
        order: order.collect(),
        cuts: cuts.collect(),
        lint: verdict.lint,
        kept: verdict.kept,
    }
}

fn rail_of(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, rail: usize) -> RailJson {
    let of = &planned.rails[rail];
    let end = |segment: &PlannedSegment, kind: EndKind, distance: i64| EndJson {
        distance: Length(distance),
        finish: end_word(ledger, plan, rail, segment, kind),
    };
    let segments = of.segments.iter().map(|segment| {
        let (made_from, made_from_number) = match segment.source {
            SegmentSource::Whole { .. } => ("whole bar", None),
            SegmentSource::Cut { cut } => ("cut", Some(cut + 1)),
            SegmentSource::Owned { owned } => ("owned", Some(plan.owned[owned].1 + 1)),
        };
        SegmentJson {
            from: Length(segment.start),
            length: Length(segment.length),
            made_from,
            made_from_number,
            near: end(segment, segment.near_end, segment.near),
            far: end(segment, segment.far_end, segment.far),
        }
    });
    let covers = plan.task.rails[rail].supports.joint_covers.map(Length);
    let joints = of.joints.iter().map(|joint| JointJson {
        position: Length(joint.at),
        support_at: joint.support.map(Length),
        covers,
    });
    let left_out = of.dropped.iter().filter_map(|it| plan.standing(rail, it)).map(|grid| grid.name.to_string());
    RailJson {
        address: ledger.machine.rail_address(plan.rail(rail)),
        segments: segments.collect(),
        joints: joints.collect(),
        left_out: left_out.collect(),
    }
}

fn refused(ledger: &Ledger, plan: &LayoutPlan, why: &Contradiction) -> RefusedJson {
    let requirements = why.requirements.iter().map(|requirement| {
        let (what, next) = told(ledger, plan, requirement);
        RequirementJson { rule: rule_of(requirement).to_string(), what, next }
    });
    let (below, above) = why.nearest.unwrap_or_default();
    RefusedJson {
        requirements: requirements.collect(),
        irreducible: why.irreducible,
        nearest_run_below: below.map(Length),
        nearest_run_above: above.map(Length),
    }
}
