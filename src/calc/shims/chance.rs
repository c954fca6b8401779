//! The chance that readings lie within a range of each other.

/// Of a survey whose readings scatter about what is expected of each, independently and normally with this standard
/// deviation, the chance that the greatest lies no more than `limit` above the least. All in one unit.
///
/// The least reading is at t with the density f(t) of one station, and all others lie within t and t + limit:
/// ∫ Σᵢ fᵢ(t) Πⱼ≠ᵢ (Fⱼ(t + limit) − Fⱼ(t)) dt, the distribution of a range (H. A. David, Order Statistics, 2.3, for
/// unlike means).
pub(crate) fn within_range(expected: &[f64], deviation: f64, limit: f64) -> f64 {
    let least = expected.iter().copied().fold(f64::INFINITY, f64::min);
    let most = expected.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if expected.len() < 2 {
        return 1.0;
    }
    if deviation <= 0.0 {
        return if most - least <= limit { 1.0 } else { 0.0 };
    }
    let (from, to) = (least - REACH * deviation, least + REACH * deviation);
    let step = (to - from) / f64::from(STEPS);
    let density = |t: f64| {
        let shares: Vec<(f64, f64)> = expected
            .iter()
            .map(|mean| {
                let (low, high) = ((t - mean) / deviation, (t + limit - mean) / deviation);
                (normal(low) / deviation, up_to(high) - up_to(low))
            })
            .collect();
        // What all other stations do, from both sides, so that nothing is divided by nearly nothing.
        let mut behind = vec![1.0; shares.len() + 1];
        for (at, (_, share)) in shares.iter().enumerate().rev() {
            behind[at] = behind[at + 1] * share.max(0.0);
        }
        let (mut before, mut sum) = (1.0, 0.0);
        for (at, (density, share)) in shares.iter().enumerate() {
            sum += density * before * behind[at + 1];
            before *= share.max(0.0);
        }
        sum
    };
    let sum: f64 = (0..=STEPS).map(|at| density(from + step * f64::from(at))).sum();
    (sum * step).clamp(0.0, 1.0)
}

/// The least reading lies within so many deviations of the least that is expected.
const REACH: f64 = 8.0;
/// The rule of trapezia on a smooth function that is nothing at both ends: far more than enough.
const STEPS: u32 = 320;

fn normal(x: f64) -> f64 {
    (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// The normal distribution: Abramowitz and Stegun, 26.2.17, off by less than 7.5e-8.
fn up_to(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * x.abs());
    let tail = [1.330_274_429, -1.821_255_978, 1.781_477_937, -0.356_563_782, 0.319_381_530]
        .iter()
        .fold(0.0, |sum, factor| (sum + factor) * t);
    let above = normal(x) * tail;
    if x < 0.0 { above } else { 1.0 - above }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_distribution_is_that_of_the_tables() {
        // Tables of the standard normal distribution.
        for (x, table) in [(0.0, 0.5), (1.0, 0.841_345), (1.96, 0.975_002), (-2.0, 0.022_750), (3.0, 0.998_650)] {
            assert!((up_to(x) - table).abs() < 1e-6, "{x}: {}", up_to(x));
        }
    }

    #[test]
    fn ranges_of_alike_stations_are_those_of_the_tables() {
        // Quantiles of the studentized range with infinitely many degrees of freedom, that is of the range of n normal
        // values, at 95 % (tables of q).
        for (stations, quantile) in [(2, 2.772), (3, 3.314), (4, 3.633), (5, 3.858), (10, 4.474)] {
            let chance = within_range(&vec![7.0; stations], 2.0, 2.0 * quantile);
            assert!((chance - 0.95).abs() < 2e-4, "{stations}: {chance}");
        }
    }

    #[test]
    fn two_unlike_stations_differ_normally() {
        // The difference is normal with √2 of the deviation.
        let chance = within_range(&[0.0, 3.0], 1.0, 4.0);
        let by_hand = up_to(1.0 / 2.0_f64.sqrt()) - up_to(-7.0 / 2.0_f64.sqrt());
        assert!((chance - by_hand).abs() < 1e-6, "{chance} against {by_hand}");
        assert_eq!(within_range(&[0.0, 5.0], 0.0, 5.0), 1.0);
        assert_eq!(within_range(&[0.0, 5.0], 0.0, 4.9), 0.0);
    }
}
