//! Rules about the machine as described.

use crate::rules::Rule;

pub(crate) mod beam_unused;
pub(crate) mod block_implausible;
pub(crate) mod block_load;
pub(crate) mod block_place;
pub(crate) mod bolt_off_hole;
mod described;
pub(crate) mod expansion;
pub(crate) mod hole_pitch_break;
pub(crate) mod joint_end;
pub(crate) mod joint_meeting;
pub(crate) mod joint_needless;
pub(crate) mod joint_over_seam;
pub(crate) mod joint_stagger;
pub(crate) mod joint_support;
pub(crate) mod not_described;
pub(crate) mod overtravel;
pub(crate) mod rated_life;
pub(crate) mod run_length;
pub(crate) mod segment_short;
pub(crate) mod segment_stock;
pub(crate) mod static_safety;
pub(crate) mod support_overlap;
pub(crate) mod support_spacing;
pub(crate) mod torque_window_fit;

use super::lacking::lacking;
use described::{holes_lacking, profile};

pub(super) use crate::facts::stagger::{hole_pitch, longest_block};

/// In the order of the catalogue.
pub(crate) static RULES: &[&Rule] = &[
    &not_described::RULE,
    &run_length::RULE,
    &joint_stagger::RULE,
    &joint_meeting::RULE,
    &joint_over_seam::RULE,
    &joint_support::RULE,
    &support_overlap::RULE,
    &hole_pitch_break::RULE,
    &bolt_off_hole::RULE,
    &overtravel::RULE,
    &segment_stock::RULE,
    &segment_short::RULE,
    &joint_needless::RULE,
    &joint_end::RULE,
    &support_spacing::RULE,
    &expansion::RULE,
    &torque_window_fit::RULE,
    &static_safety::RULE,
    &rated_life::RULE,
    &block_load::RULE,
    &block_place::RULE,
    &block_implausible::RULE,
    &beam_unused::RULE,
];
