//! Rules about the fitting: bolts, wrenches, the order of work, and what shows at the joint right after it.

use crate::rules::Rule;

mod bolts;
pub(super) mod course;
pub mod gauge_calibration;
pub mod gauge_graduation;
pub mod gauge_range;
pub mod instrument_missing;
pub mod instrument_unsuited;
pub mod light_through_joint;
mod outward;
pub mod parts_mixed;
pub mod snug_before_full;
pub mod snug_window;
pub mod torque_missing;
pub mod torque_order;
pub mod torque_window;
pub(super) mod window;
pub mod wrench_range;

pub(super) use bolts::{certain, of_day};

pub(super) use crate::facts::torque_window::{INTERFACES, bolts_of, fastener, shown};

/// In the order of the catalogue.
pub static RULES: &[&Rule] = &[
    &torque_window::RULE,
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
];
