//! What several rules about bolts ask of a fastening record and its rows.

use crate::ledger::{Body, Event, Fasten, FastenRow, Interface, Ledger, Record, TorqueReading};
use crate::rules::Case;

/// The fastening record of an event that tightened bolts of an interface, with its row.
pub(super) fn fastening<'l>(
    ledger: &'l Ledger,
    event: &Event,
    interface: Interface,
) -> Option<(&'l Fasten, &'l FastenRow)> {
    if event.interface != Some(interface) || event.undoes() {
        return None;
    }
    let Body::Fasten(fasten) = &ledger.records[event.record].body else { return None };
    Some((fasten, fasten.rows.get(event.row)?))
}

/// Whether a row of a fastening record tightened each of so many bolts of its support.
pub(super) fn every_bolt(fasten: &Fasten, row: &FastenRow, count: usize) -> bool {
    match row.what {
        TorqueReading::Clicked => fasten.missed.is_empty(),
        TorqueReading::Read { .. } => {
            fasten.torques_of(row).get(..count).is_some_and(|torques| torques.iter().all(Option::is_some))
        }
    }
}

/// Whether a row of a fastening record tightened any bolt of its support.
pub(super) fn any_bolt(case: &Case, event: &Event, fasten: &Fasten, row: &FastenRow) -> bool {
    match row.what {
        TorqueReading::Clicked => fasten.missed.is_empty() || case.bolt_tightened(event, row, 0).is_some(),
        TorqueReading::Read { .. } => fasten.torques_of(row).iter().any(Option::is_some),
    }
}

/// The day of a record, as ` of 2026-04-14`; nothing where it has none.
pub(in crate::rules) fn on_day(record: &Record) -> String {
    record.date.map_or(String::new(), |date| format!(" on {}", *date))
}

/// Whether the ledger itself says which of two records came first. Where it does not and the verdict hangs on it, a rule
/// asks for the time of day and judges nothing.
pub(in crate::rules) fn certain(case: &Case, a: usize, b: usize) -> bool {
    a == b || case.order_is_certain() || case.timeline.certain(&case.records, a, b)
}
