//! From byte spans to lines and columns, with the line index of each file made once.

use std::sync::OnceLock;

use super::{Place, SourceId, Sources};
use crate::text::{ColumnUnit, LineIndex};

/// A place in lines and columns from 1; columns in characters, as people count, where nothing else is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Located<'s> {
    /// The file, as its path is told.
    pub file: &'s str,
    /// Counted from 1.
    pub line: u32,
    /// Counted from 1.
    pub column: u32,
    /// The line of its end.
    pub end_line: u32,
    /// The column behind its end.
    pub end_column: u32,
}

/// Finds lines and columns in the files of one ledger.
pub struct Locator<'s> {
    sources: &'s Sources,
    lines: Vec<OnceLock<LineIndex>>,
}

impl<'s> Locator<'s> {
    /// For places in these sources.
    pub fn new(sources: &'s Sources) -> Self {
        Locator { sources, lines: sources.iter().map(|_| OnceLock::new()).collect() }
    }

    /// The lines of one source.
    pub fn lines(&self, id: SourceId) -> &LineIndex {
        self.lines[id.0 as usize].get_or_init(|| LineIndex::new(self.sources.get(id).document.text()))
    }

    /// Where a place lies, with columns in characters.
    pub fn locate(&self, place: Place) -> Located<'s> {
        self.locate_in(place, ColumnUnit::Characters)
    }

    /// The place in columns that another program counts.
    pub fn locate_in(&self, place: Place, columns: ColumnUnit) -> Located<'s> {
        let source = self.sources.get(place.source);
        let text = source.document.text();
        let lines = self.lines(place.source);
        let start = lines.place_in(text, place.span.start as usize, columns);
        let end = lines.place_in(text, place.span.end as usize, columns);
        Located {
            file: &source.path.0,
            line: start.line,
            column: start.column,
            end_line: end.line,
            end_column: end.column,
        }
    }
}
