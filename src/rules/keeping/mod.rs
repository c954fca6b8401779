//! Rules about how the record is kept.

use crate::rules::Rule;

pub mod attachment_changed;
pub mod concession_expired;
pub mod concession_idle;
pub mod concession_self;
pub mod concession_unreasoned;
pub mod date_order;
pub mod described_after;
pub mod hold_idle;
pub mod hold_in_force;
pub mod lift_idle;
pub mod lift_self;
pub mod release_altered;
pub mod release_incomplete;
pub mod release_self;
mod same_day;
pub mod service_due;
pub mod void_self;
pub(in crate::rules) mod work;

/// In the order of the catalogue.
pub static RULES: &[&Rule] = &[
    &date_order::RULE,
    &void_self::RULE,
    &described_after::RULE,
    &attachment_changed::RULE,
    &concession_expired::RULE,
    &concession_idle::RULE,
    &concession_unreasoned::RULE,
    &concession_self::RULE,
    &release_incomplete::RULE,
    &release_altered::RULE,
    &release_self::RULE,
    &service_due::RULE,
    &hold_in_force::RULE,
    &hold_idle::RULE,
    &lift_idle::RULE,
    &lift_self::RULE,
];
