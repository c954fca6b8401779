//! Clearances of joints and supports: how far each stands from what it must keep away from.
//!
//! Every function returns the slack, the distance less what is required: zero or more conforms, and the size says how
//! much is to spare or lacking. Lengths are nanometres; the required figures come from the rulebook.

/// Stagger of two joints on different rails: their distance along the axis less the required stagger.
pub(crate) fn stagger_slack(p: i64, q: i64, required: i64) -> i64 {
    apart(p, q).saturating_sub(required)
}

/// A joint and a seam of the beam under it: their distance less the required clearance.
pub(crate) fn seam_slack(joint: i64, seam: i64, required: i64) -> i64 {
    apart(joint, seam).saturating_sub(required)
}

/// Two supports on one rail, each given by its centre and the length it covers: the bare length between them, negative
/// by as much as they overlap (a half nanometre is rounded down).
pub(crate) fn support_slack(a: (i64, i64), b: (i64, i64)) -> i64 {
    let covered = i128::from(a.1) + i128::from(b.1);
    let bare = (2 * i128::from(apart(a.0, b.0)) - covered).div_euclid(2);
    bare.clamp(i128::from(i64::MIN), i128::from(i64::MAX)) as i64
}

/// Default stagger of joints on parallel rails: the longer of one hole pitch and the block's effective length
/// (rulebook default, from memory).
pub(crate) fn default_stagger(pitch: i64, block_length: Option<i64>) -> i64 {
    pitch.max(block_length.unwrap_or(0))
}

/// Default clearance of a joint to a seam: half the length the joint support covers, so that no support straddles both
/// (rulebook default, from memory). Rounded up.
pub(crate) fn default_seam_clearance(covers: i64) -> i64 {
    covers.saturating_add(1).div_euclid(2)
}

/// Least length of a joint support that holds `bolts` bolts of each rail end, standing centrally under the joint:
/// 2 × (end distance + (bolts − 1) × pitch + edge distance). `end` is the longer of the two end distances at the joint,
/// `edge` the least distance from a bolt to the end of the support. Geometry.
pub(crate) fn joint_support_least(end: i64, pitch: i64, bolts: i64, edge: i64) -> i64 {
    let last_bolt = end.saturating_add(pitch.saturating_mul(bolts.saturating_sub(1)));
    last_bolt.saturating_add(edge).saturating_mul(2)
}

/// The length that a joint support is planned with where none is stated, for the end distances of the bars and of a
/// sawn end that may lie in a joint: the least in whole steps of 10 mm (common practice, no source).
pub(crate) fn joint_support_planned(
    bars: impl Iterator<Item = i64>,
    sawn: Option<i64>,
    (pitch, bolts, edge): (i64, i64, i64),
) -> i64 {
    const STEP: i64 = 10_000_000;
    // An end distance of a whole pitch or more can be in no joint.
    let end = bars.filter(|end| *end < pitch).chain(sawn).max().unwrap_or(pitch / 2);
    joint_support_least(end, pitch, bolts, edge).saturating_add(STEP - 1).div_euclid(STEP).saturating_mul(STEP)
}

fn apart(p: i64, q: i64) -> i64 {
    i64::try_from(p.abs_diff(q)).unwrap_or(i64::MAX)
}
