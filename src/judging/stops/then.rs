//! A ledger as it was at another state.

use super::altered::HeldState;
use super::before::LedgersBefore;
use super::records::{RecordText, records};
use crate::judging::lint::Judged;

/// A ledger of another state with its records.
pub(super) struct LedgerThen<'b> {
    pub judged: Judged,
    pub records: Vec<RecordText>,
    pub called: &'b str,
}

impl<'b> LedgerThen<'b> {
    pub(super) fn of(before: &'b LedgersBefore, now: &Judged) -> Option<LedgerThen<'b>> {
        let judged = before.judged(now)?;
        // Of what is not understood nobody can say what became of it.
        let records = if judged.ledger.not_judged.is_some() { Vec::new() } else { records(&judged.ledger) };
        Some(LedgerThen { judged, records, called: &before.called })
    }

    pub(super) fn state(&self) -> HeldState<'_> {
        HeldState { judged: &self.judged, records: &self.records, called: self.called }
    }
}
