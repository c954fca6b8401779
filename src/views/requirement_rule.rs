//! Which rule of the lint judges the same thing as a requirement that a plan of a layout meets.

use crate::calc::layout::requirement::Requirement;
use crate::rules::Rule;
use crate::rules::layout;

/// The name of the rule.
pub(crate) fn rule_of(requirement: &Requirement) -> &'static str {
    let rule: &Rule = match requirement {
        Requirement::Stock { .. } | Requirement::StockCount { .. } | Requirement::Owned { .. } => {
            &layout::segment_stock::RULE
        }
        Requirement::LeastSegment { .. } => &layout::segment_short::RULE,
        Requirement::EndDistance { .. } | Requirement::SupportBolts { .. } => &layout::bolt_off_hole::RULE,
        Requirement::HolePitch { .. } => &layout::hole_pitch_break::RULE,
        Requirement::SawnEnd { .. } => &layout::joint_end::RULE,
        Requirement::Seam { .. } => &layout::joint_over_seam::RULE,
        Requirement::JointSupport { .. } => &layout::joint_support::RULE,
        Requirement::SupportOverlap { .. } => &layout::support_overlap::RULE,
        Requirement::SupportSpacing { .. } => &layout::support_spacing::RULE,
        Requirement::Stagger { .. } => &layout::joint_stagger::RULE,
        Requirement::Meeting { .. } => &layout::joint_meeting::RULE,
    };
    rule.name.as_str()
}
