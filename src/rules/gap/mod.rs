//! Rules about surveys, the gap and the shims.

use crate::facts::shims as needs;
use crate::facts::survey as reading;
pub(super) use crate::facts::survey::{CurrentSurveys, reference, subject};
use crate::rules::Rule;

pub mod gap_range;
pub mod gap_range_unproven;
pub mod gap_zero;
pub mod height_range;
mod lacking;
pub mod shim_at_widest;
pub mod shim_leaves;
pub mod shim_missing;
pub mod shim_not_seated;
pub mod shim_stock;
pub mod shim_total;
pub mod shim_unverified;
pub mod station_missing;
pub mod straightness_range;
pub mod survey_closure;
pub mod survey_stale;
pub mod survey_temperature;
pub mod toe_in;
pub mod torque_after_shim;

pub(super) use lacking::not_surveyed;

/// In the order of the catalogue.
pub static RULES: &[&Rule] = &[
    &station_missing::RULE,
    &survey_stale::RULE,
    &gap_zero::RULE,
    &survey_closure::RULE,
    &survey_temperature::RULE,
    &toe_in::RULE,
    &straightness_range::RULE,
    &height_range::RULE,
    &shim_missing::RULE,
    &shim_total::RULE,
    &shim_stock::RULE,
    &shim_leaves::RULE,
    &shim_at_widest::RULE,
    &shim_unverified::RULE,
    &torque_after_shim::RULE,
    &shim_not_seated::RULE,
    &gap_range::RULE,
    &gap_range_unproven::RULE,
];
