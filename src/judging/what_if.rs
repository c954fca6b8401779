//! A ledger as it would be with some of its files changed: the one way in which a command judges before it writes.
//!
//! All else stays what the ledger was read from, attached files included, so that nothing is said for the want of them. A
//! file that somebody saves meanwhile, half done perhaps, is never taken for what the change brings about.

use std::collections::BTreeMap;

use crate::finding::{Place, SourceId};
use crate::judging::lint::{Judged, judge_ledger};
use crate::ledger::{Elsewhere, Ledger, TextFile};
use crate::text::{self, Edit, EditError};
use crate::world::ledgers::is_shared;
use crate::world::{Day, Path};

/// A ledger as if each of these files, there already or not, held the text that stands beside it. What no record named
/// before as attached is not looked at.
pub(crate) fn with(ledger: &Ledger, changes: &[(Path, String)]) -> Ledger {
    let read = |path: &Path, text: &str| TextFile::read(path.clone(), text.as_bytes().to_vec());
    let (mut files, mut shops) = (Vec::new(), Vec::new());
    for (_, source) in ledger.sources.iter() {
        let changed = changes.iter().any(|(path, _)| *path == source.path);
        let list = if is_shared(source.path.name()) { &mut shops } else { &mut files };
        list.extend((!changed).then(|| read(&source.path, source.document.text())));
    }
    for (path, text) in changes {
        let list = if is_shared(path.name()) { &mut shops } else { &mut files };
        list.push(read(path, text));
    }
    // In the order in which the ledger's own files are found, and of shop files the nearest first.
    files.sort_by(|a, b| a.source.path.cmp(&b.source.path));
    shops.sort_by_key(|shop| std::cmp::Reverse(shop.source.path.0.matches('/').count()));
    let mut changed = Ledger::new(ledger.folder.clone(), files, &shops);
    changed.attachments.clone_from(&ledger.attachments);
    // What other machines have stays theirs. Which records stand there too is told by number, and numbers may have moved.
    let Elsewhere { serials, name, leaves, bars, unjudged, .. } = ledger.elsewhere.clone();
    changed.elsewhere = Elsewhere { serials, name, leaves, bars, unjudged, ..Elsewhere::default() };
    changed
}

/// A ledger as it would be without some of its records: `whole` are their nodes. Their text is blanked, so that all else
/// keeps its place.
pub(crate) fn without(ledger: &Ledger, whole: impl IntoIterator<Item = Place>) -> Ledger {
    let mut texts: BTreeMap<SourceId, String> = BTreeMap::new();
    for place in whole {
        let text =
            texts.entry(place.source).or_insert_with(|| ledger.sources.get(place.source).document.text().to_owned());
        let range = place.span.range();
        // A `;` behind it would end nothing.
        let end = range.end + text[range.end..].len() - text[range.end..].trim_start_matches([' ', '\t']).len();
        let end = if text[end..].starts_with(';') { end + 1 } else { range.end };
        let blank: String = text[range.start..end]
            .chars()
            .flat_map(|c| std::iter::repeat_n(if c == '\n' { '\n' } else { ' ' }, c.len_utf8()))
            .collect();
        text.replace_range(range.start..end, &blank);
    }
    let changed = texts.into_iter().map(|(id, text)| (ledger.sources.get(id).path.clone(), text));
    with(ledger, &changed.collect::<Vec<_>>())
}

/// Judges a ledger as it would be with one file, which may not be there yet, that holds a text. Nothing is written.
pub(crate) fn with_text(ledger: &Ledger, path: &Path, text: String, day: impl Into<Day>) -> Judged {
    judge_ledger(with(ledger, &[(path.clone(), text)]), day)
}

/// The same with some changes to one of its files.
pub(crate) fn with_edits(
    ledger: &Ledger,
    changed: SourceId,
    edits: &[Edit],
    day: impl Into<Day>,
) -> Result<Judged, EditError> {
    let source = ledger.sources.get(changed);
    let text = text::apply(source.document.text(), edits)?;
    Ok(with_text(ledger, &source.path, text, day))
}
