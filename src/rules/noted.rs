//! What was written beside a reading stands beside the finding about it: a note often holds the cause.

use crate::finding::{Finding, Label};
use crate::ledger::{Ledger, RemarkKind};

/// More remarks than this would hide the finding.
const MOST_SHOWN: usize = 3;

/// Adds to each finding the remarks of the records that it shows.
pub(crate) fn with_remarks(ledger: &Ledger, findings: &mut [Finding]) {
    for finding in findings {
        let mut records: Vec<usize> = finding.places().filter_map(|place| ledger.record_at(place)).collect();
        records.sort_unstable();
        records.dedup();
        let remarks = records.into_iter().flat_map(|record| ledger.records[record].remarks());
        // What is at fault itself is shown already.
        let shown: Vec<_> = finding.places().collect();
        let labels =
            remarks.filter(|(_, remark)| !shown.contains(&remark.place)).take(MOST_SHOWN).map(|(kind, remark)| {
                let text = match kind {
                    RemarkKind::Note => "noted there",
                    RemarkKind::Reason => "the reason given there",
                    RemarkKind::Delivery => "came with this delivery",
                };
                Label { place: remark.place, text: text.into() }
            });
        let labels: Vec<Label> = labels.collect();
        finding.also.extend(labels);
    }
}
