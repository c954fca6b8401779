//! The document: nodes in the order they stand, each with the spans of its parts.

use std::fmt;
use std::sync::OnceLock;

use super::form::{Plain, WordForm};
use super::lines::{LineColumn, LineIndex};
use super::span::Span;

/// A value as it was written: numbers keep their raw spelling, so that no digit is lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Value<'d> {
    /// A string, quotes and escapes resolved.
    Text(&'d str),
    /// A number, exactly as spelt (`10.50`, `0x1F`, `1_000`, also `#inf`, `#-inf`, `#nan`).
    Number(&'d str),
    /// `#true` or `#false`.
    Bool(bool),
    /// `#null`.
    Null,
}

/// One KDL document with its text.
#[derive(Debug, Default)]
pub struct Document {
    pub(super) text: String,
    /// In the order they stand (pre-order).
    pub(super) nodes: Vec<Node>,
    /// All entries of all nodes; each node's own lie together.
    pub(super) entries: Vec<Entry>,
    /// Strings that had to be unescaped, and so are not a plain stretch of the text.
    pub(super) cooked: Vec<Box<str>>,
    /// How deep blocks left out by `/-` lie inside one another.
    pub(super) left_out: u16,
    pub(super) lines: OnceLock<LineIndex>,
}

/// A name or value in the text: where it stands, with quotes, and what is to be made of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Word {
    pub span: Span,
    pub form: WordForm,
}

impl Word {
    /// Stands for "there is none": four bytes fewer than an `Option`, in every entry and node.
    pub(crate) const NONE: Word = Word { span: Span { start: u32::MAX, end: u32::MAX }, form: WordForm::BARE };

    #[inline]
    pub(crate) fn get(self) -> Option<Word> {
        (self.span.start != u32::MAX).then_some(self)
    }
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub ty: Word,
    pub name: Word,
    /// `entries[first..last]` are this node's.
    pub entries: (u32, u32),
    /// From the opening brace to the closing brace, both included.
    pub block: Option<Span>,
    /// From the type annotation or name to the end of the last entry or block; no slashdash, no terminator.
    pub span: Span,
    /// Its own place in the list.
    pub index: u32,
    /// The index of the first node after this one that is not below it.
    pub next: u32,
    /// How many nodes stand above this one.
    pub depth: u16,
    /// A fault lies in its name or annotation.
    pub broken: bool,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    /// Present for a property.
    pub name: Word,
    pub ty: Word,
    /// Without its type annotation.
    pub value: Word,
    /// Where its name, annotation or value begins; it ends with the value.
    pub start: u32,
    /// A fault lies in it.
    pub broken: bool,
}

impl Document {
    /// How many nodes and entries it has, at all depths.
    pub(crate) fn parts(&self) -> usize {
        self.nodes.len() + self.entries.len()
    }

    /// A text in which nothing is read.
    #[must_use]
    pub fn without_nodes(text: String) -> Document {
        Document { text, ..Document::default() }
    }

    /// The text this document was read from, whole.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// How many nodes there are in all, at every depth.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }

    /// It holds no node.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty()
    }

    /// The top-level nodes in order.
    #[inline]
    pub fn nodes(&self) -> Nodes<'_> {
        Nodes { document: self, at: 0, end: self.nodes.len() as u32 }
    }

    /// The node that stands at that place in the order of the text, at whatever depth.
    #[inline]
    pub fn node(&self, index: usize) -> Option<NodeRef<'_>> {
        self.nodes.get(index).map(|node| NodeRef { document: self, node })
    }

    /// The same of all entries of all nodes.
    pub(super) fn entry(&self, index: usize) -> Option<EntryRef<'_>> {
        self.entries.get(index).map(|entry| EntryRef { document: self, entry })
    }

    /// The innermost node that holds a byte of the text, or ends right before it, where a cursor would stand.
    pub fn node_at(&self, offset: usize) -> Option<NodeRef<'_>> {
        self.path_to(offset).pop()
    }

    /// The nodes around a byte of the text, from the top one to the innermost.
    pub fn path_to(&self, offset: usize) -> Vec<NodeRef<'_>> {
        let mut path: Vec<NodeRef> = Vec::new();
        let mut here = self.nodes();
        // Of two that meet in one place the later one begins there.
        while let Some(node) = here.take_while(|node| node.span().range().start <= offset).last()
            && offset <= node.span().range().end
        {
            path.push(node);
            here = node.children();
        }
        path
    }

    /// The lines of the text, found at the first call.
    pub fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| LineIndex::new(&self.text))
    }

    /// Line and column of a byte of the text, both from 1.
    pub fn place(&self, offset: u32) -> LineColumn {
        self.lines().place(&self.text, offset as usize)
    }

    /// The string a word stands for.
    #[inline]
    fn string(&self, word: Word) -> &str {
        let Some(cut) = word.form.cut_off() else {
            return self.cooked.get(word.form.in_cooked()).map_or("", |s| s);
        };
        self.slice(Span { start: word.span.start + cut, end: word.span.end - cut })
    }

    /// Whether that is the string a word stands for. Most are not, and their length says so.
    #[inline]
    fn says(&self, word: Word, text: &str) -> bool {
        let Some(cut) = word.form.cut_off() else { return self.string(word) == text };
        self.reads(Span { start: word.span.start + cut, end: word.span.end - cut }, text)
    }

    #[inline]
    fn reads(&self, span: Span, text: &str) -> bool {
        span.len() == text.len() && self.text.as_bytes().get(span.range()) == Some(text.as_bytes())
    }

    #[inline]
    fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or("")
    }
}

/// Sibling nodes in the order they stand.
#[derive(Clone, Debug)]
pub struct Nodes<'d> {
    document: &'d Document,
    at: u32,
    end: u32,
}

impl<'d> Iterator for Nodes<'d> {
    type Item = NodeRef<'d>;

    #[inline]
    fn next(&mut self) -> Option<NodeRef<'d>> {
        if self.at >= self.end {
            return None;
        }
        let node = self.document.nodes.get(self.at as usize)?;
        self.at = node.next;
        Some(NodeRef { document: self.document, node })
    }
}

/// A node of a document.
#[derive(Clone, Copy)]
pub struct NodeRef<'d> {
    document: &'d Document,
    node: &'d Node,
}

impl fmt::Debug for NodeRef<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} at {:?}", self.name(), self.span())
    }
}

impl<'d> NodeRef<'d> {
    /// What it stands in.
    #[inline]
    pub fn document(self) -> &'d Document {
        self.document
    }

    /// Its name, escapes resolved.
    #[inline]
    pub fn name(self) -> &'d str {
        self.document.string(self.node.name)
    }

    /// Whether that is its name.
    #[inline]
    pub fn is(self, name: &str) -> bool {
        self.document.says(self.node.name, name)
    }

    /// The name as written, quotes included.
    #[inline]
    pub fn name_span(self) -> Span {
        self.node.name.span
    }

    /// The type annotation on the node itself, with its span.
    #[inline]
    pub fn ty(self) -> Option<(&'d str, Span)> {
        self.node.ty.get().map(|word| (self.document.string(word), word.span))
    }

    /// From the annotation or name to the end of the last entry or block.
    #[inline]
    pub fn span(self) -> Span {
        self.node.span
    }

    /// Name and entries, without the block: what a label should point at.
    pub fn head(self) -> Span {
        match self.own_entries() {
            [.., last] => self.name_span().to(last.value.span),
            [] => self.name_span(),
        }
    }

    /// Its place in the order of the text, counted over all depths.
    #[inline]
    pub fn index(self) -> usize {
        self.node.index as usize
    }

    /// The index of the first node after this one that is not below it.
    #[inline]
    pub fn after(self) -> usize {
        self.node.next as usize
    }

    /// A fault was already found in its name or annotation: the name is the text as written.
    #[inline]
    pub fn broken(self) -> bool {
        self.node.broken
    }

    /// The block, braces included.
    pub fn block(self) -> Option<Span> {
        self.node.block
    }

    /// How many nodes stand above this one.
    pub fn depth(self) -> usize {
        self.node.depth as usize
    }

    #[inline]
    fn own_entries(self) -> &'d [Entry] {
        let (first, last) = self.node.entries;
        self.document.entries.get(first as usize..last as usize).unwrap_or_default()
    }

    /// Arguments and properties in the order they stand.
    #[inline]
    pub fn entries(self) -> impl ExactSizeIterator<Item = EntryRef<'d>> + DoubleEndedIterator + Clone {
        let document = self.document;
        self.own_entries().iter().map(move |entry| EntryRef { document, entry })
    }

    /// The arguments in order.
    #[inline]
    pub fn args(self) -> impl Iterator<Item = EntryRef<'d>> + Clone {
        self.entries().filter(|entry| entry.is_arg())
    }

    /// The property of that name; the last one, where it is repeated, as KDL says.
    pub fn prop(self, name: &str) -> Option<EntryRef<'d>> {
        self.entries().rev().find(|entry| self.document.says(entry.entry.name, name))
    }

    /// The nodes directly below in order.
    #[inline]
    pub fn children(self) -> Nodes<'d> {
        Nodes { document: self.document, at: self.node.index + 1, end: self.node.next }
    }
}

/// An argument or a property of a node.
#[derive(Clone, Copy)]
pub struct EntryRef<'d> {
    document: &'d Document,
    entry: &'d Entry,
}

impl fmt::Debug for EntryRef<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}={:?} at {:?}", self.name(), self.value(), self.span())
    }
}

impl<'d> EntryRef<'d> {
    /// It has no name.
    #[inline]
    pub fn is_arg(self) -> bool {
        self.entry.name.get().is_none()
    }

    /// The property's name, or nothing for an argument.
    #[inline]
    pub fn name(self) -> Option<&'d str> {
        self.entry.name.get().map(|word| self.document.string(word))
    }

    /// Where the name of a property stands.
    pub fn name_span(self) -> Option<Span> {
        self.entry.name.get().map(|word| word.span)
    }

    /// The type annotation, without its parentheses, with its span.
    #[inline]
    pub fn ty(self) -> Option<(&'d str, Span)> {
        self.entry.ty.get().map(|word| (self.document.string(word), word.span))
    }

    /// What it holds.
    #[inline]
    pub fn value(self) -> Value<'d> {
        match self.entry.value.form {
            form if form.is_text() => Value::Text(self.document.string(self.entry.value)),
            WordForm::TRUE => Value::Bool(true),
            WordForm::FALSE => Value::Bool(false),
            WordForm::NULL => Value::Null,
            _ => Value::Number(self.raw()),
        }
    }

    /// The value, if it is a string.
    #[inline]
    pub fn text(self) -> Option<&'d str> {
        self.entry.value.form.is_text().then(|| self.document.string(self.entry.value))
    }

    /// The value as it is spelt, if it is a string or a number: a name may look like either.
    #[inline]
    pub fn word(self) -> Option<&'d str> {
        match self.value() {
            Value::Text(text) | Value::Number(text) => Some(text),
            Value::Bool(_) | Value::Null => None,
        }
    }

    /// The value, if it is a number that was read at a glance. Any other number is to be read from its spelling.
    #[inline]
    pub fn plain(self) -> Option<Plain> {
        self.entry.value.form.plain()
    }

    /// Whether the value is written like that.
    #[inline]
    pub fn is_spelt(self, raw: &str) -> bool {
        self.document.reads(self.value_span(), raw)
    }

    /// The value as written: quotes, `#` and all.
    #[inline]
    pub fn raw(self) -> &'d str {
        self.document.slice(self.value_span())
    }

    /// The value alone, without its type annotation.
    #[inline]
    pub fn value_span(self) -> Span {
        self.entry.value.span
    }

    /// Name, `=`, annotation and value.
    #[inline]
    pub fn span(self) -> Span {
        Span { start: self.entry.start, end: self.entry.value.span.end }
    }

    /// A fault was already found in this entry: whatever its value seems to be, it is a stand-in. Bare `true` and the
    /// like keep their plain meaning, everything else is the text as written.
    pub fn broken(self) -> bool {
        self.entry.broken
    }
}
