//! Shims between rail and support: which total goes where, made of which leaves.
//!
//! Every support needs a total so that its reading comes up to the widest place (mirrored where shims narrow a gap).
//! Only sums of leaves in stock can be had, but a range of readings is allowed, and the target may lie a little above
//! the widest place. The planner uses that freedom and returns a plan that is proven to be the best:
//! fewest shimmed supports, then fewest leaves, then the thinnest total.
//!
//! * `problem`: what is asked, and what is answered
//! * `leaves`: stock, and the fewest leaves that make a total
//! * `places`: supports and stations in exact numbers, and which windows of readings are worth trying
//! * `height`: up to where targets are looked for, and why no better plan lies higher
//! * `plan`: the search over windows; `window`: one of them; `race`: supports that compete for leaves which run short, or
//!   share a station between them
//! * `plain`: every support up to the widest place, as by hand
//! * `chance`: that a verification finds the range kept
//! * `seated`: what to expect after shimming, and which shim is not seated

mod chance;
mod effort;
mod height;
mod leaves;
mod places;
mod plain;
mod plan;
mod problem;
mod race;
mod seated;
mod window;

pub(crate) use chance::within_range;
pub(crate) use effort::{ShimProgress, ShimWatch};
pub(crate) use leaves::fewest_leaves;
pub use leaves::{LeafKind, LeafStock, StockError};
pub(crate) use plain::{PlainPlan, plain, plain_over};
pub use plan::plan;
#[cfg(test)]
pub(crate) use plan::plan_over;
pub(crate) use plan::plan_watched;
pub(crate) use problem::PresentLeaves;
pub use problem::{ReadBetween, ShimAim, ShimPlanError, ShimProblem, Stack, StackPlan, SupportNeed};
pub(crate) use seated::{Deviation, moved_by, off_prediction, predicted, risen};
