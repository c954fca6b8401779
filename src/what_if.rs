//! A ledger as it would be with some of its files changed: the one way in which a command judges before it writes.
//!
//! All else stays what the ledger was read from, attached files included. A file that somebody saves meanwhile, half done
//! perhaps, is therefore never taken for what the change brings about.

use crate::ledger::{Ledger, TextFile};
use crate::lint::{Judged, attachments, judge_ledger};
use crate::world::ledgers::SHOP;
use crate::world::{Path, World};

/// A ledger as if each of these files, there already or not, held the text that stands beside it. Attached files are known
/// as far as they were.
pub fn with(ledger: &Ledger, changes: &[(Path, String)]) -> Ledger {
    let read = |path: &Path, text: &str| TextFile::read(path.clone(), text.as_bytes().to_vec());
    let (mut files, mut shops) = (Vec::new(), Vec::new());
    for (_, source) in ledger.sources.iter() {
        if changes.iter().any(|(path, _)| *path == source.path) {
            continue;
        }
        let list = if source.path.name() == SHOP { &mut shops } else { &mut files };
        list.push(read(&source.path, source.document.text()));
    }
    files.extend(changes.iter().map(|(path, text)| read(path, text)));
    // In the order in which the ledger's own files are found.
    files.sort_by(|a, b| a.source.path.cmp(&b.source.path));
    let mut changed = Ledger::new(ledger.folder.clone(), files, &shops);
    changed.attachments.clone_from(&ledger.attachments);
    changed
}

/// Judges a ledger as if each of these files, there already or not, held the text that stands beside it. Nothing is
/// written. The world is asked only for attached files that the ledger did not name before.
pub fn what_if(world: &dyn World, ledger: &Ledger, changes: &[(Path, String)]) -> Judged {
    let mut changed = with(ledger, changes);
    attachments(world, &mut changed, &ledger.attachments);
    judge_ledger(changed, world.day())
}
