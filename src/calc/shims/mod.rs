//! Shims between rail and support: which total goes where, made of which leaves.
//!
//! Every support needs a total so that its reading comes up to the widest place (mirrored where shims narrow a gap).
//! Only sums of leaves in stock can be had, but a range of readings is allowed, and the target may lie a little above
//! the widest place. The planner uses that freedom and returns a plan that is proven to be the best:
//! fewest shimmed supports, then fewest leaves, then the thinnest total.
//!
//! * `leaves`: stock, and the fewest leaves that make a total
//! * `plan`: which supports are shimmed, and which targets are worth trying
//! * `window`: one target; `race`: supports that compete for leaves which run short
//! * `seated`: what to expect after shimming, and which shim is not seated

mod leaves;
mod plan;
mod race;
mod seated;
mod window;

pub(crate) use leaves::fewest_leaves;
pub use leaves::{LeafKind, LeafStock, StockError};
pub(crate) use plan::{PlainPlan, PresentLeaves, plain, plain_over, plan_over};
pub use plan::{ShimPlanError, ShimProblem, Stack, StackPlan, SupportNeed, plan};
pub(crate) use seated::{Expected, off_prediction, predicted};
