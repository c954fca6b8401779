//! Rules about the inspection of joints: light, the four grooves, and what makes them stale.

use crate::rules::Rule;

pub mod groove_missing;
mod grooves;
pub mod inspection_stale;
pub mod joint_step;
pub mod joint_step_cause;
pub mod joint_step_unproven;
pub mod light_missing;
pub mod limit_unread;
pub mod reading_early;
pub mod readings_copied;
pub mod running_force;
pub mod step_carrier;

use grooves::named;

/// In the order of the catalogue.
pub static RULES: &[&Rule] = &[
    &groove_missing::RULE,
    &light_missing::RULE,
    &joint_step::RULE,
    &inspection_stale::RULE,
    &reading_early::RULE,
    &joint_step_unproven::RULE,
    &joint_step_cause::RULE,
    &step_carrier::RULE,
    &readings_copied::RULE,
    &limit_unread::RULE,
    &running_force::RULE,
];
