//! The files a ledger was read from, and places in them.

use std::sync::Arc;

use crate::text::{Document, Span};
use crate::world::Path;

/// Which of a ledger's files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct SourceId(pub u32);

/// A stretch of one of a ledger's files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Place {
    /// The file.
    pub source: SourceId,
    /// The bytes of it.
    pub span: Span,
}

impl Place {
    /// Whether it lies in another one, or is that.
    pub(crate) fn lies_in(self, whole: Place) -> bool {
        self.source == whole.source && whole.span.start <= self.span.start && self.span.end <= whole.span.end
    }
}

/// One file that was read.
#[derive(Debug)]
pub struct Source {
    /// Where it was read from.
    pub path: Path,
    /// What was read.
    pub document: Document,
}

/// The files of one ledger: its own first, then the shop files above, nearest first.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<Arc<Source>>,
}

impl Sources {
    /// Adds one; the number that it gets.
    pub fn add(&mut self, source: Arc<Source>) -> SourceId {
        self.files.push(source);
        SourceId(self.files.len() as u32 - 1)
    }

    /// The file of an id this collection gave.
    pub fn get(&self, id: SourceId) -> &Source {
        &self.files[id.0 as usize]
    }

    /// All, in the order in which they were added.
    pub fn iter(&self) -> impl Iterator<Item = (SourceId, &Source)> {
        self.files.iter().enumerate().map(|(i, source)| (SourceId(i as u32), &**source))
    }

    /// The whole text of a file, where it is one of these.
    pub fn text_of(&self, path: &Path) -> Option<&str> {
        self.files.iter().find(|source| source.path == *path).map(|source| source.document.text())
    }

    /// The text at a place.
    pub fn text(&self, place: Place) -> &str {
        self.get(place.source).document.text().get(place.span.range()).unwrap_or("")
    }
}
