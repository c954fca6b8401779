//! Where parts lie and which they are, under records: the readings would speak of another place, or of a rail that nobody
//! tightened. What was slackened since may be moved; what was described wrong is corrected together with its records.
//!
//! A released axis is left to its seal, a part that went to the names that records cite.

use std::collections::BTreeSet;

use super::altered::HeldState;
use super::records::RecordText;
use crate::finding::{Cure, Finding, Grade, Place, names};
use crate::judging::lint::Judged;
use crate::ledger::seal::release_of;
use crate::ledger::{EventKind, Ledger, RailId};
use crate::quantity::Amount as _;

/// The parts that changed under records which stood before.
pub(super) fn parts(now: &Judged, records: &[RecordText], state: &HeldState) -> Vec<Finding> {
    let stood: BTreeSet<&str> = state.records.iter().map(|said| said.says.as_str()).collect();
    let stood = records.iter().filter(|said| stood.contains(said.says.as_str())).filter_map(|said| said.record);
    let stood: BTreeSet<usize> = stood.collect();
    let (was, is) = (&state.judged.ledger, &now.ledger);
    let mut all = Vec::new();
    for (axis, of) in is.machine.axes.iter().enumerate() {
        let Some(old) = was.machine.axes.iter().find(|old| *old.name == *of.name) else { continue };
        if release_of(is, axis).is_some() {
            continue;
        }
        for (rail, new) in of.rails.iter().enumerate() {
            let Some(before) = old.rails.iter().find(|old| *old.name == *new.name) else { continue };
            if new.damaged || before.damaged {
                continue;
            }
            let id = RailId { axis, rail };
            let on = format!("{}.{}", *of.name, *new.name);
            for (index, support) in new.supports.iter().enumerate() {
                let same = before.supports.iter().find(|old| old.name == support.name);
                if let Some(old) = same.filter(|old| old.at != support.at)
                    && rests(is, id, index, &stood)
                {
                    let what = format!(
                        "{on}.{} lay at {} mm in {}, and lies at {} mm",
                        support.name,
                        old.at.number(),
                        state.called,
                        support.at.number()
                    );
                    all.push(finding(state, format!("{on}.{}", support.name), support.place, what));
                }
            }
            for old in &before.segments {
                let Some(serial) = &old.serial else { continue };
                let named = |it: &&crate::ledger::Segment| it.serial.as_ref().is_some_and(|own| **own == **serial);
                if new.segments.iter().find(named).is_some_and(|it| it.from == old.from) {
                    continue;
                }
                let here = new.segments.iter().find(|it| it.from == old.from);
                // A part that says since when it is there is held against its records by that.
                if here.is_some_and(|it| it.since.is_some()) {
                    continue;
                }
                let on_it = |index: &usize| (old.from..=old.to).contains(&new.supports[*index].at);
                let mut on_it = (0..new.supports.len()).filter(on_it);
                if on_it.any(|index| rests(is, id, index, &stood)) {
                    let place = here.map_or(new.place, |it| it.place);
                    let what = format!(
                        "segment {} of {on} lies no more where {} has it, from {} mm",
                        **serial,
                        state.called,
                        old.from.number()
                    );
                    all.push(finding(state, on.clone(), place, what));
                }
            }
        }
    }
    all
}

/// Whether a record that stood before tightened a support, and nothing slackened it since.
fn rests(ledger: &Ledger, id: RailId, support: usize, stood: &BTreeSet<usize>) -> bool {
    let events = &ledger.history(id).supports[support];
    let since = events.iter().rposition(|event| event.undoes()).map_or(0, |at| at + 1);
    let tightens = |what: EventKind| matches!(what, EventKind::Snug | EventKind::Full);
    events[since..].iter().any(|event| tightens(event.what) && stood.contains(&event.record))
}

fn finding(state: &HeldState, address: String, place: Place, message: String) -> Finding {
    let next = format!(
        "put it back as {} has it; where it was moved, record first that its bolts were slackened (`loosen`); where it was described wrong, correct the records that rest on it by `replaces`",
        state.called
    );
    let mut finding = Finding::new(names::PART_ALTERED, Grade::Nonconformity, address, place, message);
    finding = finding.here("tightened where it was").next(next);
    finding.cure = Some(Cure::Writing);
    finding
}
