//! The whole way: means, greatest values, motion errors, and what each reading weighs in them.

use super::carriage::{lying, spring};
use super::independent::{PlainBlock, PlainSegment, solve};
use super::{Dice, near};
use crate::calc::life::{Rating, Reliability, Rolling};
use crate::calc::motion::carriage::ElasticCarriage;
use crate::calc::motion::cost::{TracedResult, by_reading, scatter};
use crate::calc::motion::frame::{BodyPoint, LEFT, PITCH, UP};
use crate::calc::motion::loads::ActingCase;
use crate::calc::motion::run::{Followed, Journey, MotionError, journey, wander};
use crate::calc::motion::wear::WearingBlock;

fn rated() -> Reliability {
    Reliability::new(90).expect("in the table")
}

/// Two rails of two segments each, four blocks, and every reading its own.
struct Gantry {
    blocks: Vec<PlainBlock>,
    rails: Vec<Vec<PlainSegment>>,
    cases: Vec<ActingCase>,
    yields: bool,
    step: f64,
}

impl Gantry {
    fn new(yields: bool) -> Self {
        let mut dice = Dice(5);
        let block = |n: usize| PlainBlock {
            at: BodyPoint {
                x: if n < 2 { 180.0 } else { -180.0 },
                y: if n.is_multiple_of(2) { -300.0 } else { 300.0 },
                z: 0.0,
            },
            rail: n % 2,
            length: 60.0,
            springs: [2e5, 3e5, 0.0, 4e8, 3e8],
        };
        let mut segment = |from: f64, to: f64| {
            let places: Vec<f64> =
                (0..).map(|n| from + 60.0 + 240.0 * f64::from(n)).take_while(|at| *at < to).collect();
            let mut values = || places.iter().map(|at| (*at, dice.between(-0.02, 0.02))).collect();
            let hold = || places.iter().map(|at| (*at, Some(1e6))).collect::<Vec<_>>();
            let rigidity = yields.then_some(4e9);
            PlainSegment {
                from,
                to,
                read: [values(), values()],
                holds: [hold(), hold()],
                rigidity: [rigidity, rigidity],
            }
        };
        let rails = vec![
            vec![segment(0.0, 1200.0), segment(1200.0, 3000.0)],
            vec![segment(0.0, 1800.0), segment(1800.0, 3000.0)],
        ];
        let cases = vec![
            ActingCase { share: 0.25, acts: [100.0, -2000.0, 1e5, -5e4, 2e4] },
            ActingCase { share: 0.75, acts: [0.0, -1500.0, 0.0, 2e5, 0.0] },
        ];
        Self { blocks: (0..4).map(block).collect(), rails, cases, yields, step: 25.0 }
    }

    /// Reading `n` is the n-th value of all segments.
    fn readings(&self) -> usize {
        self.rails.iter().flatten().map(|segment| segment.read[0].len() + segment.read[1].len()).sum()
    }

    fn shift(&mut self, reading: usize, by: f64) {
        let values = self.rails.iter_mut().flatten().flat_map(|segment| segment.read.iter_mut().flatten());
        values.enumerate().filter(|(n, _)| *n == reading).for_each(|(_, value)| value.1 += by);
    }

    fn journey(&self) -> Journey {
        let mut rails: Vec<_> = self.rails.iter().map(|rail| lying(rail)).collect();
        let mut next = 0;
        for shape in rails.iter_mut().flat_map(|rail| &mut rail.segments).flat_map(|segment| &mut segment.shapes) {
            for from in &mut shape.as_mut().expect("read").from {
                *from = vec![(next, 1.0)];
                next += 1;
            }
        }
        Journey {
            carriage: ElasticCarriage::new(self.blocks.iter().map(spring).collect()).expect("a carriage"),
            rails,
            cases: self.cases.clone(),
            stroke: [240.0, 2760.0],
            step: self.step,
        }
    }
}

fn wearing(preload: f64) -> Vec<WearingBlock> {
    let kind = WearingBlock {
        rolling: Rolling::Balls,
        rating: Rating::new(18_100.0, 100.0).ok(),
        preload,
        dynamic_levers: [0.05, 0.07, 0.07],
        static_levers: [0.04, 0.06, 0.06],
        stiffness: 3e5,
    };
    vec![kind; 4]
}

#[test]
fn the_mean_load_is_that_of_the_independent_solution() {
    let gantry = Gantry::new(true);
    let (way, kinds) = (gantry.journey(), wearing(900.0));
    let found = journey(&way, &kinds, rated()).expect("a journey");
    let places = way.places();
    let mut cubes = [0.0; 4];
    let mut most = [0.0_f64; 4];
    for (n, at) in places.iter().enumerate() {
        let ends = if n == 0 || n + 1 == places.len() { 0.5 } else { 1.0 };
        for case in &gantry.cases {
            let (_, passed) = solve(&gantry.blocks, &gantry.rails, *at, case.acts);
            for (block, f) in passed.iter().enumerate() {
                let load = f[0].abs() + f[1].abs() + 0.05 * f[2].abs() + 0.07 * (f[3].abs() + f[4].abs());
                let load = if load > 900.0 * 8.0_f64.sqrt() {
                    load
                } else {
                    900.0 * (1.0 + load / (900.0 * 8.0_f64.sqrt())).powf(1.5)
                };
                cubes[block] += case.share * ends / (places.len() - 1) as f64 * load.powi(3);
                most[block] = most[block].max(load);
            }
        }
    }
    for block in 0..4 {
        let measured = &found.blocks[block].measured;
        near(measured.mean, cubes[block].cbrt(), 1e-8);
        near(measured.greatest.load, most[block], 1e-8);
        near(measured.life.expect("a life").kilometres, 100.0 * (18_100.0 / measured.mean).powi(3), 1e-9);
    }
    let sum: f64 = found.blocks.iter().map(|of| of.measured.life.expect("a life").kilometres.powf(-10.0 / 9.0)).sum();
    near(found.together[1].expect("a life"), sum.powf(-0.9), 1e-9);
}

#[test]
fn what_each_reading_weighs_is_what_moving_it_does() {
    for yields in [false, true] {
        let mut gantry = Gantry::new(yields);
        assert_eq!(gantry.yields, yields);
        let (way, kinds, count) = (gantry.journey(), wearing(900.0), gantry.readings());
        let tool = Followed::Across(BodyPoint { x: 50.0, y: 100.0, z: 400.0 }, LEFT);
        let followed = [tool, Followed::Turn(PITCH)];
        let whole = journey(&way, &kinds, rated()).expect("a journey");
        let wanders = wander(&way, &followed).expect("a journey");
        let results = [
            TracedResult::Together,
            TracedResult::Load(1, &whole.blocks[1].measured.greatest),
            TracedResult::Forced(3, &whole.blocks[3].forced),
            TracedResult::Wander(followed[0], &wanders[0]),
            TracedResult::Wander(followed[1], &wanders[1]),
        ];
        let by = by_reading(&way, &kinds, &whole, &results, count).expect("weights");
        let values = |gantry: &Gantry| {
            let way = gantry.journey();
            let whole = journey(&way, &kinds, rated()).expect("a journey");
            let wanders = wander(&way, &followed).expect("a journey");
            [
                whole.together[1].expect("a life"),
                whole.blocks[1].measured.greatest.load,
                whole.blocks[3].forced.load,
                wanders[0].zone,
                wanders[1].zone,
            ]
        };
        let step = 1e-7;
        for reading in (0..count).step_by(3) {
            gantry.shift(reading, step);
            let up = values(&gantry);
            gantry.shift(reading, -2.0 * step);
            let down = values(&gantry);
            gantry.shift(reading, step);
            for (result, by) in by.iter().enumerate() {
                let slope = (up[result] - down[result]) / (2.0 * step);
                let most = by.iter().fold(0.0_f64, |most, by| most.max(by.abs()));
                let off = (slope - by[reading]).abs();
                assert!(off <= 2e-4 * most, "reading {reading}, result {result}: {slope} and {}", by[reading]);
            }
        }
        // Independent readings of 2 µm: u² is the sum of squares.
        let u = scatter(&by[2], &vec![2e-3; count]);
        near(u, 2e-3 * by[2].iter().map(|by| by * by).sum::<f64>().sqrt(), 1e-12);
    }
}

#[test]
fn a_larger_profile_presses_as_long_as_the_block_runs_on_it() {
    // A profile 4 µm larger at every groove from 1500 mm on, no other load: k q / √2 on each block over as much of the way.
    let mut gantry = Gantry::new(false);
    gantry.cases = vec![ActingCase { share: 1.0, acts: [0.0; 5] }];
    gantry.step = 1.0;
    let mut way = gantry.journey();
    for rail in &mut way.rails {
        for segment in &mut rail.segments {
            segment.shapes = [None, None];
        }
        rail.segments[1].larger = 0.004;
    }
    let found = journey(&way, &wearing(0.0), rated()).expect("a journey");
    let pressed = 3e5 * 0.004 / 2.0_f64.sqrt();
    // Block 0 passes 1200 mm with the carriage at 1020 mm, and runs on the larger segment for the other 1740 of 2520 mm.
    near(found.blocks[0].measured.greatest.load, pressed, 1e-12);
    near(found.blocks[0].measured.mean, pressed * (1740.0_f64 / 2520.0).cbrt(), 0.01);
    assert_eq!(found.blocks[0].nominal.life, None);
    // Twisted grooves press without preload too.
    for rail in &mut way.rails {
        rail.segments[1].larger = 0.0;
        rail.segments[1].twisted = -0.004;
    }
    let found = journey(&way, &wearing(0.0), rated()).expect("a journey");
    near(found.blocks[0].measured.greatest.load, pressed, 1e-12);
}

#[test]
fn where_rows_lift_is_said() {
    let gantry = Gantry::new(false);
    let way = gantry.journey();
    let lifts = |preload| -> Vec<bool> {
        let found = journey(&way, &wearing(preload), rated()).expect("a journey");
        found.blocks.iter().map(|of| of.lifts.is_some()).collect()
    };
    assert_eq!(lifts(50_000.0), [false; 4]);
    assert_eq!(lifts(100.0), [true; 4]);
    // Unknown preload: nothing can be said.
    assert_eq!(lifts(0.0), [false; 4]);
}

#[test]
fn motion_is_what_is_left_of_a_line() {
    // A rail that only rises moves nothing but the line; twice the shape moves twice as far; a mirrored machine mirrors.
    let mut gantry = Gantry::new(false);
    gantry.cases = vec![ActingCase { share: 1.0, acts: [0.0; 5] }];
    let up = Followed::Across(BodyPoint::default(), UP);
    let zone = |gantry: &Gantry| wander(&gantry.journey(), &[up]).expect("a journey")[0].zone;
    let once = zone(&gantry);
    assert!(once > 1e-3);
    for value in gantry.rails.iter_mut().flatten().flat_map(|segment| segment.read.iter_mut().flatten()) {
        value.1 *= 2.0;
    }
    near(zone(&gantry), 2.0 * once, 1e-9);
    for rail in &mut gantry.rails {
        for segment in rail {
            segment.read[1].iter_mut().for_each(|value| value.1 += 3e-4 * value.0 - 1.0);
        }
    }
    near(zone(&gantry), 2.0 * once, 1e-7);
    for rail in &mut gantry.rails {
        for segment in rail {
            segment.read[1].iter_mut().for_each(|value| value.1 = 3e-4 * value.0);
        }
    }
    assert!(zone(&gantry) < 1e-12);
}

#[test]
fn one_mass_moved_changes_the_blocks_as_a_lever_says() {
    let mut gantry = Gantry::new(false);
    gantry.cases = vec![ActingCase { share: 1.0, acts: [0.0, -1000.0, 0.0, 0.0, 0.0] }];
    for block in &mut gantry.blocks {
        block.springs = [2e5, 3e5, 0.0, 0.0, 0.0];
    }
    let loads = |gantry: &Gantry| {
        let found = journey(&gantry.journey(), &wearing(0.0), rated()).expect("a journey");
        found.blocks.iter().map(|of| of.nominal.greatest.load).collect::<Vec<_>>()
    };
    assert!(loads(&gantry).iter().all(|load| (load - 250.0).abs() < 1e-9));
    // 90 mm forward with blocks 360 mm apart: a quarter of the load goes from the rear pair to the front pair.
    gantry.cases[0].acts[PITCH] = 1000.0 * 90.0;
    for (load, expected) in loads(&gantry).iter().zip([375.0, 375.0, 125.0, 125.0]) {
        near(*load, expected, 1e-9);
    }
}

#[test]
fn a_journey_out_of_order_is_refused() {
    let gantry = Gantry::new(false);
    let mut way = gantry.journey();
    way.stroke = [100.0, 50.0];
    assert!(matches!(journey(&way, &wearing(0.0), rated()), Err(MotionError::Life(_))));
    let mut way = gantry.journey();
    way.cases[0].share = 0.5;
    assert!(matches!(journey(&way, &wearing(0.0), rated()), Err(MotionError::Life(_))));
    // A stroke of one place is one place.
    let mut way = gantry.journey();
    way.stroke = [500.0, 500.0];
    let found = journey(&way, &wearing(900.0), rated()).expect("a journey");
    assert_eq!(way.places(), [500.0]);
    assert!(found.blocks[0].measured.mean > 900.0);
    let rollers: Vec<_> = wearing(900.0)
        .into_iter()
        .map(|kind| WearingBlock {
            rolling: Rolling::Rollers,
            rating: kind.rating.map(|rating| rating.on(Rolling::Rollers)),
            ..kind
        })
        .collect();
    let other = journey(&way, &rollers, rated()).expect("a journey");
    assert!(other.blocks[0].measured.life > found.blocks[0].measured.life);
}

/// Balls and rollers beside each other have one life of all blocks, whichever is described first: the shorter one, by the
/// exponent of balls (common practice, no source).
#[test]
fn a_mixed_carriage_has_one_life_in_any_order() {
    let gantry = Gantry::new(true);
    let way = gantry.journey();
    let with = |rollers: &[usize]| {
        let mut kinds = wearing(900.0);
        rollers.iter().for_each(|block| kinds[*block].rolling = Rolling::Rollers);
        journey(&way, &kinds, rated()).expect("a journey")
    };
    let balls = |lives: &[f64]| lives.iter().map(|life| life.powf(-10.0 / 9.0)).sum::<f64>().powf(-0.9);
    for rollers in [&[0][..], &[3], &[1, 2], &[0, 1, 2]] {
        let found = with(rollers);
        let lives: Vec<f64> =
            found.blocks.iter().map(|block| block.measured.life.expect("a life").kilometres).collect();
        assert_eq!(found.rolling, Rolling::Balls);
        near(found.together[1].expect("a life"), balls(&lives), 1e-9);
    }
    assert_eq!(with(&[0, 1, 2, 3]).rolling, Rolling::Rollers);
}

/// A measurement: 14 m, four blocks, three cases and steps of 1 mm, on rails that yield, are to take 50 ms at most. The best of
/// several, since other work may go on beside it.
#[test]
#[ignore = "a measurement: cargo test --release --lib -- --ignored fourteen_metres --nocapture"]
#[expect(clippy::print_stdout, reason = "a measurement reports on the terminal")]
fn fourteen_metres_in_steps_of_a_millimetre() {
    let mut gantry = Gantry::new(true);
    for rail in &mut gantry.rails {
        let own = rail.clone();
        for further in [3000.0, 6000.0, 9000.0, 12_000.0] {
            rail.extend(own.iter().map(|segment| {
                let mut segment = segment.clone();
                segment.from += further;
                segment.to += further;
                segment.read.iter_mut().flatten().for_each(|(at, _)| *at += further);
                segment.holds.iter_mut().flatten().for_each(|(at, _)| *at += further);
                segment
            }));
        }
    }
    gantry.cases = [0.5, 0.3, 0.2].map(|share| ActingCase { share, ..gantry.cases[0] }).to_vec();
    let long = Journey { stroke: [300.0, 14_300.0], step: 1.0, ..gantry.journey() };
    assert_eq!((long.places().len(), long.carriage.blocks().len()), (14_001, 4));
    let times = (0..7).map(|_| {
        let start = std::time::Instant::now();
        let whole = journey(&long, &wearing(900.0), rated()).expect("a journey");
        let took = start.elapsed();
        assert!(whole.together[1].is_some_and(f64::is_finite));
        took
    });
    let best = times.min().expect("some");
    println!("best of 7: {best:?}");
    assert!(cfg!(debug_assertions) || best.as_millis() <= 50, "{best:?}");
}
