//! One rail as a graph: its nodes are places where a joint may lie, its edges the segments between them.
//!
//! Everything that concerns one rail alone, or one joint, or one segment, is settled here, so that the search only has
//! to weigh joints against each other.

use std::collections::{BTreeMap, BTreeSet};

use super::clearance::seam_slack;
use super::holes::pattern_break;
use super::meter::{BudgetError, Meter};
use super::pieces::PieceKind;
use super::requirement::Requirement;
use super::supports::{self, SupportChecks, SupportMistake};
use super::task::LayoutTask;

/// Node ids of the rail's two ends.
pub(super) const START: u32 = 0;
pub(super) const END: u32 = 1;

/// Where a segment comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Supply {
    /// A whole bar: index into the profile's stock.
    Whole(usize),
    /// An owned bar: index into the task's list.
    Owned(usize),
    /// A cut piece: index into the profile's pieces.
    Cut(usize),
}

#[derive(Clone, Copy, Debug)]
struct GraphSegment {
    length: i64,
    near: i64,
    far: i64,
    /// Ends that are sawn and so may not lie in a joint.
    near_sawn: bool,
    far_sawn: bool,
    supply: Supply,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub to: u32,
    pub near: i64,
    pub far: i64,
    pub supply: Supply,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct GraphNode {
    pub at: i64,
    /// First node at the same place: nodes that differ in the end distance alone clash alike.
    pub place: u32,
    /// Slack to the nearest seam, if there is one.
    pub seam: Option<i64>,
    /// Centre of the support under the joint.
    pub support: Option<i64>,
}

#[derive(Debug)]
pub(super) struct Graph {
    pub nodes: Vec<GraphNode>,
    /// Edges out of each node, in the order in which they are tried.
    pub out: Vec<Vec<Edge>>,
    /// Length of the shortest segment.
    pub shortest: i64,
}

/// For every rail its segments, each as the node it starts from and the edge it takes.
pub(super) type Paths = Vec<Vec<(u32, u32)>>;

/// Requirements that are in force.
pub(super) type ActiveRequirements = BTreeSet<Requirement>;

/// A segment that leads to a joint not yet numbered: its node, its place among that node's edges, and the edge.
type Arrival = (u32, usize, Edge);

struct GraphBuilder<'a> {
    task: &'a LayoutTask,
    rail: usize,
    active: &'a ActiveRequirements,
    asked: SupportChecks,
    segments: Vec<GraphSegment>,
    /// Segments that may end in a joint, those of them that may also start in one, and all by length.
    first: Vec<usize>,
    inner: Vec<usize>,
    by_length: BTreeMap<i64, Vec<usize>>,
}

impl Graph {
    /// Builds the graph of one rail from the pieces its profile gives.
    pub(crate) fn build(
        task: &LayoutTask,
        rail: usize,
        pieces: &[PieceKind],
        room: &[u32],
        active: &ActiveRequirements,
        meter: &mut Meter,
    ) -> Result<Self, BudgetError> {
        let segments = segments(task, rail, pieces, room, active);
        let mut by_length: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
        for (i, segment) in segments.iter().enumerate() {
            by_length.entry(segment.length).or_default().push(i);
        }
        let on = |requirement| active.contains(&requirement);
        let asked = SupportChecks {
            joint_bolts: on(Requirement::JointSupport { rail }),
            overlap: on(Requirement::SupportOverlap { rail }),
            grid_bolts: on(Requirement::SupportBolts { rail }),
            spacing: on(Requirement::SupportSpacing { rail }),
        };
        let first: Vec<usize> = (0..segments.len()).filter(|&i| !segments[i].far_sawn).collect();
        let inner = first.iter().copied().filter(|&i| !segments[i].near_sawn).collect();
        GraphBuilder { task, rail, active, asked, segments, first, inner, by_length }.run(meter)
    }
}

/// Segments that this rail can have, in the order in which they are tried: owned, whole, cut; long before short.
fn segments(
    task: &LayoutTask,
    rail: usize,
    pieces: &[PieceKind],
    room: &[u32],
    active: &ActiveRequirements,
) -> Vec<GraphSegment> {
    let profile = task.profile_of(rail);
    let forbidden = active.contains(&Requirement::SawnEnd { rail });
    let cuts_outside = forbidden && profile.cutting.is_none_or(|cutting| !cutting.in_joints);
    let mut all = Vec::new();
    for (i, owned) in task.owned.iter().enumerate() {
        if owned.profile == task.rails[rail].profile && owned.rail.is_none_or(|meant| meant == rail) {
            let (length, near, far) = (owned.length, owned.near, owned.far);
            let (near_sawn, far_sawn) = (owned.near_sawn && forbidden, owned.far_sawn && forbidden);
            all.push(GraphSegment { length, near, far, near_sawn, far_sawn, supply: Supply::Owned(i) });
        }
    }
    for (i, bar) in profile.stock.iter().enumerate().filter(|(i, _)| room[*i] > 0) {
        let (length, near, far) = (bar.length, bar.near, bar.far);
        all.push(GraphSegment { length, near, far, near_sawn: false, far_sawn: false, supply: Supply::Whole(i) });
    }
    for (i, &PieceKind { form, length, near, far }) in pieces.iter().enumerate() {
        use super::pieces::KeptEnd;
        let (near_sawn, far_sawn) = (form != KeptEnd::Near && cuts_outside, form != KeptEnd::Far && cuts_outside);
        all.push(GraphSegment { length, near, far, near_sawn, far_sawn, supply: Supply::Cut(i) });
    }
    if active.contains(&Requirement::LeastSegment { rail }) {
        all.retain(|segment| segment.length >= profile.least_segment);
    }
    let supports = &task.rails[rail].supports;
    if active.contains(&Requirement::JointSupport { rail }) && supports.joint_covers.is_some() {
        // A joint support can hold no more bolts of a rail end than that segment has; one without a joint may have fewer.
        let holes = |segment: &GraphSegment| (segment.length - segment.near - segment.far) / profile.pitch + 1;
        all.retain(|segment| segment.length == task.run() || holes(segment) >= supports.joint_bolts);
    }
    let kind = |supply: &Supply| match supply {
        Supply::Owned(_) => 0,
        Supply::Whole(_) => 1,
        Supply::Cut(_) => 2,
    };
    all.sort_by_key(|segment| (kind(&segment.supply), -segment.length, segment.supply));
    all
}

impl GraphBuilder<'_> {
    fn run(self, meter: &mut Meter) -> Result<Graph, BudgetError> {
        let (from, to) = (self.task.from, self.task.to);
        let end = GraphNode { at: to, place: END, seam: None, support: None };
        let mut nodes = vec![GraphNode { at: from, place: START, seam: None, support: None }, end];
        let mut out = vec![Vec::new(), Vec::new()];
        let mut fars = vec![0, 0];
        // Joints found but not yet left, by place and end distance; edges wait for the id of the node they lead to.
        let mut waiting: BTreeMap<(i64, i64), Vec<Arrival>> = BTreeMap::new();
        let mut refused: BTreeSet<(i64, i64)> = BTreeSet::new();
        let mut node = START;
        loop {
            let here = nodes[node as usize];
            let mut rank = 0;
            for i in self.candidates(node, to - here.at) {
                meter.step()?;
                let segment = self.segments[i];
                let place = (here.at + segment.length, segment.far);
                if !self.may_follow(node, &here, fars[node as usize], &segment) || refused.contains(&place) {
                    continue;
                }
                let (target, id) = if place.0 == to {
                    (end, END)
                } else if let Some(joint) = self.joint(place.0, segment.far) {
                    (joint, u32::MAX)
                } else {
                    refused.insert(place);
                    continue;
                };
                if self.supports_wrong(&here, &target, &segment) {
                    continue;
                }
                let edge = Edge { to: id, near: segment.near, far: segment.far, supply: segment.supply };
                if id == END {
                    out[node as usize].push((rank, edge));
                } else {
                    waiting.entry(place).or_default().push((node, rank, edge));
                }
                rank += 1;
            }
            let Some((place, arrivals)) = waiting.pop_first() else { break };
            node = nodes.len() as u32;
            let mut joint = self.joint(place.0, place.1).unwrap_or(end);
            let before = &nodes[node as usize - 1];
            joint.place = if node > 2 && before.at == place.0 { before.place } else { node };
            nodes.push(joint);
            fars.push(place.1);
            out.push(Vec::new());
            for (origin, rank, edge) in arrivals {
                out[origin as usize].push((rank, Edge { to: node, ..edge }));
            }
        }
        let in_order = |mut edges: Vec<(usize, Edge)>| {
            edges.sort_by_key(|(rank, _)| *rank);
            edges.into_iter().map(|(_, edge)| edge).collect()
        };
        let out = out.into_iter().map(in_order).collect();
        let shortest = self.segments.iter().map(|segment| segment.length).min().unwrap_or(1);
        Ok(Graph { nodes, out, shortest })
    }

    /// Segments worth trying from a node with `left` to go: those that end short of the rail's end, and those that meet it.
    fn candidates(&self, node: u32, left: i64) -> Vec<usize> {
        let inner = if node == START { &self.first } else { &self.inner };
        let short = inner.iter().copied().filter(|&i| self.segments[i].length < left);
        let last = |i: &usize| node == START || !self.segments[*i].near_sawn;
        let meeting = self.by_length.get(&left).into_iter().flatten().copied();
        let mut all: Vec<usize> = short.chain(meeting.filter(last)).collect();
        all.sort_unstable();
        all
    }

    /// The node for a joint there, if one may lie there.
    fn joint(&self, at: i64, far: i64) -> Option<GraphNode> {
        let rail = &self.task.rails[self.rail];
        let seam = if self.active.contains(&Requirement::Seam { rail: self.rail }) {
            rail.seams.iter().map(|&seam| seam_slack(at, seam, rail.seam_clearance)).min()
        } else {
            None
        };
        if seam.is_some_and(|slack| slack < 0) {
            return None;
        }
        let pitch = self.task.profile_of(self.rail).pitch;
        let support = supports::joint_support(&rail.supports, self.asked, pitch, at, far);
        if rail.supports.joint_covers.is_some() && support.is_none() {
            return None;
        }
        Some(GraphNode { at, place: 0, seam, support })
    }

    /// Whether the segment may follow what ends at the node: hole pattern, end distance, owned bars, bolts of the joint support.
    fn may_follow(&self, node: u32, here: &GraphNode, far: i64, segment: &GraphSegment) -> bool {
        let profile = self.task.profile_of(self.rail);
        let rail = self.rail;
        let end_allowed = |distance: i64| {
            !self.active.contains(&Requirement::EndDistance { rail })
                || (distance >= profile.least_end && profile.most_end.is_none_or(|most| distance <= most))
        };
        let end = here.at + segment.length;
        if node == START && !end_allowed(segment.near) || end == self.task.to && !end_allowed(segment.far) {
            return false;
        }
        if node != START {
            let off = pattern_break(far, segment.near, profile.pitch).abs();
            if self.active.contains(&Requirement::HolePitch { rail }) && off > profile.pattern_tolerance {
                return false;
            }
            let supports = &self.task.rails[rail].supports;
            let holds = |centre| supports::holds_right(supports, profile.pitch, here.at, centre, segment.near);
            if self.asked.joint_bolts && here.support.is_some_and(|centre| !holds(centre)) {
                return false;
            }
        }
        self.owned_bars_allow(here.at, end, segment.supply)
    }

    fn owned_bars_allow(&self, start: i64, end: i64, supply: Supply) -> bool {
        self.task.owned.iter().enumerate().all(|(owned, bar)| {
            let (Some(rail), Some(at)) = (bar.rail, bar.at) else { return true };
            if rail != self.rail {
                return true;
            }
            if supply == Supply::Owned(owned) {
                return start == at;
            }
            let overlaps = start < at + bar.length && end > at;
            !(overlaps && self.active.contains(&Requirement::Owned { owned }))
        })
    }

    fn supports_wrong(&self, here: &GraphNode, target: &GraphNode, segment: &GraphSegment) -> bool {
        let supports = &self.task.rails[self.rail].supports;
        let pitch = self.task.profile_of(self.rail).pitch;
        let holes = (here.at + segment.near, target.at - segment.far);
        let wrong: Option<SupportMistake> =
            supports::judge(supports, self.asked, pitch, (here.at, target.at), holes, (here.support, target.support));
        wrong.is_some()
    }
}
