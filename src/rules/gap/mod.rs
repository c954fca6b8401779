//! Rules about surveys, the gap and the shims.

use crate::facts::shims as needs;
use crate::facts::survey as reading;
pub(super) use crate::facts::survey::{reference, subject};
pub(super) use crate::facts::survey_state::CurrentSurveys;
use crate::rules::Rule;

pub(crate) mod gap_local;
pub(crate) mod gap_local_unproven;
pub(crate) mod gap_range;
pub(crate) mod gap_range_unproven;
pub(crate) mod gap_zero;
pub(crate) mod height_local;
pub(crate) mod height_local_unproven;
pub(crate) mod height_range;
pub(crate) mod height_range_unproven;
mod lacking;
pub(crate) mod leaf_implausible;
mod local;
mod local_proven;
mod proven;
mod range_proven;
pub(crate) mod shim_at_widest;
pub(crate) mod shim_leaves;
pub(crate) mod shim_missing;
pub(crate) mod shim_not_seated;
pub(crate) mod shim_stock;
pub(crate) mod shim_total;
pub(crate) mod shim_unverified;
pub(crate) mod station_missing;
pub(crate) mod straightness_local;
pub(crate) mod straightness_local_unproven;
pub(crate) mod straightness_range;
pub(crate) mod straightness_range_unproven;
pub(crate) mod survey_closure;
pub(crate) mod survey_out_of_place;
pub(crate) mod survey_stale;
pub(crate) mod survey_temperature;
pub(crate) mod toe_in;
pub(crate) mod tool_error;
pub(crate) mod torque_after_shim;

pub(super) use lacking::not_surveyed;

/// In the order of the catalogue.
pub(crate) static RULES: &[&Rule] = &[
    &station_missing::RULE,
    &survey_stale::RULE,
    &survey_out_of_place::RULE,
    &gap_zero::RULE,
    &survey_closure::RULE,
    &survey_temperature::RULE,
    &toe_in::RULE,
    &straightness_range::RULE,
    &straightness_range_unproven::RULE,
    &straightness_local::RULE,
    &straightness_local_unproven::RULE,
    &height_range::RULE,
    &height_range_unproven::RULE,
    &height_local::RULE,
    &height_local_unproven::RULE,
    &shim_missing::RULE,
    &shim_total::RULE,
    &shim_stock::RULE,
    &leaf_implausible::RULE,
    &shim_leaves::RULE,
    &shim_at_widest::RULE,
    &shim_unverified::RULE,
    &torque_after_shim::RULE,
    &shim_not_seated::RULE,
    &gap_range::RULE,
    &gap_range_unproven::RULE,
    &gap_local::RULE,
    &gap_local_unproven::RULE,
    &tool_error::RULE,
];
