//! Life, carriage statics and the cost of joints, against worked examples, statics by hand and plain sampling.

use crate::calc::carriage::{
    BlockLoad, CarriageBlock, CarriageError, FREE_FALL, Force, Motion, Offset, Point, RigidCarriage, inertia, weight,
};
use crate::calc::derivation::Origin;
use crate::calc::joint_life::{
    BlockLife, CrossedJoint, JointLifeError, JointOffset, LoadCase, Rider, StrokeMm, joint_life,
};
use crate::calc::life::{
    LifeError, LifeOrigins, Portion, Rating, Reliability, combined_load, cubic_mean, derive_cubic_mean, derive_life,
    static_safety,
};
use proptest::prelude::*;

/// 90 %, the reliability of a rated life.
fn rated() -> Reliability {
    Reliability::new(90).expect("in the table")
}

/// The block that is worn out first on the joints as measured: its index.
fn weakest(blocks: &[BlockLife]) -> Option<usize> {
    let lives = blocks.iter().enumerate().filter_map(|(n, block)| Some((n, block.with?.kilometres)));
    lives.min_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(n, _)| n)
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
fn the_cubic_mean_of_a_spectrum() {
    // Computed once by hand; a regression only: (0.3·2891³ + 0.2·4459³ + 0.5·3479³)^⅓.
    let spectrum = [(0.3, 2891.0), (0.2, 4459.0), (0.5, 3479.0)].map(|(share, load_n)| Portion { share, load_n });
    assert_eq!(format!("{:.2}", cubic_mean(&spectrum).expect("a mean")), "3583.93");
    assert_eq!(cubic_mean(&[Portion { share: 1.0, load_n: 7.0 }]).map(f64::round), Ok(7.0));
    assert!(matches!(cubic_mean(&spectrum[..2]), Err(LifeError::Shares { .. })));
    assert!(matches!(cubic_mean(&[]), Err(LifeError::Shares { .. })));
    for (share, load_n) in [(1.5, 1.0), (1.0, -1.0), (f64::NAN, 1.0), (1.0, f64::INFINITY)] {
        let odd = [Portion { share, load_n }, Portion { share: 1.0 - share, load_n: 1.0 }];
        assert!(cubic_mean(&odd).is_err(), "{share} {load_n}");
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
    assert_eq!(combined_load(-3.0, 4.0), 7.0);
}

fn point(x: f64, y: f64, z: f64) -> Point {
    Point { x, y, z }
}

fn corners(half_x: f64, half_y: f64) -> RigidCarriage {
    let at = [(1.0, -1.0), (1.0, 1.0), (-1.0, -1.0), (-1.0, 1.0)];
    let blocks = at.map(|(x, y)| CarriageBlock::alike(point(x * half_x, y * half_y, 0.0)));
    RigidCarriage::new(blocks.to_vec()).expect("a carriage")
}

#[test]
fn four_supports_under_an_eccentric_load() {
    // Statics of a rigid platform on four equal supports, 6 ft by 4 ft, 100 t at 2 ft and 1 ft off its middle: published
    // rounded 54/29/21/−4; 25 ± 16.67 ± 12.5 by hand.
    let carriage = corners(3.0, 2.0);
    let load = Force { at: point(2.0, 1.0, 0.0), x: 0.0, y: 0.0, z: -100.0 };
    let loads = carriage.loads(&[load], Point::default()).expect("it stands");
    let found: Vec<String> = loads.iter().map(|load| format!("{:.2}", load.down)).collect();
    assert_eq!(found, ["29.17", "54.17", "-4.17", "20.83"]);
    let rounded: Vec<f64> = loads.iter().map(|load| load.down.round()).collect();
    assert_eq!(rounded, [29.0, 54.0, -4.0, 21.0]);
    assert!(loads.iter().all(|load| load.right.abs() < 1e-9));
}

#[test]
fn acceleration_and_gravity_load_the_blocks() {
    // By hand: 100 kg, centre 200 mm above the drive and the blocks, 5 m/s²: the moment 500 N · 200 mm shifts
    // 100 000/(2·400) = 125 N from each front block to each rear one, 400 mm apart.
    let carriage = corners(200.0, 150.0);
    let centre = point(0.0, 0.0, 200.0);
    let level = weight(100.0, centre, [0.0, 0.0, -3.0]).expect("a direction");
    assert_eq!((level.z * 1000.0).round(), -980_665.0);
    let loads = carriage.loads(&[level, inertia(100.0, centre, 5.0)], Point::default()).expect("it stands");
    let each = 100.0 * FREE_FALL / 4.0;
    for (load, shift) in loads.iter().zip([-125.0, -125.0, 125.0, 125.0]) {
        assert!((load.down - (each + shift)).abs() < 1e-9, "{loads:?}");
    }
    // A climbing axis: all weight is on the drive, and its lever of 200 mm on the blocks.
    let climbing = weight(100.0, centre, [-1.0, 0.0, 0.0]).expect("a direction");
    let loads = carriage.loads(&[climbing], Point::default()).expect("it stands");
    let shift = 100.0 * FREE_FALL * 200.0 / (2.0 * 400.0);
    for (load, sign) in loads.iter().zip([-1.0, -1.0, 1.0, 1.0]) {
        assert!((load.down - sign * shift).abs() < 1e-9, "{loads:?}");
    }
    // With the drive at the height of the centre, nothing is left for the blocks.
    let loads = carriage.loads(&[climbing], centre).expect("it stands");
    assert!(loads.iter().all(|load| load.down.abs() < 1e-9 && load.right.abs() < 1e-9));
    // A side force in front yaws the carriage: 100 N at x = 400 between blocks at ±200: front 50 + 50·… by hand
    // 100·(1/4 + 400·200/(4·200²)) = 75 and 100·(1/4 − 1/2) = −25 N each.
    let side = Force { at: point(400.0, 0.0, 0.0), x: 0.0, y: 100.0, z: 0.0 };
    let loads = carriage.loads(&[side], Point::default()).expect("it stands");
    for (load, right) in loads.iter().zip([75.0, 75.0, -25.0, -25.0]) {
        assert!((load.right - right).abs() < 1e-9 && load.down.abs() < 1e-9, "{loads:?}");
    }
    assert_eq!(weight(1.0, centre, [0.0; 3]), None);
}

#[test]
fn a_carriage_that_nothing_holds_is_an_error_only_under_load() {
    let two = RigidCarriage::new(vec![
        CarriageBlock::alike(point(-100.0, 0.0, 0.0)),
        CarriageBlock::alike(point(100.0, 0.0, 0.0)),
    ]);
    let two = two.expect("a carriage");
    let down = |y: f64| Force { at: point(50.0, y, 0.0), x: 0.0, y: 0.0, z: -400.0 };
    let loads = two.loads(&[down(0.0)], Point::default()).expect("a load over the rail needs no second one");
    assert!((loads[0].down - 100.0).abs() < 1e-9 && (loads[1].down - 300.0).abs() < 1e-9);
    assert_eq!(two.loads(&[down(1.0)], Point::default()), Err(CarriageError::Loose(Motion::Roll)));
    let one = RigidCarriage::new(vec![CarriageBlock::alike(point(7.0, 8.0, 9.0))]).expect("a carriage");
    let at = |x: f64| Force { at: point(x, 8.0, 9.0), x: 0.0, y: 0.0, z: -10.0 };
    assert!((one.loads(&[at(7.0)], Point::default()).expect("it stands")[0].down - 10.0).abs() < 1e-9);
    assert_eq!(one.loads(&[at(8.0)], Point::default()), Err(CarriageError::Loose(Motion::Pitch)));

    assert_eq!(RigidCarriage::new(vec![]), Err(CarriageError::NoBlocks));
    let soft = CarriageBlock { vertical: 0.0, ..CarriageBlock::alike(Point::default()) };
    assert!(matches!(RigidCarriage::new(vec![soft]), Err(CarriageError::Number(_))));
    assert!(matches!(
        RigidCarriage::new(vec![CarriageBlock::alike(point(f64::NAN, 0.0, 0.0))]),
        Err(CarriageError::Number(_))
    ));
    assert!(matches!(two.loads(&[down(f64::INFINITY)], Point::default()), Err(CarriageError::Number(_))));
    assert!(matches!(two.forced_loads(&[Offset::default()]), Err(CarriageError::Offsets { found: 1, blocks: 2 })));
}

/// The vector product of a lever and a force.
fn moment(at: Point, force: [f64; 3]) -> [f64; 3] {
    let [x, y, z] = force;
    [at.y * z - at.z * y, at.z * x - at.x * z, at.x * y - at.y * x]
}

/// What remains of forces and moments when blocks and drive push back.
fn imbalance(carriage: &RigidCarriage, forces: &[Force], drive: Point, loads: &[BlockLoad]) -> f64 {
    let mut sums = [0.0_f64; 6];
    let mut add = |at: Point, force: [f64; 3]| {
        let turned = moment(at, force);
        for n in 0..3 {
            sums[n] += force[n];
            sums[n + 3] += turned[n] / 100.0;
        }
    };
    forces.iter().for_each(|force| add(force.at, [force.x, force.y, force.z]));
    add(drive, [-forces.iter().map(|force| force.x).sum::<f64>(), 0.0, 0.0]);
    for (block, load) in carriage.blocks().iter().zip(loads) {
        add(block.at, [0.0, -load.right, load.down]);
    }
    sums.iter().fold(0.0, |most, sum| most.max(sum.abs()))
}

fn place() -> impl Strategy<Value = Point> {
    (-500.0..500.0, -300.0..300.0, -100.0..100.0).prop_map(|(x, y, z)| point(x, y, z))
}

fn any_force() -> impl Strategy<Value = Force> {
    (place(), -1e3..1e3, -1e3..1e3, -1e3..1e3).prop_map(|(at, x, y, z)| Force { at, x, y, z })
}

/// Two rails with any number of unlike blocks each, so that nothing is loose.
fn two_rails() -> impl Strategy<Value = RigidCarriage> {
    let block = (-500.0..500.0, 0.1..5.0, 0.1..5.0);
    (prop::collection::vec(block.clone(), 2..5), prop::collection::vec(block, 2..5), 100.0..400.0, -50.0..50.0)
        .prop_map(|(left, right, half, rise): (_, _, f64, f64)| {
            let rail = |blocks: Vec<(f64, f64, f64)>, y: f64, z: f64| {
                let mut at = -600.0;
                blocks
                    .into_iter()
                    .map(|(x, vertical, lateral)| {
                        at += 10.0 + x.abs();
                        CarriageBlock { at: point(at, y, z), vertical, lateral }
                    })
                    .collect::<Vec<_>>()
            };
            RigidCarriage::new([rail(left, -half, 0.0), rail(right, half, rise)].concat()).expect("a carriage")
        })
}

proptest! {
    #[test]
    fn forces_and_moments_balance(
        carriage in two_rails(),
        forces in prop::collection::vec(any_force(), 0..5),
        drive in place(),
    ) {
        let loads = carriage.loads(&forces, drive).expect("it stands");
        let left = imbalance(&carriage, &forces, drive, &loads);
        prop_assert!(left < 1e-6, "{left} left over of {loads:?}");
        // The springs give way as one rigid body: rails that had yielded by as much would add nothing.
        let yielded: Vec<Offset> = carriage.blocks().iter().zip(&loads).map(|(block, load)| Offset {
            up: -load.down / (1000.0 * block.vertical),
            right: load.right / (1000.0 * block.lateral),
        }).collect();
        let strain = carriage.forced_loads(&yielded).expect("numbers");
        let most = strain.iter().fold(0.0_f64, |most, load| most.max(load.down.abs()).max(load.right.abs()));
        prop_assert!(most < 1e-6, "the carriage is bent by {most} N");
    }

    #[test]
    fn what_rails_add_balances_and_is_least(
        carriage in two_rails(),
        offsets in prop::collection::vec((-0.1..0.1, -0.1..0.1), 8),
        rigid in (-0.1..0.1, -0.1..0.1, -1e-4..1e-4, -1e-4..1e-4, -1e-4..1e-4),
    ) {
        let blocks = carriage.blocks();
        let mut offsets: Vec<Offset> = offsets.into_iter().map(|(up, right)| Offset { up, right }).collect();
        offsets.truncate(blocks.len());
        offsets.resize(blocks.len(), Offset::default());
        let loads = carriage.forced_loads(&offsets).expect("numbers");
        prop_assert!(imbalance(&carriage, &[], Point::default(), &loads) < 1e-6);
        // A motion of both rails as one rigid body adds nothing.
        let (side, height, pitch, roll, yaw) = rigid;
        let moved: Vec<Offset> = blocks.iter().zip(&offsets).map(|(block, offset)| Offset {
            up: offset.up + height + pitch * block.at.x + roll * block.at.y,
            right: offset.right + side + yaw * block.at.x - roll * block.at.z,
        }).collect();
        let again = carriage.forced_loads(&moved).expect("numbers");
        for (a, b) in loads.iter().zip(&again) {
            prop_assert!((a.down - b.down).abs() < 1e-6 && (a.right - b.right).abs() < 1e-6);
        }
    }
}

#[test]
fn a_height_under_one_foot_of_four_adds_a_quarter_each() {
    // The design's formula: ±k·h/4 with k 200 N/µm and h 0.02 mm: ±1000 N, diagonal feet alike.
    let stiff = |block: &CarriageBlock| CarriageBlock { vertical: 200.0, lateral: 150.0, ..*block };
    let carriage = RigidCarriage::new(corners(180.0, 250.0).blocks().iter().map(stiff).collect()).expect("a carriage");
    let mut offsets = [Offset::default(); 4];
    offsets[0].up = 0.02;
    let loads = carriage.forced_loads(&offsets).expect("numbers");
    for (load, down) in loads.iter().zip([1000.0, -1000.0, -1000.0, 1000.0]) {
        assert!((load.down - down).abs() < 1e-6 && load.right.abs() < 1e-6, "{loads:?}");
    }
    // Across, the carriage yields and turns: the front pair share it by halves (k 150 N/µm · 0.02 mm / 2 = 1500 N), rear none.
    offsets[0] = Offset { up: 0.0, right: 0.02 };
    let loads = carriage.forced_loads(&offsets).expect("numbers");
    for (load, right) in loads.iter().zip([-1500.0, 1500.0, 0.0, 0.0]) {
        assert!((load.right - right).abs() < 1e-6 && load.down.abs() < 1e-6, "{loads:?}");
    }
}

/// A carriage of four blocks at ±180 mm on rails 0 and 1, 200 and 150 N/µm.
fn four() -> (RigidCarriage, Vec<Rider>) {
    let at = [(180.0, -250.0), (180.0, 250.0), (-180.0, -250.0), (-180.0, 250.0)];
    let blocks = at.map(|(x, y)| CarriageBlock { at: point(x, y, 0.0), vertical: 200.0, lateral: 150.0 });
    let riders = [0, 1, 0, 1].map(|rail| Rider { rail, rating: rating(18_100.0) });
    (RigidCarriage::new(blocks.to_vec()).expect("a carriage"), riders.to_vec())
}

fn still(share: f64, down: f64, right: f64) -> LoadCase {
    LoadCase { share, loads: vec![BlockLoad { down, right }; 4] }
}

#[test]
fn a_stroke_goes_from_one_place_to_another() {
    let carriage = corners(200.0, 150.0);
    let riders: Vec<Rider> = carriage.blocks().iter().map(|_| Rider { rail: 0, rating: rating(1e4) }).collect();
    for (from_mm, to_mm) in
        [(5.0, 5.0), (6.0, 5.0), (f64::NEG_INFINITY, 5.0), (5.0, f64::INFINITY), (f64::NAN, 5.0), (5.0, f64::NAN)]
    {
        let stroke = StrokeMm { from_mm, to_mm };
        let result = joint_life(&carriage, &riders, &[still(1.0, 400.0, 100.0)], &[], stroke, rated());
        assert!(
            matches!(result, Err(JointLifeError::Life(LifeError::Stroke { .. }))),
            "{from_mm} to {to_mm}: {result:?}"
        );
    }
}

const STROKE: StrokeMm = StrokeMm { from_mm: 500.0, to_mm: 5_500.0 };

#[test]
fn without_steps_joints_cost_nothing() {
    let (carriage, riders) = four();
    let joints = [CrossedJoint { rail: 0, at_mm: 3_000.0, offset: JointOffset::default() }];
    let lives = joint_life(&carriage, &riders, &[still(1.0, 400.0, 100.0)], &joints, STROKE, rated()).expect("lives");
    // ISO 14728-1 with P = 400 + 100 N.
    let expected = 100.0 * (18_100.0_f64 / 500.0).powi(3);
    for block in &lives {
        assert_eq!(block.with, block.without);
        assert!((block.with.expect("a life").kilometres / expected - 1.0).abs() < 1e-12);
        assert_eq!(block.greatest_n, 500.0);
    }
    let idle = joint_life(&carriage, &riders, &[still(1.0, 0.0, 0.0)], &[], STROKE, rated()).expect("lives");
    assert!(idle.iter().all(|block| block.with.is_none()));
    assert_eq!(weakest(&idle), None);
}

#[test]
fn a_step_costs_what_sampling_the_stroke_says() {
    // Our own model, done once more the slow way: half a million positions, ±k·h/4 and ±k·s/2 by hand.
    let (carriage, riders) = four();
    let cases = [still(0.6, 400.0, 50.0), still(0.4, -900.0, 0.0)];
    let (h, s) = (0.01, -0.004);
    let joint =
        CrossedJoint { rail: 1, at_mm: 2_000.0, offset: JointOffset { up: h, right: s, ..JointOffset::default() } };
    let lives = joint_life(&carriage, &riders, &cases, &[joint], STROKE, rated()).expect("lives");
    let (kv, kl) = (200_000.0, 150_000.0);
    // The foot past the joint is block 1: itself and its diagonal are pressed, the other two relieved.
    let down = [-1.0, 1.0, 1.0, -1.0].map(|sign| sign * kv * h / 4.0);
    let right = [1.0, -1.0, 0.0, 0.0].map(|sign| sign * kl * s / 2.0);
    let samples = 500_000;
    for block in 0..4 {
        let mut cubes = 0.0;
        for n in 0..samples {
            let position = 500.0 + 5_000.0 * (f64::from(n) + 0.5) / f64::from(samples);
            let astride = position + 180.0 > 2_000.0 && position - 180.0 <= 2_000.0;
            let on = if astride { 1.0 } else { 0.0 };
            for (share, v, l) in [(0.6, 400.0, 50.0), (0.4, -900.0, 0.0)] {
                let load: f64 = (v + on * down[block]).abs() + (l + on * right[block]).abs();
                cubes += share * load.powi(3);
            }
        }
        let mean = (cubes / f64::from(samples)).cbrt();
        assert!((lives[block].load_with_n / mean - 1.0).abs() < 1e-4, "{block}: {mean} against {:?}", lives[block]);
        assert!(
            (lives[block].load_without_n - (0.6 * 450.0_f64.powi(3) + 0.4 * 900.0_f64.powi(3)).cbrt()).abs() < 1e-9
        );
    }
}

#[test]
fn size_and_twist_press_the_rows_of_the_blocks_on_the_larger_profile() {
    let (carriage, riders) = four();
    let cases = [still(1.0, 100.0, 0.0)];
    let at = |offset| {
        let joint = CrossedJoint { rail: 0, at_mm: 3_000.0, offset };
        joint_life(&carriage, &riders, &cases, &[joint], STROKE, rated()).expect("lives")
    };
    let size = |size| at(JointOffset { size, ..JointOffset::default() });
    // By hand: q 0.005 mm, k 200 N/µm: 200 000 · 0.005/√2 = 707.1 N over 360 of 5000 mm.
    let pressed = 100.0 + 707.106_781;
    let mean = (0.072 * pressed * pressed * pressed + 0.928e6_f64).cbrt();
    let larger = size(0.005);
    assert!((larger[0].load_with_n - mean).abs() < 1e-3 && (larger[0].greatest_n - pressed).abs() < 1e-3);
    for other in [1, 2, 3] {
        assert_eq!(larger[other].load_with_n.round(), 100.0);
    }
    // Smaller behind the joint: the rear block, still on the larger profile, is the pressed one.
    let smaller = size(-0.005);
    assert!((smaller[2].load_with_n - mean).abs() < 1e-3 && smaller[0].load_with_n.round() == 100.0);
    let twisted = at(JointOffset { twist: -0.005, ..JointOffset::default() });
    assert!((twisted[0].load_with_n - mean).abs() < 1e-3);
    assert_eq!(weakest(&larger), Some(0));
    assert_eq!(weakest(&smaller), Some(2));
}

#[test]
fn joints_beyond_the_stroke_and_mistakes() {
    let (carriage, riders) = four();
    let cases = [still(1.0, 400.0, 0.0)];
    let offset = JointOffset { up: 0.02, ..JointOffset::default() };
    let run = |riders: &[Rider], cases: &[LoadCase], joints: &[CrossedJoint], stroke| {
        joint_life(&carriage, riders, cases, joints, stroke, rated())
    };
    // The rear block reaches 5320 mm at most and the front one starts at 680 mm.
    for at_mm in [5_690.0, 300.0, 9_000.0] {
        let lives = run(&riders, &cases, &[CrossedJoint { rail: 0, at_mm, offset }], STROKE).expect("lives");
        assert!(lives.iter().all(|block| block.with == block.without), "{at_mm}");
    }
    // A joint at the end of the stroke that only the front block passes costs from there to the end.
    let lives = run(&riders, &cases, &[CrossedJoint { rail: 0, at_mm: 5_600.0, offset }], STROKE).expect("lives");
    let mean = (0.984 * 400.0_f64.powi(3) + 0.016 * 1_400.0_f64.powi(3)).cbrt();
    assert!((lives[0].load_with_n - mean).abs() < 1e-6, "{lives:?}");

    assert!(run(&riders[1..], &cases, &[], STROKE).is_err());
    assert!(run(&riders, &[LoadCase { share: 1.0, loads: vec![] }], &[], STROKE).is_err());
    assert!(run(&riders, &[], &[], STROKE).is_err());
    for to_mm in [500.0, 0.0, f64::NAN, f64::INFINITY] {
        assert!(run(&riders, &cases, &[], StrokeMm { from_mm: 500.0, to_mm }).is_err());
    }
    let odd = CrossedJoint { rail: 0, at_mm: 1.0, offset: JointOffset { up: f64::NAN, ..offset } };
    assert_eq!(run(&riders, &cases, &[odd], STROKE), Err(JointLifeError::Joint));
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
    let portions = [(0.3, 2891.0), (0.2, 4459.0), (0.5, 3479.0)];
    let spectrum: Vec<_> =
        (70..).zip(portions).map(|(line, (share, load_n))| (Portion { share, load_n }, Origin::Place(line))).collect();
    let mean = derive_cubic_mean(&spectrum).expect("a mean");
    assert_eq!(mean.result, "3583.9");
    let reliability = Reliability::new(95).expect("in the table");
    let origins = life_origins(Origin::Derived(Box::new(mean)));
    let sheet = derive_life(rating(18_100.0), 3583.93, reliability, origins).expect("a life");
    insta::assert_snapshot!(sheet.to_text(|line| format!("machine.kdl:{line}")));
}
