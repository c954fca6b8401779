//! Where the text is at fault, so that one mistake gives one finding and not the many that would follow from it.
//!
//! A rail whose description has a fault is still read, and its records are still judged; but where its joints and
//! supports lie cannot be relied on, and neither can what is outstanding.

use crate::finding::{Finding, Place};

/// The faulty places of a ledger's text, in order.
#[derive(Clone, Debug, Default)]
pub(super) struct Damage {
    places: Vec<Place>,
}

impl Damage {
    pub(crate) fn from_findings(findings: &[Finding]) -> Damage {
        let mut places: Vec<Place> = findings.iter().map(|finding| finding.at.place).collect();
        places.sort();
        Damage { places }
    }

    /// Whether a fault begins inside a stretch of text, or the stretch inside a fault.
    pub(crate) fn hits(&self, place: Place) -> bool {
        let first =
            self.places.partition_point(|fault| (fault.source, fault.span.start) < (place.source, place.span.start));
        let inside = self
            .places
            .get(first)
            .is_some_and(|fault| fault.source == place.source && fault.span.start < place.span.end);
        let around = first.checked_sub(1).is_some_and(|before| {
            let fault = self.places[before];
            fault.source == place.source && fault.span.end > place.span.start
        });
        inside || around
    }
}
