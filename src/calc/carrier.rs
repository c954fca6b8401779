//! What a step reading still shows when the block that carries the indicator rides over the joint.
//!
//! The indicator stands on a free block and its stylus reaches ahead. As long as the block stays wholly on one rail,
//! the difference of the two readings is the whole step. Once the block itself climbs the step, the indicator climbs
//! with it and the step hides.
//!
//! The model: a rigid block held by its four rows of balls, each an even bed of equal springs along the block's
//! length. Rail steps are given displacements under the part of the block that is across. The block settles where
//! forces and moments vanish, which is the least-squares line through the bed. A height or side step lifts and tips
//! it; a twist turns it about the rail, which it cannot do unevenly along its length; a size mismatch pushes all four
//! rows alike and moves it nowhere.

use super::grooves::Pattern;

/// Whether a reading pair shows the whole step: the carriage travelled less than the stylus reaches ahead.
///
/// `reach_nm` is from the leading end of the carrying block to the stylus, `travel_nm` from the first to the second
/// reading, both in nm. Exact. The first reading is taken before the joint, so the block cannot have reached it.
pub(crate) const fn shows_whole_step(reach_nm: i64, travel_nm: i64) -> bool {
    travel_nm.abs() < reach_nm
}

/// The greatest part of the block that can stand across the joint at the second reading, from 0 to 1.
///
/// Lengths in nm. The worst case: the first reading taken right at the joint.
pub(crate) fn most_across(reach_nm: i64, travel_nm: i64, block_length_nm: i64) -> f64 {
    if block_length_nm <= 0 {
        return if shows_whole_step(reach_nm, travel_nm) { 0.0 } else { 1.0 };
    }
    ((travel_nm.abs() as f64 - reach_nm as f64) / block_length_nm as f64).clamp(0.0, 1.0)
}

/// The fraction of a step that the reading difference still shows, in the model of this file.
///
/// `across` is the part of the block beyond the joint, 0 to 1; `lead` the stylus's reach ahead of the block's leading
/// end in block lengths. Negative: the block over-climbs and the step reads with the wrong sign. A twist is meant
/// about the rail's own centre line.
pub(crate) fn visible(pattern: Pattern, across: f64, lead: f64) -> f64 {
    let across = across.clamp(0.0, 1.0);
    match pattern {
        // Bed displacement 1 over the leading part `across`: mean `across`, slope 6·across·(1 − across) per length.
        Pattern::Height | Pattern::Side => 1.0 - across - 6.0 * across * (1.0 - across) * (0.5 + lead),
        Pattern::Twist => 1.0 - across,
        Pattern::Size => 1.0,
    }
}
