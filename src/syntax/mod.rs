//! Text to nodes: the ledger's own KDL 2 reader, with a byte span on everything and recovery from mistakes.
//!
//! A [`Document`] keeps its text and a flat list of nodes in the order they stand, so that reading needs no recursion
//! and walking needs no pointers. [`NodeRef`] is the handle everything else works with.

mod document;

pub use document::{Document, EntryRef, NodeRef, Span, Value};
