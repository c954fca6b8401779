//! Rules about the machine as described.

use crate::rules::Rule;

pub mod bolt_off_hole;
mod described;
pub mod expansion;
pub mod hole_pitch_break;
pub mod joint_end;
pub mod joint_meeting;
pub mod joint_needless;
pub mod joint_over_seam;
pub mod joint_stagger;
pub mod joint_support;
pub mod not_described;
pub mod overtravel;
pub mod rated_life;
pub mod run_length;
pub mod segment_short;
pub mod segment_stock;
pub mod static_safety;
pub mod support_overlap;
pub mod support_spacing;
pub mod torque_window_fit;

use described::{lacking, profile};

pub(super) use crate::facts::stagger::{hole_pitch, longest_block};

/// In the order of the catalogue.
pub static RULES: &[&Rule] = &[
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
];
