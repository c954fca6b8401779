//! Layout of an axis: where the segments of every rail end, and the rules that judge it.
//!
//! The small predicates (`holes`, `meeting`, `clearance`) serve the planner and the lint rules alike, so that what the
//! planner proposes and what the lint accepts can never drift apart. All lengths are whole nanometres.
//!
//! The planner works in three steps. `graph` settles what concerns one rail: which joints and segments are allowed.
//! `sweep` and `search` weigh the rails against each other, from one end of the axis to the other. `solve` asks them for
//! the fewest joints, then the largest slack; `bars` then looks for the least waste. `packing` settles which bars the
//! segments come from, and `contradiction` says why there is no layout. `in_turn` finds a first layout of many rails from
//! counted bars.

mod assemble;
mod bars;
mod clash;
pub(crate) mod clearance;
mod contradiction;
mod graph;
pub(crate) mod holes;
mod in_turn;
pub(crate) mod meeting;
mod memo;
pub(crate) mod meter;
mod model;
mod open_bars;
mod packing;
mod pieces;
pub(crate) mod plan;
pub(crate) mod requirement;
mod search;
pub(crate) mod solve;
mod stock;
mod supports;
mod sweep;
pub(crate) mod task;
mod view;

pub(crate) use solve::{FewestAnswer, fewest, plan, plan_watched};
