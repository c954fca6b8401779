//! What cannot be judged because the text about it cannot be read.
//!
//! Where a record, a name or a file is at fault, nobody knows what was said there: a joint that looks well inspected may
//! have been read again and found bad. Rules leave out what only follows from that; here it is kept which rails that is
//! about, so that nothing about them is ever called conforming.

use std::collections::BTreeSet;

use super::machine::{Machine, RailId};
use super::record::Record;
use super::text_file::TextFile;
use super::{Target, half_told};
use crate::finding::{Finding, Grade, Place};
use crate::text::FaultKind;

/// What the faults of a text leave unknown.
#[derive(Clone, Debug, Default)]
pub(super) struct Unread {
    /// Anything may be missing.
    all: bool,
    rails: BTreeSet<RailId>,
}

impl Unread {
    /// From the findings about the text of a ledger's own files, and whether shop files that apply are in order.
    pub(crate) fn from_findings(
        machine: &Machine,
        records: &[Record],
        found: &[Finding],
        own: &[&TextFile],
        shops_sound: bool,
    ) -> Unread {
        let lost = own.iter().any(|file| file.unreadable.is_some() || file.faults.iter().any(|it| swallows(&it.kind)));
        let mut unread = Unread { all: lost || !shops_sound, rails: BTreeSet::new() };
        let broken = |finding: &&Finding| finding.grade == Grade::Nonconformity;
        if found.iter().find(broken).is_none() {
            return unread;
        }
        let mut wholes: Vec<(Place, Option<&Record>, Option<RailId>)> = Vec::new();
        wholes.extend(records.iter().map(|record| (record.whole, Some(record), None)));
        wholes.extend(machine.rails().map(|(id, _, rail)| (rail.whole, None, Some(id))));
        wholes.sort_by_key(|(whole, ..)| *whole);
        for finding in found.iter().filter(broken) {
            let at = finding.at.place;
            // Records and rails lie beside each other.
            let next =
                wholes.partition_point(|(whole, ..)| (whole.source, whole.span.start) <= (at.source, at.span.start));
            let inside = next
                .checked_sub(1)
                .map(|index| &wholes[index])
                .filter(|(whole, ..)| whole.source == at.source && at.span.end <= whole.span.end);
            match inside {
                Some((_, Some(record), _)) => unread.lose(machine, record),
                Some((_, None, Some(id))) => _ = unread.rails.insert(*id),
                _ => unread.all = true,
            }
        }
        unread.spread(machine);
        unread
    }

    fn lose(&mut self, machine: &Machine, record: &Record) {
        let probable = || half_told::probable_rail(machine, record.on.as_ref()?);
        match record.target {
            Some(Target::Axis(axis)) => {
                self.rails.extend((0..machine.axes[axis].rails.len()).map(|rail| RailId { axis, rail }));
                self.all |= machine.axes[axis].rails.is_empty();
            }
            Some(target) => self.rails.extend(target.rail()),
            None => match probable() {
                Some(id) => _ = self.rails.insert(id),
                None => self.all = true,
            },
        }
    }

    /// Whether all that is said about an address could be read; an empty address is the whole ledger.
    pub(crate) fn is_read(&self, machine: &Machine, address: &str) -> bool {
        if self.all {
            return false;
        }
        let within = |inner: &str, outer: &str| {
            inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '@']))
        };
        !self.rails.iter().any(|id| {
            let rail = machine.rail_address(*id);
            address.is_empty() || within(&rail, address) || within(address, &rail)
        })
    }

    /// The gap of a rail rests on the one that it follows, and what is said of that one on its followers.
    fn spread(&mut self, machine: &Machine) {
        let direct = self.rails.clone();
        for (id, axis, rail) in machine.rails() {
            let Some(follows) = &rail.follows else { continue };
            let Some(other) = axis.rails.iter().position(|it| *it.name == **follows) else { continue };
            let other = RailId { axis: id.axis, rail: other };
            if direct.contains(&other) {
                self.rails.insert(id);
            }
            if direct.contains(&id) {
                self.rails.insert(other);
            }
        }
    }
}

/// A fault after which the text may say something else than it shows, not only at its place.
fn swallows(kind: &FaultKind) -> bool {
    use FaultKind::{BadNumber, BadWord, BareKeyword, Stray, UnknownKeyword};
    !matches!(kind, BadNumber(_) | BadWord(_) | BareKeyword(_) | UnknownKeyword(_) | Stray(_))
}
