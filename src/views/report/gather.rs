//! What the parts of a report are gathered from.

use super::horizon::Horizon;
use super::model::Signed;
use crate::finding::Finding;
use crate::ledger::{Name, Record, Spanned};
use crate::rules::Case;

/// What the parts of a report are gathered from.
pub(super) struct ReportBuilder<'l> {
    pub case: Case<'l>,
    pub findings: &'l [Finding],
    pub horizon: Horizon,
}

/// A text as given.
pub(super) fn text(given: &Option<Spanned<Name>>) -> Option<String> {
    given.as_ref().map(|given| given.to_string())
}

/// Who made a record and when.
pub(super) fn signed(record: &Record) -> Signed {
    Signed { date: record.date.map(|date| date.to_string()), by: text(&record.by) }
}
