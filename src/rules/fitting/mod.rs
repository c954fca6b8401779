//! Rules about the fitting: bolts, wrenches, the order of work, and what shows at the joint right after it.

use crate::rules::Rule;

mod along;
mod bolts;
pub(crate) mod calibration_untraced;
pub(super) mod course;
pub(crate) mod end_unmarked;
pub(crate) mod fastener_implausible;
pub(crate) mod fastener_unfinished;
pub(crate) mod gauge_calibration;
pub(crate) mod gauge_graduation;
pub(crate) mod gauge_range;
pub(crate) mod instrument_implausible;
pub(crate) mod instrument_missing;
pub(crate) mod instrument_unsuited;
pub(crate) mod length_mismatch;
pub(crate) mod light_through_joint;
mod outward;
pub(crate) mod part_unchecked;
pub(crate) mod parts_mixed;
pub(crate) mod place_off_axis;
pub(crate) mod snug_before_full;
pub(crate) mod snug_window;
mod stretch;
pub(crate) mod temperature_jump;
pub(crate) mod temperature_span;
pub(crate) mod torque_missing;
pub(crate) mod torque_order;
pub(crate) mod torque_window;
pub(crate) mod torque_window_unproven;
pub(crate) mod unit_mistaken;
mod unstated_window;
pub(super) mod window;
pub(crate) mod wrench_range;

pub(super) use bolts::{certain, on_day};

pub(super) use crate::facts::torque_window::{INTERFACES, bolts_of, fastener, shown};

/// In the order of the catalogue.
pub(crate) static RULES: &[&Rule] = &[
    &torque_window::RULE,
    &torque_window_unproven::RULE,
    &torque_missing::RULE,
    &snug_window::RULE,
    &snug_before_full::RULE,
    &torque_order::RULE,
    &light_through_joint::RULE,
    &instrument_missing::RULE,
    &instrument_unsuited::RULE,
    &wrench_range::RULE,
    &gauge_range::RULE,
    &gauge_calibration::RULE,
    &gauge_graduation::RULE,
    &parts_mixed::RULE,
    &length_mismatch::RULE,
    &unit_mistaken::RULE,
    &temperature_span::RULE,
    &place_off_axis::RULE,
    &instrument_implausible::RULE,
    &fastener_implausible::RULE,
    &fastener_unfinished::RULE,
    &calibration_untraced::RULE,
    &part_unchecked::RULE,
    &end_unmarked::RULE,
    &temperature_jump::RULE,
];
