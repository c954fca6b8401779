//! Whether full torque plainly went outward from a joint.
//!
//! It may say no too often, never too seldom: torque-order then follows the joint support by support.

use std::ops::Range;

use crate::ledger::{Rail, RailId};
use crate::rules::Case;
use crate::rules::facts::{Course, When};

/// The supports before a joint and beyond it that are nearer to it than to another one. One halfway to the next joint is
/// among those beyond.
#[derive(Clone)]
pub(crate) struct NearSupports {
    pub near: Range<usize>,
    pub far: Range<usize>,
}

pub(crate) fn reach(rail: &Rail, joint: usize) -> NearSupports {
    let (joints, supports) = (&rail.joints, &rail.supports);
    let position = joints[joint].position;
    let at = |support: usize| supports[support].at;
    let middle = supports.partition_point(|support| support.at < position);
    let before = joint.checked_sub(1).map(|before| joints[before].position);
    let near =
        (0..middle).rev().take_while(|it| before.is_none_or(|before| position - at(*it) < at(*it) - before)).count();
    let after = joints.get(joint + 1).map(|after| after.position);
    let far = (middle..supports.len())
        .take_while(|it| after.is_none_or(|after| at(*it) - position <= after - at(*it)))
        .count();
    NearSupports { near: middle - near..middle, far: middle..middle + far }
}

/// Whether full torque went outward from a joint: told without following each side, and `false` where that takes a
/// closer look.
pub(crate) fn plainly_outward(case: &Case, id: RailId, joint: usize, reach: &NearSupports) -> bool {
    let (rail, courses) = (case.machine.rail(id), case.courses(id));
    let NearSupports { near, far } = reach.clone();
    let of_no_joint = |support: &usize| rail.supports[*support].joint.flatten().is_none();
    let own = || rail.joints[joint].support.into_iter();
    // One halfway between two joints is early only where it is so on both sides.
    case.order_is_certain()
        && outward(courses, own().chain(near.rev().filter(of_no_joint)))
        && outward(courses, own().chain(far.filter(of_no_joint)))
}

/// Whether none of some supports got its full torque before the first one of any that stands before it.
fn outward(courses: &[Course], mut supports: impl Iterator<Item = usize>) -> bool {
    let mut latest: Option<When> = None;
    supports.all(|support| {
        let Course { first, current, .. } = courses[support];
        let in_order = current.is_none() || current >= latest;
        latest = latest.max(first);
        // Loosening a whole side would start its order anew.
        in_order && !courses[support].slackened
    })
}
