//! What keeps an axis from release: holds, and releases that were withdrawn, each until it is lifted.

use std::collections::BTreeMap;

use super::record::{Body, Record};
use super::timeline::Timeline;

/// A hold, or the withdrawal of a release, which puts one on the axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OnHold {
    /// The index of the hold, or of the void that withdrew the release.
    pub record: usize,
    /// The index of the record that lifted it.
    pub lifted: Option<usize>,
    /// The index of a lift that left it in force: what is scrapped or regraded does not stay as it is.
    pub disposed: Option<usize>,
}

impl OnHold {
    pub fn in_force(self) -> bool {
        self.lifted.is_none()
    }
}

/// All holds that were not withdrawn, in the order of the timeline. A lift is about all that were put on its very address
/// before it. One that says that the part is scrapped or regraded leaves them in force until another lift says that it was
/// exchanged.
pub(super) fn holds(records: &[Record], timeline: &Timeline) -> Vec<OnHold> {
    let mut all: Vec<OnHold> = Vec::new();
    let mut open: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for &index in &timeline.order {
        let record = &records[index];
        let Some(on) = &record.on else { continue };
        match &record.body {
            Body::Lift(lift) if !lift.leaves_it_there() => {
                for at in open.get(on.as_str()).into_iter().flatten() {
                    let held = &mut all[*at];
                    // Of a part that went it is the last word: it was exchanged.
                    if records[held.record].history { &mut held.lifted } else { &mut held.disposed }.replace(index);
                }
            }
            Body::Lift(_) => {
                for at in open.remove(on.as_str()).into_iter().flatten() {
                    all[at].lifted = Some(index);
                }
            }
            body if puts_on_hold(body, records) => {
                open.entry(on.as_str()).or_default().push(all.len());
                all.push(OnHold { record: index, lifted: None, disposed: None });
            }
            _ => {}
        }
    }
    all
}

fn puts_on_hold(body: &Body, records: &[Record]) -> bool {
    match body {
        Body::Hold(_) => true,
        Body::Void(void) => void.withdraws.is_some_and(|of| matches!(records[of].body, Body::Release(_))),
        _ => false,
    }
}
