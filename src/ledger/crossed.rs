//! A limit of which one end is said here and the other elsewhere, and that lets nothing pass: the ends stand the wrong way
//! round.

use crate::finding::{Finding, Grade, names};
use crate::language::rulebook::{LimitChange, Rulebook};

/// Such limits among the changes that somebody answers for. Where one row says both ends, that is told of its text.
pub(super) fn crossed<'b>(
    book: &'b Rulebook,
    own: impl Fn(&LimitChange) -> bool + 'b,
) -> impl Iterator<Item = Finding> + 'b {
    let alone = |change: &&LimitChange| change.least.is_none() || change.most.is_none();
    let changes = book.changes().filter(move |change| own(change)).filter(alone);
    changes.filter(|change| book.is_crossed(change.entry)).map(|change| {
        let message = format!("{} lets nothing pass: it is {}", change.entry.name, book.printed(change.entry));
        let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, "", change.place, message);
        let (said, other) = if change.least.is_some() { ("least", "most") } else { ("most", "least") };
        finding.here(format!("`{said}` is said here")).next(format!(
            "correct `{said}`, or say `{other}` here too: it comes from elsewhere, the default where nobody else says it"
        ))
    })
}
