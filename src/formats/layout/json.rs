//! A plan for programs. Lengths are millimetres as exact decimals, spelt as strings.

use serde_json::{Value, json};

use super::refusal::told;
use super::sheet::end_word;
use crate::calc::layout::plan::{Against, Contradiction, Outcome, Plan, Source};
use crate::facts::layout_plan::LayoutPlan;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};
use crate::views::requirement_rule::rule_of;

/// The name of this shape; another number means another shape.
pub const FORMAT: &str = "wayledger-layout-1";

pub fn layout(ledger: &Ledger, plan: &LayoutPlan) -> Value {
    let axis = ledger.machine.axes[plan.axis].name.as_str();
    let mut value = json!({ "format": FORMAT, "axis": axis, "assumed": plan.assumed });
    let (outcome, more) = match &plan.outcome {
        Outcome::Planned(planned) => ("planned", whole(ledger, plan, planned)),
        Outcome::Infeasible(why) => ("impossible", refused(ledger, plan, why)),
        Outcome::Unsettled { joints_at_least } => ("unsettled", json!({ "joints_at_least": joints_at_least })),
    };
    value["outcome"] = outcome.into();
    if let (Some(value), Value::Object(more)) = (value.as_object_mut(), more) {
        value.extend(more);
    }
    value
}

fn mm(nm: i64) -> String {
    Length(nm).number()
}

fn whole(ledger: &Ledger, plan: &LayoutPlan, planned: &Plan) -> Value {
    let joint =
        |(rail, joint): (usize, usize)| format!("{}.J{}", ledger.machine.rail_address(plan.rail(rail)), joint + 1);
    let binding = planned.binding.iter().map(|binding| {
        let against = match binding.against {
            Against::Joint(rail, other) => joint((rail, other)),
            Against::Seam(at) => format!("seam at {}", mm(at)),
        };
        json!({ "rule": rule_of(&binding.requirement), "joint": joint(binding.joint), "against": against })
    });
    let order = planned
        .order
        .iter()
        .map(|line| json!({ "profile": plan.profiles[line.profile], "length": mm(line.length), "count": line.count }));
    let cuts = planned.cuts.iter().map(|cut| {
        let pieces = cut.pieces.iter().map(|piece| {
            let address = format!("{}.seg{}", ledger.machine.rail_address(plan.rail(piece.rail)), piece.segment + 1);
            json!({ "segment": address, "from": mm(piece.start), "to": mm(piece.end) })
        });
        json!({ "profile": plan.profiles[cut.profile], "length": mm(cut.length), "pieces": pieces.collect::<Vec<_>>() })
    });
    let proof = &planned.proof;
    json!({
        "rails": (0..planned.rails.len()).map(|rail| rail_of(ledger, plan, planned, rail)).collect::<Vec<_>>(),
        "joints": { "count": planned.joints, "proven": proof.joints.is_none(), "at_least": proof.joints },
        "slack": {
            "value": planned.slack.map(mm), "proven": proof.slack.is_none(), "at_most": proof.slack.map(mm),
            "binding": binding.collect::<Vec<_>>(),
        },
        "waste": { "value": mm(planned.waste), "proven": proof.waste.is_none(), "at_least": proof.waste.map(mm) },
        "order": order.collect::<Vec<_>>(),
        "cuts": cuts.collect::<Vec<_>>(),
    })
}

fn rail_of(ledger: &Ledger, plan: &LayoutPlan, planned: &Plan, rail: usize) -> Value {
    let of = &planned.rails[rail];
    let segments = of.segments.iter().map(|segment| {
        let (source, number) = match segment.source {
            Source::Whole { .. } => ("whole bar", None),
            Source::Cut { cut } => ("cut", Some(cut + 1)),
            Source::Owned { owned } => ("owned", Some(plan.owned[owned].1 + 1)),
        };
        json!({
            "from": mm(segment.start), "length": mm(segment.length), "source": source, "number": number,
            "near": { "distance": mm(segment.near), "end": end_word(ledger, plan, rail, segment, segment.near_end) },
            "far": { "distance": mm(segment.far), "end": end_word(ledger, plan, rail, segment, segment.far_end) },
        })
    });
    let covers = plan.task.rails[rail].supports.joint_covers;
    let joints = of
        .joints
        .iter()
        .map(|joint| json!({ "at": mm(joint.at), "support_at": joint.support.map(mm), "covers": covers.map(mm) }));
    let left_out = of.dropped.iter().filter_map(|it| plan.standing(rail, it)).map(|grid| grid.name.clone());
    json!({
        "rail": ledger.machine.rail_address(plan.rail(rail)),
        "segments": segments.collect::<Vec<_>>(),
        "joints": joints.collect::<Vec<_>>(),
        "left_out": left_out.collect::<Vec<_>>(),
    })
}

fn refused(ledger: &Ledger, plan: &LayoutPlan, why: &Contradiction) -> Value {
    let requirements = why.requirements.iter().map(|requirement| {
        let (what, cure) = told(ledger, plan, requirement);
        json!({ "rule": rule_of(requirement), "what": what, "next": cure })
    });
    let (below, above) = why.nearest.unwrap_or_default();
    json!({
        "requirements": requirements.collect::<Vec<_>>(), "irreducible": why.irreducible,
        "nearest_run_below": below.map(mm), "nearest_run_above": above.map(mm),
    })
}
