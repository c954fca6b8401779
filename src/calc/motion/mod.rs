//! What a carriage does on its rails as they were measured: how it moves, what each block carries, how long it lasts and
//! which reading costs most of it.
//!
//! The carriage is rigid, its blocks are springs, its rails are elastic beams on their supports with the shape that was read
//! along them. All of it is linear but for the wear of a block under a load. The model is ours and in no standard; what each
//! part of it stands on is said in its file.
//!
//! Lengths are in mm, forces in N, turns in rad, stiffnesses in N/mm and N·mm/rad.

pub(crate) mod beam;
pub(crate) mod carriage;
pub(crate) mod cost;
pub(crate) mod footing;
pub(crate) mod frame;
pub(crate) mod inverse;
pub(crate) mod loads;
pub(crate) mod rails;
pub(crate) mod run;
pub(crate) mod spline;
pub(crate) mod wear;
