//! Reads the language from its own documents, once, when it is first needed.

use std::sync::OnceLock;

use super::refers::Refers;
use super::shape::{Chapter, EntryShape, FurtherArguments, Language, NodeShape, Range, Type};
use crate::language::rulebook::{ENTRIES, LimitType};
use crate::quantity::Dimension;
use crate::text::{self, NodeRef, Value};

/// The documents that define the language, in the order of the reference's chapters.
const DOCUMENTS: [(&str, &str); 5] = [
    ("schema/edition.kdl", include_str!("../../../schema/edition.kdl")),
    ("schema/shop.kdl", include_str!("../../../schema/shop.kdl")),
    ("schema/machine.kdl", include_str!("../../../schema/machine.kdl")),
    ("schema/design.kdl", include_str!("../../../schema/design.kdl")),
    ("schema/records.kdl", include_str!("../../../schema/records.kdl")),
];

/// The ledger language.
pub fn language() -> &'static Language {
    static LANGUAGE: OnceLock<Language> = OnceLock::new();
    LANGUAGE.get_or_init(|| {
        let (mut subjects, mut top) = (Vec::new(), Vec::new());
        let documents = DOCUMENTS.map(|(name, text)| {
            let read = text::read(text.to_string(), &text::ReadLimits::default());
            assert!(read.faults.is_empty(), "{name} is compiled in and must read: {:?}", read.faults);
            read.document
        });
        let groups: Vec<NodeRef> =
            documents.iter().flat_map(|it| it.nodes()).filter(|node| node.name() == "group").collect();
        for document in &documents {
            subjects.push(take(document, &groups, &mut top));
        }
        Language::new(subjects, top)
    })
}

/// One chapter, its nodes added to those of the chapters before.
fn take(document: &text::Document, groups: &[NodeRef], top: &mut Vec<NodeShape>) -> Chapter {
    let mut subject = Chapter { title: String::new(), text: Vec::new(), nodes: Vec::new() };
    for node in document.nodes() {
        match node.name() {
            "subject" => {
                subject.title = word(node, 0).to_string();
                subject.text = node.children().map(|line| word(line, 0).to_string()).collect();
            }
            "node" => {
                let shape = shape(node, groups);
                subject.nodes.push(shape.name.clone());
                top.push(shape);
            }
            _ => {}
        }
    }
    subject
}

/// The schema's own nesting is shallow and ours, so this may call itself.
fn shape(node: NodeRef, groups: &[NodeRef]) -> NodeShape {
    let mut shape = NodeShape { name: word(node, 0).to_string(), ..NodeShape::default() };
    for part in node.children() {
        match part.name() {
            "help" => shape.help = word(part, 0).to_string(),
            "example" => shape.example = Some(word(part, 0).to_string()),
            "files" => shape.files = part.args().map(|entry| text(entry.value()).to_string()).collect(),
            "least" => shape.least = word(part, 0).parse().unwrap_or(0),
            "unless" => shape.unless = Some(word(part, 0).to_string()),
            "most" => shape.most = word(part, 0).parse().ok(),
            "arg" => shape.args.push(self::part(part)),
            "args" => {
                let least = part.prop("least").map_or(0, |entry| text(entry.value()).parse().unwrap_or(0));
                shape.rest = FurtherArguments::Many { part: self::part(part), least };
            }
            "informative" => shape.informative = true,
            "filled" => shape.filled = true,
            "apart" => shape.apart = true,
            "one-of" => shape.one_of = part.args().map(|entry| text(entry.value()).to_string()).collect(),
            "readings" => shape.rest = FurtherArguments::Readings,
            "prop" => shape.props.push(self::part(part)),
            "node" => shape.children.push(self::shape(part, groups)),
            "limits" => shape.children.extend(ENTRIES.iter().map(limit)),
            "use" => {
                let group = groups.iter().find(|group| word(**group, 0) == word(part, 0));
                for shared in group.into_iter().flat_map(|group| group.children()) {
                    match shared.name() {
                        "arg" => shape.args.push(self::part(shared)),
                        "prop" => shape.props.push(self::part(shared)),
                        _ => shape.children.push(self::shape(shared, groups)),
                    }
                }
            }
            other => panic!("the schema has no word {other}"),
        }
    }
    shape.outlined()
}

fn part(node: NodeRef) -> EntryShape {
    let flag = |name| node.prop(name).is_some_and(|entry| entry.value() == Value::Bool(true));
    let mut part = EntryShape {
        name: word(node, 0).to_string(),
        help: String::new(),
        ty: Type::named(word(node, 1)).unwrap_or_else(|| panic!("the schema has no type {}", word(node, 1))),
        refers: node
            .prop("ref")
            .map(|entry| text(entry.value()))
            .map(|word| Refers::named(word).unwrap_or_else(|| panic!("the schema has nothing that is called {word}"))),
        required: flag("required"),
        blank: flag("blank"),
        allow: Vec::new(),
        range: Range::Any,
        informative: false,
    };
    for detail in node.children() {
        match detail.name() {
            "help" => part.help = word(detail, 0).to_string(),
            "allow" => part.allow = detail.args().map(|entry| text(entry.value()).to_string()).collect(),
            "informative" => part.informative = true,
            "above-zero" => part.range = Range::AboveZero,
            "at-least-zero" => part.range = Range::AtLeastZero,
            other => panic!("the schema has no word {other}"),
        }
    }
    part
}

/// The node that changes one limit, inside `rulebook`.
fn limit(entry: &'static crate::language::rulebook::LimitEntry) -> NodeShape {
    let part = |name: &str, ty, help: &str| EntryShape {
        name: name.into(),
        help: help.into(),
        ty,
        refers: None,
        required: false,
        blank: false,
        allow: Vec::new(),
        range: Range::Any,
        informative: false,
    };
    let ends = |ty: Type| {
        let both = [("least", "The lower limit."), ("most", "The upper limit.")];
        let taken = both.into_iter().filter(|(name, _)| entry.takes(name));
        let mut ends: Vec<EntryShape> = taken.map(|(name, help)| part(name, ty, help)).collect();
        // A temperature may lie below zero; a span, a share or a load that does is a slip.
        if ty != Type::Quantity(Dimension::Temperature) {
            ends.iter_mut().for_each(|end| end.range = Range::AtLeastZero);
        }
        if entry.is_part() {
            ends.iter_mut().for_each(|end| end.range = Range::UpToOne);
        }
        if let [end] = &mut ends[..] {
            end.required = true;
        }
        ends
    };
    let mut props = match entry.holds {
        LimitType::Amount(dimension) => ends(Type::Quantity(dimension)),
        LimitType::Count => ends(Type::Count),
        LimitType::Choice(words) => {
            let mut choice = part("is", Type::Word, "The word in force.");
            choice.required = true;
            choice.allow = words.iter().map(|word| (*word).to_string()).collect();
            vec![choice]
        }
    };
    let mut reason = part("reason", Type::Text, "Why it is changed.");
    reason.required = true;
    reason.informative = true;
    let one_of = match props.len() {
        2 => props.iter().map(|part| part.name.clone()).collect(),
        _ => Vec::new(),
    };
    if entry.is_local() {
        let mut over =
            part("over", Type::Quantity(Dimension::Length), "The length of the stretches that it holds within.");
        over.required = true;
        over.range = Range::AboveZero;
        props.push(over);
    }
    props.push(reason);
    let mut help = entry.what.to_string();
    help[..1].make_ascii_uppercase();
    NodeShape { name: entry.name.into(), help: help + ".", most: Some(1), props, one_of, ..NodeShape::default() }
        .outlined()
}

fn word<'d>(node: NodeRef<'d>, index: usize) -> &'d str {
    node.args().nth(index).map_or("", |entry| text(entry.value()))
}

fn text(value: Value<'_>) -> &str {
    match value {
        Value::Text(text) | Value::Number(text) => text,
        Value::Bool(_) | Value::Null => "",
    }
}
