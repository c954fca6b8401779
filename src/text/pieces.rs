//! Every piece of a text in its order, comments and spaces included, for who lays a text out or changes it.
//!
//! A document keeps neither comments nor spaces: they are found when asked for, in the bytes between the names and
//! entries. What `/-` leaves out is no part of what a text says; so it stands in a [`WholeText`] only, which cannot be
//! walked like a document.

use super::chars::{is_break, is_space};
use super::document::{Document, EntryRef, NodeRef};
use super::read::read_whole;
use super::space::comment_end;
use super::span::Span;

/// A text without faults, and all of it: what `/-` leaves out too.
#[derive(Debug)]
pub struct WholeText(Document);

/// What a text is made of. The pieces in a row are the text, but for its byte order mark.
#[derive(Clone, Copy, Debug)]
pub enum Piece<'w> {
    /// The annotation and the name of a node.
    Node(NodeRef<'w>),
    /// An argument or property, whole.
    Entry(EntryRef<'w>),
    /// What lies between them.
    Between(Trivia, Span),
}

/// What stands between names and entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trivia {
    /// Spaces.
    Space,
    /// A line break.
    Break,
    /// `// …`, without its line break.
    LineComment,
    /// `/* … */`.
    BlockComment,
    /// The `\` at the end of a line that goes on.
    Continued,
    /// `/-`: the node, entry or block that comes next is left out.
    LeftOut,
    /// The opening brace of a block.
    Open,
    /// The closing brace.
    Close,
    /// A semicolon.
    Semicolon,
}

impl WholeText {
    /// Of a document that was read without a fault; of any other, what comes is in no certain order.
    pub fn from_document(sound: &Document) -> WholeText {
        WholeText(read_whole(sound))
    }

    /// The text itself.
    pub fn text(&self) -> &str {
        self.0.text()
    }

    /// The document with what is left out in it, as if it counted.
    pub(crate) fn document(&self) -> &Document {
        &self.0
    }

    /// From the start of the text, behind its byte order mark.
    pub fn pieces(&self) -> Pieces<'_> {
        let mark = if self.text().starts_with('\u{FEFF}') { '\u{FEFF}'.len_utf8() } else { 0 };
        Pieces { whole: &self.0, at: mark, node: 0, entry: 0 }
    }
}

/// Goes from piece to piece. A copy goes on from the same place.
#[derive(Clone, Debug)]
pub struct Pieces<'w> {
    whole: &'w Document,
    at: usize,
    /// The next node and the next entry to come.
    node: usize,
    entry: usize,
}

impl<'w> Pieces<'w> {
    /// Where the next piece begins.
    pub fn offset(&self) -> usize {
        self.at
    }

    /// The next piece, without going on.
    pub fn peek(&self) -> Option<Piece<'w>> {
        self.clone().next()
    }

    /// Goes on, from behind the `{` of a block, to behind its `}`.
    pub fn leave_block(&mut self) {
        loop {
            match self.next() {
                None | Some(Piece::Between(Trivia::Close, _)) => return,
                Some(Piece::Node(node)) => self.leave_node(node),
                Some(_) => {}
            }
        }
    }

    /// Goes on from the name of a node to behind its last entry or block.
    fn leave_node(&mut self, node: NodeRef) {
        self.at = self.at.max(node.span().range().end);
        self.node = node.after();
        let next = self.whole.nodes.get(self.node);
        self.entry = next.map_or(self.whole.entries.len(), |next| next.entries.0 as usize);
    }
}

impl<'w> Iterator for Pieces<'w> {
    type Item = Piece<'w>;

    fn next(&mut self) -> Option<Piece<'w>> {
        let rest = self.whole.text().get(self.at..).filter(|rest| !rest.is_empty())?;
        if let Some(entry) = self.whole.entry(self.entry).filter(|entry| entry.span().range().start == self.at) {
            self.entry += 1;
            self.at = entry.span().range().end;
            return Some(Piece::Entry(entry));
        }
        if let Some(node) = self.whole.node(self.node).filter(|node| node.span().range().start == self.at) {
            self.node += 1;
            self.at = node.name_span().range().end;
            return Some(Piece::Node(node));
        }
        let start = self.at;
        let (between, len) = between(rest);
        self.at += len;
        Some(Piece::Between(between, Span::new(start, self.at)))
    }
}

/// What a text begins with that is neither a name nor an entry, and its length.
fn between(rest: &str) -> (Trivia, usize) {
    let until = |stop: fn(char) -> bool| rest.find(stop).unwrap_or(rest.len());
    let c = rest.chars().next().unwrap_or('\n');
    match c {
        '{' => (Trivia::Open, 1),
        '}' => (Trivia::Close, 1),
        ';' => (Trivia::Semicolon, 1),
        '\\' => (Trivia::Continued, 1),
        '/' if rest.starts_with("/-") => (Trivia::LeftOut, 2),
        '/' if rest.starts_with("//") => (Trivia::LineComment, until(is_break)),
        '/' => (Trivia::BlockComment, comment_end(rest.as_bytes(), 0).unwrap_or(rest.len())),
        '\r' if rest.starts_with("\r\n") => (Trivia::Break, 2),
        _ if is_break(c) => (Trivia::Break, c.len_utf8()),
        _ => (Trivia::Space, until(|c| !is_space(c)).max(c.len_utf8())),
    }
}
