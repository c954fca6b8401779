//! Heights from slopes, against closed forms, plain summation and the covariance matrix of partial sums.

use crate::calc::angles::{bend_of_drift, earth_bulge, in_the_middle, rise};
use crate::calc::exact::Ratio;

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * (1.0 + expected.abs()), "{found} and not {expected}");
}

#[test]
fn a_step_rises_by_its_slope_times_its_base() {
    // 1 µm over 1 m is 0.25 µm over 250 mm, by definition.
    assert_eq!(rise(Ratio::whole(1_000_000), 250_000_000), Some(Ratio::whole(250)));
    // SI brochure, table 8: 1″ = 4.848 136 8 µrad, so that over 100 mm it is 0.485 µm: the lecture example of `survey` takes 0.5.
    near(rise(Ratio::whole(4_848_137), 100_000_000).expect("small").to_f64(), 484.8137);
}

#[test]
fn the_earth_bends_a_level_line_by_the_square_of_its_length() {
    // L²/(8R), R = 6371 km: 4.1 µm at 14.4 m, 31 µm at 40 m (the sagitta of a circle, geometry).
    let middle = |mm: i64| earth_bulge(mm * 500_000, mm * 1_000_000).expect("small").to_f64();
    near((middle(14_400) / 10.0).round() * 10.0, 4_070.0);
    assert!((middle(40_000) - 31_400.0).abs() < 50.0, "{}", middle(40_000));
    // The circle itself, by the root.
    let (radius, span, at) = (6.371e6_f64, 40.0_f64, 11.0_f64);
    let circle = |x: f64| (radius * radius - (x - span / 2.0).powi(2)).sqrt();
    let by_root = (circle(at) - circle(0.0)) * 1e9;
    let found = earth_bulge(11_000_000_000, 40_000_000_000).expect("small").to_f64();
    assert!((found - by_root).abs() < 2.0, "{found} and not {by_root}");
    assert_eq!(earth_bulge(0, 40_000_000_000), Some(Ratio::whole(0)));
    assert_eq!(earth_bulge(40_000_000_000, 40_000_000_000), Some(Ratio::whole(0)));
}

#[test]
fn a_drift_that_grows_evenly_bends_the_line_by_an_eighth() {
    // Slopes δ·(j − ½)/n summed by hand over 1000 steps, against the chord.
    let (steps, base, drift) = (1000_i32, 10_000_000_i64, 8_000_000.0);
    let mut heights = vec![0.0];
    for step in 0..steps {
        let slope = drift * (f64::from(step) + 0.5) / f64::from(steps);
        heights.push(heights[heights.len() - 1] + slope * base as f64 / 1e12);
    }
    let chord = |at: usize| heights[heights.len() - 1] * at as f64 / f64::from(steps);
    let most = (0..heights.len()).map(|at| (heights[at] - chord(at)).abs()).fold(0.0, f64::max);
    let found = bend_of_drift(Ratio::whole(8_000_000), i64::from(steps) * base).expect("small").to_f64();
    assert!((found - most).abs() < 1e-6 * most, "{found} and not {most}");
}

/// Var(Σ w h) = wᵀ·A·Aᵀ·w with the lower triangular matrix A of the partial sums (GUM 5.2.2, the law of propagation with
/// covariances), worked out entry by entry: the heights behind i and j steps have all steps up to the earlier in common.
fn by_matrix(weights: &[(usize, f64)]) -> f64 {
    weights.iter().flat_map(|(i, a)| weights.iter().map(move |(j, b)| a * b * *i.min(j) as f64)).sum()
}

#[test]
fn no_height_is_less_sure_than_the_middle_of_its_steps() {
    for steps in [2_usize, 3, 8, 9, 32, 127, 128] {
        let (mut own, mut shared) = (0.0_f64, 0.0_f64);
        for at in 1..steps {
            let lever = at as f64 / steps as f64;
            own = own.max(by_matrix(&[(at, 1.0), (0, lever - 1.0), (steps, -lever)]));
            // Each step leans to the side that moves this height the most.
            let worst: f64 = (0..steps).map(|step| if step < at { 1.0 - lever } else { lever }).sum();
            shared = shared.max(worst.powi(2));
        }
        let [found, alike] = in_the_middle(steps).map(Ratio::to_f64);
        if steps % 2 == 0 {
            near(found, own);
            near(alike, shared);
        }
        // An odd number has no height in the very middle.
        assert!(found >= own - 1e-9 && alike >= shared - 1e-9, "{found} {own} {alike} {shared}");
        assert!(found - own <= 0.25 && alike.sqrt() - shared.sqrt() <= 0.5, "{found} {own} {alike} {shared}");
    }
}
