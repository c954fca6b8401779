//! Layout of an axis: where the segments of every rail end, and the rules that judge it.
//!
//! The small predicates (`holes`, `meeting`, `clearance`) serve the planner and the lint rules alike, so that what the
//! planner proposes and what the lint accepts can never drift apart. All lengths are whole nanometres.

pub mod clearance;
pub mod holes;
pub mod meeting;
