//! When a rail was shimmed, and what had been surveyed by then.

use super::survey_state::CurrentSurveys;
use crate::ledger::{Body, Ledger, RailId, SurveyKind};

/// The last record that put shims under a rail, took them out or changed them.
pub(crate) fn last_shimmed(ledger: &Ledger, id: RailId) -> Option<usize> {
    let shims = |index: &usize| {
        let record = &ledger.records[*index];
        matches!(&record.body, Body::Shim(shim) if !shim.rows.is_empty()) && record.rail() == Some(id)
    };
    ledger.timeline.order.iter().copied().rev().find(shims)
}

/// The survey that stood when a rail was shimmed.
pub(crate) fn surveyed_before(ledger: &Ledger, id: RailId, kind: SurveyKind, shimmed: usize) -> Option<usize> {
    CurrentSurveys::until(ledger, id, kind, Some(shimmed)).first()?.latest()
}
