//! Uncertainty, guard bands and expansion against published figures.

use crate::calc::exact::Ratio;
use crate::calc::expansion::{Coefficient, difference};
use crate::calc::uncertainty::{
    GuardBand, LimitVerdict, Proof, Uncertainty, ValueLimits, Variance, dial_indicator_errors, judge,
};

#[test]
fn a_resolution_is_the_graduation_over_two_root_three() {
    // GUM F.2.2.1: u = d/(2√3) = 0.29 d.
    let u = Variance::resolution(10_000).standard_uncertainty();
    assert!((u - 10_000.0 / (2.0 * 3.0_f64.sqrt())).abs() < 1e-9);
    assert!((u / 10_000.0 - 0.29).abs() < 0.002);
    // GUM 4.3.7: a rectangular distribution of half-width a has u = a/√3 = 0.58 a.
    assert!((Variance::permissible_error(1_000_000).standard_uncertainty() / 1e6 - 0.577_350_269).abs() < 1e-9);
}

/// A step as it was always reckoned: the error once, the resolution twice, no scatter known.
fn step(error: i64, graduation: i64) -> Uncertainty {
    let marks = Variance::resolution(graduation);
    Uncertainty::known(Variance::permissible_error(error).and(marks).and(marks))
}

#[test]
fn a_step_takes_the_local_error_once_and_the_resolution_twice() {
    // By hand: 5²/3 + 2·10²/12 = 25 µm², so u = 5 µm and U = 10 µm.
    assert_eq!(step(5_000, 10_000).expanded(), 10_000);
    // With 0.002 graduation: 25/3 + 2·4/12 = 9 µm², U = 6 µm.
    assert_eq!(step(5_000, 2_000).expanded(), 6_000);
    // The design's warning: the whole-range figure (8 µm) taken twice makes U 15 µm and nothing provable.
    let reading = Variance::permissible_error(8_000).and(Variance::resolution(10_000));
    assert_eq!(Uncertainty::known(reading.and(reading)).expanded().div_euclid(1_000), 15);
    // Rounded up: U² = 4/3 for an error of 1.
    assert_eq!(Uncertainty::known(Variance::permissible_error(1)).expanded(), 2);
    assert_eq!(Uncertainty::default().expanded(), 0);
    // Beyond all reason nothing is proven.
    assert_eq!(Uncertainty::known(Variance::permissible_error(i64::MAX)).expanded(), i64::MAX);
}

#[test]
fn repeats_scatter_by_their_own_mean() {
    // GUM 4.2.2, three steps of 40, −30 and 20 µm by hand: mean 10, squares 900 + 1600 + 100 = 2600 µm², s² = 1300,
    // of the mean 433.3, u = 20.8 µm; t for 2 degrees is 4.53 (GUM table G.2), so U = 94.2 µm.
    let scatter = Variance::of_repeats(2_600_000_000, 2).of_mean(3);
    assert_eq!((scatter.standard_uncertainty() / 100.0).round(), 208.0);
    let mean = Uncertainty::estimated(scatter, 2);
    assert_eq!(mean.coverage_thousandths(), 4_527);
    assert!((94_200..94_300).contains(&mean.expanded()), "{}", mean.expanded());
    // An error of 3 µm beside it is no scatter: it adds, and has degrees enough.
    let all = mean.and_alike(Uncertainty::known(Variance::permissible_error(3_000)));
    assert!((94_500..94_700).contains(&all.expanded()), "{}", all.expanded());
    assert_eq!(all.degrees(), 2);
    // A stated deviation is as a whole known.
    assert_eq!(Uncertainty::known(Variance::of_deviation(1_000)).expanded(), 2_000);
    // √(1 + ¼ + ¼) of 1000 (GUM 5.1.2), the middle of a minimum zone.
    let thirds = [1.0, 0.5, 0.5].map(|share| Uncertainty::known(Variance::of_deviation(1_000).weighed(share)));
    let zone = thirds.into_iter().fold(Uncertainty::default(), Uncertainty::and_alike);
    assert_eq!(zone.expanded(), 2_450);
}

#[test]
fn verdicts_follow_the_guard_band() {
    // Decision rule of ISO 14253-1: proven inside within the limits reduced by U, outside beyond the limits raised by U.
    let limits = ValueLimits { least: Some(10_000), most: Some(20_000) };
    let guard = GuardBand::stated(step(5, 2).expanded());
    assert_eq!(guard.width(), 6);
    let expected = [
        (9_993, false, Proof::Outside),
        (9_994, false, Proof::Undecided),
        (10_000, true, Proof::Undecided),
        (10_005, true, Proof::Undecided),
        (10_006, true, Proof::Inside),
        (19_994, true, Proof::Inside),
        (19_995, true, Proof::Undecided),
        (20_006, false, Proof::Undecided),
        (20_007, false, Proof::Outside),
    ];
    for (value, inside, proof) in expected {
        assert_eq!(judge(value, limits, guard), LimitVerdict { inside, proof }, "{value}");
    }
    // Without a guard band every value is proven one way or the other.
    assert_eq!(judge(20_000, limits, GuardBand::stated(0)), LimitVerdict { inside: true, proof: Proof::Inside });
    assert_eq!(judge(20_001, limits, GuardBand::stated(0)), LimitVerdict { inside: false, proof: Proof::Outside });
    // A band wider than the limits proves nothing inside.
    assert_eq!(judge(15_000, limits, GuardBand::stated(5_001)).proof, Proof::Undecided);
    assert_eq!(judge(i64::MAX, ValueLimits::at_most(i64::MAX), GuardBand::stated(i64::MAX)).proof, Proof::Undecided);
}

#[test]
fn dial_indicator_defaults_are_those_of_the_standard() {
    // JIS B 7503:2011, graduation 0.01 mm: range up to 1/3/5/10 mm.
    let whole = |mm: i64| dial_indicator_errors(mm * 1_000_000).map(|e| e.whole_range_nm);
    assert_eq!([1, 3, 5, 10].map(whole), [8_000, 10_000, 12_000, 15_000].map(Some));
    assert_eq!((whole(0), whole(11)), (None, None));
    let errors = dial_indicator_errors(1_000_000).unwrap();
    assert_eq!((errors.repeatability_nm, errors.retrace_nm), (3_000, 3_000));
}

#[test]
fn six_metres_grow_as_the_coefficients_say() {
    // Computed from the coefficients: 6 m, 10 K: steel 0.690, aluminium 1.404, difference 0.714 mm.
    let six = 6_000_000_000;
    let (from, to) = (20_000, 30_000);
    // Beside a body that does not grow.
    let growth = |length, of, from, to| difference(length, Coefficient(0), of, from, to);
    assert_eq!(growth(six, Coefficient::STEEL, from, to), Ok(Ratio::whole(690_000)));
    assert_eq!(growth(six, Coefficient::ALUMINIUM_6060, from, to), Ok(Ratio::whole(1_404_000)));
    let apart = difference(six, Coefficient::STEEL, Coefficient::ALUMINIUM_6060, from, to).unwrap();
    assert_eq!(apart, Ratio::whole(714_000));
    assert!(
        growth(six, Coefficient(600_000), from, to).is_ok() && growth(six, Coefficient(600_001), from, to).is_err()
    );
    assert_eq!(growth(1, Coefficient::STEEL, 20_000, 20_001), Ok(Ratio::new(11_500, 1_000_000_000_000).unwrap()));
    assert!(growth(i64::MAX, Coefficient::STEEL, 0, 1).is_err());
    assert!(growth(1, Coefficient(i64::MIN), 0, 1).is_err());
    assert!(growth(1, Coefficient::STEEL, i64::MIN, i64::MAX).is_err());
}
