//! Groove causes against a joint built in three dimensions, and the riding block against a bed of springs.
//!
//! Nothing here uses the transform under test: rail ends are groove surfaces in space, the far one is moved as a rigid
//! body by rotation matrices, and a stylus is driven along a ray until it meets the surface.

use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

use crate::calc::carrier::{most_across, shows_whole_step, visible};
use crate::calc::grooves::{
    Culprit, FlankSide, GaugePlus, GrooveFacing, GrooveGeometry, GroovePosition, GrooveSteps, Pattern, RailEnd,
    StepRemedy, StylusDirection, cure, judge_dominance, rigid_causes,
};
use proptest::prelude::*;

type V = [f64; 3];

fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The far rail's pose: x along the axis, y to the right, z up; moved about the seat's middle at the joint.
#[derive(Debug, Clone, Copy)]
struct Pose {
    side: f64,
    height: f64,
    /// Clockwise as seen along x: the top goes right.
    roll: f64,
    yaw: f64,
    pitch: f64,
    size: f64,
}

const W: f64 = 10e6;
const H: f64 = 3e6;
const D: f64 = 14e6;

fn turn(pose: &Pose, v: V) -> V {
    let (s, c) = pose.roll.sin_cos();
    let v = [v[0], c * v[1] + s * v[2], -s * v[1] + c * v[2]];
    let (s, c) = pose.yaw.sin_cos();
    let v = [c * v[0] - s * v[1], s * v[0] + c * v[1], v[2]];
    let (s, c) = pose.pitch.sin_cos();
    [c * v[0] - s * v[2], v[1], s * v[0] + c * v[2]]
}

/// Point on the groove's line at x = 0 and outward normal of a groove in the rail's own frame, origin at the seat.
fn groove(left: bool, upper: bool, contact: GrooveFacing) -> (V, V) {
    let y = if left { -1.0 } else { 1.0 };
    let up = if upper { 1.0 } else { -1.0 };
    let facing = if contact == GrooveFacing::Outward { up } else { -up };
    ([0.0, y * W, D + up * H], [0.0, y * FRAC_1_SQRT_2, facing * FRAC_1_SQRT_2])
}

/// How far out, along the ray of the stylus, the groove surface lies: its tangent plane met by the ray.
fn touch(point: V, normal: V, from: V, ray: V) -> f64 {
    let to = [point[0] - from[0], point[1] - from[1], point[2] - from[2]];
    dot(to, normal) / dot(ray, normal)
}

/// Reads all four grooves just before and just past the joint, in whole nm, as the gauge would show it.
fn read(pose: &Pose, contact: GrooveFacing, stylus: StylusDirection, plus: GaugePlus) -> [i64; 4] {
    [(true, true), (false, true), (true, false), (false, false)].map(|(left, upper)| {
        let (point, normal) = groove(left, upper, contact);
        let ray = match stylus {
            StylusDirection::Square => normal,
            StylusDirection::Horizontal => [0.0, normal[1].signum(), 0.0],
            StylusDirection::Vertical => [0.0, 0.0, normal[2].signum()],
        };
        // The block rides wholly on the near rail, so both readings start from one height and side.
        let before = touch(point, normal, [-1e5, point[1], point[2]], ray);
        let grown = [point[0], point[1] + pose.size * normal[1], point[2] + pose.size * normal[2]];
        let moved = turn(pose, grown);
        let moved = [moved[0], moved[1] + pose.side, moved[2] + pose.height];
        let after = touch(moved, turn(pose, normal), [1e5, point[1], point[2]], ray);
        let proud = after - before;
        let shown = if plus == GaugePlus::Outward { proud } else { -proud };
        shown.round() as i64
    })
}

const CONTACTS: [GrooveFacing; 2] = [GrooveFacing::Outward, GrooveFacing::Inward];
const GAUGES: [GaugePlus; 2] = [GaugePlus::Outward, GaugePlus::Inward];
const STYLI: [StylusDirection; 3] = [StylusDirection::Square, StylusDirection::Horizontal, StylusDirection::Vertical];

proptest! {
    #[test]
    fn causes_are_the_pose_to_first_order(
        side in -50e3..50e3, height in -50e3..50e3, size in -20e3..20e3, roll in -2e-3..2e-3,
        yaw in -2e-5..2e-5, pitch in -2e-5..2e-5,
    ) {
        let pose = Pose { side, height, roll, yaw, pitch, size };
        let geometry = GrooveGeometry { half_width_nm: W as i64, half_height_nm: H as i64, seat_depth_nm: D as i64 };
        // Second order: every motion turned once more, a ray no longer quite along its normal; and yaw and pitch over
        // the 0.1 mm between joint and stylus, and rounding to whole nm.
        let moved = side.abs() + height.abs() + size.abs() + D * roll.abs();
        let small = 3.0 * (roll.abs() + yaw.abs() + pitch.abs()) * moved + 2e5 * (yaw.abs() + pitch.abs()) + 4.0;
        for contact in CONTACTS {
            for plus in GAUGES {
                for stylus in STYLI {
                    let steps = GrooveSteps::new(read(&pose, contact, stylus, plus), plus, stylus).unwrap();
                    let found = rigid_causes(&steps.patterns(contact), geometry, contact).unwrap();
                    let context = format!("{pose:?} {contact:?} {plus:?} {stylus:?} → {found:?}");
                    prop_assert!((found.roll - roll).abs() < small / (W - H), "roll {}", context);
                    prop_assert!((found.side_nm - side).abs() < 4.0 * small, "side {}", context);
                    prop_assert!((found.height_nm - height).abs() < small, "height {}", context);
                    prop_assert!((found.size_nm - size).abs() < small, "size {}", context);
                }
            }
        }
    }

    #[test]
    fn four_steps_are_the_sum_of_four_patterns(read in prop::array::uniform4(-90_000_i64..90_000)) {
        // Orthogonality: with amplitudes in quarters, each step returns exactly.
        let steps = GrooveSteps::new(read, GaugePlus::Outward, StylusDirection::Square).unwrap();
        let p = steps.patterns(GrooveFacing::Outward);
        let [h, s, t, z] = [p.height, p.side, p.twist, p.size].map(|a| a.to_f64());
        let back = [h - s + t + z, h + s - t + z, -h - s - t + z, -h + s + t + z];
        for (step, back) in read.iter().zip(back) {
            prop_assert_eq!(*step as f64, back);
        }
        // What is left when height and side are taken out is at most |twist| + |size|, and some groove has it.
        let left = [t + z, -t + z].map(f64::abs);
        prop_assert_eq!(left[0].max(left[1]), p.remaining(false).to_f64());
        prop_assert_eq!(z.abs(), p.remaining(true).to_f64());
    }
}

/// The table of signs in the trade notes, and a pose read by the built joint, agree on which pattern dominates.
#[test]
fn each_pure_pose_is_named_and_cured_towards_the_right_side() {
    let none = Pose { side: 0.0, height: 0.0, roll: 0.0, yaw: 0.0, pitch: 0.0, size: 0.0 };
    let expected = [
        (Pose { height: 30e3, ..none }, Pattern::Height, Some(FlankSide::Left), "LevelSeat { high: Far"),
        (Pose { height: -30e3, ..none }, Pattern::Height, None, "LevelSeat { high: Near"),
        (Pose { side: 30e3, ..none }, Pattern::Side, Some(FlankSide::Left), "PushToDatum { end: Far, towards: Left"),
        (Pose { side: 30e3, ..none }, Pattern::Side, Some(FlankSide::Right), "PushToDatum { end: Near, towards: Right"),
        (Pose { side: -30e3, ..none }, Pattern::Side, Some(FlankSide::Left), "PushToDatum { end: Near, towards: Left"),
        (Pose { side: -30e3, ..none }, Pattern::Side, Some(FlankSide::Right), "PushToDatum { end: Far, towards: Right"),
        (Pose { side: -30e3, ..none }, Pattern::Side, None, "BringOver { far_towards: Right"),
        (Pose { size: 22e3, ..none }, Pattern::Size, None, "MatchEnds { larger: Far"),
        (Pose { size: -22e3, ..none }, Pattern::Size, None, "MatchEnds { larger: Near"),
        // A turn about the grooves' own middle: roll about the seat and back sideways by roll · depth.
        (Pose { roll: 3e-3, side: -3e-3 * D, ..none }, Pattern::Twist, Some(FlankSide::Left), "SquareSeat"),
    ];
    for (pose, pattern, datum, text) in expected {
        for contact in CONTACTS {
            for plus in GAUGES {
                let steps = GrooveSteps::new(
                    read(&pose, contact, StylusDirection::Square, plus),
                    plus,
                    StylusDirection::Square,
                )
                .unwrap();
                let found = judge_dominance(&steps, contact, 15_000).unwrap();
                assert_eq!(found.culprit, Culprit::Pattern(pattern), "{pose:?} {contact:?}");
                let cure = cure(found.culprit, &steps.patterns(contact), datum).unwrap();
                assert!(format!("{cure:?}").starts_with(text), "{cure:?}");
                if let StepRemedy::LevelSeat { by, .. } | StepRemedy::PushToDatum { by, .. } = cure {
                    assert!((by.to_f64() - 30e3).abs() < 2.0, "{by:?}");
                }
            }
        }
    }
}

#[test]
fn a_cause_is_reported_from_half_the_limit_on() {
    let judged = |read| {
        let steps = GrooveSteps::new(read, GaugePlus::Outward, StylusDirection::Square).unwrap();
        judge_dominance(&steps, GrooveFacing::Outward, 20_000).map(|found| (found.over_limit, found.culprit))
    };
    assert_eq!(judged([10_000, 10_000, -10_000, -10_000]), None);
    assert_eq!(judged([10_001, 10_000, -10_000, -10_000]), Some((false, Culprit::Pattern(Pattern::Height))));
    assert_eq!(judged([20_001, 20_000, 20_000, 20_000]), Some((true, Culprit::Pattern(Pattern::Size))));
    assert_eq!(judged([1_000, 0, -25_000, 500]), Some((true, Culprit::OneGroove(GroovePosition::LowerLeft))));
    // Height and side in equal parts: UR + 2, LL − 2.
    assert_eq!(judged([0, 30_000, -30_000, 0]), Some((true, Culprit::Mixed)));
    assert_eq!(judged([0; 4]), None);
    assert!(GrooveSteps::new([i64::MIN, 0, 0, 0], GaugePlus::Inward, StylusDirection::Square).is_err());
}

#[test]
fn a_stylus_held_level_reads_root_two_of_the_step() {
    // 28 284 nm read level is a step of 19 999.6, inside 20 µm; one nm more is outside.
    for (read, inside) in [(28_284, true), (28_285, false), (-28_285, false)] {
        let steps = GrooveSteps::new([read, 0, 0, 0], GaugePlus::Outward, StylusDirection::Horizontal).unwrap();
        assert_eq!(steps.step(GroovePosition::UpperLeft).cmp_magnitude(20_000).is_le(), inside);
    }
    // Its height offset needs no root at all: the four quarters are the offset.
    let steps =
        GrooveSteps::new([30_000, 30_000, -30_000, -30_000], GaugePlus::Outward, StylusDirection::Vertical).unwrap();
    assert_eq!(steps.patterns(GrooveFacing::Outward).height_offset().away_from_zero_nm(), 30_000);
    assert_eq!(steps.patterns(GrooveFacing::Inward).height_offset().away_from_zero_nm(), -30_000);
    let cause = cure(Culprit::Pattern(Pattern::Height), &steps.patterns(GrooveFacing::Outward), None);
    assert!(matches!(cause, Some(StepRemedy::LevelSeat { high: RailEnd::Far, .. })));
}

#[test]
fn a_profile_that_shows_no_twist_gives_no_roll() {
    let steps = GrooveSteps::new([1, 2, 3, 4], GaugePlus::Outward, StylusDirection::Square).unwrap();
    let square = GrooveGeometry { half_width_nm: 5, half_height_nm: 5, seat_depth_nm: 9 };
    assert!(rigid_causes(&steps.patterns(GrooveFacing::Outward), square, GrooveFacing::Outward).is_none());
    assert!(rigid_causes(&steps.patterns(GrooveFacing::Inward), square, GrooveFacing::Inward).is_some());
}

/// A stiff block on four rows of springs, settled by least energy: five freedoms, normal equations, elimination.
///
/// Returns what the indicator on the block shows of the far rail's groove steps, as a difference of its two readings.
fn ride(steps: [f64; 4], across: f64, lead: f64) -> [f64; 4] {
    const SPRINGS: usize = 2_000;
    let rows = [(true, true), (false, true), (true, false), (false, false)];
    // Freedoms: side, height, roll about the grooves' middle, yaw, pitch. A spring at u along the block (length 1,
    // leading end +½) is compressed by how far the block moves inward along its normal against the groove's step.
    let along = |left, upper, u: f64| {
        let (point, n) = groove(left, upper, GrooveFacing::Outward);
        let (y, z) = (point[1] / W, (point[2] - D) / W);
        [n[1], n[2], n[1] * z - n[2] * y, n[1] * u, n[2] * u]
    };
    let mut normal = [[0.0; 6]; 5];
    for (row, &(left, upper)) in rows.iter().enumerate() {
        for i in 0..SPRINGS {
            let u = (i as f64 + 0.5) / SPRINGS as f64 - 0.5;
            let step = if u > 0.5 - across { steps[row] } else { 0.0 };
            let a = along(left, upper, u);
            for j in 0..5 {
                for k in 0..5 {
                    normal[j][k] += a[j] * a[k];
                }
                normal[j][5] += a[j] * step;
            }
        }
    }
    for pivot in 0..5 {
        let lead = normal[pivot];
        for (j, line) in normal.iter_mut().enumerate() {
            if j != pivot {
                let factor = line[pivot] / lead[pivot];
                line.iter_mut().zip(lead).for_each(|(cell, from)| *cell -= factor * from);
            }
        }
    }
    let freedoms: [f64; 5] = std::array::from_fn(|j| normal[j][5] / normal[j][j]);
    std::array::from_fn(|row| {
        let (left, upper) = rows[row];
        let carried: f64 = along(left, upper, 0.5 + lead).iter().zip(freedoms).map(|(a, f)| a * f).sum();
        steps[row] - carried
    })
}

#[test]
fn a_riding_block_hides_what_the_springs_say() {
    let signs = [
        (Pattern::Height, [1.0, 1.0, -1.0, -1.0]),
        (Pattern::Side, [-1.0, 1.0, -1.0, 1.0]),
        (Pattern::Twist, [1.0, -1.0, -1.0, 1.0]),
        (Pattern::Size, [1.0, 1.0, 1.0, 1.0]),
    ];
    for (pattern, steps) in signs {
        for across in [0.0, 0.1, 0.2, 0.35, 0.5, 0.9, 1.0] {
            for lead in [0.05, 0.2, 0.6] {
                for (shown, step) in ride(steps, across, lead).into_iter().zip(steps) {
                    let model = visible(pattern, across, lead);
                    assert!((shown / step - model).abs() < 2e-3, "{pattern:?} {across} {lead}: {shown} {model}");
                }
            }
        }
    }
    // The trade notes' figures for a height step, stylus 0.2 of a block length ahead: 52 %, 13 %, 0.
    for (across, percent) in [(0.1, 52.0), (0.2, 13.0), (1.0, 0.0)] {
        assert!((visible(Pattern::Height, across, 0.2) * 100.0 - percent).abs() < 0.5);
    }
}

#[test]
fn a_carriage_that_travels_as_far_as_it_reaches_may_ride_on_the_joint() {
    assert!(shows_whole_step(40, 39) && !shows_whole_step(40, 40) && shows_whole_step(40, -39));
    assert_eq!(most_across(40, 60, 100), 0.2);
    assert_eq!((most_across(40, 15, 78), most_across(0, 900, 78)), (0.0, 1.0));
}

#[test]
fn square_and_root_two_are_consistent() {
    // The same pure height, read square and level, is one and the same offset.
    let pose = Pose { side: 0.0, height: 40e3, roll: 0.0, yaw: 0.0, pitch: 0.0, size: 0.0 };
    for stylus in STYLI {
        let read = read(&pose, GrooveFacing::Outward, stylus, GaugePlus::Outward);
        let steps = GrooveSteps::new(read, GaugePlus::Outward, stylus).unwrap();
        assert!((steps.patterns(GrooveFacing::Outward).height_offset().to_f64() - 40e3).abs() < 1.0);
        let level = if stylus == StylusDirection::Square { 40e3 / SQRT_2 } else { 40e3 };
        assert!((read[0] as f64 - level).abs() <= 0.5);
    }
}
