//! What the shim planner is asked and what it answers.

use std::ops::Range;

use super::super::exact::{MOST_LENGTH_NM, Ratio, in_range};
use super::leaves::{LeafStock, StockError};

/// The greatest number of supports in one plan.
pub(crate) const MOST_SUPPORTS: usize = 2_000;

/// What one support needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SupportNeed {
    /// How far it stands below the widest place (above the narrowest where shims narrow), in nm.
    pub needed: Ratio,
    /// The greatest total allowed there in nm; 0 where no shim can go.
    pub most_nm: Option<i64>,
}

impl SupportNeed {
    /// A need of whole nanometres, where any total may go.
    pub fn whole(needed_nm: i64) -> Self {
        Self { needed: Ratio::whole(needed_nm.into()), most_nm: None }
    }
}

/// A station that is no support: the shims beside it move it, linearly between two supports.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadBetween {
    /// How far it stands below the widest place, in nm.
    pub needed: Ratio,
    /// The supports that move it, by their places in the problem, with the share that each one's shim has there: two
    /// neighbours, one at an end, or none.
    pub moved_by: Vec<(usize, Ratio)>,
}

/// Which of the plans that keep the range is the best.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum ShimAim {
    /// Fewest shimmed supports, then fewest leaves, then the thinnest total, then the least range.
    #[default]
    FewestSupports,
    /// Fewest joints to be inspected again, then as above.
    FewestJoints,
    /// The least range, then as above.
    LeastRange,
}

/// What the planner is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShimProblem {
    /// The supports in order along the axis.
    pub supports: Vec<SupportNeed>,
    /// Stations that are no supports.
    pub between: Vec<ReadBetween>,
    /// For each joint the supports that undo its inspection when they are shimmed.
    pub joints: Vec<Range<usize>>,
    /// The range that the readings may have after shimming, in nm: the limit less the measuring uncertainty.
    pub range_nm: i64,
    /// Leaves in stock.
    pub stock: LeafStock,
    /// How far above the widest place the target may lie, in nm. `None`: as far as it takes.
    pub raise_most_nm: Option<i64>,
    /// Which plan is the best.
    pub aim: ShimAim,
    /// Search steps allowed.
    pub steps: u64,
}

impl ShimProblem {
    /// Search steps that are enough for most questions.
    pub const USUAL_STEPS: u64 = 8_000_000;

    /// A problem of supports alone.
    pub fn new(supports: Vec<SupportNeed>, range_nm: i64, stock: LeafStock) -> Self {
        Self {
            supports,
            between: Vec::new(),
            joints: Vec::new(),
            range_nm,
            stock,
            raise_most_nm: None,
            aim: ShimAim::default(),
            steps: Self::USUAL_STEPS,
        }
    }

    pub(super) fn check(&self) -> Result<(), ShimPlanError> {
        if self.supports.len() > MOST_SUPPORTS {
            return Err(ShimPlanError::TooManySupports(self.supports.len()));
        }
        let wrong = |nm: i128| ShimPlanError::BadLength { nm: i64::try_from(nm).unwrap_or(i64::MAX) };
        let most = i128::from(MOST_LENGTH_NM);
        let needs = self.supports.iter().map(|it| it.needed).chain(self.between.iter().map(|it| it.needed));
        for need in needs {
            if need < Ratio::whole(0) || need > Ratio::whole(most) {
                return Err(wrong(need.floor()));
            }
        }
        for nm in self.supports.iter().filter_map(|it| it.most_nm).chain(self.raise_most_nm) {
            if nm < 0 || in_range(nm).is_err() {
                return Err(wrong(nm.into()));
            }
        }
        in_range(self.range_nm).map_err(|error| wrong(error.nm.into()))?;
        Ok(())
    }
}

/// What lies under a support already.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct PresentLeaves {
    /// Its total in nm, leaves that are not of the stock's kinds included.
    pub total_nm: i64,
    /// Leaves of each kind, in the order of the stock: they come back when the support is shimmed anew.
    pub leaves: Vec<u32>,
}

/// What goes under one support.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stack {
    /// The support is shimmed anew, be it that all its leaves come out, and not left as it is.
    pub put_in: bool,
    /// The total in nm of the stack that is put in; 0 without a shim, and where the support is left as it is.
    pub total_nm: i64,
    /// Leaves of each kind, in the order of the stock.
    pub leaves: Vec<u32>,
    /// How far the support then stands below the widest place as it was, in nm; negative above.
    pub remaining: Ratio,
}

/// A plan, the best by its order unless `proven` says otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StackPlan {
    /// For every support in order.
    pub stacks: Vec<Stack>,
    /// How far each station that is no support then stands below the widest place as it was, in nm.
    pub between: Vec<Ratio>,
    /// How far above the widest place targets were looked for, in nm.
    pub raise_most_nm: i64,
    /// The range of all readings to expect, in nm, rounded up.
    pub range_nm: i64,
    /// Supports with a shim.
    pub shimmed: usize,
    /// Joints to be inspected again.
    pub joints: usize,
    /// Leaves in all.
    pub leaves: u64,
    /// The sum of all totals in nm.
    pub total_nm: i64,
    /// No plan is better by its aim. False only when scarce stock made the search too long.
    pub proven: bool,
    /// Of the plans that are as good, none has a smaller range by a nanometre.
    pub range_proven: bool,
    /// No plan shims fewer supports than this.
    pub shimmed_at_least: usize,
    /// Search steps spent.
    pub steps: u64,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ShimPlanError {
    /// The uncertainty leaves nothing of the range.
    #[error("the allowed range of {range_nm} nm leaves nothing to plan with")]
    NoRange {
        /// The range asked for in nm.
        range_nm: i64,
    },
    /// One support has no total in stock that would do, whatever the others get.
    #[error("support {support} needs {from_nm} to {to_nm} nm, which no leaves in stock make")]
    NoTotal {
        /// Its index.
        support: usize,
        /// The least total that would do with the target at the widest place, in nm.
        from_nm: i64,
        /// The greatest, in nm: its need, or the most that may go there.
        to_nm: i64,
        /// The nearest total below that can be had, in nm.
        below_nm: i64,
        /// The nearest total above that can be had, in nm, whether or not it is too much for the place.
        above_nm: Option<i64>,
    },
    /// Every support could be served alone, but there are not enough leaves for all.
    #[error("the leaves in stock do not suffice for all supports together")]
    StockShort {
        /// For each kind of leaf, how many more the best plan without counts would take.
        missing: Vec<u64>,
    },
    /// A station stands off the line between its neighbouring supports by more than the whole range: a shim moves that
    /// line and not the bend.
    #[error("no shim cures a bend of {off_nm} nm")]
    Bent {
        /// Its index among the stations that are no supports.
        station: usize,
        /// How far it stands off, in nm, rounded up.
        off_nm: i64,
    },
    /// Every support could be served alone, but no totals of leaves bring all stations into the range at once.
    #[error("no totals of the leaves in stock bring all stations into the range at once")]
    NotTogether,
    /// The search grew too long before a plan was found.
    #[error("no plan was found within the work allowed")]
    Undecided,
    /// A need or a limit is negative or out of range.
    #[error("a need or limit of {nm} nm makes no sense")]
    BadLength {
        /// The refused length in nm.
        nm: i64,
    },
    /// More supports than [`MOST_SUPPORTS`].
    #[error("{0} supports are more than one plan may hold")]
    TooManySupports(usize),
    /// The totals of these leaves are too many to tell apart.
    #[error(transparent)]
    Stock(#[from] StockError),
}
