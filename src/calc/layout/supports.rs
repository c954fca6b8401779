//! Where the support under a joint stands, and which other supports stay.
//!
//! The joint support stands under the joint, or off it by as little as is needed and allowed: first so that the fewest
//! other supports have to go, then as near to the joint as can be, then on the lower side. Neighbours are judged with
//! the supports where they then stand.

use super::clearance::support_slack;
use super::task::{SupportSpec, SupportsSpec};

/// What is asked of supports; the requirements that were dropped are off.
#[derive(Clone, Copy, Debug)]
pub(super) struct SupportChecks {
    pub joint_bolts: bool,
    pub overlap: bool,
    pub grid_bolts: bool,
    pub spacing: bool,
}

/// Centre of the support under a joint at `joint`, whose left segment ends with end distance `far`; `None` when no place
/// fulfils what is asked.
pub(super) fn joint_support(
    supports: &SupportsSpec,
    asked: SupportChecks,
    pitch: i64,
    joint: i64,
    far: i64,
) -> Option<i64> {
    let covers = supports.joint_covers?;
    let (mut low, mut high) = (-supports.off_centre, supports.off_centre);
    if asked.joint_bolts {
        // The right segment's end distance as the pattern wants it; the real one is checked with its segment.
        high = high.min(bolt_room(supports, covers, pitch, far));
        low = low.max(-bolt_room(supports, covers, pitch, pitch - far));
    }
    if low > high {
        return None;
    }
    let reach = |other: &SupportSpec| (covers + other.covers + 1).div_euclid(2);
    let mut shifts = vec![0.clamp(low, high)];
    for other in near(&supports.grid, joint - covers, joint + covers) {
        shifts.extend([other.at - reach(other) - joint, other.at + reach(other) - joint]);
    }
    let rank = |shift: i64| {
        let lost = supports.grid.iter().filter(|other| overlaps(other, joint + shift, covers)).count();
        (lost, shift.abs(), shift)
    };
    let best = shifts.into_iter().filter(|shift| (low..=high).contains(shift)).map(rank).min()?;
    (best.0 == 0 || supports.may_drop || !asked.overlap).then_some(joint + best.2)
}

/// Whether the joint support at `centre` holds its bolts of the right-hand segment, which starts with end distance `near`.
pub(super) fn holds_right(supports: &SupportsSpec, pitch: i64, joint: i64, centre: i64, near: i64) -> bool {
    supports.joint_covers.is_none_or(|covers| joint - centre <= bolt_room(supports, covers, pitch, near))
}

/// How far the support's centre may move away from a rail end and still hold that end's bolts.
fn bolt_room(supports: &SupportsSpec, covers: i64, pitch: i64, end: i64) -> i64 {
    if supports.joint_bolts == 0 {
        return i64::MAX;
    }
    let last_bolt = end + pitch * (supports.joint_bolts - 1) + supports.edge;
    (covers - 2 * last_bolt).div_euclid(2)
}

/// The supports of the grid that stay under a segment from `start` to `end`; `left` and `right` are the centres of the joint
/// supports at its ends, where there are any.
pub(super) fn kept(
    supports: &SupportsSpec,
    (start, end): (i64, i64),
    left: Option<i64>,
    right: Option<i64>,
) -> impl Iterator<Item = &SupportSpec> {
    let covers = supports.joint_covers.unwrap_or(0);
    let lost = move |other: &SupportSpec, centre: Option<i64>| centre.is_some_and(|at| overlaps(other, at, covers));
    let under = supports.grid.iter().filter(move |other| (start..end).contains(&other.at));
    under.filter(move |other| !lost(other, left) && !lost(other, right))
}

/// The first thing wrong with the supports under a segment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SupportMistake {
    Overlap,
    Bolts,
    Spacing,
}

/// Judges the supports under one segment that has its first hole at `first_hole` and its last at `last_hole`.
pub(super) fn judge(
    supports: &SupportsSpec,
    asked: SupportChecks,
    pitch: i64,
    (start, end): (i64, i64),
    (first_hole, last_hole): (i64, i64),
    (left, right): (Option<i64>, Option<i64>),
) -> Option<SupportMistake> {
    let covers = supports.joint_covers.unwrap_or(0);
    if let (true, Some(left), Some(right)) = (asked.overlap, left, right)
        && support_slack((left, covers), (right, covers)) < 0
    {
        return Some(SupportMistake::Overlap);
    }
    let mut before = left;
    for support in kept(supports, (start, end), left, right) {
        let held = holes_held(support, supports.edge, pitch, first_hole, last_hole);
        if asked.grid_bolts && held < supports.grid_bolts {
            return Some(SupportMistake::Bolts);
        }
        if asked.spacing && too_far(supports, before, Some(support.at)) {
            return Some(SupportMistake::Spacing);
        }
        before = Some(support.at);
    }
    (asked.spacing && too_far(supports, before, right)).then_some(SupportMistake::Spacing)
}

/// How many holes of a segment lie over a support, each at least `edge` from its ends.
fn holes_held(support: &SupportSpec, edge: i64, pitch: i64, first_hole: i64, last_hole: i64) -> usize {
    let half = support.covers.div_euclid(2) - edge;
    let low = (support.at - half).max(first_hole);
    let high = (support.at + half).min(last_hole);
    let first = (low - first_hole + pitch - 1).div_euclid(pitch);
    let last = (high - first_hole).div_euclid(pitch);
    usize::try_from(last - first + 1).unwrap_or(0)
}

fn too_far(supports: &SupportsSpec, before: Option<i64>, next: Option<i64>) -> bool {
    match (supports.most_spacing, before, next) {
        (Some(most), Some(before), Some(next)) => next - before > most,
        _ => false,
    }
}

fn overlaps(other: &SupportSpec, centre: i64, covers: i64) -> bool {
    support_slack((other.at, other.covers), (centre, covers)) < 0
}

/// Supports whose covered length could reach between two places. The grid is sorted by position.
fn near(grid: &[SupportSpec], low: i64, high: i64) -> impl Iterator<Item = &SupportSpec> {
    grid.iter().filter(move |other| other.at + other.covers >= low && other.at - other.covers <= high)
}
