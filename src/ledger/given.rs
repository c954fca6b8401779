//! A value with its place, and the reading of nodes into values.
//!
//! The schema check has already said what is wrong with a node. Reading it again therefore never complains: what
//! cannot be read is simply not there.

use std::ops::Deref;

use crate::finding::{Place, SourceId};
use crate::quantity::{Amount, Decimal, Length, Moment};
use crate::syntax::{EntryRef, NodeRef, Span, Value};

/// A value and where it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Given<T> {
    pub value: T,
    pub place: Place,
}

impl<T> Deref for Given<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

impl Given<String> {
    /// The same, borrowed.
    pub fn word(&self) -> Given<&str> {
        Given { value: &self.value, place: self.place }
    }
}

/// A node with the file it stands in.
#[derive(Clone, Copy)]
pub(super) struct Row<'d> {
    pub node: NodeRef<'d>,
    pub source: SourceId,
}

impl<'d> Row<'d> {
    pub fn name(self) -> &'d str {
        self.node.name()
    }

    pub fn at(self, span: Span) -> Place {
        Place { source: self.source, span }
    }

    /// Name and values: what a label points at.
    pub fn place(self) -> Place {
        self.at(self.node.head())
    }

    pub fn children(self) -> impl Iterator<Item = Row<'d>> {
        let source = self.source;
        self.node.children().map(move |node| Row { node, source })
    }

    /// No fewer than its children: how much room to make for them.
    pub fn size_hint(self) -> usize {
        self.node.after() - self.node.index() - 1
    }

    pub fn named(self, name: &'d str) -> impl Iterator<Item = Row<'d>> {
        self.children().filter(move |row| row.name() == name)
    }

    pub fn child(self, name: &'d str) -> Option<Row<'d>> {
        self.named(name).next()
    }

    fn give<T>(self, entry: EntryRef<'d>, value: Option<T>) -> Option<Given<T>> {
        value.map(|value| Given { value, place: self.at(entry.span()) })
    }

    pub fn arg(self, index: usize) -> Option<EntryRef<'d>> {
        self.node.args().nth(index)
    }

    /// A property's text; a number counts as it is spelt.
    pub fn text(self, prop: &str) -> Option<Given<String>> {
        let entry = self.node.prop(prop)?;
        self.give(entry, text(entry))
    }

    /// An argument's text as it stands in the document.
    pub fn arg_word(self, index: usize) -> Option<Given<&'d str>> {
        let entry = self.arg(index)?;
        self.give(entry, word(entry))
    }

    pub fn arg_text(self, index: usize) -> Option<Given<String>> {
        let entry = self.arg(index)?;
        self.give(entry, text(entry))
    }

    pub fn amount<A: Amount>(self, prop: &str) -> Option<Given<A>> {
        let entry = self.node.prop(prop)?;
        self.give(entry, amount(entry))
    }

    pub fn arg_amount<A: Amount>(self, index: usize) -> Option<Given<A>> {
        let entry = self.arg(index)?;
        self.give(entry, amount(entry))
    }

    pub fn length(self, prop: &str) -> Option<Given<Length>> {
        self.amount(prop)
    }

    /// A length above zero: where the schema has found another at fault, there is none to work with.
    pub fn size(self, prop: &str) -> Option<Given<Length>> {
        self.length(prop).filter(|length| **length > Length::ZERO)
    }

    pub fn count(self, prop: &str) -> Option<Given<u32>> {
        let entry = self.node.prop(prop)?;
        self.give(entry, count(entry))
    }

    pub fn flag(self, prop: &str) -> Option<Given<bool>> {
        let entry = self.node.prop(prop)?;
        let value = match entry.value() {
            Value::Bool(value) => Some(value),
            _ => None,
        };
        self.give(entry, value)
    }

    pub fn moment(self, prop: &str) -> Option<Given<Moment>> {
        let entry = self.node.prop(prop)?;
        self.give(entry, moment(entry))
    }

    pub fn arg_moment(self, index: usize) -> Option<Given<Moment>> {
        let entry = self.arg(index)?;
        self.give(entry, moment(entry))
    }

    /// A property that is one of some words.
    pub fn word<T: Word>(self, prop: &str) -> Option<Given<T>> {
        let entry = self.node.prop(prop)?;
        self.give(entry, word(entry).and_then(T::of))
    }
}

pub(super) fn text(entry: EntryRef) -> Option<String> {
    word(entry).map(String::from)
}

/// A text; a number counts as it is spelt.
pub(super) fn word(entry: EntryRef<'_>) -> Option<&str> {
    match entry.value() {
        Value::Text(text) | Value::Number(text) => Some(text),
        Value::Bool(_) | Value::Null => None,
    }
}

pub(super) fn amount<A: Amount>(entry: EntryRef) -> Option<A> {
    match entry.value() {
        Value::Number(raw) => A::read(raw, entry.ty().map(|(unit, _)| unit)).ok(),
        _ => None,
    }
}

fn moment(entry: EntryRef) -> Option<Moment> {
    match entry.value() {
        Value::Text(text) => Moment::read(text),
        _ => None,
    }
}

pub(super) fn count(entry: EntryRef) -> Option<u32> {
    match entry.value() {
        Value::Number(raw) => match Decimal::read(raw) {
            Ok(Decimal { digits, places: 0 }) => u32::try_from(digits).ok(),
            _ => None,
        },
        _ => None,
    }
}

/// A closed set of words of the language.
pub trait Word: Sized + Copy + 'static {
    const WORDS: &'static [(&'static str, Self)];

    fn of(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(known, _)| *known == word).map(|(_, value)| *value)
    }

    fn word(self) -> &'static str
    where
        Self: PartialEq,
    {
        Self::WORDS.iter().find(|(_, value)| *value == self).map_or("", |(word, _)| word)
    }
}

/// Declares an enum together with the words that stand for it in a ledger.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $($(#[$vdoc])* $variant),*
        }

        impl $crate::ledger::Word for $name {
            const WORDS: &'static [(&'static str, Self)] = &[$(($word, $name::$variant)),*];
        }
    };
}
pub(super) use words;
