//! What a layout is asked to fulfil: plain numbers, checked once, so that the planner can trust them.
//!
//! All lengths and positions are nanometres along the axis.

use super::meeting::PositionRange;

/// A budget that suits most machines: some seconds of search at the most, a fraction of one as a rule.
pub const USUAL_BUDGET: u64 = 5_000_000;

/// Everything the planner knows.
#[derive(Clone, Debug)]
pub struct LayoutTask {
    /// Where every rail starts and ends.
    pub from: i64,
    /// The other end of every rail.
    pub to: i64,
    /// Rails name theirs by its place here.
    pub profiles: Vec<ProfileSpec>,
    /// The parallel rails.
    pub rails: Vec<RailSpec>,
    /// Bars already owned: each must become one whole segment.
    pub owned: Vec<Owned>,
    /// Least distance between joints of different rails; `None` when the rulebook asks for none.
    pub stagger: Option<i64>,
    /// What rides on the rails.
    pub carriage: Option<CarriageSpec>,
    /// How many search steps may be spent. A count, not a clock, so that two runs agree.
    pub budget: u64,
}

/// Rails of one profile share its stock.
#[derive(Clone, Debug)]
pub struct ProfileSpec {
    /// From hole to hole.
    pub pitch: i64,
    /// How far two end distances at a joint may miss one pitch.
    pub pattern_tolerance: i64,
    /// The bars that can be had.
    pub stock: Vec<Bar>,
    /// `None` when bars may not be cut.
    pub cutting: Option<CuttingSpec>,
    /// Least segment length; 0 when none is stated.
    pub least_segment: i64,
    /// Least and, where stated, most end distance at the two ends of the axis.
    pub least_end: i64,
    /// The greatest distance from an end of a rail to its first hole.
    pub most_end: Option<i64>,
}

/// One kind of bar. Both its ends are ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bar {
    /// Its whole length.
    pub length: i64,
    /// From its near end to the first hole.
    pub near: i64,
    /// From its last hole to its far end.
    pub far: i64,
    /// How many there are; `None` when as many as wanted can be bought.
    pub count: Option<u32>,
}

/// How bars may be cut. A cut end is sawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CuttingSpec {
    /// A cut segment's length is a multiple of this; one sawn at both ends also starts at a multiple of it.
    pub grid: i64,
    /// Length the blade turns to chips.
    pub kerf: i64,
    /// Least distance from the blade to a hole's centre.
    pub hole_keep: i64,
    /// Whether a sawn end may lie in a joint. By good practice it does not.
    pub in_joints: bool,
}

/// One rail and what it lies on.
#[derive(Clone, Debug)]
pub struct RailSpec {
    /// Index into [`LayoutTask::profiles`].
    pub profile: usize,
    /// Seams of this rail's beam, and the least distance of a joint from each.
    pub seams: Vec<i64>,
    /// How far a joint stays away from a seam.
    pub seam_clearance: i64,
    /// What it lies on.
    pub supports: SupportsSpec,
}

/// Supports under one rail.
#[derive(Clone, Debug, Default)]
pub struct SupportsSpec {
    /// Supports the machine has anyway: centre and covered length, by position.
    pub grid: Vec<SupportSpec>,
    /// Whether a grid support may be left out where a joint support takes its place.
    pub may_drop: bool,
    /// Length of the support under each joint; `None` when joint supports are not planned.
    pub joint_covers: Option<i64>,
    /// How far a joint support's centre may stand off the joint.
    pub off_centre: i64,
    /// Bolts of each rail end that the joint support must hold, and the least distance from such a bolt to the support's end.
    pub joint_bolts: i64,
    /// How far a bolt stays away from the edge of its support.
    pub edge: i64,
    /// Bolts that every kept grid support must hold; 0 when not judged.
    pub grid_bolts: usize,
    /// Greatest distance between the centres of neighbouring supports.
    pub most_spacing: Option<i64>,
}

/// A support.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SupportSpec {
    /// Where its middle lies.
    pub at: i64,
    /// Its length along the rail.
    pub covers: i64,
}

/// A bar already owned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Owned {
    /// Its place among the profiles.
    pub profile: usize,
    /// Its whole length.
    pub length: i64,
    /// From its near end to the first hole.
    pub near: i64,
    /// From its last hole to its far end.
    pub far: i64,
    /// Ends that are sawn and so must not lie in a joint.
    pub near_sawn: bool,
    /// The same of the far end.
    pub far_sawn: bool,
    /// The rail it is meant for, if any.
    pub rail: Option<usize>,
    /// Where it must start; counts only together with a rail.
    pub at: Option<i64>,
}

/// What rides on the rails.
#[derive(Clone, Debug)]
pub struct CarriageSpec {
    /// All blocks, each on its rail.
    pub blocks: Vec<BlockSpec>,
    /// How far it travels, where that is told.
    pub stroke: Option<PositionRange>,
    /// How much further than their half lengths two meetings must stay apart.
    pub margin: i64,
}

/// A block of the carriage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BlockSpec {
    /// The place of its rail among the rails.
    pub rail: usize,
    /// Centre of the block, seen from the carriage's reference point.
    pub offset: i64,
    /// Effective length.
    pub length: i64,
}

/// Why a task cannot be worked on at all. Says nothing about whether a layout exists.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TaskError {
    /// The run has no length.
    #[error("the run ends at or before its start")]
    EmptyRun,
    /// There is no rail.
    #[error("there is no rail to lay out")]
    NoRail,
    /// A number is larger than any machine needs.
    #[error("{0} is outside ±10 km")]
    OutOfRange(&'static str),
    /// A number that must be above zero is not.
    #[error("{0} must be greater than zero")]
    NotPositive(&'static str),
    /// A number that must not be negative is.
    #[error("{0} must not be negative")]
    Negative(&'static str),
    /// A bar whose holes do not come out at its end.
    #[error("a bar of {length} nm with end distances {near} and {far} has no whole number of hole pitches of {pitch}")]
    BarOffPitch {
        /// Its length.
        length: i64,
        /// From its near end to the first hole.
        near: i64,
        /// From its last hole to its far end.
        far: i64,
        /// From hole to hole.
        pitch: i64,
    },
    /// Something names what is not there.
    #[error("{0} names a rail or profile that does not exist")]
    Dangling(&'static str),
    /// The stroke ends before it begins.
    #[error("the stroke ends before its start")]
    StrokeBackwards,
}

/// Ten kilometres: far above any axis, far below where sums could overflow.
const FARTHEST: i64 = 10_000_000_000_000;

impl LayoutTask {
    /// Length of every rail.
    pub fn run(&self) -> i64 {
        self.to - self.from
    }

    /// The profile of a rail.
    pub fn profile_of(&self, rail: usize) -> &ProfileSpec {
        &self.profiles[self.rails[rail].profile]
    }

    /// Checks every number once. The planner calls this first.
    pub fn check(&self) -> Result<(), TaskError> {
        place("the run", self.from)?;
        place("the run", self.to)?;
        if self.to <= self.from {
            return Err(TaskError::EmptyRun);
        }
        if self.rails.is_empty() {
            return Err(TaskError::NoRail);
        }
        self.profiles.iter().try_for_each(check_profile)?;
        self.rails.iter().try_for_each(|rail| self.check_rail(rail))?;
        self.owned.iter().try_for_each(|owned| self.check_owned(owned))?;
        size("the stagger", self.stagger.unwrap_or(0))?;
        let Some(carriage) = &self.carriage else { return Ok(()) };
        size("the margin of block meetings", carriage.margin)?;
        for block in &carriage.blocks {
            place("a block's offset", block.offset)?;
            positive("a block's effective length", block.length)?;
            if block.rail >= self.rails.len() {
                return Err(TaskError::Dangling("a block"));
            }
        }
        if let Some(stroke) = carriage.stroke {
            place("the stroke", stroke.from)?;
            place("the stroke", stroke.to)?;
            if stroke.to < stroke.from {
                return Err(TaskError::StrokeBackwards);
            }
        }
        Ok(())
    }

    fn check_rail(&self, rail: &RailSpec) -> Result<(), TaskError> {
        if rail.profile >= self.profiles.len() {
            return Err(TaskError::Dangling("a rail"));
        }
        rail.seams.iter().try_for_each(|&seam| place("a seam", seam))?;
        size("the seam clearance", rail.seam_clearance)?;
        let supports = &rail.supports;
        for support in &supports.grid {
            place("a support", support.at)?;
            positive("a support's covered length", support.covers)?;
        }
        if let Some(covers) = supports.joint_covers {
            positive("the joint support's length", covers)?;
        }
        size("the joint support's offset", supports.off_centre)?;
        size("the bolt's edge distance", supports.edge)?;
        if !(0..=1000).contains(&supports.joint_bolts) {
            return Err(TaskError::OutOfRange("the number of bolts in a joint support"));
        }
        positive("the support spacing", supports.most_spacing.unwrap_or(1))
    }

    fn check_owned(&self, owned: &Owned) -> Result<(), TaskError> {
        let profile = self.profiles.get(owned.profile).ok_or(TaskError::Dangling("an owned bar"))?;
        let fits = |rail: usize| self.rails.get(rail).is_some_and(|rail| rail.profile == owned.profile);
        if owned.rail.is_some_and(|rail| !fits(rail)) {
            return Err(TaskError::Dangling("an owned bar"));
        }
        place("an owned bar's place", owned.at.unwrap_or(0))?;
        check_bar(owned.length, owned.near, owned.far, profile.pitch)
    }
}

fn check_profile(profile: &ProfileSpec) -> Result<(), TaskError> {
    positive("the hole pitch", profile.pitch)?;
    size("the pattern tolerance", profile.pattern_tolerance)?;
    size("the least segment length", profile.least_segment)?;
    size("the least end distance", profile.least_end)?;
    size("the most end distance", profile.most_end.unwrap_or(0))?;
    if let Some(cutting) = profile.cutting {
        positive("the cut grid", cutting.grid)?;
        size("the kerf", cutting.kerf)?;
        size("the distance of a cut from a hole", cutting.hole_keep)?;
    }
    profile.stock.iter().try_for_each(|bar| check_bar(bar.length, bar.near, bar.far, profile.pitch))
}

fn check_bar(length: i64, near: i64, far: i64, pitch: i64) -> Result<(), TaskError> {
    positive("a bar's length", length)?;
    size("an end distance", near)?;
    size("an end distance", far)?;
    let between = length - near - far;
    if between < 0 || between % pitch != 0 {
        return Err(TaskError::BarOffPitch { length, near, far, pitch });
    }
    Ok(())
}

fn place(what: &'static str, at: i64) -> Result<(), TaskError> {
    if (-FARTHEST..=FARTHEST).contains(&at) { Ok(()) } else { Err(TaskError::OutOfRange(what)) }
}

fn size(what: &'static str, length: i64) -> Result<(), TaskError> {
    if length < 0 { Err(TaskError::Negative(what)) } else { place(what, length) }
}

fn positive(what: &'static str, length: i64) -> Result<(), TaskError> {
    if length < 1 { Err(TaskError::NotPositive(what)) } else { place(what, length) }
}
