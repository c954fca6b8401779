//! The order in which the supports of a rail are tightened: outward from each joint, on both of its sides, or one way along
//! the rail where its maker prescribes that.
//!
//! Outward, each support belongs to the joint nearest to it.

use crate::ledger::{Rail, Support};

/// A support of one side of a joint. Those of a side stand in order of their distance.
#[derive(Clone, Copy)]
pub(crate) struct Member {
    pub support: usize,
    /// From the joint, in nanometres; -1 for the joint's own support.
    pub distance: i64,
    /// It lies halfway between two joints and belongs to either.
    pub halfway: bool,
}

/// The supports on either side of a joint.
pub(crate) type Sides = [Vec<Member>; 2];

/// The supports of both sides of every joint, the joint's own first.
pub(crate) fn sides(rail: &Rail) -> Vec<Sides> {
    let mut sides: Vec<Sides> = rail.joints.iter().map(|_| [Vec::new(), Vec::new()]).collect();
    if sides.is_empty() {
        return sides;
    }
    for (index, support) in rail.supports.iter().enumerate() {
        let after = rail.joints.partition_point(|joint| joint.position <= support.at);
        if let Some(Some(joint)) = support.joint {
            for side in &mut sides[joint] {
                side.push(Member { support: index, distance: -1, halfway: false });
            }
            continue;
        }
        let far_of = after.checked_sub(1).map(|joint| (joint, (support.at - rail.joints[joint].position).nm()));
        let near_of = rail.joints.get(after).map(|joint| (after, (joint.position - support.at).nm()));
        let member = |distance, halfway| Member { support: index, distance, halfway };
        match (far_of, near_of) {
            (Some((before, back)), Some((joint, ahead))) if back == ahead => {
                sides[before][1].push(member(back, true));
                sides[joint][0].push(member(ahead, true));
            }
            (Some((before, back)), Some((_, ahead))) if back < ahead => sides[before][1].push(member(back, false)),
            (Some((before, back)), None) => sides[before][1].push(member(back, false)),
            (_, Some((joint, ahead))) => sides[joint][0].push(member(ahead, false)),
            (None, None) => {}
        }
    }
    for side in sides.iter_mut().flatten() {
        side.sort_by_key(|member| (member.distance, member.support));
    }
    sides
}

/// All supports of a rail from its near end to its far one.
pub(crate) fn along(rail: &Rail) -> Vec<Member> {
    let from = rail.supports.first().map_or(rail.from, |first| first.at);
    let member = |(support, it): (usize, &Support)| Member { support, distance: (it.at - from).nm(), halfway: false };
    rail.supports.iter().enumerate().map(member).collect()
}

/// The order of a rail as an instruction says it.
pub(crate) fn in_words(rail: &Rail) -> &'static str {
    if rail.tightened_along() { "one way along the rail" } else { "from the joint outward" }
}
