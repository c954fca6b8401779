//! What a format of findings must say of itself, and how it is written. `findings_formats.rs` lists them.

use std::io::{self, Write};

use super::style::Style;
use super::{Counts, Root};
use crate::judging::lint::Judged;

/// A format of findings. Ledgers are written apart from each other, many at once, and put together in their order.
pub trait FindingsFormat: Sync {
    /// What it is asked for by.
    fn name(&self) -> &'static str;

    /// One line about it.
    fn help(&self) -> &'static str;

    /// Review pages know paths from the top of the repository; people and programs, from where they stand.
    fn has_paths_from_top(&self) -> bool {
        true
    }

    /// Of a commit, a person is shown only what stops it, with a line about the rest.
    fn is_for_people(&self) -> bool {
        false
    }

    /// All before the first ledger.
    fn begin(&self, _out: &mut dyn Write) -> io::Result<()> {
        Ok(())
    }

    /// What stands before a piece, the first or a later one.
    fn separator(&self, _is_first: bool) -> &'static str {
        ""
    }

    /// One ledger or shop file, in as many pieces as stand beside each other there.
    fn ledger(&self, judged: &Judged, look: &OutputOptions) -> io::Result<Vec<Vec<u8>>>;

    /// The kind of a piece, where only so many of a kind are written; nothing where all are.
    fn kind_of_piece(&self, _piece: &[u8]) -> Option<CappedKind> {
        None
    }

    /// All after the last ledger.
    fn end(&self, _out: &mut dyn Write, _sum: &OutputTotals) -> io::Result<()> {
        Ok(())
    }
}

/// A kind of piece of which only the first are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CappedKind {
    /// Which it is, counted from nought.
    pub kind: usize,
    /// How many of it are written.
    pub most: usize,
}

/// How findings are to look.
#[derive(Clone, Debug, Default)]
pub struct OutputOptions {
    /// Colour and width, for the terminal.
    pub style: Style,
    /// Ledgers without findings are not shown.
    pub is_quiet: bool,
    /// Every finding is shown in full, for people; formats for programs always do.
    pub is_all: bool,
    /// Where paths start.
    pub root: Root,
    /// A line about what is not shown or does not count, for people.
    pub told: Option<String>,
    /// What was found in the ledger at the revision it is held against, and is not any more; for a format that says so.
    pub absent: Option<std::sync::Arc<Judged>>,
}

/// What was written in all.
#[derive(Clone, Copy, Debug, Default)]
pub struct OutputTotals {
    /// Findings by grade.
    pub counts: Counts,
    /// A shop file without findings is none.
    pub ledgers: usize,
    /// Ledgers without findings are not counted out.
    pub is_quiet: bool,
    /// Whether a sum over all ledgers says anything.
    pub is_wanted: bool,
    /// Pieces that were not written, since there were too many of their kind. The writer knows.
    pub pieces_left_out: usize,
}

/// The separator of a JSON array with an entry a line.
pub(super) fn comma(is_first: bool) -> &'static str {
    if is_first { "\n" } else { ",\n" }
}

/// Findings as they are written, ledger by ledger.
pub struct FindingsWriter<W> {
    out: W,
    format: &'static dyn FindingsFormat,
    /// Pieces written so far.
    pieces: usize,
    /// The same by kind.
    of_kind: Vec<usize>,
    left_out: usize,
}

impl<W: Write> FindingsWriter<W> {
    /// Begins.
    pub fn new(mut out: W, format: &'static dyn FindingsFormat) -> io::Result<Self> {
        format.begin(&mut out)?;
        Ok(FindingsWriter { out, format, pieces: 0, of_kind: Vec::new(), left_out: 0 })
    }

    /// The pieces of one ledger.
    pub fn ledger(&mut self, pieces: &[Vec<u8>]) -> io::Result<()> {
        for piece in pieces {
            if !self.has_room(piece) {
                self.left_out += 1;
                continue;
            }
            self.out.write_all(self.format.separator(self.pieces == 0).as_bytes())?;
            self.pieces += 1;
            self.out.write_all(piece)?;
        }
        Ok(())
    }

    /// Counts a piece of its kind, where kinds are counted.
    fn has_room(&mut self, piece: &[u8]) -> bool {
        let Some(CappedKind { kind, most }) = self.format.kind_of_piece(piece) else { return true };
        if self.of_kind.len() <= kind {
            self.of_kind.resize(kind + 1, 0);
        }
        self.of_kind[kind] += 1;
        self.of_kind[kind] <= most
    }

    /// Ends, with what belongs behind all ledgers.
    pub fn finish(mut self, sum: &OutputTotals) -> io::Result<()> {
        let sum = OutputTotals { pieces_left_out: self.left_out, ..*sum };
        self.format.end(&mut self.out, &sum)?;
        self.out.flush()
    }
}
