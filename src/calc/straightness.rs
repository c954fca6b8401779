//! Lines through a survey: least squares, end points, and the minimum zone; and toe-in, the line that explains a range.
//!
//! Widths are measured along the reading, not square to the line. For slopes below 10⁻³ the two differ by less than
//! a millionth, and the width along the reading is the greater one.

use super::exact::Ratio;
use super::survey::{Station, Survey};

/// A least-squares line: reading = intercept + slope · position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastSquares {
    /// At position 0, in nm.
    pub intercept_nm: f64,
    /// Reading per position, without unit.
    pub slope: f64,
    /// √(Σ residual² / (n − 2)) in nm; 0 for two stations.
    pub residual_sd_nm: f64,
    /// The greatest minus the least residual, in nm: the width of the zone about the line. Raised by a part in 10¹²
    /// so that rounding inside the fit cannot make it too small.
    pub zone_nm: f64,
}

/// Fits a least-squares line through (position, reading) pairs, in any two units; positions may repeat.
///
/// Sums are whole numbers, so the slope is the quotient of two exact numbers and only residuals are rounded. `None`
/// for fewer than two different positions, or where a pair is beyond 10¹³ or there are more than 100,000.
pub fn least_squares(points: &[(i64, i64)]) -> Option<LeastSquares> {
    const MOST: u64 = super::exact::MOST_LENGTH_NM.unsigned_abs();
    if points.len() > super::survey::MOST_STATIONS
        || points.iter().any(|&(x, y)| x.unsigned_abs() > MOST || y.unsigned_abs() > MOST)
    {
        return None;
    }
    let n = i128::try_from(points.len()).ok()?;
    let sum = |of: fn(&(i64, i64)) -> i128| points.iter().map(of).sum::<i128>();
    let (sum_x, sum_y) = (sum(|p| p.0.into()), sum(|p| p.1.into()));
    let sxx = n * sum(|p| i128::from(p.0) * i128::from(p.0)) - sum_x * sum_x;
    let sxy = n * sum(|p| i128::from(p.0) * i128::from(p.1)) - sum_x * sum_y;
    if sxx == 0 {
        return None;
    }
    let slope = Ratio::new(sxy, sxx)?.to_f64();
    // Residuals about the centre: (n·y − Σy)/n − slope · (n·x − Σx)/n; both brackets are exact.
    let count = n as f64;
    let residual = |&(x, y): &(i64, i64)| {
        let dx = (n * i128::from(x) - sum_x) as f64 / count;
        let dy = (n * i128::from(y) - sum_y) as f64 / count;
        (-slope).mul_add(dx, dy)
    };
    let (mut least, mut most, mut squares) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
    for residual in points.iter().map(residual) {
        least = least.min(residual);
        most = most.max(residual);
        squares += residual * residual;
    }
    let freedom = count - 2.0;
    Some(LeastSquares {
        intercept_nm: intercept(sum_x, sum_y, sxx, sxy, n)
            .unwrap_or_else(|| (-slope).mul_add(sum_x as f64, sum_y as f64) / count),
        slope,
        residual_sd_nm: if freedom > 0.0 { (squares / freedom).sqrt() } else { 0.0 },
        zone_nm: (most - least) * (1.0 + 1e-12),
    })
}

/// (Σy · Sxx − Sxy · Σx) / (n · Sxx), exact where the products fit: the intercept is often a small difference.
fn intercept(sum_x: i128, sum_y: i128, sxx: i128, sxy: i128, n: i128) -> Option<f64> {
    let num = sum_y.checked_mul(sxx)?.checked_sub(sxy.checked_mul(sum_x)?)?;
    Some(Ratio::new(num, n.checked_mul(sxx)?)?.to_f64())
}

/// The least-squares line through a survey; `None` with a single station.
pub fn least_squares_line(survey: &Survey) -> Option<LeastSquares> {
    let points: Vec<_> = survey.stations().iter().map(|s| (s.position_nm, s.reading_nm)).collect();
    least_squares(&points)
}

/// Two parallel lines that hold all stations between them, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Zone {
    /// Their distance along the reading, in nm. [`Ratio::ceil`] gives whole nm, rounded up.
    pub width: Ratio,
    /// Reading per position.
    pub slope: Ratio,
    /// The two stations that one line runs through.
    pub line: (Station, Station),
}

/// End-point straightness: the zone about the line from the first to the last station. `None` with a single station.
pub fn end_point_zone(survey: &Survey) -> Option<Zone> {
    let stations = survey.stations();
    zone_along(stations, *stations.first()?, *stations.last()?)
}

/// Minimum-zone straightness (ISO 12780-1): the two parallel lines of least separation. `None` with a single station.
///
/// Exact: the least zone has two stations on one of its lines that are neighbours on the convex hull, so every edge
/// of the hull is tried in whole numbers. The first edge wins among equals, lower hull before upper.
pub fn minimum_zone(survey: &Survey) -> Option<Zone> {
    let stations = survey.stations();
    let lower = hull(stations, 1);
    let upper = hull(stations, -1);
    let mut best: Option<Zone> = None;
    for (edges, across) in [(&lower, &upper), (&upper, &lower)] {
        // From edge to edge the line turns one way, and the farthest station across walks back along its hull.
        let mut farthest = across.len() - 1;
        for edge in edges.windows(2) {
            let off = |at: usize| cross(edge[0], edge[1], across[at]).abs();
            while farthest > 0 && off(farthest - 1) >= off(farthest) {
                farthest -= 1;
            }
            let zone = zone_along(&across[farthest..=farthest], edge[0], edge[1])?;
            if best.is_none_or(|best| zone.width < best.width) {
                best = Some(zone);
            }
        }
    }
    best
}

/// The zone of `stations` (and the line itself) about the line through two stations.
fn zone_along(stations: &[Station], from: Station, to: Station) -> Option<Zone> {
    let run = i128::from(to.position_nm) - i128::from(from.position_nm);
    let rise = i128::from(to.reading_nm) - i128::from(from.reading_nm);
    let (mut least, mut most) = (0, 0);
    for station in stations {
        let along = i128::from(station.position_nm) - i128::from(from.position_nm);
        let off = (i128::from(station.reading_nm) - i128::from(from.reading_nm)) * run - along * rise;
        least = least.min(off);
        most = most.max(off);
    }
    Some(Zone { width: Ratio::new(most - least, run)?, slope: Ratio::new(rise, run)?, line: (from, to) })
}

/// The lower (`turn` 1) or upper (`turn` −1) convex hull, left to right.
fn hull(stations: &[Station], turn: i128) -> Vec<Station> {
    let mut hull: Vec<Station> = Vec::new();
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

fn cross(a: Station, b: Station, c: Station) -> i128 {
    let run = |s: Station| i128::from(s.position_nm) - i128::from(a.position_nm);
    let rise = |s: Station| i128::from(s.reading_nm) - i128::from(a.reading_nm);
    run(b) * rise(c) - rise(b) * run(c)
}

/// A gap that grows along the axis, and what moving one rail end would do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToeIn {
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
    pub fn explains(&self) -> bool {
        self.range_nm > 0 && self.remaining.numerator() * 2 <= i128::from(self.range_nm) * self.remaining.denominator()
    }

    /// Whether moving an end alone would meet a limit that the range now breaks.
    pub fn would_cure(&self, limit_nm: i64) -> bool {
        self.range_nm > limit_nm && self.remaining <= Ratio::whole(limit_nm.into())
    }

    /// The change of the gap to make at a place when another stays as it is, in nm (positive: widen).
    ///
    /// The rail turns about the place that stays, so a rail end beyond the outermost station has further to go.
    pub fn move_at(&self, position_nm: i64, stays_nm: i64) -> Option<Ratio> {
        let span = i128::from(self.last_nm) - i128::from(self.first_nm);
        let arm = i128::from(position_nm) - i128::from(stays_nm);
        let num = self.growth.numerator().checked_mul(-arm)?;
        Ratio::new(num, self.growth.denominator().checked_mul(span)?)
    }
}

/// Toe-in of a gap survey; `None` with a single station.
pub fn toe_in(survey: &Survey) -> Option<ToeIn> {
    let zone = minimum_zone(survey)?;
    let (first_nm, last_nm) = (survey.stations().first()?.position_nm, survey.stations().last()?.position_nm);
    let span = i128::from(last_nm) - i128::from(first_nm);
    let growth = Ratio::new(zone.slope.numerator() * span, zone.slope.denominator())?;
    Some(ToeIn { range_nm: survey.range_nm(), remaining: zone.width, growth, first_nm, last_nm })
}
