//! What a survey should show after shimming, and where it shows something else.

use super::super::exact::{Ratio, in_range};
use super::super::survey::{ShimEffect, SurveyStation};

/// The supports that move a place, each with the share that its shim has there: between two supports the change is
/// linear, beyond the outermost ones it carries on level. Supports lie in order of position, in nm; `None` where a length
/// is out of range.
pub(crate) fn moved_by(place_nm: i64, supports_nm: &[i64]) -> Option<Vec<(usize, Ratio)>> {
    let next = supports_nm.partition_point(|at| *at < place_nm);
    let alone = |support: usize| Some(vec![(support, Ratio::whole(1))]);
    match (next.checked_sub(1), supports_nm.get(next)) {
        (_, Some(at)) if *at == place_nm => alone(next),
        (Some(before), Some(to)) => {
            let (at, from, to) = (in_range(place_nm).ok()?, in_range(supports_nm[before]).ok()?, in_range(*to).ok()?);
            let share = |part: i64| Ratio::new(part.into(), (to - from).into());
            Some(vec![(before, share(to - at)?), (next, share(at - from)?)])
        }
        (Some(last), None) => alone(last),
        (None, Some(_)) => alone(next),
        (None, None) => Some(Vec::new()),
    }
}

/// How far a place rises by what was put under each support, in nm; `None` where a length is out of range.
pub(crate) fn risen(place_nm: i64, supports_nm: &[i64], put_in_nm: &[i64]) -> Option<Ratio> {
    moved_by(place_nm, supports_nm)?.into_iter().try_fold(Ratio::whole(0), |sum, (support, share)| {
        sum.plus(share.times(Ratio::whole(in_range(*put_in_nm.get(support)?).ok()?.into()))?)
    })
}

/// The reading to expect at one station after shimming.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Expected {
    /// Where, in nm.
    pub position_nm: i64,
    /// Reading before, changed by the shim there; exact, in nm. Between supports the change is linear.
    pub reading: Ratio,
}

/// Predicts every station of a survey after shims of these totals were put at these places (positions and totals in nm,
/// every support listed, 0 where none went). Stations may share a place. Beyond the outermost supports their change carries on
/// level.
///
/// `None` when two shims share a place or a length is out of range.
pub(crate) fn predicted(before: &[SurveyStation], shims: &[(i64, i64)], effect: ShimEffect) -> Option<Vec<Expected>> {
    let mut shims = shims.to_vec();
    shims.sort_unstable();
    let (supports, totals): (Vec<i64>, Vec<i64>) = shims.into_iter().unzip();
    if supports.windows(2).any(|pair| pair[0] == pair[1]) {
        return None;
    }
    let mut expected = Vec::with_capacity(before.len());
    for station in before {
        let shim = risen(station.position_nm, &supports, &totals)?;
        let before = Ratio::whole(station.reading_nm.into());
        let reading = if effect.sign() < 0 { before.minus(shim) } else { before.plus(shim) };
        expected.push(Expected { position_nm: station.position_nm, reading: reading? });
    }
    Some(expected)
}

/// A station that reads otherwise than predicted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Deviation {
    /// Which station it is.
    pub number: usize,
    /// Found minus expected in nm, exact.
    pub by: Ratio,
}

/// The stations of a verification survey that differ from the prediction by more than the tolerance (the uncertainty of
/// both surveys together, in nm), in the order that they come in; each by how far, after the zeros of both surveys were brought
/// together.
///
/// Each survey has its own zero, so the difference common to all is taken out first: the middle one of all differences
/// (the lower of two middle ones), which stays right while fewer than half the shims are wrong. With a widening shim
/// a negative deviation means that the gap did not open as it should: too little shim, or none. A positive one means dirt, a leaf
/// too many, or a shim that lies hollow.
pub(crate) fn off_prediction(differences: Vec<Deviation>, tolerance_nm: i64) -> Vec<Deviation> {
    let all = || differences.iter().map(|d| d.by);
    let (Some(least), Some(most)) = (all().min(), all().max()) else { return vec![] };
    let tolerance = Ratio::whole(tolerance_nm.into());
    // The middle one lies between them, and none is farther from it than they are apart.
    if most.minus(least).is_some_and(|range| range <= tolerance) {
        return vec![];
    }
    let mut sorted: Vec<Ratio> = all().collect();
    let half = (sorted.len() - 1) / 2;
    let middle = *sorted.select_nth_unstable(half).1;
    let freed = differences.into_iter().filter_map(|d| Some(Deviation { by: d.by.minus(middle)?, ..d }));
    freed.filter(|d| d.by.abs() > tolerance).collect()
}
