//! Surveys tied to each other, against a published fit, against normal equations solved otherwise, and against the truth.

use proptest::prelude::*;

use crate::calc::exact::Ratio;
use crate::calc::tie::{Fit, Free, Shared, fine};

fn shared(all: &[(i64, i128)]) -> Vec<Shared> {
    all.iter().map(|&(position_nm, change)| Shared { position_nm, change: Ratio::whole(change) }).collect()
}

fn ratio(num: i128, den: i128) -> Ratio {
    Ratio::new(num, den).unwrap()
}

/// Linear regression of NIST StRD (Norris, lower level of difficulty): x, y. Certified: b0 −0.262323073774029,
/// b1 1.00211681802045.
const NORRIS: [(f64, f64); 36] = [
    (0.2, 0.1),
    (337.4, 338.8),
    (118.2, 118.1),
    (884.6, 888.0),
    (10.1, 9.2),
    (226.5, 228.1),
    (666.3, 668.5),
    (996.3, 998.5),
    (448.6, 449.1),
    (777.0, 778.9),
    (558.2, 559.2),
    (0.4, 0.3),
    (0.6, 0.1),
    (775.5, 778.1),
    (666.9, 668.8),
    (338.0, 339.3),
    (447.5, 448.9),
    (11.6, 10.8),
    (556.0, 557.7),
    (228.1, 228.3),
    (995.8, 998.0),
    (887.6, 888.8),
    (120.2, 119.6),
    (0.3, 0.3),
    (0.3, 0.6),
    (556.8, 557.6),
    (339.1, 339.3),
    (887.2, 888.0),
    (999.0, 998.5),
    (779.0, 778.9),
    (11.1, 10.2),
    (118.3, 117.6),
    (229.2, 228.9),
    (669.1, 668.4),
    (448.9, 449.2),
    (0.5, 0.2),
];

#[test]
fn the_line_is_that_of_the_certified_regression() {
    // In tenths: whole numbers.
    let tenths = |value: f64| (value * 10.0).round();
    let all: Vec<(i64, i128)> = NORRIS.iter().map(|(x, y)| (tenths(*x) as i64, tenths(*y) as i128)).collect();
    let fit = Fit::new(Free::Line, &shared(&all)).unwrap();
    let (start, end) = (fit.at(0).unwrap().to_f64() / 10.0, fit.at(10).unwrap().to_f64() / 10.0);
    assert!((start - -0.262323073774029).abs() < 1e-12, "{start}");
    assert!((end - start - 1.00211681802045).abs() < 1e-12, "{}", end - start);
}

#[test]
fn an_offset_is_the_mean_of_the_changes() {
    let fit = Fit::new(Free::Offset, &shared(&[(0, 10), (500, 11), (900, 13)])).unwrap();
    assert_eq!((fit.at(0), fit.at(12345)), (Some(ratio(34, 3)), Some(ratio(34, 3))));
    assert_eq!(fit.leverage(777), Some(ratio(1, 3)));
}

#[test]
fn the_leverage_of_a_line_grows_away_from_its_middle() {
    // Positions −2 … 2: 1/5 in the middle, 1/5 + 4/10 at the ends, 1/5 + 16/10 twice as far out.
    let fit = Fit::new(Free::Line, &shared(&[(0, 0), (240, 0), (480, 0), (720, 0), (960, 0)])).unwrap();
    let at = |nm| fit.leverage(nm).unwrap();
    assert_eq!((at(480), at(0), at(960), at(1440)), (ratio(1, 5), ratio(3, 5), ratio(3, 5), ratio(9, 5)));
}

#[test]
fn too_little_or_too_great_gives_no_fit() {
    assert_eq!(Fit::new(Free::Offset, &[]), None);
    assert_eq!(Fit::new(Free::Line, &shared(&[(100, 1)])), None);
    assert_eq!(Fit::new(Free::Line, &shared(&[(100, i128::MAX / 2), (200, 1), (350, 2)])), None);
}

#[test]
fn very_fine_parts_are_rounded_to_the_nearest_picometre() {
    assert_eq!(fine(ratio(1, 999_983)), Some(ratio(1, 999_983)));
    assert_eq!(fine(ratio(2_000_003, 2_000_000)), Some(ratio(1000, 1000)));
    assert_eq!(fine(ratio(-7, 3_000_000)), Some(ratio(0, 1)));
    assert_eq!(fine(ratio(15_001, 10_000_000)), Some(ratio(2, 1000)));
    assert_eq!(fine(ratio(-15_001, 10_000_000)), Some(ratio(-2, 1000)));
}

/// Level and growth by Cramer's rule with positions from zero in nm, in floats of twice the digits: another way than sums
/// in parts of a common measure.
fn normal_equations(all: &[(i64, i64)]) -> (f64, f64) {
    let n = all.len() as f64;
    let mean = |of: &dyn Fn(&(i64, i64)) -> f64| all.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(&|it| it.0 as f64), mean(&|it| it.1 as f64));
    let sum = |of: &dyn Fn(f64, f64) -> f64| all.iter().map(|it| of(it.0 as f64 - x, it.1 as f64 - y)).sum::<f64>();
    let growth = sum(&|dx, dy| dx * dy) / sum(&|dx, _| dx * dx);
    (y - growth * x, growth)
}

proptest! {
    #[test]
    fn a_line_is_found_again_exactly(
        level in -1_000_000_i64..1_000_000, growth in -1000_i64..1000, pitch in 1_i64..100_000_000,
        at in prop::collection::btree_set(0_i64..200, 2..30), beyond in -300_i64..300,
    ) {
        // So many nm a pitch.
        let all: Vec<(i64, i128)> = at.iter().map(|it| (it * pitch, i128::from(level + growth * it))).collect();
        let fit = Fit::new(Free::Line, &shared(&all)).unwrap();
        prop_assert_eq!(fit.at(beyond * pitch), Some(Ratio::whole((level + growth * beyond).into())));
    }

    #[test]
    fn the_line_is_that_of_the_normal_equations(
        all in prop::collection::btree_map(0_i64..20_000_000_000, -2_000_000_i64..2_000_000, 2..40),
        at in 0_i64..20_000_000_000,
    ) {
        let all: Vec<(i64, i64)> = all.into_iter().collect();
        let whole: Vec<(i64, i128)> = all.iter().map(|&(x, y)| (x, y.into())).collect();
        let fit = Fit::new(Free::Line, &shared(&whole)).unwrap();
        let (level, growth) = normal_equations(&all);
        let (found, expected) = (fit.at(at).unwrap().to_f64(), level + growth * at as f64);
        let scale = 1.0 + level.abs() + (growth * 2e10).abs();
        prop_assert!((found - expected).abs() < 1e-6 * scale, "{} {}", found, expected);
        // The leverages of the fitted stations add up to the number of parameters.
        let all: f64 = all.iter().map(|(x, _)| fit.leverage(*x).unwrap().to_f64()).sum();
        prop_assert!((all - 2.0).abs() < 1e-9, "{}", all);
    }
}
