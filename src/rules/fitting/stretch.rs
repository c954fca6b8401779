//! When the supports of a stretch of rail got full torque: what the order of tightening is judged by.

use super::bolts::{any_bolt, fastening};
use super::course::when;
use crate::facts::torque_sides::Member;
use crate::finding::Place;
use crate::ledger::{Event, EventKind, Interface, RailId};
use crate::rules::Case;
use crate::rules::facts::When;

/// When a support got full torque.
#[derive(Clone, Copy)]
pub(super) struct Tight {
    pub when: When,
    pub record: usize,
    pub place: Place,
}

/// A stretch of supports, in the order in which they are to be tightened, with what they hold.
pub(super) struct SideTorques<'m> {
    pub members: &'m [Member],
    /// The first full torque of each since the stretch was wholly loose.
    pub first: Vec<Option<Tight>>,
    /// The first full torque of each since it was last slackened.
    pub current: Vec<Option<Tight>>,
}

/// Whether an event gave bolts of a rail their full torque.
fn full_torque(case: &Case, event: &Event) -> bool {
    if event.what != EventKind::Full {
        return false;
    }
    fastening(case, event, Interface::Rail).is_some_and(|(fasten, row)| any_bolt(case, event, fasten, row))
}

/// Follows a stretch along the timeline.
pub(super) fn follow<'m>(case: &Case, id: RailId, members: &'m [Member]) -> SideTorques<'m> {
    let mut events = Vec::new();
    for (at, member) in members.iter().enumerate() {
        for event in &case.history(id).supports[member.support] {
            if full_torque(case, event) || event.slackens(Interface::Rail) {
                events.push((when(case, event), at, event));
            }
        }
    }
    events.sort_by_key(|(when, at, _)| (*when, *at));
    let count = members.len();
    let mut side = SideTorques { members, first: vec![None; count], current: vec![None; count] };
    let mut tight = 0;
    for (when, at, event) in events {
        let counted = usize::from(!side.members[at].halfway);
        if event.slackens(Interface::Rail) {
            if side.current[at].take().is_some() {
                tight -= counted;
            }
            // Shims go in support by support, so a record that shims all of them did not loosen all at once.
            if tight == 0 && event.what == EventKind::Slackened {
                side.first.fill(None);
            }
        } else {
            let now = Tight { when, record: event.record, place: event.place };
            side.first[at].get_or_insert(now);
            if side.current[at].is_none() {
                side.current[at] = Some(now);
                tight += counted;
            }
        }
    }
    side
}
