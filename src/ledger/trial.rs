//! A limit that is tried out, held to all that a rulebook in a file is held to: its range and the order of its ends.

use super::draft::{NodeDraft, SpeltValue};
use super::text_file::TextFile;
use crate::finding::SourceId;
use crate::language::rulebook::{self, LimitChange, SpeltNumber};
use crate::world::Path;

/// Reads a limit as somebody tries it; why not, where it is none or no file may state it so.
pub(crate) fn tried(text: &str) -> Result<LimitChange, String> {
    let change = rulebook::tried(text)?;
    let number = |of: &SpeltNumber| SpeltValue::typed_in(of.unit.as_deref(), &of.raw);
    let mut row = NodeDraft::new(change.entry.name);
    for (end, spelt) in [("least", &change.least), ("most", &change.most), ("over", &change.over)] {
        if let Some(spelt) = spelt {
            row.set(end, number(spelt));
        }
    }
    if let Some(word) = &change.choice {
        row.set("is", word.as_str());
    }
    let shop =
        NodeDraft::new("shop").row(NodeDraft::new("rulebook").row(row.property("reason", change.reason.as_str())));
    let file = TextFile::read(Path("shop.kdl".into()), shop.text().into_bytes());
    match file.findings(SourceId::default()).into_iter().next() {
        Some(fault) => Err(format!("`{text}`: {}; {}", fault.message, fault.next)),
        None => Ok(change),
    }
}
