//! The elastic carriage against an independent solution, statics and a wave in closed form.

use super::independent::{PlainBlock, PlainSegment, solve};
use super::{Dice, near};
use crate::calc::motion::beam::{BeamHold, SegmentBeam};
use crate::calc::motion::carriage::{ElasticCarriage, ElasticError, SpringBlock};
use crate::calc::motion::frame::{BodyPoint, Five, PITCH, UP};
use crate::calc::motion::rails::{LyingRail, LyingSegment, ReadShape};
use crate::calc::motion::spline::Spline;

pub(super) fn read(points: &[(f64, f64)]) -> Option<ReadShape> {
    let spline = Spline::through(points)?;
    Some(ReadShape { spline, from: (0..points.len()).map(|_| Vec::new()).collect() })
}

pub(super) fn lying(segments: &[PlainSegment]) -> LyingRail {
    let one = |of: &PlainSegment| {
        let beam = |plane: usize| {
            let hold = |&(at, stiffness): &(f64, Option<f64>)| BeamHold { at, stiffness };
            let holds: Vec<BeamHold> = of.holds[plane].iter().map(hold).collect();
            of.rigidity[plane].and_then(|rigidity| SegmentBeam::new([of.from, of.to], &holds, rigidity))
        };
        LyingSegment {
            from: of.from,
            to: of.to,
            shapes: [read(&of.read[0]), read(&of.read[1])],
            beams: [beam(0), beam(1)],
            ..LyingSegment::default()
        }
    };
    LyingRail { segments: segments.iter().map(one).collect() }
}

pub(super) fn spring(of: &PlainBlock) -> SpringBlock {
    SpringBlock { at: of.at, rail: of.rail, length: of.length, springs: of.springs }
}

/// A machine of 1 to 4 rails and 1 to 12 blocks that hold every way.
fn machine(dice: &mut Dice) -> (Vec<PlainBlock>, Vec<Vec<PlainSegment>>) {
    let rails = dice.count(1, 4);
    let count = dice.count(1, 12);
    let moments = count < 4 || dice.between(0.0, 1.0) < 0.5;
    let across: Vec<(f64, f64)> =
        (0..rails).map(|_| (dice.between(-500.0, 500.0), dice.between(-100.0, 100.0))).collect();
    let blocks: Vec<PlainBlock> = (0..count)
        .map(|n| {
            let rail = n % rails;
            let turn = |dice: &mut Dice| if moments { dice.between(1e8, 1e9) } else { 0.0 };
            let springs = [
                dice.between(1e5, 8e5),
                dice.between(1e5, 8e5),
                if rails == 1 || moments { dice.between(1e8, 1e9) } else { 0.0 },
                turn(dice),
                turn(dice),
            ];
            // Far enough apart that nothing is nearly loose.
            let x = -300.0 + 97.0 * (n / rails) as f64 + 211.0 * (n % 2) as f64;
            PlainBlock {
                at: BodyPoint { x, y: across[rail].0, z: across[rail].1 },
                rail,
                length: dice.between(20.0, 150.0),
                springs,
            }
        })
        .collect();
    let rails = (0..rails)
        .map(|_| {
            let mut from = -200.0;
            (0..dice.count(1, 3))
                .map(|_| {
                    let to = from + dice.between(600.0, 1500.0);
                    let mut at = from + dice.between(10.0, 100.0);
                    let mut places = Vec::new();
                    while at < to {
                        places.push(at);
                        at += dice.between(80.0, 300.0);
                    }
                    let values = |dice: &mut Dice| places.iter().map(|at| (*at, dice.between(-0.05, 0.05))).collect();
                    let soft = dice.between(0.0, 1.0) < 0.5;
                    let hold = |dice: &mut Dice| {
                        let stiffness = |dice: &mut Dice| soft.then(|| dice.between(1e5, 2e6));
                        places.iter().map(|at| (*at, stiffness(dice))).collect()
                    };
                    let yields = dice.between(0.0, 1.0) < 0.7 && places.len() > 1;
                    let rigidity = |dice: &mut Dice| yields.then(|| dice.between(1e9, 1e10));
                    let segment = PlainSegment {
                        from,
                        to,
                        read: [values(dice), values(dice)],
                        holds: [hold(dice), hold(dice)],
                        rigidity: [rigidity(dice), rigidity(dice)],
                    };
                    from = to;
                    segment
                })
                .collect()
        })
        .collect();
    (blocks, rails)
}

#[test]
fn random_machines_are_solved_as_one_great_system() {
    let mut dice = Dice(19);
    for number in 0..60 {
        let (blocks, rails) = machine(&mut dice);
        let acts: Five = [
            dice.between(-2e3, 2e3),
            dice.between(-5e3, 5e3),
            dice.between(-5e5, 5e5),
            dice.between(-5e5, 5e5),
            dice.between(-5e5, 5e5),
        ];
        let lying: Vec<LyingRail> = rails.iter().map(|rail| lying(rail)).collect();
        let carriage = ElasticCarriage::new(blocks.iter().map(spring).collect()).expect("a carriage");
        for _ in 0..3 {
            let position = dice.between(200.0, 400.0);
            let (pose, passed) = solve(&blocks, &rails, position, acts);
            let standing = carriage.standing(&lying, position).expect("standing");
            let under = standing.under(&acts).expect("held");
            let forced = standing.forced(&carriage.feels(&lying, position));
            // Entries are held against the largest of their kind.
            let most = |of: &[Five], n: usize| of.iter().fold(0.0_f64, |most, of| most.max(of[n].abs()));
            let reach = |n: usize| if n < 2 { 1.0 } else { 1e-3 };
            let size = (0..5).fold(0.0_f64, |most, n| most.max(pose[n].abs() / reach(n)));
            for n in 0..5 {
                let off = (under.pose[n] + forced.pose[n] - pose[n]).abs();
                assert!(off <= 1e-9 * size * reach(n), "machine {number}, pose {n}: {off}");
            }
            for n in 0..5 {
                let size = most(&passed, n).max(most(&forced.passed, n)).max(1.0);
                for (block, passed) in passed.iter().enumerate() {
                    let off = (under.passed[block][n] + forced.passed[block][n] - passed[n]).abs();
                    assert!(off <= 1e-9 * size, "machine {number}, block {block}, way {n}: {off} of {size}");
                }
            }
            // Forces of the rails alone are in balance, and the blocks together pass on what acts.
            let (sum, none) = (standing.gather(&under.passed), standing.gather(&forced.passed));
            for n in 0..5 {
                let size = (0..5).fold(0.0_f64, |most, n| most.max(acts[n].abs()));
                assert!((sum[n] - acts[n]).abs() <= 1e-9 * size, "{sum:?} {acts:?}");
                assert!(none[n].abs() <= 1e-7 * size, "{none:?}");
            }
            // Energy: what rails force into the springs is never less than nothing.
            let feels = carriage.feels(&lying, position);
            let energy: f64 =
                feels.iter().zip(&forced.passed).map(|(a, b)| crate::calc::motion::frame::dot(a, b)).sum();
            assert!(energy <= 1e-9, "{energy}");
        }
    }
}

fn plain(x: f64, y: f64) -> SpringBlock {
    SpringBlock { at: BodyPoint { x, y, z: 0.0 }, rail: 0, length: 0.0, springs: [2e5, 3e5, 0.0, 0.0, 0.0] }
}

#[test]
fn four_blocks_at_the_corners_share_as_statics_says() {
    // Computed from statics, published rounded as 54, 29, 21 and −4: 100 t over supports 6 × 4 ft apart, 2 ft off the middle
    // along and 1 ft across.
    let corners = [(3.0, 2.0), (3.0, -2.0), (-3.0, 2.0), (-3.0, -2.0)];
    let carriage = ElasticCarriage::new(corners.map(|(x, y)| plain(x, y)).to_vec()).expect("a carriage");
    let standing = carriage.standing(&[], 0.0).expect("standing");
    let acts =
        crate::calc::motion::frame::work(BodyPoint { x: 0.0, y: 0.0, z: -100.0 }, BodyPoint { x: 2.0, y: 1.0, z: 0.0 });
    let answer = standing.under(&acts).expect("held");
    for (passed, share) in answer.passed.iter().zip([54.166_667, 29.166_667, 20.833_333, -4.166_667]) {
        near(-passed[UP], share, 1e-6);
    }
}

#[test]
fn what_nothing_resists_is_said() {
    let carriage = ElasticCarriage::new(vec![plain(-100.0, 0.0), plain(100.0, 0.0)]).expect("a carriage");
    let standing = carriage.standing(&[], 0.0).expect("standing");
    assert!(standing.under(&[0.0, -100.0, 0.0, 5e3, 0.0]).is_ok());
    let beside = standing.under(&[0.0, -100.0, 3e3, 0.0, 0.0]).expect_err("it would roll");
    assert!(matches!(beside, ElasticError::Loose(way) if way.starts_with("in roll")), "{beside}");
    let one = ElasticCarriage::new(vec![plain(0.0, 0.0)]).expect("a carriage");
    let fault = one.standing(&[], 0.0).expect("standing").under(&[0.0, -1.0, 0.0, 1.0, 0.0]).expect_err("it would nod");
    assert!(matches!(fault, ElasticError::Loose(way) if way.starts_with("in pitch")), "{fault}");
    // A rail far from the common point: roll about it is not resisted, and a load over it does not roll.
    let far = ElasticCarriage::new(vec![plain(-100.0, 9e4), plain(100.0, 9e4)]).expect("a carriage");
    let standing = far.standing(&[], 0.0).expect("standing");
    let over = |y: f64| {
        crate::calc::motion::frame::work(BodyPoint { x: 0.0, y: 0.0, z: -50.0 }, BodyPoint { x: 0.0, y, z: 0.0 })
    };
    assert!(standing.under(&over(9e4)).is_ok());
    assert!(standing.under(&over(9e4 + 10.0)).is_err());
    // With a moment stiffness it holds: the moment is passed on.
    let mut held = plain(100.0, 0.0);
    held.springs[2] = 4e8;
    let carriage = ElasticCarriage::new(vec![plain(-100.0, 0.0), held]).expect("a carriage");
    let answer = carriage.standing(&[], 0.0).expect("standing").under(&[0.0, -100.0, 3e3, 0.0, 0.0]).expect("held");
    near(answer.passed[1][2], 3e3, 1e-9);
    assert_eq!(ElasticCarriage::new(Vec::new()), Err(ElasticError::NoBlocks));
    let mut broken = plain(0.0, 0.0);
    broken.springs[0] = -1.0;
    assert_eq!(ElasticCarriage::new(vec![broken]), Err(ElasticError::Number("the stiffness of a block")));
}

/// A rail that waves, read so densely that the spline is the wave.
fn wave(size: f64, length: f64) -> LyingRail {
    let points: Vec<(f64, f64)> = (-400..=1400)
        .map(|n| f64::from(n) * 2.0)
        .map(|x| (x, size * (2.0 * std::f64::consts::PI * x / length).sin()))
        .collect();
    let segment = LyingSegment { from: -800.0, to: 2800.0, shapes: [None, read(&points)], ..LyingSegment::default() };
    LyingRail { segments: vec![segment] }
}

#[test]
fn a_waving_rail_moves_two_blocks_as_the_closed_form_says() {
    // Two blocks L apart on A sin(2πx/λ): the middle moves by A cos(πL/λ) sin, the slope is (2A/L) sin(πL/λ) cos; a block of
    // length ℓ feels the wave by sin(πℓ/λ)/(πℓ/λ). Trigonometry.
    use std::f64::consts::PI;
    let (size, apart, lambda) = (0.02, 360.0, 1000.0);
    let rails = [wave(size, lambda)];
    for length in [0.0, 78.0] {
        let block = |x: f64| SpringBlock { length, ..plain(x, 0.0) };
        let carriage = ElasticCarriage::new(vec![block(-apart / 2.0), block(apart / 2.0)]).expect("a carriage");
        let felt = if length == 0.0 { 1.0 } else { (PI * length / lambda).sin() / (PI * length / lambda) };
        for position in [400.0, 650.0, 777.0] {
            let standing = carriage.standing(&rails, position).expect("standing");
            let answer = standing.forced(&carriage.feels(&rails, position));
            let phase = 2.0 * PI * position / lambda;
            let (up, slope) = (
                size * felt * (PI * apart / lambda).cos() * phase.sin(),
                2.0 * size * felt / apart * (PI * apart / lambda).sin() * phase.cos(),
            );
            assert!((answer.pose[UP] - up).abs() < 1e-8 * size, "{} {up}", answer.pose[UP]);
            assert!((answer.pose[PITCH] + slope).abs() < 1e-8 * size / apart, "{} {slope}", answer.pose[PITCH]);
            // Two blocks on one rail are forced to nothing.
            assert!(answer.passed.iter().all(|passed| passed[UP].abs() < 1e-6));
        }
    }
}

#[test]
fn a_block_feels_the_least_squares_line_under_it() {
    let rails = [wave(0.02, 130.0)];
    let length = 78.0;
    let carriage = ElasticCarriage::new(vec![SpringBlock { length, ..plain(0.0, 0.0) }]).expect("a carriage");
    let feels = carriage.feels(&rails, 512.0)[0];
    // Least squares over many points of the wave itself.
    let (mut mean, mut cross, mut square) = (0.0, 0.0, 0.0);
    let count = 100_000;
    for n in 0..count {
        let t = ((f64::from(n) + 0.5) / f64::from(count) - 0.5) * length;
        let value = 0.02 * (2.0 * std::f64::consts::PI * (512.0 + t) / 130.0).sin();
        mean += value / f64::from(count);
        cross += t * value;
        square += t * t;
    }
    assert!((feels[UP] - mean).abs() < 1e-8);
    assert!((feels[PITCH] + cross / square).abs() < 1e-9);
}

#[test]
fn a_height_offset_under_one_foot_changes_all_four_loads_by_a_quarter() {
    // Four equal blocks at the corners, one rail foot higher by h: ±k h / 4 (statics of a rigid body on four springs).
    let corners = [(200.0, 300.0), (200.0, -300.0), (-200.0, 300.0), (-200.0, -300.0)];
    let carriage = ElasticCarriage::new(corners.map(|(x, y)| plain(x, y)).to_vec()).expect("a carriage");
    let standing = carriage.standing(&[], 0.0).expect("standing");
    let mut feels = vec![[0.0; 5]; 4];
    feels[0][UP] = 0.02;
    let answer = standing.forced(&feels);
    for (passed, sign) in answer.passed.iter().zip([-1.0, 1.0, 1.0, -1.0]) {
        near(passed[UP], sign * 3e5 * 0.02 / 4.0, 1e-9);
    }
    // A side offset s of one foot: ±k s / 2 on the two blocks at that place along the axis.
    let mut feels = vec![[0.0; 5]; 4];
    feels[0][0] = 0.02;
    let answer = standing.forced(&feels);
    near(answer.passed[0][0], -2e5 * 0.02 / 2.0, 1e-9);
    near(answer.passed[1][0], 2e5 * 0.02 / 2.0, 1e-9);
    assert!(answer.passed[2][0].abs() < 1e-6);
}
