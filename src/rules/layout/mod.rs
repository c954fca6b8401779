//! Rules about the machine as described.

use crate::rules::Rule;
pub mod bolt_off_hole;
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

use super::Findings;
use crate::facts::Lacking;
pub(super) use crate::facts::stagger::{hole_pitch, longest_block};
use crate::finding::Grade;
use crate::ledger::{Axis, Ledger, Profile, Rail};

/// The profile of a rail, as the shop describes it.
pub(super) fn profile<'l>(ledger: &'l Ledger, rail: &Rail) -> Option<&'l Profile> {
    ledger.shop.profile(rail.profile.as_ref()?)
}

/// Says what is missing to work out a number that the ledger asks for.
pub(super) fn lacking(findings: &mut Findings, axis: &Axis, lacking: Lacking, number: &str) {
    let message = format!("{number} cannot be worked out: {}", lacking.what);
    let mut finding = findings.finding(axis.name.as_str(), lacking.place, message).here("here").next(lacking.next);
    finding.grade = Grade::Outstanding;
    findings.add(finding);
}

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
