//! Readings of a record that break a rule: of which questions they came, so that a slip of the finger is typed again.

use super::RecordDraft;
use crate::finding::Finding;
use crate::ledger::Ledger;
use crate::text::{NodeRef, Span};
use crate::world::Path;

/// What stands against a record at one address.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Broken {
    /// What is held: `X.left.J1`.
    pub address: String,
    /// Questions whose answers break the rules, in the order of the rows.
    pub questions: Vec<String>,
    /// The person has said of each that it is what it showed.
    pub confirmed: bool,
}

/// What the readings of a record break, by address. The record begins at `start` of the file at `path`.
pub(crate) fn broken(new: &[Finding], ledger: &Ledger, path: &Path, start: usize, draft: &RecordDraft) -> Vec<Broken> {
    let mut all: Vec<Broken> = Vec::new();
    for finding in new.iter().filter(|finding| finding.to_hold.is_some()) {
        let places = std::iter::once(&finding.at).chain(&finding.also).map(|label| label.place);
        let own =
            places.filter(|place| ledger.sources.get(place.source).path == *path && place.span.start as usize >= start);
        let spans: Vec<(NodeRef, Span)> = own
            .filter_map(|place| {
                let nodes = ledger.sources.get(place.source).document.nodes();
                Some((nodes.filter(|node| node.span().start as usize >= start).last()?, place.span))
            })
            .collect();
        if spans.is_empty() {
            continue;
        }
        let at = all.iter().position(|it| it.address == finding.address).unwrap_or_else(|| {
            all.push(Broken { address: finding.address.clone(), questions: Vec::new(), confirmed: true });
            all.len() - 1
        });
        for (record, span) in spans {
            if let Some(asked) = draft.asked.get(&row(record, span))
                && !all[at].questions.contains(&asked.question)
            {
                all[at].questions.push(asked.question.clone());
                all[at].confirmed &= asked.confirmed;
            }
        }
    }
    for it in &mut all {
        it.confirmed &= !it.questions.is_empty();
    }
    all
}

/// The row of a record in which something stands; none for its head.
fn row(record: NodeRef, span: Span) -> Option<usize> {
    record.children().position(|row| row.span().start <= span.start && span.start < row.span().end)
}
