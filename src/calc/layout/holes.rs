//! Holes of a rail segment: the one place that knows how bolt holes, end distances and joints hang together.
//!
//! Lengths are nanometres. A segment has its first hole at the near end distance, one hole every pitch, and its last
//! hole at the far end distance from the other end.

use std::collections::BTreeSet;

/// Positions of the holes of one segment, measured from its near end. Empty when the segment has no hole; `None`
/// when `length - near - far` is not a whole number of pitches, when a distance is negative or the pitch not positive.
pub(crate) fn hole_positions(length: i64, near: i64, pitch: i64, far: i64) -> Option<Vec<i64>> {
    let between = length.checked_sub(near)?.checked_sub(far)?;
    if near < 0 || far < 0 || pitch <= 0 || between < 0 || between % pitch != 0 {
        return None;
    }
    Some((0..=between / pitch).map(|i| near + i * pitch).collect())
}

/// Distance from a cut at `at` to the nearest hole on its left and on its right, on a bar with holes every `pitch` from
/// `near` up to `length - far`. `None` on a side without holes.
pub(crate) fn holes_beside(at: i64, length: i64, near: i64, pitch: i64, far: i64) -> (Option<i64>, Option<i64>) {
    let last = length - far;
    if pitch <= 0 || last < near {
        return (None, None);
    }
    let left = (at >= near).then(|| at - (near + (at.min(last) - near) / pitch * pitch));
    let right = (at <= last).then(|| {
        let steps = if at <= near { 0 } else { (at - near + pitch - 1) / pitch };
        near + steps * pitch - at
    });
    (left, right)
}

/// By how much the hole pattern breaks at a joint: the far end distance of the one plus the near end distance of the
/// next, less one pitch. Zero when the pattern carries on; its size is compared with the rulebook's tolerance.
pub(crate) fn pattern_break(far: i64, near: i64, pitch: i64) -> i64 {
    far.saturating_add(near).saturating_sub(pitch)
}

/// Fewest segments that make up `run` when each is a whole bar of one of `lengths` and, when `cut` gives a grid and a
/// number, up to that many of them are cut to any multiple of the grid shorter than the longest bar. `None` when no
/// number of segments up to [`MOST_SEGMENTS`] makes up the run.
///
/// Looks at lengths alone: seams, stagger and the like may ask for more, never for fewer. Two cut segments are the
/// usual allowance, because a sawn end belongs at an end of the axis.
pub(crate) fn fewest_segments(run: i64, lengths: &[i64], cut: Option<(i64, usize)>) -> Option<usize> {
    let bars: BTreeSet<i64> = lengths.iter().copied().filter(|&bar| bar > 0).collect();
    let (shortest, longest) = (*bars.first()?, *bars.last()?);
    let (grid, allowance) = cut.filter(|&(grid, _)| grid > 0).unwrap_or((1, 0));
    let longest_cut = (longest - 1) / grid * grid;
    let cuts_fit = |rest: i64, pieces: usize| {
        let least = grid as i128 * pieces as i128;
        let most = longest_cut as i128 * pieces as i128;
        rest % grid == 0 && (least..=most).contains(&(rest as i128))
    };
    // sums[w]: every length that w whole bars make.
    let mut sums = vec![BTreeSet::from([0_i64])];
    let most = usize::try_from(run / shortest).ok()?.saturating_add(allowance).min(MOST_SEGMENTS);
    for segments in 1..=most {
        let longer = |sum: &i64| {
            let sum = *sum;
            bars.iter().map(move |bar| sum.saturating_add(*bar)).take_while(|&sum| sum <= run).collect::<Vec<_>>()
        };
        let next = sums[segments - 1].iter().flat_map(longer).collect();
        sums.push(next);
        let fits = |pieces: usize| sums[segments - pieces].iter().any(|&sum| cuts_fit(run - sum, pieces));
        if (0..=allowance.min(segments)).any(fits) {
            return Some(segments);
        }
    }
    None
}

/// Where [`fewest_segments`] gives up: no rail is butted from more pieces than this.
pub(crate) const MOST_SEGMENTS: usize = 2000;
