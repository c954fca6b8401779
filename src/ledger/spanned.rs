//! A value with its place, and the reading of nodes into values.
//!
//! The schema check has already said what is wrong with a node. Reading it again therefore never complains: what
//! cannot be read is simply not there.

use std::ops::Deref;

use smol_str::SmolStr;

use crate::finding::{Place, SourceId};
use crate::quantity::{Amount, Angle, Decimal, Length, Moment};
use crate::text::{EntryRef, NodeRef, Span, Value};

/// A name or another short text of a ledger. Most lie in place, without memory of their own.
pub type Name = SmolStr;

/// A value and where it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub place: Place,
}

impl<T> Deref for Spanned<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

impl<T: Deref<Target = str>> Spanned<T> {
    /// The same, borrowed.
    pub fn word(&self) -> Spanned<&str> {
        Spanned { value: &self.value, place: self.place }
    }
}

/// A node with the file it stands in.
#[derive(Clone, Copy)]
pub(super) struct SourcedNode<'d> {
    pub node: NodeRef<'d>,
    pub source: SourceId,
}

impl<'d> SourcedNode<'d> {
    #[inline]
    pub(crate) fn name(self) -> &'d str {
        self.node.name()
    }

    #[inline]
    pub(crate) fn at(self, span: Span) -> Place {
        Place { source: self.source, span }
    }

    /// Name and values: what a label points at.
    #[inline]
    pub(crate) fn place(self) -> Place {
        self.at(self.node.head())
    }

    #[inline]
    pub(crate) fn children(self) -> impl Iterator<Item = SourcedNode<'d>> {
        let source = self.source;
        self.node.children().map(move |node| SourcedNode { node, source })
    }

    /// No fewer than its children: how much room to make for them.
    pub(crate) fn size_hint(self) -> usize {
        self.node.after() - self.node.index() - 1
    }

    pub(crate) fn named(self, name: &'d str) -> impl Iterator<Item = SourcedNode<'d>> {
        self.children().filter(move |row| row.node.is(name))
    }

    pub(crate) fn child(self, name: &'d str) -> Option<SourcedNode<'d>> {
        self.named(name).next()
    }

    fn cell(self, entry: EntryRef<'d>) -> SourcedEntry<'d> {
        SourcedEntry { entry, source: self.source }
    }

    /// Its arguments in order.
    pub(crate) fn args(self) -> impl Iterator<Item = SourcedEntry<'d>> + Clone {
        self.node.args().map(move |entry| self.cell(entry))
    }

    /// Its properties and their names in order. Where one is repeated the last counts, as KDL says.
    pub(crate) fn props(self) -> impl Iterator<Item = (&'d str, SourcedEntry<'d>)> {
        self.node.entries().filter_map(move |entry| Some((entry.name()?, self.cell(entry))))
    }

    pub(crate) fn prop(self, name: &str) -> Option<SourcedEntry<'d>> {
        self.node.prop(name).map(|entry| self.cell(entry))
    }

    pub(crate) fn arg(self, index: usize) -> Option<SourcedEntry<'d>> {
        self.args().nth(index)
    }

    /// A property's text; a number counts as it is spelt.
    pub(crate) fn text<T: From<&'d str>>(self, prop: &str) -> Option<Spanned<T>> {
        self.prop(prop)?.text()
    }

    pub(crate) fn arg_text<T: From<&'d str>>(self, index: usize) -> Option<Spanned<T>> {
        self.arg(index)?.text()
    }

    pub(crate) fn amount<A: Amount>(self, prop: &str) -> Option<Spanned<A>> {
        self.prop(prop)?.amount()
    }

    pub(crate) fn arg_amount<A: Amount>(self, index: usize) -> Option<Spanned<A>> {
        self.arg(index)?.amount()
    }

    pub(crate) fn length(self, prop: &str) -> Option<Spanned<Length>> {
        self.amount(prop)
    }

    /// A length above zero: where the schema has found another at fault, there is none to work with.
    pub(crate) fn size(self, prop: &str) -> Option<Spanned<Length>> {
        self.prop(prop)?.size()
    }

    pub(crate) fn count(self, prop: &str) -> Option<Spanned<u32>> {
        self.prop(prop)?.count()
    }

    pub(crate) fn flag(self, prop: &str) -> Option<Spanned<bool>> {
        self.prop(prop)?.flag()
    }

    pub(crate) fn moment(self, prop: &str) -> Option<Spanned<Moment>> {
        self.prop(prop)?.moment()
    }

    pub(crate) fn arg_moment(self, index: usize) -> Option<Spanned<Moment>> {
        self.arg(index)?.moment()
    }

    /// A property that is one of some words.
    pub(crate) fn word<T: Keyword>(self, prop: &str) -> Option<Spanned<T>> {
        self.prop(prop)?.word()
    }
}

/// An argument or a property with the file it stands in.
#[derive(Clone, Copy)]
pub(super) struct SourcedEntry<'d> {
    pub entry: EntryRef<'d>,
    source: SourceId,
}

impl<'d> SourcedEntry<'d> {
    #[inline]
    pub(crate) fn place(self) -> Place {
        Place { source: self.source, span: self.entry.span() }
    }

    #[inline]
    fn give<T>(self, value: Option<T>) -> Option<Spanned<T>> {
        value.map(|value| Spanned { value, place: self.place() })
    }

    /// A text; a number counts as it is spelt.
    #[inline]
    pub(crate) fn text<T: From<&'d str>>(self) -> Option<Spanned<T>> {
        self.give(self.entry.word().map(T::from))
    }

    #[inline]
    pub(crate) fn amount<A: Amount>(self) -> Option<Spanned<A>> {
        self.give(amount(self.entry))
    }

    /// An angle. It always has its unit: a plain number is a length.
    pub(crate) fn angle(self) -> Option<Spanned<Angle>> {
        self.entry.ty().and_then(|_| self.amount())
    }

    pub(crate) fn size(self) -> Option<Spanned<Length>> {
        self.amount().filter(|length| **length > Length::ZERO)
    }

    pub(crate) fn count(self) -> Option<Spanned<u32>> {
        self.give(count(self.entry))
    }

    pub(crate) fn flag(self) -> Option<Spanned<bool>> {
        self.give(match self.entry.value() {
            Value::Bool(value) => Some(value),
            _ => None,
        })
    }

    pub(crate) fn moment(self) -> Option<Spanned<Moment>> {
        self.give(self.entry.text().and_then(Moment::read))
    }

    pub(crate) fn word<T: Keyword>(self) -> Option<Spanned<T>> {
        self.give(self.entry.word().and_then(T::from_word))
    }
}

pub(super) fn text(entry: EntryRef) -> Option<String> {
    entry.word().map(String::from)
}

#[inline]
pub(super) fn amount<A: Amount>(entry: EntryRef) -> Option<A> {
    match (entry.plain(), entry.ty()) {
        (Some(number), None) => A::plain(number),
        _ => spelt_amount(entry),
    }
}

/// An amount of any spelling, in any unit.
fn spelt_amount<A: Amount>(entry: EntryRef) -> Option<A> {
    match entry.value() {
        Value::Number(raw) => A::read(raw, entry.ty().map(|(unit, _)| unit)).ok(),
        _ => None,
    }
}

fn count(entry: EntryRef) -> Option<u32> {
    match entry.value() {
        Value::Number(raw) => match Decimal::read(raw) {
            Ok(Decimal { digits, places: 0 }) => u32::try_from(digits).ok(),
            _ => None,
        },
        _ => None,
    }
}

/// A closed set of words of the language.
pub(crate) trait Keyword: Sized + Copy + 'static {
    const WORDS: &'static [(&'static str, Self)];

    fn from_word(word: &str) -> Option<Self>;

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

        impl $crate::ledger::Keyword for $name {
            const WORDS: &'static [(&'static str, Self)] = &[$(($word, $name::$variant)),*];

            fn from_word(word: &str) -> Option<Self> {
                match word {
                    $($word => Some($name::$variant),)*
                    _ => None,
                }
            }
        }
    };
}
pub(super) use words;
