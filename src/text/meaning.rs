//! What a document says, apart from how it is spelt: to prove that an edit changed what it should and nothing else,
//! and that two readers understand a text alike.

use std::collections::BTreeMap;

use kdl::{KdlDocument, KdlEntry, KdlValue};

use super::number::Exact;
use super::{Document, EntryRef, NodeRef, Span, Value};

/// The first thing two documents do not both say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// In words: "property `gap` of `station`".
    pub what: String,
    /// Where the first document says it, or where it says nothing of the kind.
    pub before: Span,
    /// The same for the second document; empty at 0 when that one has no places.
    pub after: Span,
}

/// Compares names, types, arguments in their order, properties by name and children in their order. Numbers are equal
/// when their values are, to the last digit: `10.5` and `10.50`, `0x10` and `16`.
pub fn same_meaning(before: &Document, after: &Document) -> Option<Difference> {
    first_difference(&facts(before, &[]), &facts(after, &[]))
}

/// One thing a document says. A document is the list of its facts in order.
#[derive(Debug)]
pub(super) struct Statement<'d> {
    node: &'d str,
    said: StatementKind<'d>,
    span: Span,
}

#[derive(Debug, PartialEq)]
enum StatementKind<'d> {
    /// A node begins; no name: it was edited.
    Node {
        depth: usize,
        ty: Option<&'d str>,
        name: Option<&'d str>,
    },
    Arg(TypedValue<'d>),
    Prop(&'d str, TypedValue<'d>),
}

#[derive(Debug, PartialEq)]
struct TypedValue<'d> {
    ty: Option<&'d str>,
    value: MeantValue<'d>,
}

#[derive(Debug)]
enum MeantValue<'d> {
    Text(&'d str),
    Exact(Exact),
    /// What a reader says that keeps no more than a double.
    Double(f64),
    Bool(bool),
    Null,
}

impl PartialEq for MeantValue<'_> {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (MeantValue::Text(a), MeantValue::Text(b)) => a == b,
            (MeantValue::Exact(a), MeantValue::Exact(b)) => a == b,
            (MeantValue::Bool(a), MeantValue::Bool(b)) => a == b,
            (MeantValue::Null, MeantValue::Null) => true,
            (MeantValue::Double(double), MeantValue::Exact(exact))
            | (MeantValue::Exact(exact), MeantValue::Double(double)) => {
                let near = exact.nearest_double();
                near == *double || near.is_nan() && double.is_nan()
            }
            _ => false,
        }
    }
}

pub(super) fn first_difference(before: &[Statement<'_>], after: &[Statement<'_>]) -> Option<Difference> {
    let end = |facts: &[Statement<'_>]| facts.last().map_or(Span::default(), |fact| fact.span);
    let at = before.iter().zip(after).position(|(a, b)| a.said != b.said);
    let at = at.or((before.len() != after.len()).then_some(before.len().min(after.len())))?;
    let (a, b) = (before.get(at), after.get(at));
    // Where one document goes on with the same node and the other does not, the longer one says more.
    let told = match (a, b) {
        (Some(a), Some(b))
            if matches!(a.said, StatementKind::Node { .. }) && !matches!(b.said, StatementKind::Node { .. }) =>
        {
            b
        }
        (Some(a), _) => a,
        (None, Some(b)) => b,
        (None, None) => return None,
    };
    Some(Difference {
        what: told.describe(),
        before: a.map_or(end(before), |fact| fact.span),
        after: b.map_or(end(after), |fact| fact.span),
    })
}

impl Statement<'_> {
    fn describe(&self) -> String {
        match &self.said {
            StatementKind::Node { name, .. } => format!("node `{}`", name.unwrap_or(self.node)),
            StatementKind::Arg(_) => format!("a value of `{}`", self.node),
            StatementKind::Prop(name, _) => format!("property `{name}` of `{}`", self.node),
        }
    }
}

/// What a document says outside of the `edited` stretches: nodes that lie in one are left out, and so are entries and
/// names that touch one.
pub(super) fn facts<'d>(document: &'d Document, edited: &[Span]) -> Vec<Statement<'d>> {
    let touched = |span: Span| edited.iter().any(|edit| edit.start < span.end && span.start < edit.end);
    let covered = |span: Span| edited.iter().any(|edit| edit.start <= span.start && span.end <= edit.end);
    let mut facts = Vec::new();
    let mut index = 0;
    while let Some(node) = document.node(index) {
        if covered(node.span()) {
            index = node.after();
            continue;
        }
        index += 1;
        let edited_name = touched(node.name_span()) || node.ty().is_some_and(|(_, span)| touched(span));
        let said = match edited_name {
            true => StatementKind::Node { depth: node.depth(), ty: None, name: None },
            false => {
                StatementKind::Node { depth: node.depth(), ty: node.ty().map(|(ty, _)| ty), name: Some(node.name()) }
            }
        };
        facts.push(Statement { node: node.name(), said, span: node.head() });
        entries_of(node, &mut facts, |entry| !touched(entry.span()));
    }
    facts
}

fn entries_of<'d>(node: NodeRef<'d>, facts: &mut Vec<Statement<'d>>, keep: impl Fn(EntryRef<'d>) -> bool) {
    let mut props = BTreeMap::new();
    for entry in node.entries() {
        // The last of a repeated property counts, edited or not: so a repetition cannot hide a change.
        if let Some(name) = entry.name() {
            props.insert(name, entry);
        } else if keep(entry) {
            facts.push(Statement { node: node.name(), said: StatementKind::Arg(typed(entry)), span: entry.span() });
        }
    }
    for (name, entry) in props.into_iter().filter(|(_, entry)| keep(*entry)) {
        facts.push(Statement { node: node.name(), said: StatementKind::Prop(name, typed(entry)), span: entry.span() });
    }
}

fn typed(entry: EntryRef<'_>) -> TypedValue<'_> {
    let value = match entry.value() {
        Value::Text(text) => MeantValue::Text(text),
        Value::Number(raw) => MeantValue::Exact(Exact::read(raw)),
        Value::Bool(value) => MeantValue::Bool(value),
        Value::Null => MeantValue::Null,
    };
    TypedValue { ty: entry.ty().map(|(ty, _)| ty), value }
}

/// The same list from what the `kdl` crate read.
pub(super) fn facts_of_kdl(document: &KdlDocument) -> Vec<Statement<'_>> {
    let mut facts = Vec::new();
    let mut open = vec![document.nodes().iter()];
    while let Some(nodes) = open.last_mut() {
        let Some(node) = nodes.next() else {
            open.pop();
            continue;
        };
        let name = node.name().value();
        let depth = open.len() - 1;
        let fact = |said| Statement { node: name, said, span: Span::default() };
        facts.push(fact(StatementKind::Node { depth, ty: node.ty().map(|ty| ty.value()), name: Some(name) }));
        let mut props = BTreeMap::new();
        for entry in node.entries() {
            match entry.name() {
                Some(name) => {
                    props.insert(name.value(), entry);
                }
                None => facts.push(fact(StatementKind::Arg(typed_of_kdl(entry)))),
            }
        }
        facts.extend(props.into_iter().map(|(name, entry)| fact(StatementKind::Prop(name, typed_of_kdl(entry)))));
        if let Some(children) = node.children() {
            open.push(children.nodes().iter());
        }
    }
    facts
}

fn typed_of_kdl(entry: &KdlEntry) -> TypedValue<'_> {
    let value = match entry.value() {
        KdlValue::String(text) => MeantValue::Text(text),
        KdlValue::Integer(value) => MeantValue::Exact(Exact::read(&value.to_string())),
        KdlValue::Float(value) => MeantValue::Double(*value),
        KdlValue::Bool(value) => MeantValue::Bool(*value),
        KdlValue::Null => MeantValue::Null,
    };
    TypedValue { ty: entry.ty().map(|ty| ty.value()), value }
}
