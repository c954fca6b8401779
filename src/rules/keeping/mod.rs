//! Rules about how the record is kept.

use crate::rules::Rule;

pub(crate) mod attachment_changed;
pub(crate) mod concession_expired;
pub(crate) mod concession_idle;
pub(crate) mod concession_self;
pub(crate) mod concession_unreasoned;
pub(crate) mod date_order;
pub(crate) mod described_after;
pub(crate) mod hold_idle;
pub(crate) mod hold_in_force;
pub(crate) mod lift_idle;
pub(crate) mod lift_self;
pub(crate) mod limit_loosened;
pub(crate) mod limit_tightened;
pub(crate) mod not_applicable_idle;
pub(crate) mod not_applicable_unfit;
pub(crate) mod person_file;
pub(crate) mod person_unknown;
pub(crate) mod person_unpermitted;
pub(crate) mod reason_wordless;
pub(crate) mod release_altered;
pub(crate) mod release_incomplete;
pub(crate) mod release_self;
pub(crate) mod release_signature;
pub(crate) mod release_unsigned;
mod same_day;
pub(crate) mod service_due;
pub(crate) mod travel_backwards;
pub(crate) mod void_self;
pub(in crate::rules) mod work;

/// In the order of the catalogue.
pub(crate) static RULES: &[&Rule] = &[
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
    &release_unsigned::RULE,
    &release_signature::RULE,
    &service_due::RULE,
    &hold_in_force::RULE,
    &hold_idle::RULE,
    &lift_idle::RULE,
    &lift_self::RULE,
    &not_applicable_unfit::RULE,
    &not_applicable_idle::RULE,
    &reason_wordless::RULE,
    &limit_loosened::RULE,
    &limit_tightened::RULE,
    &travel_backwards::RULE,
    &person_unknown::RULE,
    &person_file::RULE,
    &person_unpermitted::RULE,
];
