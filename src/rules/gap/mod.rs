//! Rules about surveys, the gap and the shims.

mod needs;
mod reading;

pub(super) use reading::{Standing, reference, subject};

pub mod gap_range;
pub mod gap_zero;
pub mod shim_missing;
pub mod shim_stock;
pub mod shim_total;
pub mod shim_unverified;
pub mod station_missing;
pub mod survey_stale;
pub mod torque_after_shim;
