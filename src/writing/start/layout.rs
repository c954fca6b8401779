//! The layout of a new ledger by the planner.

use super::wanted::Wanted;
use crate::calc::layout::meeting::PositionRange;
use crate::calc::layout::plan as answers;
use crate::calc::layout::plan::{LayoutOutcome, RailPlan};
use crate::calc::layout::task::{
    Bar, BlockSpec, CarriageSpec, CuttingSpec, LayoutTask, ProfileSpec, RailSpec, SupportSpec, SupportsSpec,
    USUAL_BUDGET,
};
use crate::quantity::{Amount, Length};
use crate::views::requirement_rule::rule_of;

/// Segments, joints and supports of every rail, in the order of the rails; or why there is no layout.
pub(crate) fn lay_out(wanted: &Wanted) -> Result<Vec<RailPlan>, String> {
    let profile = &wanted.profile;
    let (pitch, near) = (profile.hole_pitch.nm(), profile.end_distance.nm());
    let mut stock = Vec::new();
    for (bar, count) in &profile.stock {
        let between = bar.nm() - near;
        if between < 0 {
            return Err(format!("a bar of {bar} is shorter than its end distance of {}", profile.end_distance));
        }
        let mut far = between % pitch;
        // A bar does not end in a hole.
        if far == 0 {
            far = pitch;
        }
        if bar.nm() < near + far {
            return Err(format!("a bar of {bar} has no hole at a pitch of {}", profile.hole_pitch));
        }
        stock.push(Bar { length: bar.nm(), near, far, count: *count });
    }
    let supports = wanted.supports;
    let grid: Vec<SupportSpec> = (0..i64::from(supports.count))
        .map(|at| SupportSpec { at: supports.first.nm() + at * supports.pitch.nm(), covers: supports.covers.nm() })
        .collect();
    let rails = wanted.rails.iter().map(|rail| {
        let ends = rail.pieces.iter().scan(0, |sum, piece| {
            *sum += piece.nm();
            Some(*sum)
        });
        RailSpec {
            profile: 0,
            seams: ends.take(rail.pieces.len() - 1).filter(|seam| *seam < wanted.length.nm()).collect(),
            seam_clearance: (supports.joint_covers.nm() + 1) / 2,
            supports: SupportsSpec {
                grid: grid.clone(),
                may_drop: true,
                joint_covers: Some(supports.joint_covers.nm()),
                off_centre: 0,
                joint_bolts: 2,
                edge: profile.bolt_edge.nm(),
                grid_bolts: 0,
                most_spacing: None,
            },
        }
    });
    let rails: Vec<RailSpec> = rails.collect();
    let block_length = wanted.carriage.as_ref().map_or(0, |it| it.block_length.nm());
    let carriage = wanted.carriage.as_ref().map(|it| CarriageSpec {
        blocks: (0..rails.len())
            .flat_map(|rail| {
                it.blocks.iter().map(move |at| BlockSpec { rail, offset: at.nm(), length: it.block_length.nm() })
            })
            .collect(),
        stroke: wanted.stroke().map(|(from, to)| PositionRange { from: from.nm(), to: to.nm() }),
        margin: 0,
    });
    let task = LayoutTask {
        from: 0,
        to: wanted.length.nm(),
        profiles: vec![ProfileSpec {
            pitch,
            pattern_tolerance: Length::um(500).nm(),
            stock,
            cutting: profile.cutting.map(|cutting| CuttingSpec {
                grid: cutting.grid.nm(),
                kerf: cutting.kerf.nm(),
                hole_keep: profile.bolt_edge.nm(),
                in_joints: false,
            }),
            least_segment: profile.least_segment.nm(),
            least_end: 0,
            most_end: None,
        }],
        stagger: (rails.len() > 1).then_some(pitch.max(block_length)),
        rails,
        owned: Vec::new(),
        carriage,
        budget: USUAL_BUDGET,
    };
    match crate::calc::layout::plan(&task).map_err(|why| format!("no layout: {why}"))? {
        LayoutOutcome::Planned(plan) => Ok(plan.rails),
        LayoutOutcome::Infeasible(why) => Err(no_layout(&why)),
        LayoutOutcome::Unsettled { .. } => {
            Err("no layout was found within the work allowed; start without --plan".into())
        }
    }
}

fn no_layout(why: &answers::Contradiction) -> String {
    let mut rules: Vec<&str> = why.requirements.iter().map(rule_of).collect();
    rules.sort_unstable();
    rules.dedup();
    let mm = |nm: i64| Length(nm).number();
    let nearest = match why.nearest {
        Some((Some(below), Some(above))) => format!("; the bars make {} or {} mm", mm(below), mm(above)),
        Some((Some(below), None)) => format!("; the bars make at most {} mm", mm(below)),
        Some((None, Some(above))) => format!("; the bars make at least {} mm", mm(above)),
        _ => String::new(),
    };
    format!(
        "no layout meets these rules together: {}{nearest}; `wayledger rules NAME` explains each; nothing was written",
        rules.join(", ")
    )
}
