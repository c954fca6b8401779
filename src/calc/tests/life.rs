//! Life and static safety against worked examples and the standard's table.

use crate::calc::derivation::Origin;
use crate::calc::life::{LifeError, LifeOrigins, Rating, Reliability, derive_life, static_safety};

/// 90 %, the reliability of a rated life.
fn rated() -> Reliability {
    Reliability::new(90).expect("in the table")
}

fn rating(dynamic_n: f64) -> Rating {
    Rating::new(dynamic_n, 100.0).expect("a rating")
}

#[test]
fn rated_life_follows_the_worked_example() {
    // U. C. Jindal, Machine Design, example 18-2: C 5590 N; (C/P)³ is 57.3 for 1450 N and 43.46 for 1590 N.
    for (load, cubed) in [(1450.0, "57.3"), (1590.0, "43.46")] {
        let life = rating(5590.0).life(load, rated()).expect("a life");
        let places = cubed.split_once('.').map_or(0, |(_, behind)| behind.len());
        assert_eq!(format!("{:.places$}", life.kilometres / 100.0), cubed);
    }
    // ISO 14728-1: at P = C the life is the basis.
    let life = rating(5590.0).life(5590.0, rated()).expect("a life");
    assert_eq!(life.kilometres, 100.0);
}

#[test]
fn a_rating_for_fifty_kilometres_is_a_quarter_higher() {
    // ISO 14728-1: C50 = 1.26 · C100, rounded from the cube root of two; the block's life stays what it is.
    let by_100 = rating(18_100.0);
    let c_50 = 18_100.0 * 2.0_f64.cbrt();
    let by_50 = Rating::new(c_50, 50.0).expect("a rating");
    let (a, b) = (by_100.life(2_000.0, rated()), by_50.life(2_000.0, rated()));
    let (a, b) = (a.expect("a life").kilometres, b.expect("a life").kilometres);
    assert!((a / b - 1.0).abs() < 1e-12);
    // Read as if for 100 km, a 50 km rating doubles the life by mistake.
    let mistaken = rating(c_50).life(2_000.0, rated()).expect("a life").kilometres;
    assert!((mistaken / a - 2.0).abs() < 1e-12);
    assert!(by_50.is_beyond_half(9_051.0) && !by_50.is_beyond_half(9_049.0));
    // Half of it is not beyond half of it.
    assert!(!by_100.is_beyond_half(9_050.0) && by_100.is_beyond_half(9_050.001));
}

#[test]
fn reliability_comes_from_the_stated_table() {
    // ISO 14728-1, table of the reliability factor.
    for (percent, factor) in [90, 95, 96, 97, 98, 99].into_iter().zip([1.0, 0.62, 0.53, 0.44, 0.33, 0.21]) {
        let reliability = Reliability::new(percent).expect("in the table");
        let life = rating(1000.0).life(1000.0, reliability).expect("a life");
        assert_eq!(life.kilometres, 100.0 * factor, "{percent}");
    }
    for percent in [0, 89, 91, 94, 100, 255] {
        assert_eq!(Reliability::new(percent), Err(LifeError::Reliability { percent }));
    }
}

#[test]
fn loads_and_ratings_without_sense_are_refused() {
    for value in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(Rating::new(value, 100.0).is_err());
        assert!(Rating::new(100.0, value).is_err());
        assert!(rating(1.0).life(value, rated()).is_err());
        assert!(static_safety(value, 1.0).is_err() && static_safety(1.0, value).is_err());
    }
    assert!(matches!(rating(1e300).life(1e-300, rated()), Err(LifeError::Unbounded { .. })));
    // So small that it is nothing at all.
    assert!(matches!(rating(1e-300).life(1e300, rated()), Err(LifeError::Unbounded { .. })));
    // ISO 14728-2: C0/P0.
    assert_eq!(static_safety(29_500.0, 5_900.0), Ok(5.0));
}

fn life_origins(load: Origin<u32>) -> LifeOrigins<u32> {
    LifeOrigins {
        rating: Origin::Place(12),
        basis: Origin::Assumed("100 km, nothing said"),
        load,
        reliability: Origin::Place(55),
    }
}

#[test]
fn a_life_says_where_it_comes_from() {
    let reliability = Reliability::new(95).expect("in the table");
    let origins = life_origins(Origin::Place(70));
    let sheet = derive_life(rating(18_100.0), 3583.93, reliability, origins).expect("a life");
    insta::assert_snapshot!(sheet.to_text(|line| format!("machine.kdl:{line}")));
}
