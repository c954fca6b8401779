//! Limits that let more pass than at another state: what conforms now may be only what was not looked at so closely. They are
//! told and stop nothing, since no reading changed.

use crate::finding::{Cure, Finding, Grade, Place};
use crate::judging::lint::Judged;
use crate::language::rulebook::{ENTRIES, Rulebook};
use crate::rules::keeping::limit_loosened;
use crate::text::Span;

/// The limits of a ledger that were widened.
pub(super) fn limits(now: &Judged, was: &Rulebook, called: &str) -> Vec<Finding> {
    let is = &now.ledger.rulebook;
    let widened = ENTRIES.iter().filter(|entry| is.is_wider(was, entry));
    let told = widened.map(|entry| {
        let machine = now.ledger.machine.name.as_ref().map(|name| name.place);
        let stated = is.change(entry.limit).map(|change| change.place);
        let nowhere = Place { source: Default::default(), span: Span::default() };
        let message = format!("{} is {} and was {} in {called}", entry.name, is.printed(entry), was.printed(entry));
        let place = stated.or(machine).unwrap_or(nowhere);
        let mut finding = Finding::new(limit_loosened::RULE.name, Grade::Observation, "", place, message)
            .here(if stated.is_some() { "wider than it was" } else { "stated no more" })
            .next("look whether it was meant: what conforms by it now may not have conformed before");
        finding.cure = Some(Cure::Writing);
        finding
    });
    told.collect()
}
