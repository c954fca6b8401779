//! The layout helpers against a handbook figure and against trying everything on small numbers.

use crate::calc::layout::clearance::*;
use crate::calc::layout::holes::*;
use crate::calc::layout::meeting::*;

const MM: i64 = 1_000_000;

/// Handbook formula n = ⌊L/T⌋, end distance (L − (n − 1)T)/2: L 3000, T 60 gives 50 holes and 30.
#[test]
fn holes_agree_with_the_handbook() {
    let holes = hole_positions(3000 * MM, 30 * MM, 60 * MM, 30 * MM).expect("whole pitches");
    assert_eq!((holes.len(), holes[0], holes[49]), (50, 30 * MM, 2970 * MM));
    assert_eq!(hole_positions(3000 * MM, 30 * MM, 60 * MM, 31 * MM), None);
}

/// Against a plain list of the holes, for every place on a short bar.
#[test]
fn holes_beside_a_cut_are_the_nearest_on_the_list() {
    for (length, near, pitch, far) in [(20, 3, 7, 3), (20, 0, 5, 0), (9, 4, 7, 5), (30, 5, 6, 1)] {
        let holes = hole_positions(length, near, pitch, far).expect("whole pitches");
        for at in 0..=length {
            let left = holes.iter().filter(|&&hole| hole <= at).map(|hole| at - hole).min();
            let right = holes.iter().filter(|&&hole| hole >= at).map(|hole| hole - at).min();
            assert_eq!(holes_beside(at, length, near, pitch, far), (left, right), "{length} {near} {pitch} at {at}");
        }
    }
}

/// Every multiset of whole bars and cut pieces, tried in order of size, on small numbers.
#[test]
fn fewest_segments_agree_with_trying_everything() {
    fn reach(run: i64, bars: &[i64], cuts: &[i64], pieces: usize, left: usize) -> bool {
        if run == 0 || left == 0 {
            return run == 0 && left == 0;
        }
        bars.iter().any(|bar| *bar <= run && reach(run - bar, bars, cuts, pieces, left - 1))
            || (pieces > 0 && cuts.iter().any(|cut| *cut <= run && reach(run - cut, bars, cuts, pieces - 1, left - 1)))
    }
    for bars in [&[5][..], &[4, 6], &[3, 7, 10], &[9, 6]] {
        for grid in [1, 2, 3, 4] {
            for pieces in 0..3 {
                let longest = *bars.iter().max().expect("bars");
                let cuts: Vec<i64> = (1..longest).filter(|cut| cut % grid == 0).collect();
                for run in 1..24 {
                    let tried = (1..9).find(|&n| reach(run, bars, &cuts, pieces, n));
                    let told = fewest_segments(run, bars, (pieces > 0).then_some((grid, pieces)));
                    assert_eq!(told, tried, "run {run} from {bars:?}, grid {grid}, {pieces} cut");
                }
            }
        }
    }
    assert_eq!(fewest_segments(40_020 * MM, &[3000 * MM, 2400 * MM, 1440 * MM], Some((60 * MM, 2))), Some(14));
    assert_eq!(fewest_segments(0, &[5], None), None);
}

fn coincide(a: &Meeting, b: &Meeting, margin: i64, stroke: Option<PositionRange>) -> bool {
    meeting_slack(a, b, margin, stroke) < 0
}

/// The definition itself, looked at point by point: on a quarter grid every open interval of whole or half ends shows.
#[test]
fn meetings_coincide_exactly_when_some_stroke_position_shares_them() {
    let shares = |a: &Meeting, b: &Meeting, margin: i64, stroke: PositionRange| {
        (stroke.from * 4..=stroke.to * 4).any(|c| {
            let covers = |m: &Meeting| (c - 4 * (m.joint - m.offset)).abs() < 2 * (m.length + margin);
            covers(a) && covers(b)
        })
    };
    let mut apart = 0;
    for joint in -9..10 {
        for (la, lb) in [(1, 1), (3, 4), (6, 1), (4, 4)] {
            for margin in 0..3 {
                for (from, to) in [(-20, 20), (0, 0), (-3, 2), (2, 6), (-30, -12)] {
                    let a = Meeting { joint: 1, offset: 2, length: la };
                    let b = Meeting { joint, offset: -1, length: lb };
                    let stroke = PositionRange { from, to };
                    let told = coincide(&a, &b, margin, Some(stroke));
                    assert_eq!(told, shares(&a, &b, margin, stroke), "{a:?} {b:?} {margin} {stroke:?}");
                    assert_eq!(told, coincide(&b, &a, margin, Some(stroke)));
                    // The slack is the greatest whole margin to spare.
                    let slack = meeting_slack(&a, &b, margin, Some(stroke));
                    if slack >= 0 {
                        apart += 1;
                        assert!(!coincide(&a, &b, margin + slack, Some(stroke)));
                        assert!(coincide(&a, &b, margin + slack + 1, Some(stroke)));
                    }
                }
            }
        }
    }
    assert!(apart > 100);
    // Staggered by the block spacing: the rear block meets one joint as the front block meets the other.
    let rear = Meeting { joint: 2400 * MM, offset: -180 * MM, length: 78 * MM };
    let front = Meeting { joint: 2760 * MM, offset: 180 * MM, length: 78 * MM };
    assert!(coincide(&rear, &front, 0, None));
    assert_eq!(meeting_slack(&rear, &front, 0, None), -78 * MM);
    assert_eq!(rear.centre(), 2580 * MM);
}

#[test]
fn clearances_are_distance_less_what_is_required() {
    assert_eq!(stagger_slack(2400 * MM, 1440 * MM, 78 * MM), 882 * MM);
    assert_eq!(stagger_slack(10, 10, 5), -5);
    assert_eq!(seam_slack(4800 * MM, 4860 * MM, 100 * MM), -40 * MM);
    assert_eq!(support_slack((0, 80), (240, 200)), 100);
    assert_eq!(support_slack((0, 3), (4, 4)), 0); // 4 − 3.5, rounded down
    assert_eq!(support_slack((0, 3), (3, 4)), -1); // 3 − 3.5, rounded down: overlaps
    assert_eq!(default_stagger(60, Some(78)), 78);
    assert_eq!(default_stagger(60, None), 60);
    assert_eq!(default_seam_clearance(201), 101);
    // trade geometry: 2 × (end distance + one pitch + edge distance)
    assert_eq!(joint_support_least(30 * MM, 60 * MM, 2, 10 * MM), 200 * MM);
    assert_eq!(pattern_break(30, 30, 60), 0);
    assert_eq!(pattern_break(30, 31, 60), 1);
}
