//! What the planner answers: the layout with everything needed to order, cut, drill and record it, and how far it is proven.
//!
//! All lengths and positions are nanometres along the axis.

use super::requirement::Requirement;
use super::task::SupportSpec;

/// The planner's answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LayoutOutcome {
    /// The best layout found.
    Planned(Box<PlannedLayout>),
    /// No layout meets all requirements.
    Infeasible(Contradiction),
    /// The budget ended before a layout was found or ruled out.
    Unsettled {
        /// Proven: fewer joints than this cannot be.
        joints_at_least: u32,
    },
}

/// Requirements that cannot be met together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contradiction {
    pub requirements: Vec<Requirement>,
    /// Whether it is proven that leaving out any one of them makes a layout possible. `Requirement::Stock` is
    /// presupposed by all others and stands alone.
    pub irreducible: bool,
    /// For a rail that the stock cannot make up: the nearest lengths below and above the run that it can.
    pub nearest: Option<Nearest>,
}

/// The nearest lengths below and above, where there are any.
pub(crate) type Nearest = (Option<i64>, Option<i64>);

/// A layout of every rail.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedLayout {
    /// In the order of the task.
    pub rails: Vec<RailPlan>,
    /// Joints of all rails together.
    pub joints: u32,
    /// Smallest slack beyond a required clearance; `None` when no joint has one to keep.
    pub slack: Option<i64>,
    /// Every clearance that has just this slack.
    pub binding: Vec<Binding>,
    /// Length of all bars taken, less the length of all segments.
    pub waste: i64,
    /// Bars to buy, by profile and kind of bar, with their number.
    pub order: Vec<OrderLine>,
    /// How the bars are cut that are cut.
    pub cuts: Vec<CutBar>,
    /// What of it is proven.
    pub proof: PlanProof,
}

/// How far each figure is proven. `None` means proven to be the best there is; else the best it could still be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanProof {
    /// The fewest joints that could still be possible.
    pub joints: Option<u32>,
    /// The greatest slack that could still be possible with this number of joints.
    pub slack: Option<i64>,
    /// The least waste that could still be possible with these joints and this slack.
    pub waste: Option<i64>,
    /// Search steps spent.
    pub steps: u64,
}

/// What stands for a bound of the slack where the search ended before it knew one.
pub(crate) const NO_SLACK_BOUND: i64 = 999_999_999_999_999;

impl PlanProof {
    /// The greatest slack that could still be possible, where a bound is known.
    pub fn slack_bound(&self) -> Option<i64> {
        self.slack.filter(|bound| *bound < NO_SLACK_BOUND)
    }

    /// Whether every figure is proven.
    pub fn complete(&self) -> bool {
        self.joints.is_none() && self.slack.is_none() && self.waste.is_none()
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RailPlan {
    pub segments: Vec<PlannedSegment>,
    pub joints: Vec<PlannedJoint>,
    /// Supports of the grid that stay, and those left out for a joint support.
    pub supports: Vec<SupportSpec>,
    pub dropped: Vec<SupportSpec>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedSegment {
    pub start: i64,
    pub length: i64,
    /// Distance of the first hole from the near end, and of the last from the far end.
    pub near: i64,
    pub far: i64,
    pub near_end: EndKind,
    pub far_end: EndKind,
    pub source: SegmentSource,
    /// Positions of the holes along the axis.
    pub holes: Vec<i64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndKind {
    Ground,
    Sawn,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SegmentSource {
    /// A whole bar of the stock: index into the profile's stock.
    Whole { bar: usize },
    /// An owned bar: index into the task's list.
    Owned { owned: usize },
    /// A piece of a cut bar: index into [`PlannedLayout::cuts`].
    Cut { cut: usize },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlannedJoint {
    pub at: i64,
    /// Centre of the support under it, where one is planned.
    pub support: Option<i64>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderLine {
    pub profile: usize,
    pub bar: usize,
    pub length: i64,
    pub count: u32,
}

/// One bar of the stock and the segments cut from it, from its near end to its far end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutBar {
    pub profile: usize,
    pub bar: usize,
    pub length: i64,
    pub pieces: Vec<CutPiece>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CutPiece {
    pub rail: usize,
    pub segment: usize,
    /// Where the piece lies on the bar, from the bar's near end.
    pub start: i64,
    pub end: i64,
}

/// A clearance at its smallest slack. Joints are counted from 0 along their rail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Binding {
    pub requirement: Requirement,
    /// Rail and joint.
    pub joint: (usize, usize),
    pub against: BindingTo,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BindingTo {
    /// Rail and joint.
    Joint(usize, usize),
    /// Position of the seam.
    Seam(i64),
}
