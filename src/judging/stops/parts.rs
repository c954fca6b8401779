//! Where parts lie and which they are, under records: the readings would speak of another place, or of a rail that nobody
//! tightened. What says since when it stands as it does is no fault: what was recorded of it before is history. Nor is what
//! was slackened since, or was described wrong and is said to be `corrected`.
//!
//! A released axis is left to its seal, a part that went to the names that records cite.

use std::collections::BTreeSet;

use super::altered::HeldState;
use super::designs::designs;
use super::records::RecordText;
use crate::finding::{Cure, Finding, Grade, Place, counted, names};
use crate::judging::lint::Judged;
use crate::ledger::seal::release_of;
use crate::ledger::{Body, EventKind, Ledger, Name, NodeDraft, Rail, RailId, SpeltValue, StationReading, Support};
use crate::quantity::{Amount as _, Length};
use crate::text::NodeRef;

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
            let on = format!("{}.{}", *of.name, *new.name);
            let rails = ChangedRail { id: RailId { axis, rail }, was, is, before, new, on, stood: &stood };
            rails.supports(state, &mut all);
            rails.segments(state, &mut all);
            rails.joints(state, &mut all);
        }
    }
    // Where a design changed, that is told of it and not of each of its parts.
    let designs = designs(now, state);
    all.retain(|part| !designs.iter().any(|design| design.at.place.source == part.at.place.source));
    all.extend(designs);
    all
}

/// A rail before and after.
struct ChangedRail<'l> {
    id: RailId,
    was: &'l Ledger,
    is: &'l Ledger,
    before: &'l Rail,
    new: &'l Rail,
    on: String,
    /// The records that stood before.
    stood: &'l BTreeSet<usize>,
}

impl ChangedRail<'_> {
    fn supports(&self, state: &HeldState, all: &mut Vec<Finding>) {
        for (index, support) in self.new.supports.iter().enumerate() {
            let Some(old) = self.before.supports.iter().find(|old| old.name == support.name) else { continue };
            let address = format!("{}.{}", self.on, support.name);
            let under = self.resting(index);
            if old.at == support.at || under.is_empty() || self.corrected(&address, Some(old.at), None) {
                continue;
            }
            let lines = Lines { was: old.at.number().to_string(), keep: self.kept_support(old) };
            let what = moved(&support.name, old.at, support.at, under.len());
            all.push(finding(state, address, support.place, what, lines));
        }
    }

    fn segments(&self, state: &HeldState, all: &mut Vec<Finding>) {
        for (number, old) in self.before.segments.iter().enumerate() {
            let Some(serial) = &old.serial else { continue };
            let named = |it: &&crate::ledger::Segment| it.serial.as_ref().is_some_and(|own| **own == **serial);
            if self.new.segments.iter().find(named).is_some_and(|it| it.from == old.from) {
                continue;
            }
            let address = format!("{}.seg{}", self.on, number + 1);
            let on_it = |index: &usize| (old.from..=old.to).contains(&self.new.supports[*index].at);
            let on_it = (0..self.new.supports.len()).filter(on_it);
            let mut under: BTreeSet<usize> = on_it.flat_map(|index| self.resting_on_rail(index)).collect();
            let between = |row: &StationReading| row.support.is_none() && (old.from..=old.to).contains(&row.position);
            under.extend(self.surveyed(between));
            if under.is_empty() || self.corrected(&address, None, Some(serial)) {
                continue;
            }
            let here = self.new.segments.iter().find(|it| it.from == old.from);
            let what = match here.and_then(|it| it.serial.as_ref()) {
                Some(other) => {
                    format!("segment {} was exchanged for {}{}", **serial, **other, under_records(under.len()))
                }
                None => {
                    let from = old.from.number();
                    format!(
                        "segment {} lies no more where it lay, from {from} mm{}",
                        **serial,
                        under_records(under.len())
                    )
                }
            };
            let place = here.map_or(self.new.place, |it| it.place);
            let lines = Lines { was: crate::text::quote(serial), keep: self.kept(old.place) };
            all.push(finding(state, address, place, what, lines));
        }
    }

    fn joints(&self, state: &HeldState, all: &mut Vec<Finding>) {
        for (index, (old, joint)) in self.before.joints.iter().zip(&self.new.joints).enumerate() {
            if old.position == joint.position {
                continue;
            }
            let address = format!("{}.{}", self.on, joint.name);
            let inspected = self.is.history(self.id).inspections[index].iter();
            let stood = |record: &usize| self.stood.contains(record) && !self.undone(index, *record);
            let mut under: BTreeSet<usize> = inspected.copied().filter(stood).collect();
            let ends = self.surveyed(|row| row.end.is_some_and(|end| end.at == joint.position));
            under.extend(ends.into_iter().filter(|record| !self.undone(index, *record)));
            // Where its segment is told of already, that is the same change.
            let told =
                |it: &Finding| it.at.place == joint.place || it.address == format!("{}.seg{}", self.on, index + 1);
            if under.is_empty() || all.iter().any(told) || self.corrected(&address, Some(old.position), None) {
                continue;
            }
            let what = moved(&joint.name, old.position, joint.position, under.len());
            let keep = self.kept(self.before.segments[old.before].place);
            let lines = Lines { was: old.position.number().to_string(), keep };
            all.push(finding(state, address, joint.place, what, lines));
        }
    }

    /// A support as it stood, on its own where it was one of a row.
    fn kept_support(&self, old: &Support) -> String {
        let Some(row) = self.node(old.place).filter(|node| node.is("supports")) else { return self.kept(old.place) };
        // What the row says of all its places and not of how they follow each other.
        let of_row = ["first", "pitch", "count", "until"];
        let text = self.was.sources.get(old.place.source).document.text();
        let props = row.entries().filter_map(|entry| Some((entry.name()?, entry.name_span()?.to(entry.span()))));
        let said = props.filter(|(name, _)| !of_row.contains(name));
        let said: String = said.map(|(_, span)| format!(" {}", &text[span.range()])).collect();
        let line = NodeDraft::new("support").value(old.name.as_str()).property("at", old.at);
        format!("{}{said} until=\"…\"", line.line())
    }

    /// A row as it stood, with the day to which it did, on one line.
    fn kept(&self, row: Place) -> String {
        let Some(node) = self.node(row) else { return String::new() };
        let text = self.was.sources.get(row.source).document.text();
        let until = if node.prop("until").is_some() { "" } else { " until=\"…\"" };
        let below: Vec<&str> = node.children().map(|child| &text[child.head().range()]).collect();
        let below = if below.is_empty() { String::new() } else { format!(" {{ {} }}", below.join("; ")) };
        format!("{}{until}{below}", &text[node.head().range()])
    }

    fn node(&self, row: Place) -> Option<NodeRef<'_>> {
        self.was.sources.get(row.source).document.node_at(row.span.range().start)
    }

    /// The records that stood before and rest on a support which nothing slackened since: they tightened it, were read there, or
    /// say what lies under it.
    fn resting(&self, support: usize) -> BTreeSet<usize> {
        let last = self.is.history(self.id).supports[support].iter().rfind(|event| event.undoes());
        let shimmed = last.filter(|event| event.what == EventKind::Shimmed).map(|event| event.record);
        let shimmed = shimmed.filter(|record| self.stood.contains(record));
        self.resting_on_rail(support).into_iter().chain(shimmed).collect()
    }

    /// The same of what rests on the rail over the support too: not the shims.
    fn resting_on_rail(&self, support: usize) -> BTreeSet<usize> {
        let events = &self.is.history(self.id).supports[support];
        let undone = events.iter().rposition(|event| event.undoes());
        let tightens = |what: EventKind| matches!(what, EventKind::Snug | EventKind::Full);
        let since = undone.map_or(0, |at| at + 1);
        let tightened = events[since..].iter().filter(|event| tightens(event.what)).map(|event| event.record);
        let undone = undone.map(|at| &events[at]);
        let counts = |record: &usize| undone.is_none_or(|event| self.is.after(*record, event.record));
        let surveyed = self.surveyed(|row| row.support == Some(support)).into_iter().filter(counts);
        tightened.chain(surveyed).filter(|record| self.stood.contains(record)).collect()
    }

    /// The surveys that stood before and read a station of this rail.
    fn surveyed(&self, is_it: impl Fn(&StationReading) -> bool) -> BTreeSet<usize> {
        let read = |record: &&usize| match &self.is.records[**record].body {
            Body::Survey(survey) => survey.stations.iter().any(&is_it),
            _ => false,
        };
        let all = self.is.history(self.id).surveys.iter().filter(|record| self.stood.contains(record));
        all.filter(read).copied().collect()
    }

    /// A support by the joint was slackened after a record.
    fn undone(&self, joint: usize, record: usize) -> bool {
        self.is.joint_undone(self.id, joint, record).is_some_and(|undone| undone.distance < 2)
    }

    /// Somebody says that it was described wrong.
    fn corrected(&self, address: &str, at: Option<Length>, named: Option<&Name>) -> bool {
        let mut all = self.is.machine.corrected.iter();
        all.any(|it| {
            let was = at.is_some() && it.was_at == at || named.is_some() && it.was_named.as_ref() == named;
            it.on.as_str() == address && was
        })
    }
}

/// `S12 moved 2880 -> 2900 mm under 3 records`
pub(crate) fn moved(name: &str, from: Length, to: Length, under: usize) -> String {
    format!("{name} moved {} -> {} mm{}", from.number(), to.number(), under_records(under))
}

fn under_records(under: usize) -> String {
    format!(" under {}", counted(under, "record", "records"))
}

/// What may be written in answer.
struct Lines {
    /// As it was described, as a value.
    was: String,
    /// The row that stays.
    keep: String,
}

fn finding(state: &HeldState, address: String, place: Place, what: String, lines: Lines) -> Finding {
    let called = state.called;
    let message = format!("{what}, and nothing says since when; {called} has it otherwise");
    let next = format!(
        "where it was changed, add `since=\"…\"`, the day, to its new row and keep the old one beside it: `{}` (out of a row of supports: `omit` with that `since`); where it was described wrong: `{}`; else put it back as {called} has it",
        lines.keep,
        NodeDraft::new("corrected").value(&address).property("was", SpeltValue::typed(&lines.was)).unsigned().line()
    );
    let mut finding = Finding::new(names::PART_ALTERED, Grade::Nonconformity, address, place, message);
    finding = finding.here("records rest on it").next(next);
    finding.cure = Some(Cure::Writing);
    finding
}
