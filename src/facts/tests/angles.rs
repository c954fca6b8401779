//! Surveys that are added up from angles: heights, straightness, and how sure they are.

use crate::calc::motion::frame::UP;
use crate::calc::straightness::minimum_zone;
use crate::calc::uncertainty::Uncertainty;
use crate::facts::local_limit::least_sure;
use crate::facts::lying::lying_rails;
use crate::facts::survey::{SurveyReadings, curvature, length};
use crate::facts::survey_doubt;
use crate::facts::survey_state::CurrentSurveys;
use crate::ledger::{Ledger, RailId, SurveyKind};
use crate::quantity::Length;
use crate::testing::judge;

const GAUGES: &str = "shop {
    gauge AC kind=autocollimator graduation=(um.m-1)1 permissible-error=(um.m-1)2 repeatability=(um.m-1)3 plus=up
    gauge LV kind=level graduation=(um.m-1)1 permissible-error=(um.m-1)2 repeatability=(um.m-1)3 plus=up
}";

/// A rail with supports at 0, 100 … and a survey of some steps over a base of 100 mm.
fn surveyed(gauge: &str, rows: &str) -> Ledger {
    let text = format!(
        "{GAUGES}\nmachine m {{ axis X {{ rail a {{ segment 14400; supports S first=0 pitch=100 count=100 }} }} }}\n\
         survey straightness X.a date=\"2026-04-15\" by=inspector-1 gauge={gauge} stage=as-fitted {{ {rows} }}\n"
    );
    let judged = judge(&[("machine.kdl", &text)], &[]);
    let wrong: Vec<_> = judged.findings.iter().filter(|it| it.rule.as_str().starts_with("wrong")).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    judged.ledger
}

fn readings(ledger: &Ledger) -> SurveyReadings<'_> {
    SurveyReadings::for_record(ledger, 0).expect("it was read")
}

fn heights(ledger: &Ledger) -> Vec<f64> {
    readings(ledger).stations.iter().map(|station| station.value.to_f64()).collect()
}

/// A row for each step of 100 mm, with its slope in µm/m.
fn steps(slopes: &[f64]) -> String {
    let rows = slopes.iter().enumerate().map(|(n, slope)| format!("at {} (um.m-1){slope}", 100 * (n + 1)));
    format!("angles from=0 base=100; {}", rows.collect::<Vec<_>>().join("; "))
}

#[test]
fn the_lecture_example_gives_three_micrometres() {
    // Published lecture example with an autocollimator, as in `calc::tests::survey`: 100 mm base, and heights of
    // 0, −1, −0.5, +2, 0, −1, 0 µm from the line through the ends; so these are its slopes, tilted by 40 µm/m.
    let slopes = [-10.0, 5.0, 25.0, -20.0, -10.0, 10.0].map(|slope| slope + 40.0);
    let ledger = surveyed("AC", &steps(&slopes));
    assert_eq!(heights(&ledger), [0.0, 3000.0, 7500.0, 14000.0, 16000.0, 19000.0, 24000.0]);
    assert_eq!(readings(&ledger).zone().map(length), Some(Length::um(3)));
}

#[test]
fn slopes_that_change_evenly_give_a_parabola() {
    // h = κx²/2 between steps of b: with slopes κ·b·(j − ½) the heights are κ·(j·b)²/2 exactly (closed form), and the zone of
    // an even number of steps is κL²/8.
    let slopes: Vec<f64> = (0..20).map(|step| 2.0 * (f64::from(step) + 0.5)).collect();
    let ledger = surveyed("AC", &steps(&slopes));
    for (at, height) in heights(&ledger).into_iter().enumerate() {
        assert_eq!(height, 100.0 * (at * at) as f64, "at {at}");
    }
    // κ = 2 µm/m a step of 0.1 m = 20 µm/m²: 20e-6 · 2² / 8 = 10 µm.
    assert_eq!(readings(&ledger).zone().map(length), Some(Length::um(10)));
}

#[test]
fn units_repeats_and_the_plus_are_as_they_were_read() {
    // 0.02 mm/m, 20 µrad and 20 µm/m are one angle; of repeats the mean; arc seconds by their own unit.
    let rows = "angles from=S1 base=100; at S2 (mm.m-1)0.02; at 200 (urad)20 (urad)21 (urad)20; at 300 (arcsec)4";
    let found = heights(&surveyed("AC", rows));
    let arc = 4.0 * std::f64::consts::PI / 648_000.0 * 1e8;
    let expected = [0.0, 2000.0, 2000.0 + 6100.0 / 3.0, 2000.0 + 6100.0 / 3.0 + arc];
    for (found, expected) in found.iter().zip(expected) {
        assert!((found - expected).abs() < 0.001, "{found} and not {expected}");
    }
    let text = steps(&[5.0, 7.0]);
    let turned = format!(
        "{GAUGES}\nmachine m {{ axis X {{ rail a {{ segment 14400 }} }} }}\n\
         survey straightness X.a date=\"2026-04-15\" by=inspector-1 gauge=AC plus=down stage=as-fitted {{ {text} }}\n"
    );
    let judged = judge(&[("machine.kdl", &turned)], &[]);
    assert_eq!(heights(&judged.ledger), [0.0, -500.0, -1200.0]);
}

#[test]
fn what_lies_behind_a_step_that_is_left_out_is_not_known() {
    let rows = "angles from=0 base=100; at 100 (um.m-1)1; at 200 (um.m-1)1; at 300 #null; at 400 (um.m-1)1";
    assert_eq!(heights(&surveyed("AC", rows)), [0.0, 100.0, 200.0]);
    // A length is no angle, and an angle no length: neither is taken for the other.
    for rows in ["angles from=0 base=100; at 100 0.001; at 200 0.002", "at 100 (um.m-1)1; at 200 (um.m-1)1"] {
        let text = format!(
            "{GAUGES}\nmachine m {{ axis X {{ rail a {{ segment 14400 }} }} }}\n\
             survey straightness X.a date=\"2026-04-15\" by=inspector-1 gauge=AC stage=as-fitted {{ {rows} }}\n"
        );
        let judged = judge(&[("machine.kdl", &text)], &[]);
        assert!(SurveyReadings::for_record(&judged.ledger, 0).is_none(), "{rows}");
    }
}

#[test]
fn a_level_is_rid_of_the_curvature_of_the_earth() {
    // 144 steps of 100 mm, level all along: the rail then follows the earth, and stands 4.1 µm proud in the middle
    // (L²/(8R), R = 6371 km).
    let level = vec![0.0; 144];
    let ledger = surveyed("LV", &steps(&level));
    let found = heights(&ledger);
    assert_eq!((found[0], found[144]), (0.0, 0.0));
    assert!((found[72] - 4068.0).abs() < 1.0, "{}", found[72]);
    assert_eq!(readings(&ledger).zone().map(length).map(|zone| zone.nm() / 10), Some(406));
    let record = readings(&ledger).survey;
    assert_eq!(curvature(&ledger, record).map(|sag| sag.nm() / 10), Some(406));
    let seen = surveyed("AC", &steps(&level));
    assert_eq!(readings(&seen).zone().map(length), Some(Length::ZERO));
    assert_eq!(curvature(&seen, readings(&seen).survey), None);
}

/// The expanded uncertainty of a zone from the full covariance matrix of the heights: of what each step has of its own σ² times
/// the steps that two heights have in common, and what a permissible error may do, in the sign of the worse side in each step.
fn by_matrix(at: [usize; 3], own: f64, error: f64) -> f64 {
    let [far, from, to] = at.map(|at| at as f64);
    let a = (far - from) / (to - from);
    let weights = [(at[0], 1.0), (at[1], a - 1.0), (at[2], -a)];
    let mut variance = 0.0;
    for (i, w) in weights {
        for (j, v) in weights {
            variance += w * v * i.min(j) as f64 * own * own;
        }
    }
    let steps = weights.iter().map(|(at, _)| *at).max().unwrap_or(0);
    let alike: f64 = (1..=steps)
        .map(|step| weights.iter().filter(|(at, _)| *at >= step).map(|(_, weight)| weight).sum::<f64>().abs())
        .sum();
    2.0 * (variance + (error * alike).powi(2) / 3.0).sqrt()
}

/// The same where it is the greatest: over all stations against the ends.
fn least_sure_by_matrix(steps: usize, own: f64, error: f64) -> f64 {
    (1..steps).map(|at| by_matrix([at, 0, steps], own, error)).fold(0.0, f64::max)
}

#[test]
fn a_zone_is_as_unsure_as_the_least_sure_of_its_heights_wherever_it_touches() {
    // A kink in the middle, away from it, at the second station, and none at all: what is not seen is no surer.
    for (count, kink) in [(6_usize, 3_usize), (20, 5), (60, 40), (24, 1), (24, 0)] {
        let slopes: Vec<f64> = (0..count).map(|step| if step < kink { 10.0 } else { -10.0 }).collect();
        let ledger = surveyed("AC", &steps(&slopes));
        let readings = readings(&ledger);
        let (survey, _) = readings.survey().expect("a survey");
        let zone = minimum_zone(&survey).expect("a zone");
        let found = survey_doubt::of_zone(&ledger, &ledger.rulebook, &readings, &zone).map(Uncertainty::expanded);
        // 3 µm/m and ±2 µm/m over 100 mm are 300 and ±200 nm. The closure may be as open as an eighth of the span times the
        // greater of graduation and repeatability, 3 µm/m; half of that is in U, as ±.
        let closure = 3.0 * (count * 100) as f64 / 8.0 / 2.0;
        let matrix = least_sure_by_matrix(count, 300.0, 200.0);
        let expected = (matrix.powi(2) + 4.0 * closure * closure / 3.0).sqrt();
        let found = found.expect("its gauge is known") as f64;
        assert!((found - expected).abs() <= 2.0 + 0.001 * expected, "{count}: {found} and not {expected}");
    }
}

#[test]
fn a_stretch_is_as_unsure_as_the_least_sure_height_within_it() {
    let ledger = surveyed("AC", &steps(&[5.0; 24]));
    let readings = readings(&ledger);
    // Windows of 800 mm hold 8 steps each; the closure is that of the whole survey.
    let found = least_sure(&ledger, &ledger.rulebook, &readings, Length::mm(800)).expect("it is known");
    let closure = 3.0 * 2400.0 / 8.0 / 2.0;
    let expected = (least_sure_by_matrix(8, 300.0, 200.0).powi(2) + 4.0 * closure * closure / 3.0).sqrt();
    let unsure = found.uncertainty.expanded() as f64;
    assert!((unsure - expected).abs() <= 2.0 + 0.001 * expected, "{unsure} and not {expected}");
}

#[test]
fn each_step_is_one_reading_of_the_motion() {
    let text = format!(
        "{GAUGES}\nmachine m {{ axis X {{ rail a {{ segment 1200; supports S first=0 pitch=200 count=7 }} }} }}\n\
         survey straightness X.a date=\"2026-04-15\" by=inspector-1 gauge=AC stage=as-fitted {{\n\
         angles from=S1 base=200; at S2 (um.m-1)5; at S3 (um.m-1)-5; at S4 (um.m-1)20 (um.m-1)20; at S5 (um.m-1)0; \
         at S6 (um.m-1)-10; at S7 (um.m-1)0 }}\n"
    );
    let judged = judge(&[("machine.kdl", &text)], &[]);
    let lying = lying_rails(&judged.ledger, 0, &|_| true);
    let told: Vec<(&str, Length)> = lying.readings.iter().map(|it| (it.at.as_str(), it.read)).collect();
    assert_eq!(told[2], ("step to S4", Length::um(4)));
    assert_eq!(told.len(), 6);
    let shape = lying.rails[0].segments[0].shapes[UP].as_ref().expect("it was read");
    // Heights 0, 1, 0, 4, 4, 2, 2 µm without their line, which least squares by the normal equations take off.
    let heights = [0.0, 1.0, 0.0, 4.0, 4.0, 2.0, 2.0];
    let mean = heights.iter().sum::<f64>() / 7.0;
    let slope = (0..7).map(|n| (n as f64 - 3.0) * heights[n]).sum::<f64>() / 28.0;
    for (n, height) in heights.into_iter().enumerate() {
        let expected = (height - mean - slope * (n as f64 - 3.0)) / 1000.0;
        let found = shape.spline.value(200.0 * n as f64);
        assert!((found - expected).abs() < 1e-9, "{found} and not {expected} at {n}");
        // How far each station follows each step: summed independently, and the line of that taken off.
        for step in 1..=6_usize {
            let moved: Vec<f64> = (0..7).map(|at| if at >= step { 1.0 } else { 0.0 }).collect();
            let mean = moved.iter().sum::<f64>() / 7.0;
            let slope = (0..7).map(|at| (at as f64 - 3.0) * moved[at]).sum::<f64>() / 28.0;
            let expected = moved[n] - mean - slope * (n as f64 - 3.0);
            let weights = shape.from[n].iter().filter(|(reading, _)| *reading == step - 1);
            let found: f64 = weights.map(|(_, weight)| weight).sum();
            assert!((found - expected).abs() < 1e-9, "{found} and not {expected}: {n}, step {step}");
        }
    }
    // 3 µm/m over 200 mm are 0.6 µm; of two repeats the mean.
    let unsure: Vec<f64> = lying.readings.iter().filter_map(|it| it.uncertainty).collect();
    assert!((unsure[0] - 0.0006).abs() < 1e-9 && (unsure[2] - 0.0006 / 2_f64.sqrt()).abs() < 1e-9, "{unsure:?}");
}

/// Steps of 100 mm between supports, each with its slope in µm/m, and whether the eighth support was set in between.
fn read_again(again: &str) -> Ledger {
    let level = vec![0.0; 14];
    let text = format!(
        "{GAUGES}\nmachine m {{ axis X {{ rail a {{ segment 1400; supports S first=0 pitch=100 count=15 }} }} }}\n\
         fasten X.a date=\"2026-04-10\" by=fitter-2 stage=full setting=10.5 {{ clicked S1..S15 }}\n\
         survey straightness X.a date=\"2026-04-15\" by=inspector-1 gauge=AC stage=as-fitted {{ {} }}\n\
         loosen X.a date=\"2026-04-16\" by=fitter-2 reason=\"S8 lies low\" {{ at S8 }}\n\
         fasten X.a date=\"2026-04-16\" by=fitter-2 stage=full setting=10.5 {{ clicked S8 }}\n\
         survey straightness X.a date=\"2026-04-17\" by=inspector-1 gauge=AC stage=service {{ {again} }}\n",
        steps(&level)
    );
    judge(&[("machine.kdl", &text)], &[]).ledger
}

#[test]
fn steps_that_are_read_again_are_tied_to_the_heights_before() {
    // S8 was lifted by 2 µm, and the autocollimator stands aslant by 40 µm/m.
    let slopes = [40.0, 40.0, 40.0, 60.0, 20.0, 40.0, 40.0, 40.0];
    let rows = slopes.iter().zip(5..).map(|(slope, at)| format!("at S{at} (um.m-1){slope}"));
    let ledger = read_again(&format!("angles from=S4 base=100; {}", rows.collect::<Vec<_>>().join("; ")));
    let id = RailId { axis: 0, rail: 0 };
    let planes = CurrentSurveys::planes(&ledger, id, SurveyKind::Straightness);
    let state = planes[0].latest().and_then(|record| planes[0].tied(record)).expect("it is tied");
    let found: Vec<i64> = state.stations.iter().map(|station| length(station.value).nm()).collect();
    let mut expected = vec![0; 15];
    expected[7] = 2000;
    assert_eq!(found, expected);
    // Each height of it is as unsure as the middle one of its steps, and the tie adds to that: never surer than one survey of all
    // fourteen, by the matrix of covariances.
    let (survey, _) = state.survey().expect("a survey");
    let zone = minimum_zone(&survey).expect("a zone");
    let unsure = survey_doubt::of_zone(&ledger, &ledger.rulebook, state, &zone).map(Uncertainty::expanded);
    assert!(unsure.expect("its gauge is known") as f64 > least_sure_by_matrix(14, 300.0, 200.0));
}

#[test]
fn steps_that_misfit_what_was_known_are_not_tied() {
    // A kink of 200 µm/m at S6, where nothing was loosened: 20 µm at 100 mm.
    let slopes = [0.0, 0.0, 200.0, 200.0, 200.0, 200.0, 200.0, 200.0];
    let rows = slopes.iter().zip(5..).map(|(slope, at)| format!("at S{at} (um.m-1){slope}"));
    let ledger = read_again(&format!("angles from=S4 base=100; {}", rows.collect::<Vec<_>>().join("; ")));
    let planes = CurrentSurveys::planes(&ledger, RailId { axis: 0, rail: 0 }, SurveyKind::Straightness);
    let why = planes[0].partial.first().map(|of| of.why.words()).expect("it is partial");
    assert!(why.contains("misfits by"), "{why}");
}
