//! What moved between two states, in words: where a support or a joint lay, where it lies, and how much was recorded of it there.

use std::collections::BTreeSet;

use crate::judging::stops::moved;
use crate::ledger::{EventKind, Ledger};

/// The supports and joints that lie elsewhere.
pub(super) fn moves(before: &Ledger, after: &Ledger) -> Vec<String> {
    let mut all = Vec::new();
    for (id, axis, was) in before.machine.rails() {
        let Some(other) = after.machine.axes.iter().find(|it| *it.name == *axis.name) else { continue };
        let Some(now) = other.rails.iter().find(|it| *it.name == *was.name) else { continue };
        if was.damaged || now.damaged {
            continue;
        }
        let history = before.history(id);
        for (index, old) in was.supports.iter().enumerate() {
            let Some(new) = now.support(&old.name).map(|at| &now.supports[at]).filter(|new| new.at != old.at) else {
                continue;
            };
            let tightens = |what: EventKind| matches!(what, EventKind::Snug | EventKind::Full);
            let under = history.supports[index].iter().filter(|event| tightens(event.what)).map(|event| event.record);
            let under: BTreeSet<usize> = under.collect();
            all.push(moved(&before.machine.support_address(id, index), old.at, new.at, under.len()));
        }
        for (index, (old, new)) in was.joints.iter().zip(&now.joints).enumerate() {
            if old.position != new.position {
                let under: BTreeSet<usize> = history.inspections[index].iter().copied().collect();
                all.push(moved(&before.machine.joint_address(id, index), old.position, new.position, under.len()));
            }
        }
    }
    all
}
