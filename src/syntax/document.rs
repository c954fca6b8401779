//! The document: nodes in the order they stand, each with the spans of its parts.

use std::fmt;
use std::sync::OnceLock;

use super::lines::{LineIndex, Place};

/// A stretch of a file, in bytes from its start, end not included.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    pub start: u32,
    pub end: u32,
}

impl Span {
    pub fn new(start: usize, end: usize) -> Self {
        let clip = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span { start: clip(start), end: clip(end) }
    }

    pub fn len(self) -> usize {
        (self.end - self.start) as usize
    }

    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// The smallest stretch that holds both.
    pub fn to(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

impl fmt::Debug for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}..{}", self.start, self.end)
    }
}

/// A value as it was written: numbers keep their raw spelling, so that no digit is lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Value<'d> {
    /// A string, quotes and escapes resolved.
    Text(&'d str),
    /// A number, exactly as spelt (`10.50`, `0x1F`, `1_000`, also `#inf`, `#-inf`, `#nan`).
    Number(&'d str),
    Bool(bool),
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

/// A string in the text: where it stands, with quotes, and where its resolved form is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Word {
    pub span: Span,
    pub form: Form,
}

impl Word {
    /// Stands for "there is none": four bytes fewer than an `Option`, in every entry and node.
    pub const NONE: Word = Word { span: Span { start: u32::MAX, end: u32::MAX }, form: Form(0) };

    #[inline]
    pub fn get(self) -> Option<Word> {
        (self.span.start != u32::MAX).then_some(self)
    }
}

/// How to get from a word's span to its string: cut so many bytes off both ends, or look in `cooked`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Form(u32);

impl Form {
    const COOKED: u32 = 1 << 31;

    pub fn cut(bytes: usize) -> Form {
        Form(bytes as u32)
    }

    pub fn cooked(index: usize) -> Form {
        Form(index as u32 | Form::COOKED)
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
    pub value: Stored,
    /// The value alone, as written, without its type annotation.
    pub value_span: Span,
    /// Where its name, annotation or value begins; it ends with the value.
    pub start: u32,
    /// A fault lies in it.
    pub broken: bool,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Stored {
    Text(Form),
    /// The value's span is its spelling.
    Number,
    Bool(bool),
    Null,
}

impl Document {
    /// The text this document was read from, whole.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// How many nodes there are in all, at every depth.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }

    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty()
    }

    /// The top-level nodes in order.
    pub fn nodes(&self) -> Nodes<'_> {
        Nodes { document: self, at: 0, end: self.nodes.len() as u32 }
    }

    /// The node that stands at that place in the order of the text, at whatever depth.
    pub fn node(&self, index: usize) -> Option<NodeRef<'_>> {
        (index < self.nodes.len()).then_some(NodeRef { document: self, index: index as u32 })
    }

    /// The lines of the text, found at the first call.
    pub fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| LineIndex::new(&self.text))
    }

    /// Line and column of a byte of the text, both from 1.
    pub fn place(&self, offset: u32) -> Place {
        self.lines().place(&self.text, offset as usize)
    }

    #[inline]
    fn resolve(&self, span: Span, form: Form) -> &str {
        if form.0 & Form::COOKED != 0 {
            return self.cooked.get((form.0 & !Form::COOKED) as usize).map_or("", |s| s);
        }
        let cut = form.0 as usize;
        self.text.get(span.start as usize + cut..(span.end as usize).saturating_sub(cut)).unwrap_or("")
    }

    #[inline]
    fn word(&self, word: Word) -> &str {
        self.resolve(word.span, word.form)
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
        let node = NodeRef { document: self.document, index: self.at };
        self.at = node.node().next;
        Some(node)
    }
}

/// A node of a document.
#[derive(Clone, Copy)]
pub struct NodeRef<'d> {
    document: &'d Document,
    index: u32,
}

impl fmt::Debug for NodeRef<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} at {:?}", self.name(), self.span())
    }
}

impl<'d> NodeRef<'d> {
    #[inline]
    fn node(self) -> &'d Node {
        &self.document.nodes[self.index as usize]
    }

    pub fn document(self) -> &'d Document {
        self.document
    }

    #[inline]
    pub fn name(self) -> &'d str {
        self.document.word(self.node().name)
    }

    /// The name as written, quotes included.
    pub fn name_span(self) -> Span {
        self.node().name.span
    }

    /// The type annotation on the node itself, with its span.
    #[inline]
    pub fn ty(self) -> Option<(&'d str, Span)> {
        self.node().ty.get().map(|word| (self.document.word(word), word.span))
    }

    /// From the annotation or name to the end of the last entry or block.
    pub fn span(self) -> Span {
        self.node().span
    }

    /// Name and entries, without the block: what a label should point at.
    pub fn head(self) -> Span {
        let entries = self.node().entries;
        match self.document.entries.get(entries.0 as usize..entries.1 as usize) {
            Some([.., last]) => self.name_span().to(last.value_span),
            _ => self.name_span(),
        }
    }

    /// Its place in the order of the text, counted over all depths.
    pub fn index(self) -> usize {
        self.index as usize
    }

    /// The index of the first node after this one that is not below it.
    pub fn after(self) -> usize {
        self.node().next as usize
    }

    /// A fault was already found in its name or annotation: the name is the text as written.
    pub fn broken(self) -> bool {
        self.node().broken
    }

    /// The block, braces included.
    pub fn block(self) -> Option<Span> {
        self.node().block
    }

    /// How many nodes stand above this one.
    pub fn depth(self) -> usize {
        self.node().depth as usize
    }

    /// Arguments and properties in the order they stand.
    #[inline]
    pub fn entries(self) -> impl ExactSizeIterator<Item = EntryRef<'d>> + DoubleEndedIterator + Clone {
        let (first, last) = self.node().entries;
        let document = self.document;
        (first..last).map(move |index| EntryRef { document, index })
    }

    /// The arguments in order.
    #[inline]
    pub fn args(self) -> impl Iterator<Item = EntryRef<'d>> + Clone {
        self.entries().filter(|entry| entry.is_arg())
    }

    /// The property of that name; the last one, where it is repeated, as KDL says.
    pub fn prop(self, name: &str) -> Option<EntryRef<'d>> {
        self.entries().rev().find(|entry| entry.name() == Some(name))
    }

    /// The nodes directly below in order.
    #[inline]
    pub fn children(self) -> Nodes<'d> {
        Nodes { document: self.document, at: self.index + 1, end: self.node().next }
    }
}

/// An argument or a property of a node.
#[derive(Clone, Copy)]
pub struct EntryRef<'d> {
    document: &'d Document,
    index: u32,
}

impl fmt::Debug for EntryRef<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}={:?} at {:?}", self.name(), self.value(), self.span())
    }
}

impl<'d> EntryRef<'d> {
    #[inline]
    fn entry(self) -> &'d Entry {
        &self.document.entries[self.index as usize]
    }

    /// It has no name.
    #[inline]
    pub fn is_arg(self) -> bool {
        self.entry().name.get().is_none()
    }

    /// The property's name, or nothing for an argument.
    #[inline]
    pub fn name(self) -> Option<&'d str> {
        self.entry().name.get().map(|word| self.document.word(word))
    }

    pub fn name_span(self) -> Option<Span> {
        self.entry().name.get().map(|word| word.span)
    }

    /// The type annotation, without its parentheses, with its span.
    #[inline]
    pub fn ty(self) -> Option<(&'d str, Span)> {
        self.entry().ty.get().map(|word| (self.document.word(word), word.span))
    }

    #[inline]
    pub fn value(self) -> Value<'d> {
        match self.entry().value {
            Stored::Text(form) => Value::Text(self.document.resolve(self.value_span(), form)),
            Stored::Number => Value::Number(self.raw()),
            Stored::Bool(value) => Value::Bool(value),
            Stored::Null => Value::Null,
        }
    }

    /// The value as written: quotes, `#` and all.
    #[inline]
    pub fn raw(self) -> &'d str {
        self.document.text.get(self.value_span().range()).unwrap_or("")
    }

    /// The value alone, without its type annotation.
    #[inline]
    pub fn value_span(self) -> Span {
        self.entry().value_span
    }

    /// Name, `=`, annotation and value.
    #[inline]
    pub fn span(self) -> Span {
        let entry = self.entry();
        Span { start: entry.start, end: entry.value_span.end }
    }

    /// A fault was already found in this entry: whatever its value seems to be, it is a stand-in. Bare `true` and the
    /// like keep their plain meaning, everything else is the text as written.
    pub fn broken(self) -> bool {
        self.entry().broken
    }
}
