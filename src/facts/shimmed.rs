//! When a rail was shimmed, and what had been surveyed by then.

use std::borrow::Cow;

use super::survey::SurveyReadings;
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

/// What the surveys said that stood when a rail was shimmed.
pub(crate) fn surveyed_before(
    ledger: &Ledger,
    id: RailId,
    kind: SurveyKind,
    shimmed: usize,
) -> Option<SurveyReadings<'_>> {
    let planes = CurrentSurveys::until(ledger, id, kind, Some(shimmed));
    let standing = planes.first()?;
    standing.readings(ledger, standing.latest()?).map(Cow::into_owned)
}
