//! Student's distribution and effective degrees of freedom against published figures.

use crate::calc::coverage::{ENOUGH_DEGREES, coverage_thousandths, effective_degrees};
use crate::calc::uncertainty::{Uncertainty, Variance};

#[test]
fn k_is_students_t_at_95_45_percent() {
    // GUM (JCGM 100:2008) table G.2, column 95.45; the same rows stand in EA-4/02 table E.1. Those up to 10, 20 and 50 were
    // looked up, the others are from memory.
    let table = [
        (1, 13.97),
        (2, 4.53),
        (3, 3.31),
        (4, 2.87),
        (5, 2.65),
        (6, 2.52),
        (7, 2.43),
        (8, 2.37),
        (9, 2.32),
        (10, 2.28),
        (11, 2.25),
        (12, 2.23),
        (13, 2.21),
        (14, 2.20),
        (15, 2.18),
        (16, 2.17),
        (17, 2.16),
        (18, 2.15),
        (19, 2.14),
        (20, 2.13),
        (25, 2.11),
        (30, 2.09),
        (35, 2.07),
        (40, 2.06),
        (45, 2.06),
    ];
    for (degrees, printed) in table {
        let k = f64::from(coverage_thousandths(degrees)) / 1000.0;
        // Rounded up to thousandths here, to hundredths there.
        assert!((k - printed).abs() <= 0.0061, "{degrees}: {k} against {printed}");
    }
    assert_eq!(coverage_thousandths(0), coverage_thousandths(1));
    assert_eq!([ENOUGH_DEGREES, 51, u32::MAX].map(coverage_thousandths), [2_000; 3]);
    assert!(coverage_thousandths(ENOUGH_DEGREES - 1) > 2_050);
}

#[test]
fn k_holds_the_probability_that_it_is_named_for() {
    // Computed in another way: the density (1 + t²/ν)^(−(ν+1)/2) summed by Simpson's rule from 0 to k, against all of it.
    // With t = √ν tan θ the whole line is a finite stretch, and the density becomes cos^(ν−1) θ.
    let area = |degrees: u32, to: f64| {
        let steps = 20_000;
        let h = to / f64::from(steps);
        let f = |i: u32| (h * f64::from(i)).cos().powi(degrees as i32 - 1);
        let inner: f64 = (1..steps).map(|i| f(i) * if i % 2 == 1 { 4.0 } else { 2.0 }).sum();
        (f(0) + inner + f(steps)) * h / 3.0
    };
    for degrees in 1..ENOUGH_DEGREES {
        let share = |thousandths: u32| {
            let t = f64::from(thousandths) / 1000.0;
            let angle = (t / f64::from(degrees).sqrt()).atan();
            area(degrees, angle) / area(degrees, std::f64::consts::FRAC_PI_2)
        };
        let k = coverage_thousandths(degrees);
        assert!(share(k) >= 0.9545 - 1e-9, "{degrees}: {}", share(k));
        assert!(share(k - 1) < 0.9545 + 1e-9, "{degrees}: rounded up by more than a thousandth");
    }
}

#[test]
fn degrees_of_freedom_follow_welch_and_satterthwaite() {
    // GUM G.4.1, example, from memory: 0.25 %, 0.57 % and 0.82 % from 10, 5 and 15 readings make 1.03 %, with 19.0 degrees
    // of freedom.
    let square = |percent: u128| percent * percent;
    let parts = [(square(25), 9), (square(57), 4), (square(82), 14)];
    assert_eq!(effective_degrees(square(103), parts), 19);
    // A part that is the whole gives its own, and one that is a third of the variance nine times that.
    for degrees in 1..5 {
        assert_eq!(effective_degrees(7, [(7, degrees)]), degrees);
        assert_eq!(effective_degrees(21, [(7, degrees)]), 9 * degrees);
    }
    assert_eq!(effective_degrees(1, []), ENOUGH_DEGREES);
    assert_eq!(effective_degrees(u128::MAX, [(1, 1)]), ENOUGH_DEGREES);
    // Parts taken together one by one, as the formula for all at once.
    let of = |percent: i64, degrees| Uncertainty::estimated(Variance::of_deviation(percent), degrees);
    let by_one = of(25, 9).and(of(57, 4)).and(of(82, 14));
    assert!((18..=19).contains(&by_one.degrees()), "{}", by_one.degrees());
}

#[test]
fn one_more_reading_that_agrees_never_widens() {
    // Whatever else is known and however few the repeats: readings equal to the mean so far leave the squares as they are.
    for squares in [0u128, 1, 50_000_000, 2_600_000_000] {
        for error in [0, 1_000, 30_000] {
            for (mut degrees, mut count) in [(1u32, 1usize), (1, 2), (2, 3), (9, 1)] {
                let of = |degrees, count| {
                    let scatter = Variance::of_repeats(squares, degrees).of_mean(count);
                    let known = Uncertainty::known(Variance::permissible_error(error));
                    known.and_alike(Uncertainty::estimated(scatter, degrees)).expanded()
                };
                for _ in 0..60 {
                    let before = of(degrees, count);
                    (degrees, count) = (degrees + 1, count + 1);
                    assert!(of(degrees, count) <= before, "{squares} {error} {degrees} {count}");
                }
            }
        }
    }
}
