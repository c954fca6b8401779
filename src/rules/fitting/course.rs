//! How the bolts of one support were tightened, as far as its records tell it plainly.
//!
//! Several rules ask it before they follow each bolt. What it says holds; where it does not say that all is in order,
//! they take the closer look. Where all of them take it always, the lint takes 1.12 times the instructions
//! (benches/README.md).

use smallvec::SmallVec;

use super::bolts::{any_bolt, certain, every_bolt, fastening};
use crate::ledger::{Event, EventKind, Interface, Support};
use crate::rules::Case;
use crate::rules::facts::{Course, When};

pub(crate) fn when(case: &Case, event: &Event) -> When {
    (case.timeline.rank[event.record].unwrap_or(usize::MAX), event.row)
}

/// The record of a moment.
pub(crate) fn record_at(case: &Case, when: When) -> Option<usize> {
    case.timeline.order.get(when.0).copied()
}

/// The course of one support and interface.
pub(crate) fn course(case: &Case, support: &Support, events: &[Event], interface: Interface) -> Course {
    let count = support.bolt_count(interface);
    let mut course = Course {
        tight: None,
        tight_before: SmallVec::new(),
        snugged: count.is_some(),
        slackened: false,
        first: None,
        current: None,
    };
    // The last snugging since then.
    let mut snug = None;
    for event in events {
        // Of other bolts.
        if event.interface.is_some_and(|of| of != interface) {
            continue;
        }
        if event.slackens(interface) {
            snug = None;
            course.tight_before.extend(course.tight.take().map(|tight| (tight, event.record)));
            course.current = None;
            course.slackened |= event.what == EventKind::Slackened;
            continue;
        }
        if case.left_loose(event, interface).is_some() {
            course.tight_before.extend(course.tight.take().map(|tight| (tight, event.record)));
            continue;
        }
        let Some((fasten, row)) = fastening(case.ledger, event, interface) else { continue };
        let every = count.is_some_and(|count| every_bolt(fasten, row, count));
        if event.what == EventKind::Snug {
            snug = Some(event.record);
            course.snugged &= every;
            continue;
        }
        course.snugged &= snug.is_some_and(|before| certain(case, before, event.record));
        if every {
            course.tight.get_or_insert(event.record);
        }
        if course.current.is_none() && any_bolt(case, event, fasten, row) {
            let now = when(case, event);
            course.first.get_or_insert(now);
            course.current = Some(now);
        }
    }
    course
}
