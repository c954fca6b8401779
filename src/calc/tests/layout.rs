//! The layout helpers and the planner, against handbook figures, brute force and a general solver.

mod brute;
mod check;
mod coarse;
mod helpers;
mod kept;
mod machines;
mod planner;
pub(crate) mod random;
mod short_bars;
mod solver;
