//! The shape of a segment.

use super::independent::Pieces;
use super::{Dice, near};
use crate::calc::motion::spline::{Spline, SplineSum};

#[test]
fn a_support_that_sank_bends_the_beam_as_the_handbook_says() {
    // S. Timoshenko, Strength of Materials II, three-moment equation with settlements: two equal spans l, the middle support
    // lower by d, no load: M = 3 EI d / l², so that v'' = 3 d / l² there.
    let spline = Spline::through(&[(0.0, 0.0), (240.0, -0.05), (480.0, 0.0)]).expect("a spline");
    let second = (spline.slope(240.0 + 1e-3) - spline.slope(240.0 - 1e-3)) / 2e-3;
    near(second, 3.0 * 0.05 / (240.0 * 240.0), 1e-5);
    // Straight beyond the last hold, with the slope 3 d / 2 l of that case.
    near(spline.slope(0.0), -1.5 * 0.05 / 240.0, 1e-12);
    near(spline.value(-100.0), 100.0 * 1.5 * 0.05 / 240.0, 1e-12);
    near(spline.slope(900.0), 1.5 * 0.05 / 240.0, 1e-12);
}

#[test]
fn a_line_stays_a_line_and_one_place_is_level() {
    let line = Spline::through(&[(0.0, 1.0), (100.0, 2.0), (350.0, 4.5), (400.0, 5.0)]).expect("a spline");
    for x in [-50.0, 0.0, 33.0, 349.0, 1000.0] {
        near(line.value(x), 1.0 + x / 100.0, 1e-12);
        near(line.slope(x), 0.01, 1e-12);
    }
    let level = Spline::through(&[(70.0, 0.03)]).expect("a spline");
    assert_eq!((level.value(-5.0), level.slope(500.0)), (0.03, 0.0));
    assert_eq!(Spline::through(&[]), None);
    assert_eq!(Spline::through(&[(1.0, 0.0), (1.0, 0.1)]), None);
    assert_eq!(Spline::through(&[(1.0, f64::NAN)]), None);
}

#[test]
fn random_splines_are_those_of_the_coefficients_of_every_piece() {
    let mut dice = Dice(7);
    for _ in 0..50 {
        let count = dice.count(2, 30);
        let mut x = dice.between(-100.0, 100.0);
        let points: Vec<(f64, f64)> = (0..count)
            .map(|_| {
                x += dice.between(20.0, 400.0);
                (x, dice.between(-0.1, 0.1))
            })
            .collect();
        let (spline, pieces) = (Spline::through(&points).expect("a spline"), Pieces::new(&points));
        for _ in 0..10 {
            let x = dice.between(points[0].0 - 50.0, points[count - 1].0 + 50.0);
            // The mean over a thousandth of a millimetre.
            let found = pieces.integral(x - 5e-4, x + 5e-4, x, 0) / 1e-3;
            assert!((spline.value(x) - found).abs() < 1e-9, "{} {found}", spline.value(x));
        }
    }
}

#[test]
fn what_each_reading_weighs_is_what_moving_it_does() {
    let mut points: Vec<(f64, f64)> = (0..9).map(|n| (f64::from(n * n) * 20.0, f64::from(n % 4) * 0.01)).collect();
    let value = |points: &[(f64, f64)]| Spline::through(points).expect("a spline").value(333.0);
    let spline = Spline::through(&points).expect("a spline");
    let mut sum = SplineSum::new(&spline);
    let (left, weights, _) = spline.weights(333.0);
    sum.add(left, &weights, 1.0);
    let by = sum.by_value(&spline);
    let before = value(&points);
    for (n, by) in by.into_iter().enumerate() {
        // A spline is linear in what it goes through.
        points[n].1 += 1.0;
        assert!((value(&points) - before - by).abs() < 1e-12);
        points[n].1 -= 1.0;
    }
}
