//! Uncertainty, guard bands and expansion against published figures.

use crate::calc::exact::Ratio;
use crate::calc::expansion::{Coefficient, at_reference, difference, growth};
use crate::calc::uncertainty::{
    GuardBand, GuardBasis, Limits, Proof, Variance, Verdict, conformity_probability, dial_indicator_errors, judge,
    normal_cdf, provable_torque, wrench_deviation_ppm,
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

#[test]
fn a_step_takes_the_local_error_once_and_the_resolution_twice() {
    // By hand: 5²/3 + 2·10²/12 = 25 µm², so u = 5 µm and U = 10 µm.
    let u = Variance::step(5_000, 10_000);
    assert_eq!(u.expanded(), 10_000);
    // With 0.002 graduation: 25/3 + 2·4/12 = 9 µm², U = 6 µm.
    assert_eq!(Variance::step(5_000, 2_000).expanded(), 6_000);
    // The design's warning: the whole-range figure (8 µm) taken twice makes U 15 µm and nothing provable.
    let twice = Variance::reading(8_000, 10_000).and(Variance::reading(8_000, 10_000));
    assert_eq!(twice.expanded().div_euclid(1_000), 15);
    // Rounded up: U² = 4/3 for an error of 1.
    assert_eq!(Variance::permissible_error(1).expanded(), 2);
    assert_eq!(Variance::ZERO.expanded(), 0);
    assert_eq!(Variance::standard(2_500.0).expanded(), 5_001);
    assert_eq!(Variance::standard(f64::NAN).expanded(), i64::MAX);
}

#[test]
fn verdicts_follow_the_guard_band() {
    // Decision rule of ISO 14253-1: proven inside within the limits reduced by U, outside beyond the limits raised by U.
    let limits = Limits::between(10_000, 20_000);
    let guard = GuardBand::expanded(Variance::step(5, 2));
    assert_eq!((guard.width(), guard.basis()), (6, GuardBasis::Expanded));
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
        assert_eq!(judge(value, limits, guard), Verdict { inside, proof }, "{value}");
    }
    // Without a guard band every value is proven one way or the other.
    assert_eq!(judge(20_000, limits, GuardBand::NONE), Verdict { inside: true, proof: Proof::Inside });
    assert_eq!(judge(20_001, limits, GuardBand::NONE), Verdict { inside: false, proof: Proof::Outside });
    // A band wider than the limits proves nothing inside.
    assert_eq!(judge(15_000, limits, GuardBand::stated(5_001)).proof, Proof::Undecided);
    assert_eq!(judge(i64::MAX, Limits::at_most(i64::MAX), GuardBand::stated(i64::MAX)).proof, Proof::Undecided);
}

#[test]
fn the_normal_distribution_matches_its_table() {
    // NIST/SEMATECH e-Handbook 1.3.6.7.1 gives the area from 0 to z to five digits.
    for (z, area) in [(0.0, 0.0), (0.5, 0.19146), (1.0, 0.34134), (1.4, 0.41924), (1.96, 0.47500), (3.0, 0.49865)] {
        assert!((normal_cdf(z) - 0.5 - area).abs() < 5.1e-6, "{z}");
        assert!((normal_cdf(-z) - 0.5 + area).abs() < 5.1e-6, "-{z}");
    }
    // More digits, from memory of the same function: erfc in the far tail and near the change of method.
    assert!((normal_cdf(-6.0) / 9.865_876_450_376_98e-10 - 1.0).abs() < 1e-12);
    assert!((normal_cdf(1.0) - 0.841_344_746_068_542_9).abs() < 1e-14);
    let (below, above) = (normal_cdf(-3.535_533_905), normal_cdf(-3.535_533_906));
    assert!(below >= above && (below - above) / below < 1e-8);
}

#[test]
fn conformity_probability_matches_the_worked_example() {
    // JCGM 106, example as remembered: lower limit 5.40, measured 5.47, u = 0.05: Φ(1.40) = 0.9192.
    let p = conformity_probability(5.47, 0.05, Some(5.40), None);
    assert!((p - 0.9192).abs() < 5e-5, "{p}");
    // ILAC-G8:09/2019: w = 0 accepts falsely up to 50 %, w = U under 2.5 %.
    assert!((conformity_probability(20.0, 5.0, None, Some(20.0)) - 0.5).abs() < 1e-15);
    let at_guard = 1.0 - conformity_probability(20.0 - 2.0 * 5.0, 5.0, None, Some(20.0));
    assert!(at_guard < 0.025 && at_guard > 0.022);
    // Without uncertainty it is the plain comparison, and the limits conform.
    for (value, conforms) in [(0.9, 0.0), (1.0, 1.0), (1.5, 1.0), (2.0, 1.0), (2.1, 0.0)] {
        assert_eq!(conformity_probability(value, 0.0, Some(1.0), Some(2.0)), conforms, "{value}");
        assert_eq!(conformity_probability(value, 0.0, Some(1.0), None), if value < 1.0 { 0.0 } else { 1.0 }, "{value}");
        assert_eq!(conformity_probability(value, 0.0, None, Some(2.0)), if value > 2.0 { 0.0 } else { 1.0 }, "{value}");
    }
    // Both limits: what is above the upper one and what is below the lower one are taken off; Φ(1) = 0.841345 (table).
    let p = conformity_probability(1.5, 0.5, Some(1.0), Some(2.0));
    assert!((p - (2.0 * 0.841_345 - 1.0)).abs() < 2e-6, "{p}");
}

#[test]
fn a_wrench_of_four_percent_proves_little_of_a_narrow_window() {
    // ISO 6789-1, class A: ±4 % above 10 N·m greatest torque, ±6 % up to 10.
    assert_eq!(wrench_deviation_ppm(20_000, 10_000), 40_000);
    assert_eq!(wrench_deviation_ppm(10_000, 10_000), 60_000);
    // By hand, in mN·m: 10/0.96 = 10.4167 rounded up, 11/1.04 = 10.5769 rounded down.
    let (low, high) = provable_torque(10_000, 11_000, 40_000).unwrap();
    assert_eq!((low, high), (10_417, 10_576));
    let true_range = |reading: i64| (reading as f64 * 0.96, reading as f64 * 1.04);
    assert!(true_range(low).0 >= 10_000.0 && true_range(low - 1).0 < 10_000.0);
    assert!(true_range(high).1 <= 11_000.0 && true_range(high + 1).1 > 11_000.0);
    // Snug, 1–2 N·m with a ±6 % wrench; and a window that ±6 % cannot prove.
    assert_eq!(provable_torque(1_000, 2_000, 60_000), Some((1_064, 1_886)));
    assert_eq!(provable_torque(10_000, 11_000, 60_000), None);
    assert_eq!(provable_torque(10, 11, 1_000_000), None);
    // Where the quotients are whole, so are the readings: 960 / 0.96 and 1040 / 1.04. No torque is a torque, less is none.
    assert_eq!(provable_torque(960, 1_040, 40_000), Some((1_000, 1_000)));
    assert_eq!(provable_torque(0, 1_040, 40_000), Some((0, 1_000)));
    assert_eq!(provable_torque(-1, 1_040, 40_000), None);
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
    assert_eq!(growth(six, Coefficient::STEEL, from, to), Ok(Ratio::whole(690_000)));
    assert_eq!(growth(six, Coefficient::ALUMINIUM_6060, from, to), Ok(Ratio::whole(1_404_000)));
    let apart = difference(six, Coefficient::STEEL, Coefficient::ALUMINIUM_6060, from, to).unwrap();
    assert_eq!(apart, Ratio::whole(714_000));
    // ISO 1: what grew from 20 °C measures the same again at 20 °C.
    assert_eq!(at_reference(six + 690_000, Coefficient::STEEL, 30_000), Ok(Ratio::whole(six.into())));
    assert!(
        at_reference(six, Coefficient(600_000), 30_000).is_ok()
            && at_reference(six, Coefficient(600_001), 30_000).is_err()
    );
    assert_eq!(growth(1, Coefficient::STEEL, 20_000, 20_001), Ok(Ratio::new(11_500, 1_000_000_000_000).unwrap()));
    assert!(growth(i64::MAX, Coefficient::STEEL, 0, 1).is_err());
    assert!(growth(1, Coefficient(i64::MIN), 0, 1).is_err());
    assert!(growth(1, Coefficient::STEEL, i64::MIN, i64::MAX).is_err());
}
