//! The load that wears a block.

use super::near;
use crate::calc::life::{Rating, Reliability, Rolling, together};
use crate::calc::motion::wear::WearingBlock;

fn block(preload: f64, rolling: Rolling) -> WearingBlock {
    WearingBlock {
        rolling,
        rating: Rating::new(18_100.0, 100.0).ok().map(|rating| rating.on(rolling)),
        preload,
        dynamic_levers: [0.05, 0.07, 0.07],
        static_levers: [0.04, 0.06, 0.06],
        stiffness: 4e5,
    }
}

#[test]
fn preload_counts_until_the_other_rows_lift() {
    let kind = block(500.0, Rolling::Balls);
    near(kind.equivalent(0.0, 500.0), 500.0, 1e-12);
    // 2^1.5 = 2.83 times the preload, the bound of makers' catalogues; there both branches meet.
    near(kind.lifts_at(500.0), 2.83 * 500.0, 1e-3);
    let lifts = kind.lifts_at(500.0);
    near(kind.equivalent(lifts * (1.0 - 1e-12), 500.0), lifts, 1e-9);
    assert_eq!(kind.equivalent(5000.0, 500.0), 5000.0);
    // Without preload a load is what it is.
    assert_eq!((kind.equivalent(700.0, 0.0), kind.equivalent(0.0, 0.0)), (700.0, 0.0));
    // The slope is that of small steps.
    for load in [0.0, 300.0, 1400.0, 2000.0] {
        let found = (kind.equivalent(load + 0.01, 500.0) - kind.equivalent(load, 500.0)) / 0.01;
        near(kind.equivalent_by(load, 500.0), found, 1e-4);
    }
}

#[test]
fn the_formula_is_near_two_hertz_springs() {
    // Hertz: two opposite rows of c δ^1.5, squeezed by δ0 to the preload each: c (δ0 + x)^1.5 − c (δ0 − x)^1.5 = F, solved by
    // halving; the pressed side carries c (δ0 + x)^1.5.
    let kind = block(1.0, Rolling::Balls);
    let mut worst = 0.0_f64;
    for n in 0..=400 {
        let load = 2.0_f64.powf(1.5) * f64::from(n) / 400.0;
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        for _ in 0..60 {
            let x = f64::midpoint(low, high);
            if (1.0 + x).powf(1.5) - (1.0 - x).powf(1.5) < load {
                low = x;
            } else {
                high = x;
            }
        }
        let exact = (1.0 + low).powf(1.5);
        worst = worst.max((kind.equivalent(load, 1.0) / exact - 1.0).abs());
    }
    assert!(worst <= 0.025, "{worst}");
    assert!(worst > 0.024, "closer than said: {worst}");
}

#[test]
fn moments_count_by_their_ratings() {
    let kind = block(0.0, Rolling::Balls);
    let passed = [-100.0, 200.0, -1000.0, 500.0, -200.0];
    near(WearingBlock::combined(&passed, &kind.dynamic_levers), 300.0 + 50.0 + 35.0 + 14.0, 1e-12);
    assert_eq!(WearingBlock::combined_by(&passed, &kind.dynamic_levers), [-1.0, 1.0, -0.05, 0.07, -0.07]);
    near(kind.preload_on(0.01), 4e5 * 0.01 / 2.0_f64.sqrt(), 1e-12);
    near(kind.twist_load(-0.01), 4e5 * 0.01 / 2.0_f64.sqrt(), 1e-12);
}

#[test]
fn rollers_live_by_ten_thirds() {
    // ISO 14728-1: exponent 10/3; the rating for 50 km is 1.23 times that for 100 km, for balls 1.26 times.
    let rated = Reliability::new(90).expect("in the table");
    for (rolling, factor) in [(Rolling::Rollers, 1.23), (Rolling::Balls, 1.26)] {
        let by_100 = Rating::new(10_000.0, 100.0).expect("a rating").on(rolling);
        let by_50 = Rating::new(10_000.0 * rolling.root(2.0), 50.0).expect("a rating").on(rolling);
        assert_eq!(format!("{:.2}", rolling.root(2.0)), format!("{factor}"));
        let (a, b) = (by_100.life(2500.0, rated), by_50.life(2500.0, rated));
        near(a.expect("a life").kilometres, b.expect("a life").kilometres, 1e-12);
        near(by_100.life(2500.0, rated).expect("a life").kilometres, 100.0 * 4.0_f64.powf(rolling.life()), 1e-12);
    }
}

#[test]
fn blocks_together_live_shorter() {
    // ISO 281 for systems of point contacts: n equal parts live n^−0.9 as long.
    near(together([1000.0; 4].into_iter(), Rolling::Balls).expect("a life"), 1000.0 * 4.0_f64.powf(-0.9), 1e-12);
    near(
        together([1000.0; 4].into_iter(), Rolling::Rollers).expect("a life"),
        1000.0 * 4.0_f64.powf(-8.0 / 9.0),
        1e-12,
    );
    assert_eq!(together(std::iter::empty(), Rolling::Balls), None);
}
