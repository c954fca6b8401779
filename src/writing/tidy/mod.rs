//! One layout for all ledger files, so that a difference between two revisions is a difference in what they say.
//!
//! What the layout is:
//!
//! - Four spaces a level, a node a line, one space between parts. A block that was written on one line stays on it while
//!   the line has at most 120 columns (comments behind it not counted).
//! - Values first, then properties in the order of the language reference, then unknown ones. Where a comment or a
//!   continued line stands between them, their order stays.
//! - Neighbouring rows of one name (the four grooves count as one) form a table: columns in line, numbers by their
//!   decimal points.
//! - At most one blank line in a row; one around every record of several lines, none at the edges of a block.
//! - Every comment stays with its node: above it, before it, behind it. Every number and string stays as spelt. What `/-`
//!   leaves out is laid out like the rest.
//! - The file keeps its kind of line break (that of its first line) and its byte order mark, if it has one; it ends with
//!   one line break.
//!
//! New records get their layout here too: build their lines in any way, let [`addition`] lay them out for the end of a
//! file (or [`text`] for a new file), and hand the result to `writing`. It never returns a text that says anything else: the result is read again and compared, comment
//! by comment and word by word.

mod print;
mod rows;
mod spelt;
mod table;

use crate::text::{self, Fault, Piece, ReadLimits, Trivia, WholeText};

/// Why a text was left as it is.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TidyError {
    /// The text has mistakes.
    #[error("it has mistakes that must be mended first: {}", .0.first().map(Fault::message).unwrap_or_default())]
    Faults(Vec<Fault>),
    /// It is more than can be laid out.
    #[error("it holds {parts} nodes and values, and at most {MOST_PARTS} are laid out: part the file")]
    TooMuch {
        /// Its nodes and values.
        parts: usize,
    },
    /// A mistake in this program: the layout would have changed what the text says.
    #[error("its layout would have altered {0}; please report this")]
    Altered(String),
}

/// Every part is laid out as a text of its own: this many take a third of a gigabyte; twice as many ended at a whole one. No
/// ledger file has a fifth of it.
const MOST_PARTS: usize = 500_000;

/// The text in its one layout.
pub fn text(source: &str) -> Result<String, TidyError> {
    let read = text::read(source.to_owned(), &ReadLimits::default());
    if !read.faults.is_empty() {
        return Err(TidyError::Faults(read.faults));
    }
    few_enough(read.document.parts())?;
    let whole = WholeText::from_document(&read.document);
    // With what `/-` leaves out there may be more.
    few_enough(whole.document().parts())?;
    let mut laid_out = print::document(&rows::top(source, whole.pieces()));
    let first_line = source.find('\n').is_some_and(|at| source[..at].ends_with('\r'));
    if laid_out.contains("\r\n") {
        laid_out = laid_out.replace("\r\n", "\n");
    }
    if first_line {
        laid_out = laid_out.replace('\n', "\r\n");
    }
    if source.starts_with(BYTE_ORDER_MARK) {
        laid_out.insert(0, BYTE_ORDER_MARK);
    }
    same(&read.document, &whole, &laid_out)?;
    Ok(laid_out)
}

fn few_enough(parts: usize) -> Result<(), TidyError> {
    if parts > MOST_PARTS { Err(TidyError::TooMuch { parts }) } else { Ok(()) }
}

/// Records laid out to stand at the end of a file that says `before`: with a blank line in front, where something is
/// there already.
pub(crate) fn addition(before: &str, records: &str) -> Result<String, TidyError> {
    let laid_out = text(records)?;
    let apart = !before.trim_start_matches(BYTE_ORDER_MARK).trim().is_empty() && !before.ends_with("\n\n");
    Ok(if apart { format!("\n{laid_out}") } else { laid_out })
}

const BYTE_ORDER_MARK: char = '\u{FEFF}';

/// Does the laid out text say the same, in the same words, with the same comments?
fn same(before: &text::Document, whole: &WholeText, laid_out: &str) -> Result<(), TidyError> {
    let read = text::read(laid_out.to_owned(), &ReadLimits::default());
    if let Some(fault) = read.faults.first() {
        return Err(TidyError::Altered(fault.message()));
    }
    if let Some(difference) = text::same_meaning(before, &read.document) {
        return Err(TidyError::Altered(difference.what));
    }
    let (was, is) = (kept(whole), kept(&WholeText::from_document(&read.document)));
    match was.iter().zip(&is).find(|(was, is)| was != is) {
        Some((was, _)) => Err(TidyError::Altered(format!("`{was}`"))),
        None if was.len() != is.len() => Err(TidyError::Altered("a comment or a word".into())),
        None => Ok(()),
    }
}

/// All names, entries, marks and comments of a text, sorted, since properties change places.
fn kept(whole: &WholeText) -> Vec<String> {
    let text = whole.text();
    let spelt = |piece| match piece {
        Piece::Between(Trivia::Space | Trivia::Break | Trivia::Continued | Trivia::Semicolon, _) => None,
        Piece::Between(_, span) => text.get(span.range()).map(str::to_owned),
        Piece::Node(node) => Some(spelt::head(node)),
        Piece::Entry(entry) => Some(spelt::entry(text, entry)),
    };
    let mut kept: Vec<String> =
        whole.pieces().filter_map(spelt).map(|piece| piece.trim_end().replace("\r\n", "\n")).collect();
    kept.sort_unstable();
    kept
}
