//! Judges a plan against its task, rule by rule, from the plan's own figures. Shares no code with the planner.

use std::collections::BTreeMap;

use crate::calc::layout::plan::*;
use crate::calc::layout::requirement::Requirement;
use crate::calc::layout::task::*;

use super::brute::{Active, least_slack};

/// Panics, with what is wrong, when the plan breaks any rule or misstates any figure.
pub(crate) fn check(task: &LayoutTask, plan: &PlannedLayout) {
    let active: Active = Requirement::all_for(task).into_iter().collect();
    assert_eq!(plan.rails.len(), task.rails.len());
    (0..task.rails.len()).for_each(|rail| check_rail(task, plan, rail));
    check_stock(task, plan);
    let joints: Vec<Vec<i64>> =
        plan.rails.iter().map(|rail| rail.joints.iter().map(|joint| joint.at).collect()).collect();
    assert_eq!(plan.joints as usize, joints.iter().map(Vec::len).sum::<usize>());
    assert_eq!(plan.slack, least_slack(task, &active, &joints), "slack");
    assert!(plan.slack.is_none_or(|slack| slack >= 0), "a clearance is too small");
    assert_eq!(plan.slack.is_some(), !plan.binding.is_empty());
    for binding in &plan.binding {
        let (rail, joint) = binding.joint;
        let p = joints[rail][joint];
        // What binds, by itself, must have the stated slack.
        let alone = match binding.against {
            BindingTo::Seam(seam) => {
                assert_eq!(binding.requirement, Requirement::Seam { rail });
                Some((p - seam).abs() - task.rails[rail].seam_clearance)
            }
            BindingTo::Joint(other, index) => {
                let mut only = vec![Vec::new(); joints.len()];
                only[rail].push(p);
                only[other].push(joints[other][index]);
                least_slack(task, &Active::from([binding.requirement]), &only)
            }
        };
        assert_eq!(alone, plan.slack, "{binding:?}");
    }
}

fn check_rail(task: &LayoutTask, plan: &PlannedLayout, rail: usize) {
    let (spec, laid) = (&task.rails[rail], &plan.rails[rail]);
    let profile = &task.profiles[spec.profile];
    let mut at = task.from;
    for (i, segment) in laid.segments.iter().enumerate() {
        assert_eq!(segment.start, at, "segments follow each other");
        at += segment.length;
        assert!(segment.length >= profile.least_segment, "segment too short");
        assert_eq!(segment.holes.first(), Some(&(segment.start + segment.near)));
        assert_eq!(segment.holes.last(), Some(&(at - segment.far)));
        assert!(segment.holes.windows(2).all(|pair| pair[1] - pair[0] == profile.pitch));
        check_source(task, plan, (rail, i), segment);
        let is_owned = matches!(segment.source, SegmentSource::Owned { .. });
        let sawn_allowed = !is_owned && profile.cutting.is_some_and(|cutting| cutting.in_joints);
        let good_end = |distance| distance >= profile.least_end && profile.most_end.is_none_or(|most| distance <= most);
        if i == 0 {
            assert!(good_end(segment.near), "end distance at the start");
        } else {
            assert!(sawn_allowed || segment.near_end == EndKind::Ground, "sawn end in a joint");
            let before = &laid.segments[i - 1];
            let gap = segment.holes[0] - before.holes[before.holes.len() - 1];
            assert!((gap - profile.pitch).abs() <= profile.pattern_tolerance, "hole pattern breaks");
            assert_eq!(laid.joints[i - 1].at, segment.start);
        }
        if i + 1 == laid.segments.len() {
            assert!(good_end(segment.far), "end distance at the end");
        } else {
            assert!(sawn_allowed || segment.far_end == EndKind::Ground, "sawn end in a joint");
        }
    }
    assert_eq!(at, task.to, "the segments make up the run");
    assert_eq!(laid.joints.len() + 1, laid.segments.len());
    check_supports(task, rail, laid);
    for owned in task.owned.iter().enumerate().filter(|(_, owned)| owned.rail == Some(rail)) {
        let uses = laid.segments.iter().find(|segment| segment.source == SegmentSource::Owned { owned: owned.0 });
        let segment = uses.expect("an owned bar meant for this rail is used on it");
        assert!(owned.1.at.is_none_or(|at| segment.start == at));
    }
}

fn check_source(task: &LayoutTask, plan: &PlannedLayout, (rail, index): (usize, usize), segment: &PlannedSegment) {
    let of = task.rails[rail].profile;
    let profile = &task.profiles[of];
    let whole = match segment.source {
        SegmentSource::Whole { bar } => {
            let bar = &profile.stock[bar];
            (bar.length, bar.near, bar.far)
        }
        SegmentSource::Owned { owned } => {
            let owned = &task.owned[owned];
            assert_eq!(owned.profile, of);
            let end = |sawn| if sawn { EndKind::Sawn } else { EndKind::Ground };
            assert_eq!((segment.near_end, segment.far_end), (end(owned.near_sawn), end(owned.far_sawn)));
            assert_eq!((segment.length, segment.near, segment.far), (owned.length, owned.near, owned.far));
            return;
        }
        SegmentSource::Cut { cut } => {
            let cut = &plan.cuts[cut];
            let bar = &profile.stock[cut.bar];
            assert_eq!((cut.profile, cut.length), (of, bar.length));
            let piece = cut.pieces.iter().find(|piece| (piece.rail, piece.segment) == (rail, index)).expect("cut list");
            assert_eq!(piece.end - piece.start, segment.length);
            assert_eq!(segment.near_end == EndKind::Ground, piece.start == 0);
            assert_eq!(segment.far_end == EndKind::Ground, piece.end == bar.length);
            let holes = (0..).map(|i| bar.near + i * profile.pitch).take_while(|hole| *hole <= bar.length - bar.far);
            let inside: Vec<i64> = holes.filter(|hole| (piece.start..=piece.end).contains(hole)).collect();
            let moved: Vec<i64> = inside.iter().map(|hole| hole - piece.start + segment.start).collect();
            assert_eq!(moved, segment.holes, "the piece has the bar's holes");
            return;
        }
    };
    assert_eq!((segment.length, segment.near, segment.far), whole);
    assert_eq!((segment.near_end, segment.far_end), (EndKind::Ground, EndKind::Ground));
}

fn check_stock(task: &LayoutTask, plan: &PlannedLayout) {
    let mut bars: BTreeMap<(usize, usize), u32> = BTreeMap::new();
    let (mut bought, mut used, mut cut_segments) = (0, 0, 0);
    for (rail, laid) in plan.rails.iter().enumerate() {
        for segment in &laid.segments {
            if !matches!(segment.source, SegmentSource::Owned { .. }) {
                used += segment.length;
            }
            if let SegmentSource::Whole { bar } = segment.source {
                *bars.entry((task.rails[rail].profile, bar)).or_default() += 1;
            }
            cut_segments += usize::from(matches!(segment.source, SegmentSource::Cut { .. }));
        }
    }
    for cut in &plan.cuts {
        let profile = &task.profiles[cut.profile];
        let cutting = profile.cutting.expect("cutting is allowed");
        let bar = &profile.stock[cut.bar];
        *bars.entry((cut.profile, cut.bar)).or_default() += 1;
        cut_segments -= cut.pieces.len();
        assert!(cut.pieces.windows(2).all(|pair| pair[1].start - pair[0].end >= cutting.kerf), "room for the blade");
        for piece in &cut.pieces {
            assert!(0 <= piece.start && piece.start < piece.end && piece.end <= bar.length);
            assert_eq!((piece.end - piece.start) % cutting.grid, 0);
            let holes = (0..).map(|i| bar.near + i * profile.pitch).take_while(|hole| *hole <= bar.length - bar.far);
            for hole in holes {
                let clear = |from: i64, to: i64| {
                    hole <= from - cutting.hole_keep && hole != from || hole >= to + cutting.hole_keep && hole != to
                };
                assert!(piece.start == 0 || clear(piece.start - cutting.kerf, piece.start), "cut through a hole");
                assert!(piece.end == bar.length || clear(piece.end, piece.end + cutting.kerf), "cut through a hole");
            }
        }
    }
    assert_eq!(cut_segments, 0, "every cut segment is on the cut list once");
    for line in &plan.order {
        let bar = &task.profiles[line.profile].stock[line.bar];
        assert_eq!(line.length, bar.length);
        assert!(bar.count.is_none_or(|count| line.count <= count), "more bars than there are");
        assert_eq!(bars.remove(&(line.profile, line.bar)), Some(line.count), "order list");
        bought += line.length * i64::from(line.count);
    }
    assert!(bars.is_empty(), "bars used but not ordered: {bars:?}");
    assert_eq!(plan.waste, bought - used, "waste");
    for owned in 0..task.owned.len() {
        let uses = plan.rails.iter().flat_map(|rail| &rail.segments);
        assert_eq!(
            uses.filter(|segment| segment.source == SegmentSource::Owned { owned }).count(),
            1,
            "owned bars are used"
        );
    }
}

fn check_supports(task: &LayoutTask, rail: usize, laid: &RailPlan) {
    let supports = &task.rails[rail].supports;
    let pitch = task.profile_of(rail).pitch;
    let mut both: Vec<SupportSpec> = laid.supports.iter().chain(&laid.dropped).copied().collect();
    both.sort_by_key(|support| (support.at, support.covers));
    let inside = supports.grid.iter().copied().filter(|s| (task.from..task.to).contains(&s.at));
    assert_eq!(both, inside.collect::<Vec<_>>(), "supports are kept or left out");
    assert!(laid.dropped.is_empty() || supports.may_drop, "a support that must stay is left out");
    let mut all: Vec<(i64, i64)> = laid.supports.iter().map(|s| (s.at, s.covers)).collect();
    for (i, joint) in laid.joints.iter().enumerate() {
        assert_eq!(joint.support.is_some(), supports.joint_covers.is_some());
        let (Some(centre), Some(covers)) = (joint.support, supports.joint_covers) else { continue };
        assert!((centre - joint.at).abs() <= supports.off_centre);
        let held = |holes: &[i64]| {
            let inside = |hole: &&i64| 2 * (*hole - centre).abs() + 2 * supports.edge <= covers;
            holes.iter().filter(inside).count() as i64
        };
        for segment in [&laid.segments[i], &laid.segments[i + 1]] {
            assert!(held(&segment.holes) >= supports.joint_bolts, "bolts of a rail end in the joint support");
        }
        all.push((centre, covers));
    }
    all.sort_unstable();
    let joint_at: Vec<i64> = laid.joints.iter().filter_map(|joint| joint.support).collect();
    for pair in all.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let with_joint = joint_at.contains(&a.0) || joint_at.contains(&b.0);
        assert!(!with_joint || 2 * (b.0 - a.0) >= a.1 + b.1, "supports overlap");
        if let (Some(most), true) = (supports.most_spacing, supports.joint_covers.is_some()) {
            assert!(b.0 - a.0 <= most, "supports too far apart");
        }
    }
    for support in &laid.supports {
        let segment = laid.segments.iter().rev().find(|segment| segment.start <= support.at).expect("a segment");
        let half = support.covers / 2 - supports.edge;
        let held = segment.holes.iter().filter(|hole| (*hole - support.at).abs() <= half).count();
        assert!(held >= supports.grid_bolts, "bolts of a support");
    }
    assert!(pitch > 0);
}
