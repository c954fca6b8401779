//! A ledger as it would be with some of its files changed: the one way in which a command judges before it writes.
//!
//! All else stays what the ledger was read from, attached files included, so that nothing is said for the want of them. A
//! file that somebody saves meanwhile, half done perhaps, is never taken for what the change brings about.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::finding::SourceId;
use crate::ledger::{Ledger, TextFile};
use crate::lint::{Judged, judge_ledger};
use crate::syntax::{self, Edit, EditFault};
use crate::world::Path;
use crate::world::ledgers::SHOP;

/// Judges a ledger as it would be with one file, which may not be there yet, that holds a text. Nothing is written.
pub fn with_text(ledger: &Ledger, path: &Path, text: String, today: Date) -> Judged {
    match ledger.sources.iter().find(|(_, source)| source.path == *path) {
        Some((id, _)) => with_texts(ledger, BTreeMap::from([(id, text)]), Vec::new(), today),
        None => {
            let more = TextFile::read(path.clone(), text.into_bytes());
            with_texts(ledger, BTreeMap::new(), vec![more], today)
        }
    }
}

/// The same with some changes to one of its files.
pub fn with_edits(ledger: &Ledger, changed: SourceId, edits: &[Edit], today: Date) -> Result<Judged, EditFault> {
    let text = syntax::apply(ledger.sources.get(changed).document.text(), edits)?;
    Ok(with_texts(ledger, BTreeMap::from([(changed, text)]), Vec::new(), today))
}

/// The same with other texts in some of its files, and with some files more. What no record named before as attached is
/// not looked at.
pub fn with_texts(ledger: &Ledger, mut texts: BTreeMap<SourceId, String>, more: Vec<TextFile>, today: Date) -> Judged {
    let (mut files, mut shops) = (Vec::new(), Vec::new());
    for (id, source) in ledger.sources.iter() {
        let text = texts.remove(&id).unwrap_or_else(|| source.document.text().to_string());
        let file = TextFile::read(source.path.clone(), text.into_bytes());
        if source.path.name() == SHOP { shops.push(file) } else { files.push(file) }
    }
    files.extend(more);
    // In the order in which the ledger's own files are found.
    files.sort_by(|a, b| a.source.path.cmp(&b.source.path));
    let mut changed = Ledger::new(ledger.folder.clone(), files, &shops);
    changed.attachments.clone_from(&ledger.attachments);
    judge_ledger(changed, today)
}
