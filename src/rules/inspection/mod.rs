//! Rules about the inspection of joints: light, the four grooves, and what makes them stale.

use crate::rules::Rule;

pub(crate) mod carrier_implausible;
mod day_copies;
mod elsewhere;
pub(crate) mod force_jump;
pub(crate) mod force_places;
pub(crate) mod groove_missing;
mod grooves;
pub(crate) mod inspection_stale;
pub(crate) mod joint_step;
pub(crate) mod joint_step_cause;
pub(crate) mod joint_step_unproven;
pub(crate) mod light_missing;
pub(crate) mod limit_unread;
pub(crate) mod reading_early;
pub(crate) mod readings_copied;
pub(crate) mod repeats_apart;
pub(crate) mod running_force;
pub(crate) mod running_force_unproven;
pub(crate) mod step_carrier;
pub(crate) mod telling;
pub(crate) mod temperature_unsaid;

use grooves::named;

/// In the order of the catalogue.
pub(crate) static RULES: &[&Rule] = &[
    &groove_missing::RULE,
    &light_missing::RULE,
    &joint_step::RULE,
    &inspection_stale::RULE,
    &reading_early::RULE,
    &joint_step_unproven::RULE,
    &joint_step_cause::RULE,
    &step_carrier::RULE,
    &carrier_implausible::RULE,
    &temperature_unsaid::RULE,
    &readings_copied::RULE,
    &repeats_apart::RULE,
    &limit_unread::RULE,
    &running_force::RULE,
    &running_force_unproven::RULE,
    &force_jump::RULE,
    &force_places::RULE,
];
