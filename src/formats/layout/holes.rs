//! Every hole, support and joint of a plan with its place, for drilling: the rows of a CSV file, and what the drawing draws.

use crate::calc::layout::plan::PlannedLayout;
use crate::facts::layout_plan::LayoutPlan;
use crate::formats::flat::{defused, written};
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};

/// What has a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum SpotKind {
    Joint,
    Support,
    JointSupport,
    Hole,
    Seam,
}

impl SpotKind {
    fn word(self) -> &'static str {
        match self {
            SpotKind::Joint => "joint",
            SpotKind::Support => "support",
            SpotKind::JointSupport => "joint-support",
            SpotKind::Hole => "hole",
            SpotKind::Seam => "seam",
        }
    }
}

/// One place on one rail.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Spot {
    pub what: SpotKind,
    /// Segment, joint or support.
    pub name: String,
    /// Along the axis.
    pub at: Length,
    /// What a support covers, where it says so.
    pub covers: Option<Length>,
    /// The number of a hole in its segment, from 1.
    pub hole: Option<usize>,
    /// The support a hole lies over.
    pub over: Option<String>,
}

/// All places of a rail in order of position.
pub(crate) fn spots(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout, rail: usize) -> Vec<Spot> {
    let of = &planned.rails[rail];
    let bare =
        |what, name: String, at: i64, covers| Spot { what, name, at: Length(at), covers, hole: None, over: None };
    let mut all: Vec<Spot> = Vec::new();
    let covers = plan.task.rails[rail].supports.joint_covers.map(Length);
    for (number, joint) in of.joints.iter().enumerate() {
        let name = format!("J{}", number + 1);
        all.push(bare(SpotKind::Joint, name.clone(), joint.at, None));
        all.extend(joint.support.map(|at| bare(SpotKind::JointSupport, name, at, covers)));
    }
    let standing = of.supports.iter().filter_map(|it| plan.standing(rail, it));
    all.extend(standing.map(|grid| bare(SpotKind::Support, grid.name.clone(), grid.at.nm(), grid.covers)));
    let carriers: Vec<(String, i64, i64)> =
        all.iter().filter_map(|spot| Some((spot.name.clone(), spot.at.nm(), spot.covers?.nm() / 2))).collect();
    let edge = plan.task.rails[rail].supports.edge;
    for (number, segment) in of.segments.iter().enumerate() {
        for (hole, at) in segment.holes.iter().enumerate() {
            let over = carriers.iter().find(|(_, centre, half)| (at - centre).abs() <= half - edge);
            let name = format!("seg{}", number + 1);
            let over = over.map(|(name, ..)| name.clone());
            all.push(Spot { hole: Some(hole + 1), over, ..bare(SpotKind::Hole, name, *at, None) });
        }
    }
    let seams = plan.task.rails[rail].seams.iter().filter(|at| (plan.task.from..=plan.task.to).contains(*at));
    let beam = ledger.machine.rail(plan.rail(rail)).beam.as_ref().map_or("", |beam| beam.as_str());
    all.extend(seams.map(|at| bare(SpotKind::Seam, beam.to_string(), *at, None)));
    all.sort_by(|a, b| (a.at, a.what, &a.name).cmp(&(b.at, b.what, &b.name)));
    all
}

/// The places as CSV, in millimetres along the axis.
pub(crate) fn csv(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout) -> Result<String, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(CSV_HEAD)?;
    for rail in 0..planned.rails.len() {
        let address = ledger.machine.rail_address(plan.rail(rail));
        for spot in spots(ledger, plan, planned, rail) {
            out.write_record([
                &*defused(&address),
                spot.what.word(),
                &*defused(&spot.name),
                &spot.at.number(),
                &spot.hole.map_or(String::new(), |hole| hole.to_string()),
                &spot.covers.map_or(String::new(), |covers| covers.number()),
                &*defused(spot.over.as_deref().unwrap_or("")),
            ])?;
        }
    }
    written(out)
}

/// The columns.
pub(crate) const CSV_HEAD: [&str; 7] = ["rail", "what", "name", "position_mm", "hole", "covers_mm", "over_support"];
