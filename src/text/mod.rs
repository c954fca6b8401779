//! Text to nodes: the ledger's own KDL 2 reader, with a byte span on everything and recovery from mistakes.
//!
//! A [`Document`] keeps its text and a flat list of nodes in the order they stand, so that reading needs no recursion
//! and walking needs no pointers. [`NodeRef`] is the handle everything else works with.

mod balance;
mod block;
mod chars;
mod document;
mod edit;
mod entry;
mod fault;
mod form;
mod lines;
mod meaning;
mod node;
mod number;
mod pieces;
mod plain;
mod quote;
mod read;
mod reader;
mod scan;
mod space;
mod span;
mod strings;
#[cfg(test)]
mod tests;
mod unseen_breaks;
mod write;

pub(crate) use chars::{begins_number, is_break};
pub use chars::{is_banned, is_unseen};
pub use document::{Document, EntryRef, NodeRef, Nodes, Value};
pub(crate) use edit::newline;
pub use edit::{Edit, EditError, Proved, SecondRefusal, append, apply, prove};
pub use fault::{Fault, FaultKind};
pub(crate) use form::Plain;
pub use lines::{ColumnUnit, LineColumn, LineIndex};
pub use meaning::{Difference, same_meaning};
pub use pieces::{Piece, Pieces, Trivia, WholeText};
pub use quote::{quote, quoted};
pub use read::{ParsedText, read, read_bytes};
pub use reader::ReadLimits;
pub use span::Span;
pub(crate) use unseen_breaks::unseen_breaks;
pub use write::canonical;
