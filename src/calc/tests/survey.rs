//! Surveys and lines through them, against certified data, a worked example, and plain enumeration.

use crate::calc::exact::Ratio;
use crate::calc::straightness::{end_point_zone, least_squares, least_squares_line, minimum_zone, toe_in};
use crate::calc::survey::{Change, ShimEffect, Station, Survey, SurveyError, closure_nm, compare, repeats};
use proptest::prelude::*;

fn survey(stations: &[(i64, i64)]) -> Survey {
    let stations = stations.iter().map(|&(position_nm, reading_nm)| Station { position_nm, reading_nm }).collect();
    Survey::new(stations).unwrap()
}

fn ratio(num: i128, den: i128) -> Ratio {
    Ratio::new(num, den).unwrap()
}

/// NIST StRD, linear regression, data set Norris: y then x, as published, in tenths.
const NORRIS: &str = "0.1 0.2 338.8 337.4 118.1 118.2 888.0 884.6 9.2 10.1 228.1 226.5 668.5 666.3 998.5 996.3
    449.1 448.6 778.9 777.0 559.2 558.2 0.3 0.4 0.1 0.6 778.1 775.5 668.8 666.9 339.3 338.0 448.9 447.5 10.8 11.6
    557.7 556.0 228.3 228.1 998.0 995.8 888.8 887.6 119.6 120.2 0.3 0.3 0.6 0.3 557.6 556.8 339.3 339.1 888.0 887.2
    998.5 999.0 778.9 779.0 10.2 11.1 117.6 118.3 228.9 229.2 668.4 669.1 449.2 448.9 0.2 0.5";

#[test]
fn norris_agrees_with_the_certified_digits() {
    let values: Vec<i64> = NORRIS.split_whitespace().map(|v| v.replace('.', "").parse().unwrap()).collect();
    let points: Vec<_> = values.chunks(2).map(|pair| (pair[1], pair[0])).collect();
    assert_eq!(points.len(), 36);
    let fit = least_squares(&points).unwrap();
    // Certified: b0 −0.262323073774029, b1 1.00211681802045, residual standard deviation 0.884796396144373.
    let digits = |found: f64, certified: f64| -((found - certified) / certified).abs().log10();
    assert!(digits(fit.intercept_nm / 10.0, -0.262_323_073_774_029) > 14.0);
    assert!(digits(fit.slope, 1.002_116_818_020_45) > 14.0);
    assert!(digits(fit.residual_sd_nm / 10.0, 0.884_796_396_144_373) > 13.0);
}

#[test]
fn a_line_is_fitted_within_its_limits_only() {
    // 10¹³ nm are 10 km; up to them and up to 100,000 pairs the sums are exact.
    const MOST: i64 = 10_000_000_000_000;
    for far in [MOST, -MOST] {
        let fit = least_squares(&[(far, far), (0, 0)]).expect("the limit belongs to it");
        assert_eq!((fit.slope, fit.zone_nm), (1.0, 0.0));
        let beyond = far + far.signum();
        for point in [(beyond, 0), (0, beyond), (beyond, beyond)] {
            assert!(least_squares(&[point, (1, 1)]).is_none(), "{point:?}");
            assert!(least_squares(&[(1, 1), point]).is_none(), "{point:?}");
        }
    }
    let many = |count: i64| least_squares(&(0..count).map(|x| (x, 3 * x)).collect::<Vec<_>>());
    assert_eq!(many(100_000).map(|fit| fit.slope), Some(3.0));
    assert!(many(100_001).is_none());
    for few in [vec![], vec![(7, 7)], vec![(7, 7), (7, 9), (7, 8)]] {
        assert!(least_squares(&few).is_none(), "{few:?}");
    }
}

#[test]
fn the_autocollimator_example_gives_three_micrometres() {
    // Published lecture example: 100 mm base, 1″ = 0.5 µm; deviations at 0…6 from the line through the end points.
    let deviations = [0, -1_000, -500, 2_000, 0, -1_000, 0];
    let stations: Vec<_> = deviations.iter().zip(0..).map(|(&nm, i)| (i * 100_000_000, nm)).collect();
    let survey = survey(&stations);
    assert_eq!(end_point_zone(&survey).unwrap().width, Ratio::whole(3_000));
    assert_eq!(minimum_zone(&survey).unwrap().width, Ratio::whole(3_000));
    // Least-squares range, computed with exact fractions: slope −1/28 µm a step, extremes at stations 3 and 1,
    // 3 + 2·(−1/28)·(−1/2)… = 85/28 µm = 3.0357 µm.
    let zone = least_squares_line(&survey).unwrap().zone_nm;
    assert!((zone - 85_000.0 / 28.0).abs() < 1e-8, "{zone}");
    assert!(zone >= 85_000.0 / 28.0);
}

#[test]
fn widest_zero_and_shims_follow_the_seat() {
    let s = survey(&[(0, -10_000), (480, 20_000), (240, 0)]);
    assert_eq!(s.widest().position_nm, 480);
    assert_eq!(s.narrowest().position_nm, 0);
    assert_eq!(s.range_nm(), 30_000);
    assert_eq!(s.zeroed(ShimEffect::Widens).stations()[0].reading_nm, -30_000);
    assert_eq!(s.zeroed(ShimEffect::Narrows).stations()[2].reading_nm, 30_000);
    let needed = |at, effect| s.shim_needed(at, effect).unwrap().value;
    assert_eq!(needed(240, ShimEffect::Widens), Ratio::whole(20_000));
    assert_eq!(needed(240, ShimEffect::Narrows), Ratio::whole(10_000));
    assert_eq!(needed(480, ShimEffect::Lifts), Ratio::whole(0));
    // A third of the way from −10 to 0 µm: the gap is −6.666… µm, the shim 26.666… µm, rounded up.
    assert_eq!(needed(80, ShimEffect::Widens), ratio(80_000, 3));
    assert_eq!(needed(80, ShimEffect::Widens).ceil(), 26_667);
    assert!(s.shim_needed(481, ShimEffect::Widens).is_none());
    assert!(s.at(-1).is_none());
}

#[test]
fn of_equal_stations_the_first_counts() {
    let s = survey(&[(0, 5), (10, -5), (20, 5), (30, -5)]);
    assert_eq!((s.widest().position_nm, s.narrowest().position_nm), (0, 10));
}

#[test]
fn repeats_are_two_or_more_within_what_is_measured() {
    const MOST: i64 = 10_000_000_000_000;
    for readings in [vec![], vec![7], vec![7, MOST + 1], vec![-MOST - 1, 7], vec![MOST + 1]] {
        assert!(repeats(&readings).is_none(), "{readings:?}");
    }
    let two = repeats(&[MOST, MOST]).expect("the limit belongs to it");
    assert_eq!((two.mean, two.count, two.standard_uncertainty_nm), (Ratio::whole(MOST.into()), 2, 0.0));
    assert!(repeats(&vec![3; 100_000]).is_some() && repeats(&vec![3; 100_001]).is_none());
}

#[test]
fn stations_that_make_no_survey_are_refused() {
    assert_eq!(Survey::new(vec![]), Err(SurveyError::Empty));
    let twice = Station { position_nm: 5, reading_nm: 0 };
    assert_eq!(Survey::new(vec![twice, twice]), Err(SurveyError::SamePlace { position_nm: 5 }));
    let far = Station { position_nm: i64::MIN, reading_nm: 0 };
    assert!(matches!(Survey::new(vec![far]), Err(SurveyError::Length(_))));
    let single = survey(&[(7, 3)]);
    assert!(minimum_zone(&single).is_none() && end_point_zone(&single).is_none() && toe_in(&single).is_none());
    assert!(least_squares_line(&single).is_none());
    assert_eq!(single.at(7).unwrap().value, Ratio::whole(3));
}

#[test]
fn a_gap_that_grows_evenly_is_toe_in() {
    // 0.1 mm over 1 m and one station 4 µm off the line.
    let s = survey(&[
        (0, 0),
        (250_000_000, 25_000),
        (500_000_000, 54_000),
        (750_000_000, 75_000),
        (1_000_000_000, 100_000),
    ]);
    let toe = toe_in(&s).unwrap();
    assert_eq!((toe.range_nm, toe.remaining, toe.growth), (100_000, Ratio::whole(4_000), Ratio::whole(100_000)));
    assert!(toe.explains() && toe.would_cure(50_000) && !toe.would_cure(3_999) && !toe.would_cure(100_000));
    // The far rail end, 0.2 m beyond the last station, turns about the first station: 0.12 mm narrower.
    assert_eq!(toe.move_at(1_200_000_000, 0), Some(Ratio::whole(-120_000)));
    assert_eq!(toe.move_at(0, 1_000_000_000), Some(Ratio::whole(100_000)));
    // A bow of the same range is none.
    let bow = toe_in(&survey(&[(0, 0), (1, 50_000), (2, 0)])).unwrap();
    assert!(!bow.explains());
    let level = toe_in(&survey(&[(0, 9), (1, 9)])).unwrap();
    assert!(!level.explains());
}

#[test]
fn repeats_give_a_mean_and_a_type_a_uncertainty() {
    // Mean 5, s² = (9+1+1+1+0+0+4+16)/7 = 32/7 by hand; s/√8 = √(4/7) (formula: GUM 4.2.2 and 4.2.3).
    let found = repeats(&[2, 4, 4, 4, 5, 5, 7, 9]).unwrap();
    assert_eq!(found.mean, Ratio::whole(5));
    assert!((found.standard_uncertainty_nm - (4.0_f64 / 7.0).sqrt()).abs() < 1e-15);
    assert_eq!(repeats(&[1, 2]).unwrap().mean, ratio(3, 2));
    assert!(repeats(&[1]).is_none());
}

#[test]
fn two_surveys_compare_beyond_zero_and_temperature() {
    let cold = survey(&[(0, 0), (10, -30_000), (20, -10_000)]);
    let warm = survey(&[(0, 5_000), (5, 1), (10, -20_000), (20, 15_000)]);
    let changes = cold.change_to(&warm);
    let change = |position_nm, change_nm| Change { position_nm, change_nm };
    assert_eq!(changes, [change(0, 5_000), change(10, 10_000), change(20, 25_000)]);
    let compared = compare(&changes, ratio(-23_999, 2)).unwrap();
    assert_eq!((compared.range_nm, compared.explained_nm, compared.unexplained_nm()), (20_000, 12_000, 8_000));
    assert!(compare(&[], Ratio::whole(0)).is_none());
    assert_eq!(closure_nm(0, -4_000), -4_000);
}

/// The least zone by its definition: over every line through two stations, the distance of the parallels that hold all.
fn zone_by_enumeration(stations: &[(i64, i64)]) -> Ratio {
    let mut least: Option<Ratio> = None;
    for (i, a) in stations.iter().enumerate() {
        for b in &stations[i + 1..] {
            let (run, rise) = (i128::from(b.0 - a.0), i128::from(b.1 - a.1));
            let offs = stations.iter().map(|s| i128::from(s.1) * run - i128::from(s.0) * rise);
            let width = ratio(offs.clone().max().unwrap() - offs.min().unwrap(), run.abs());
            least = Some(least.map_or(width, |least| least.min(width)));
        }
    }
    least.unwrap()
}

proptest! {
    #[test]
    fn the_minimum_zone_is_the_least_over_all_lines(
        places in prop::collection::btree_map(-40_i64..40, -30_i64..30, 2..14),
    ) {
        let stations: Vec<_> = places.into_iter().collect();
        let s = survey(&stations);
        let zone = minimum_zone(&s).unwrap();
        prop_assert_eq!(zone.width, zone_by_enumeration(&stations));
        // No line does better: neither the one through the end points nor the least-squares one.
        prop_assert!(zone.width <= end_point_zone(&s).unwrap().width);
        prop_assert!(zone.width.to_f64() <= least_squares_line(&s).unwrap().zone_nm + 1e-9);
    }

    #[test]
    fn interpolation_lies_on_the_chord(
        places in prop::collection::btree_map(-1_000_i64..1_000, -90_i64..90, 2..9), at in -1_000_i64..1_000,
    ) {
        let stations: Vec<_> = places.into_iter().collect();
        let s = survey(&stations);
        match s.at(at) {
            None => prop_assert!(at < stations[0].0 || at > stations[stations.len() - 1].0),
            Some(found) => {
                let (a, b) = found.between;
                prop_assert!(a.position_nm <= at && at <= b.position_nm);
                let share = if a == b { 0.0 } else {
                    (at - a.position_nm) as f64 / (b.position_nm - a.position_nm) as f64
                };
                let chord = a.reading_nm as f64 + share * (b.reading_nm - a.reading_nm) as f64;
                prop_assert!((found.value.to_f64() - chord).abs() < 1e-9);
            }
        }
    }
}
