//! What a survey should show after shimming, and where it shows something else.

use super::super::exact::Ratio;
use super::super::survey::{ShimEffect, SurveyLine, SurveyStation};

/// The reading to expect at one station after shimming.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Expected {
    /// Where, in nm.
    pub position_nm: i64,
    /// Reading before, changed by the shim there; exact, in nm. Between supports the change is linear.
    pub reading: Ratio,
}

/// Predicts every station of a survey after shims of these totals were put at these places (positions and totals in nm,
/// every support listed, 0 where none went). Beyond the outermost supports their change carries on level.
///
/// `None` when two shims share a place or a length is out of range.
pub(crate) fn predicted(before: &SurveyLine, shims: &[(i64, i64)], effect: ShimEffect) -> Option<Vec<Expected>> {
    if shims.is_empty() {
        let same =
            |s: &SurveyStation| Expected { position_nm: s.position_nm, reading: Ratio::whole(s.reading_nm.into()) };
        return Some(before.stations().iter().map(same).collect());
    }
    let stations =
        shims.iter().map(|&(position_nm, total_nm)| SurveyStation { position_nm, reading_nm: total_nm }).collect();
    let change = SurveyLine::new(stations).ok()?;
    let (first, last) = (change.stations().first()?.position_nm, change.stations().last()?.position_nm);
    let mut expected = Vec::with_capacity(before.stations().len());
    for station in before.stations() {
        let shim = change.at(station.position_nm.clamp(first, last))?.value;
        let (num, den) = (shim.numerator(), shim.denominator());
        let reading = Ratio::new(i128::from(station.reading_nm) * den + i128::from(effect.sign()) * num, den)?;
        expected.push(Expected { position_nm: station.position_nm, reading });
    }
    Some(expected)
}

/// A station that reads otherwise than predicted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Deviation {
    /// Where, in nm.
    pub position_nm: i64,
    /// Found minus expected in nm, exact, after the zeros of both surveys were brought together.
    pub by: Ratio,
}

/// The stations of a verification survey that differ from the prediction by more than the tolerance (the uncertainty of
/// both surveys together, in nm), in order of position.
///
/// Each survey has its own zero, so the difference common to all is taken out first: the middle one of all differences
/// (the lower of two middle ones), which stays right while fewer than half the shims are wrong. With a widening shim
/// a negative deviation means that the gap did not open as it should: too little shim, or none. A positive one means dirt, a leaf
/// too many, or a shim that lies hollow.
pub(crate) fn off_prediction(expected: &[Expected], verified: &SurveyLine, tolerance_nm: i64) -> Vec<Deviation> {
    let stations = verified.stations();
    let mut differences = Vec::with_capacity(expected.len());
    for place in expected {
        if let Ok(at) = stations.binary_search_by_key(&place.position_nm, |s| s.position_nm)
            && let Some(by) = Ratio::whole(stations[at].reading_nm.into()).minus(place.reading)
        {
            differences.push(Deviation { position_nm: place.position_nm, by });
        }
    }
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
    let mut off: Vec<Deviation> = freed.filter(|d| d.by.abs() > tolerance).collect();
    off.sort_by_key(|d| d.position_nm);
    off
}
