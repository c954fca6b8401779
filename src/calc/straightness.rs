//! Lines through a survey: the minimum zone; and toe-in, the line that explains a range.
//!
//! Widths are measured along the reading, not square to the line. For slopes below 10⁻³ the two differ by less than
//! a millionth, and the width along the reading is the greater one.

use std::borrow::Cow;

use super::exact::Ratio;
use super::survey::{SurveyLine, SurveyStation};

/// Two parallel lines that hold all stations between them, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Zone {
    /// Their distance along the reading, in nm. [`Ratio::ceil`] gives whole nm, rounded up.
    pub width: Ratio,
    /// Reading per position.
    pub slope: Ratio,
    /// The two stations that one line runs through.
    pub line: (SurveyStation, SurveyStation),
    /// The station that the other line runs through.
    pub across: SurveyStation,
}

impl Zone {
    /// How far a station lies off the line through two.
    pub(crate) fn off_line(&self, station: SurveyStation) -> Option<Ratio> {
        let (from, to) = self.line;
        Ratio::new(cross(from, to, station), i128::from(to.position_nm) - i128::from(from.position_nm))
    }

    /// Where the station across lies between the two on the line: 0 at the first, 1 at the second.
    pub(crate) fn lever(&self) -> Option<Ratio> {
        let from = |to: SurveyStation| i128::from(to.position_nm) - i128::from(self.line.0.position_nm);
        Ratio::new(from(self.across), from(self.line.1))
    }
}

/// Minimum-zone straightness (ISO 12780-1): the two parallel lines of least separation. `None` where all stations share one
/// place.
///
/// Exact: the least zone has two stations on one of its lines that are neighbours on the convex hull, so every edge
/// of the hull is tried in whole numbers. The first edge wins among equals, lower hull before upper.
pub(crate) fn minimum_zone(survey: &SurveyLine) -> Option<Zone> {
    let stations = rising(survey.stations());
    let lower = hull(&stations, 1);
    let upper = hull(&stations, -1);
    let mut best: Option<Zone> = None;
    for (edges, across) in [(&lower, &upper), (&upper, &lower)] {
        // From edge to edge the line turns one way, and the farthest station across walks back along its hull.
        let mut farthest = across.len() - 1;
        // Upright edges at either end are no line along the axis.
        for edge in edges.windows(2).filter(|edge| edge[0].position_nm < edge[1].position_nm) {
            let off = |at: usize| cross(edge[0], edge[1], across[at]).abs();
            while farthest > 0 && off(farthest - 1) >= off(farthest) {
                farthest -= 1;
            }
            let zone = zone_along(across[farthest], edge[0], edge[1])?;
            if best.is_none_or(|best| zone.width < best.width) {
                best = Some(zone);
            }
        }
    }
    best
}

/// What carries a zone: the station across, and the two of its line, each with its share in the width: that of the first is 1,
/// those of the line 1 − a and a, by where the first stands between them.
pub(crate) fn contacts(zone: &Zone) -> Option<[(SurveyStation, f64); 3]> {
    let a = zone.lever()?.to_f64();
    Some([(zone.across, 1.0), (zone.line.0, 1.0 - a), (zone.line.1, a)])
}

/// The zone between the line through two stations and the station farthest from it.
fn zone_along(across: SurveyStation, from: SurveyStation, to: SurveyStation) -> Option<Zone> {
    let run = i128::from(to.position_nm) - i128::from(from.position_nm);
    let rise = i128::from(to.reading_nm) - i128::from(from.reading_nm);
    let width = Ratio::new(cross(from, to, across).abs(), run)?;
    Some(Zone { width, slope: Ratio::new(rise, run)?, line: (from, to), across })
}

/// The stations with those at one place in order of their readings.
fn rising(stations: &[SurveyStation]) -> Cow<'_, [SurveyStation]> {
    let order = |station: &SurveyStation| (station.position_nm, station.reading_nm);
    if stations.is_sorted_by_key(order) {
        return Cow::Borrowed(stations);
    }
    let mut stations = stations.to_vec();
    stations.sort_by_key(order);
    Cow::Owned(stations)
}

/// The lower (`turn` 1) or upper (`turn` −1) convex hull, left to right.
fn hull(stations: &[SurveyStation], turn: i128) -> Vec<SurveyStation> {
    let mut hull: Vec<SurveyStation> = Vec::new();
    for &station in stations {
        while let [.., a, b] = hull[..]
            && turn * cross(a, b, station) <= 0
        {
            hull.pop();
        }
        hull.push(station);
    }
    hull
}

fn cross(a: SurveyStation, b: SurveyStation, c: SurveyStation) -> i128 {
    let run = |s: SurveyStation| i128::from(s.position_nm) - i128::from(a.position_nm);
    let rise = |s: SurveyStation| i128::from(s.reading_nm) - i128::from(a.reading_nm);
    run(b) * rise(c) - rise(b) * run(c)
}

/// A gap that grows along the axis, and what moving one rail end would do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ToeIn {
    /// The range now, in nm.
    pub range_nm: i64,
    /// The least range that moving one end can leave, in nm, exact: the minimum zone.
    pub remaining: Ratio,
    /// How much the gap grows from the first station to the last along that zone, in nm, exact: narrow the gap at the
    /// last station by this, or widen it at the first one.
    pub growth: Ratio,
    /// The first station in nm.
    pub first_nm: i64,
    /// The last station in nm.
    pub last_nm: i64,
}

impl ToeIn {
    /// Whether toe-in explains the range: moving an end at least halves it. Common practice, no source.
    pub(crate) fn explains(&self) -> bool {
        self.range_nm > 0 && self.remaining.numerator() * 2 <= i128::from(self.range_nm) * self.remaining.denominator()
    }
}

/// Toe-in of a gap survey; `None` where all stations share one place.
pub(crate) fn toe_in(survey: &SurveyLine) -> Option<ToeIn> {
    let zone = minimum_zone(survey)?;
    let (first_nm, last_nm) = (survey.stations().first()?.position_nm, survey.stations().last()?.position_nm);
    let span = i128::from(last_nm) - i128::from(first_nm);
    let growth = Ratio::new(zone.slope.numerator() * span, zone.slope.denominator())?;
    Some(ToeIn { range_nm: survey.range_nm(), remaining: zone.width, growth, first_nm, last_nm })
}
