//! From the paths that the search found to a plan that a person can order, cut and drill from.

use std::collections::BTreeMap;

use super::bars::Supplied;
use super::graph::{Paths, Supply};
use super::holes::hole_positions;
use super::model::Model;
use super::pieces::KeptEnd;
use super::plan::{
    Binding, BindingTo, CutBar, CutPiece, EndKind, OrderLine, PlanProof, PlannedJoint, PlannedLayout, PlannedSegment,
    RailPlan, SegmentSource,
};
use super::requirement::Requirement;
use super::stock::{OpenItem, open_items};
use super::supports;

/// Least slack of a layout; `None` when nothing has a clearance to keep.
pub(super) fn slack_of(model: &Model, paths: &Paths) -> Option<i64> {
    let joints: Vec<Vec<i64>> = paths.iter().enumerate().map(|(rail, path)| model.joints(rail, path)).collect();
    clearances(model, &joints).map(|(slack, _)| slack).min()
}

/// Every clearance of a layout with its slack.
fn clearances<'a>(model: &'a Model, joints: &'a [Vec<i64>]) -> impl Iterator<Item = (i64, Binding)> + 'a {
    let all = move || joints.iter().enumerate().flat_map(|(rail, at)| (0..at.len()).map(move |i| (rail, i)));
    let seams = all().flat_map(move |(rail, i)| {
        let spec = &model.task.rails[rail];
        spec.seams.iter().map(move |&seam| {
            let slack = super::clearance::seam_slack(joints[rail][i], seam, spec.seam_clearance);
            let requirement = Requirement::Seam { rail };
            (slack, Binding { requirement, joint: (rail, i), against: BindingTo::Seam(seam) })
        })
    });
    let pairs = all().flat_map(move |a| all().filter(move |&b| a < b).map(move |b| (a, b)));
    let between = pairs.flat_map(move |(a, b)| {
        let (p, q) = ((a.0, joints[a.0][a.1]), (b.0, joints[b.0][b.1]));
        let rails = (a.0, b.0);
        let found = [
            (model.clash.stagger(p, q), Requirement::Stagger { rails }),
            (model.clash.meeting(p, q), Requirement::Meeting { rails }),
        ];
        found.into_iter().filter_map(move |(slack, requirement)| {
            Some((slack?, Binding { requirement, joint: a, against: BindingTo::Joint(b.0, b.1) }))
        })
    });
    seams.chain(between)
}

/// Puts the plan together.
pub(super) fn assemble(model: &Model, supplied: &Supplied, proof: PlanProof) -> PlannedLayout {
    let paths = &supplied.paths;
    let mut rails: Vec<RailPlan> = (0..paths.len()).map(|rail| rail_plan(model, rail, &paths[rail])).collect();
    let mut bars: BTreeMap<(usize, usize), u32> = BTreeMap::new();
    let mut cuts = Vec::new();
    for (profile, packing) in supplied.packings.iter().enumerate() {
        let items = open_items(model.task, &model.graphs, paths, profile);
        for &(_, bar) in &packing.whole {
            *bars.entry((profile, bar)).or_default() += 1;
        }
        for cut in &packing.cut {
            let length = model.task.profiles[profile].stock[cut.bar].length;
            *bars.entry((profile, cut.bar)).or_default() += 1;
            let mut pieces = Vec::new();
            for placed in &cut.pieces {
                let OpenItem { rail, index: segment, ref item } = items[placed.item];
                rails[rail].segments[segment].source = SegmentSource::Cut { cut: cuts.len() };
                pieces.push(CutPiece { rail, segment, start: placed.start, end: placed.start + item.length });
            }
            cuts.push(CutBar { profile, bar: cut.bar, length, pieces });
        }
    }
    let order = bars.into_iter().map(|((profile, bar), count)| {
        let length = model.task.profiles[profile].stock[bar].length;
        OrderLine { profile, bar, length, count }
    });
    let joints: Vec<Vec<i64>> = rails.iter().map(|rail| rail.joints.iter().map(|joint| joint.at).collect()).collect();
    let slack = clearances(model, &joints).map(|(slack, _)| slack).min();
    let least = clearances(model, &joints).filter(|(found, _)| Some(*found) == slack);
    let mut binding: Vec<Binding> = least.map(|(_, binding)| binding).collect();
    binding.sort_unstable();
    let count = joints.iter().map(Vec::len).sum::<usize>() as u32;
    let waste = supplied.waste;
    PlannedLayout { joints: count, slack, binding, waste, order: order.collect(), cuts, proof, rails }
}

fn rail_plan(model: &Model, rail: usize, path: &[(u32, u32)]) -> RailPlan {
    let graph = &model.graphs[rail];
    let profile = model.task.rails[rail].profile;
    let pitch = model.task.profiles[profile].pitch;
    let spec = &model.task.rails[rail].supports;
    let (mut segments, mut joints, mut kept) = (Vec::new(), Vec::new(), Vec::new());
    for &(node, index) in path {
        let edge = graph.out[node as usize][index as usize];
        let (here, there) = (graph.nodes[node as usize], graph.nodes[edge.to as usize]);
        let length = there.at - here.at;
        let (near_sawn, far_sawn, source) = match edge.supply {
            Supply::Whole(bar) => (false, false, SegmentSource::Whole { bar }),
            Supply::Owned(owned) => {
                let bar = &model.task.owned[owned];
                (bar.near_sawn, bar.far_sawn, SegmentSource::Owned { owned })
            }
            Supply::Cut(piece) => {
                let form = model.pieces[profile][piece].form;
                // Which bar it is cut from is filled in with the cut list.
                (form != KeptEnd::Near, form != KeptEnd::Far, SegmentSource::Cut { cut: usize::MAX })
            }
        };
        let end = |sawn| if sawn { EndKind::Sawn } else { EndKind::Ground };
        let holes = hole_positions(length, edge.near, pitch, edge.far).unwrap_or_default();
        segments.push(PlannedSegment {
            start: here.at,
            length,
            near: edge.near,
            far: edge.far,
            near_end: end(near_sawn),
            far_end: end(far_sawn),
            source,
            holes: holes.into_iter().map(|hole| here.at + hole).collect(),
        });
        kept.extend(supports::kept(spec, (here.at, there.at), here.support, there.support).copied());
        if edge.to != super::graph::END {
            joints.push(PlannedJoint { at: there.at, support: there.support });
        }
    }
    let under = |at: i64| (model.task.from..model.task.to).contains(&at);
    let gone = spec.grid.iter().filter(|support| under(support.at) && !kept.contains(support));
    let dropped = gone.copied().collect();
    RailPlan { segments, joints, supports: kept, dropped }
}
