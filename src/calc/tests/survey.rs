//! Surveys and lines through them, against a worked example and plain enumeration.

use crate::calc::exact::Ratio;
use crate::calc::straightness::{minimum_zone, toe_in};
use crate::calc::survey::{ReadingChange, ShimEffect, SurveyError, SurveyLine, SurveyStation};
use proptest::prelude::*;

fn survey(stations: &[(i64, i64)]) -> SurveyLine {
    let stations = stations
        .iter()
        .enumerate()
        .map(|(number, &(position_nm, reading_nm))| SurveyStation { position_nm, reading_nm, number })
        .collect();
    SurveyLine::new(stations).unwrap()
}

fn ratio(num: i128, den: i128) -> Ratio {
    Ratio::new(num, den).unwrap()
}

#[test]
fn the_autocollimator_example_gives_three_micrometres() {
    // Published lecture example: 100 mm base, 1″ = 0.5 µm; deviations at 0…6 from the line through the end points.
    let deviations = [0, -1_000, -500, 2_000, 0, -1_000, 0];
    let stations: Vec<_> = deviations.iter().zip(0..).map(|(&nm, i)| (i * 100_000_000, nm)).collect();
    let survey = survey(&stations);
    let zone = minimum_zone(&survey).unwrap();
    assert_eq!(zone.width, Ratio::whole(3_000));
    // All stations lie on one side of the line, the farthest as far as the zone is wide.
    let off: Vec<Ratio> = survey.stations().iter().map(|station| zone.off_line(*station).unwrap().abs()).collect();
    assert_eq!(off.iter().max(), Some(&zone.width));
    let sides = survey.stations().iter().map(|station| zone.off_line(*station).unwrap().cmp(&Ratio::whole(0)));
    let sides: std::collections::BTreeSet<_> = sides.filter(|side| side.is_ne()).collect();
    assert_eq!(sides.len(), 1);
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
fn stations_that_make_no_survey_are_refused() {
    assert_eq!(SurveyLine::new(vec![]), Err(SurveyError::Empty));
    let far = SurveyStation { position_nm: i64::MIN, reading_nm: 0, number: 0 };
    assert!(matches!(SurveyLine::new(vec![far]), Err(SurveyError::Length(_))));
    let single = survey(&[(7, 3)]);
    assert!(minimum_zone(&single).is_none() && toe_in(&single).is_none());
    let one_place = survey(&[(7, 3), (7, 5), (7, 4)]);
    assert!(minimum_zone(&one_place).is_none() && toe_in(&one_place).is_none());
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
    assert!(toe.explains());
    // A bow of the same range is none.
    let bow = toe_in(&survey(&[(0, 0), (1, 50_000), (2, 0)])).unwrap();
    assert!(!bow.explains());
    let level = toe_in(&survey(&[(0, 9), (1, 9)])).unwrap();
    assert!(!level.explains());
}

#[test]
fn what_changed_is_told_where_both_were_read() {
    let cold = survey(&[(0, 0), (10, -30_000), (20, -10_000)]);
    let warm = survey(&[(0, 5_000), (5, 1), (10, -20_000), (20, 15_000)]);
    let changes = cold.change_to(&warm);
    let change = |position_nm, change_nm| ReadingChange { position_nm, change_nm };
    assert_eq!(changes, [change(0, 5_000), change(10, 10_000), change(20, 25_000)]);
}

/// The least zone by its definition: over every line through two stations, the distance of the parallels that hold all.
fn zone_by_enumeration(stations: &[(i64, i64)]) -> Ratio {
    let mut least: Option<Ratio> = None;
    for (i, a) in stations.iter().enumerate() {
        for b in &stations[i + 1..] {
            let (run, rise) = (i128::from(b.0 - a.0), i128::from(b.1 - a.1));
            if run == 0 {
                continue;
            }
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
        // Of forty places some are taken twice or three times, in any order of their readings.
        stations in prop::collection::vec((-20_i64..20, -30_i64..30), 2..14),
    ) {
        prop_assume!(stations.iter().any(|station| station.0 != stations[0].0));
        let s = survey(&stations);
        let zone = minimum_zone(&s).unwrap();
        prop_assert_eq!(zone.width, zone_by_enumeration(&stations));
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
