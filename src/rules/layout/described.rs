//! What several rules ask of a description: the profile of a rail, and what is missing to work out a number.

use crate::ledger::{Ledger, Profile, Rail};

/// The profile of a rail, as the shop describes it.
pub(super) fn profile<'l>(ledger: &'l Ledger, rail: &Rail) -> Option<&'l Profile> {
    ledger.shop.profile(rail.profile.as_ref()?)
}

/// What is lacking to know where a rail has its holes.
pub(super) fn holes_lacking(ledger: &Ledger, rail: &Rail) -> Option<&'static str> {
    let Some(profile) = profile(ledger, rail).filter(|profile| profile.hole_pitch.is_some()) else {
        return Some("no hole pitch is described");
    };
    let unknown = rail.segments.iter().any(|segment| profile.first_hole(segment.near_distance).is_none());
    unknown.then_some("the end-distance of its profile is not stated")
}
