//! Every place of the language that a text can be written to, taken from the schema: a new word of the language is
//! covered without a line here.

use kdl::{KdlDocument, KdlEntry, KdlNode, KdlValue};
use wayledger::schema::{EntryShape, FurtherArguments, NodeShape, Type, language};

const MACHINE: &str = include_str!("../../../src/views/tests/report/machine.kdl");
const RECORDS: &str = include_str!("../../../src/views/tests/report/records.kdl");

/// Where in a node.
#[derive(Clone, Debug)]
pub(crate) enum Slot {
    Argument(usize),
    Property(String),
    /// Instead of the value's unit.
    Unit(usize),
    /// The node's own name.
    Name,
    /// A property that the language does not have.
    Unknown,
}

/// A place in the language.
#[derive(Clone, Debug)]
pub(crate) struct Field {
    path: Vec<&'static NodeShape>,
    slot: Slot,
    pub ty: Option<Type>,
}

impl Field {
    pub(crate) fn name(&self) -> String {
        let path: Vec<&str> = self.path.iter().map(|shape| shape.name.as_str()).collect();
        format!("{} {:?}", path.join("/"), self.slot)
    }
}

/// All of them. Numbers and dates too: a text in their place is told of in a message.
pub(crate) fn all() -> Vec<Field> {
    let mut fields = Vec::new();
    for shape in &language().top {
        walk(&mut vec![shape], &mut fields);
    }
    fields
}

fn walk(path: &mut Vec<&'static NodeShape>, fields: &mut Vec<Field>) {
    let shape = *path.last().expect("it has one");
    let mut add = |slot, ty| fields.push(Field { path: path.clone(), slot, ty });
    for (at, part) in shape.args.iter().enumerate() {
        add(Slot::Argument(at), Some(part.ty));
    }
    match &shape.rest {
        FurtherArguments::None => {}
        FurtherArguments::Many { part, .. } => add(Slot::Argument(shape.args.len()), Some(part.ty)),
        FurtherArguments::Readings => add(Slot::Argument(shape.args.len()), None),
    }
    for part in &shape.props {
        add(Slot::Property(part.name.clone()), Some(part.ty));
    }
    add(Slot::Name, None);
    add(Slot::Unknown, None);
    if !shape.args.is_empty() {
        add(Slot::Unit(0), None);
    }
    for child in &shape.children {
        path.push(child);
        walk(path, fields);
        path.pop();
    }
}

/// What stands for the hostile text while the document is put together.
const STAND_IN: &str = "zqstandin";

/// A ledger of one file that has the text at a place. A name is changed wherever it is used, so that what refers to it
/// still does.
pub(crate) fn planted(field: &Field, text: &str) -> String {
    let mut document: KdlDocument = format!("{MACHINE}{RECORDS}").parse().expect("the bench is KDL");
    let node = reach(&mut document, &field.path, &field.slot);
    let value = || KdlValue::String(STAND_IN.into());
    let mut renamed = None;
    match &field.slot {
        Slot::Argument(at) => match node.entries_mut().iter_mut().filter(|entry| entry.name().is_none()).nth(*at) {
            Some(entry) => {
                renamed = entry.value().as_string().map(str::to_owned);
                *entry = KdlEntry::new(value());
            }
            None => node.push(KdlEntry::new(value())),
        },
        Slot::Property(name) => {
            renamed = node.get(name.as_str()).and_then(|it| it.as_string()).map(str::to_owned);
            node.retain(|entry| entry.name().is_none_or(|it| it.value() != name));
            node.push(KdlEntry::new_prop(name.as_str(), value()));
        }
        Slot::Unit(at) => {
            if let Some(entry) = node.entries_mut().iter_mut().filter(|entry| entry.name().is_none()).nth(*at) {
                let mut new = KdlEntry::new(entry.value().clone());
                new.set_ty(STAND_IN);
                *entry = new;
            }
        }
        Slot::Name => node.set_name(STAND_IN),
        Slot::Unknown => node.push(KdlEntry::new_prop(STAND_IN, 1)),
    }
    if let (Some(old), Some(Type::Name | Type::Text)) = (renamed, field.ty) {
        rename(&mut document, &old);
    }
    document.autoformat();
    let marked = regex::Regex::new(&format!("\"?[^\\s\"=(){{}};]*{STAND_IN}[^\\s\"=(){{}};]*\"?")).expect("a pattern");
    let printed = document.to_string();
    let text = marked
        .replace_all(&printed, |found: &regex::Captures| escaped(&found[0].trim_matches('"').replace(STAND_IN, text)));
    text.into_owned()
}

/// As a KDL string in which everything unusual is written by its number.
pub(crate) fn escaped(text: &str) -> String {
    let one = |c: char| match c {
        '"' | '\\' => format!("\\{c}"),
        ' '..='~' => c.to_string(),
        c => format!("\\u{{{:x}}}", c as u32),
    };
    format!("\"{}\"", text.chars().map(one).collect::<String>())
}

/// The node at a path; what is missing of the path is made.
fn reach<'d>(document: &'d mut KdlDocument, path: &[&NodeShape], slot: &Slot) -> &'d mut KdlNode {
    let shape = path[0];
    // One that has the place already, else one that has the rest of the path, else any.
    let has = |node: &&KdlNode| node.name().value() == shape.name && deep(node, &path[1..], slot);
    let at = document.nodes().iter().position(|node| has(&node)).or_else(|| {
        let last = path.len() == 1 && shape.most != Some(1);
        if last { None } else { document.nodes().iter().position(|node| node.name().value() == shape.name) }
    });
    let at = at.unwrap_or_else(|| {
        document.nodes_mut().push(made(shape));
        document.nodes().len() - 1
    });
    let node = &mut document.nodes_mut()[at];
    if path.len() == 1 { node } else { reach(node.ensure_children(), &path[1..], slot) }
}

fn deep(node: &KdlNode, path: &[&NodeShape], slot: &Slot) -> bool {
    let Some((shape, rest)) = path.split_first() else {
        return match slot {
            Slot::Property(name) => node.get(name.as_str()).is_some(),
            _ => true,
        };
    };
    let children = node.children().map(KdlDocument::nodes).unwrap_or_default();
    children.iter().any(|child| child.name().value() == shape.name && deep(child, rest, slot))
}

/// A node with all that it must have.
fn made(shape: &NodeShape) -> KdlNode {
    let mut node = KdlNode::new(shape.name.as_str());
    for part in &shape.args {
        node.push(KdlEntry::new(usual(part)));
    }
    match &shape.rest {
        FurtherArguments::Many { part, least } => {
            for _ in 0..*least {
                node.push(KdlEntry::new(usual(part)));
            }
        }
        FurtherArguments::Readings => {
            for value in [KdlValue::Integer(0), KdlValue::String("->".into()), KdlValue::Integer(0)] {
                node.push(KdlEntry::new(value));
            }
        }
        FurtherArguments::None => {}
    }
    for part in shape.props.iter().filter(|part| part.required) {
        node.push(KdlEntry::new_prop(part.name.as_str(), usual(part)));
    }
    for child in shape.children.iter().filter(|child| child.least > 0) {
        node.ensure_children().nodes_mut().push(made(child));
    }
    node
}

fn usual(part: &EntryShape) -> KdlValue {
    match part.ty {
        Type::Word => KdlValue::String(part.allow.first().cloned().unwrap_or_else(|| "word".into())),
        Type::Text => KdlValue::String("text".into()),
        // RFC 8032, section 7.1, test 1.
        Type::Key => {
            KdlValue::String("ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea".into())
        }
        Type::Name => KdlValue::String("DI-1".into()),
        Type::Flag => KdlValue::Bool(true),
        Type::Date | Type::Moment => KdlValue::String("2026-05-01".into()),
        Type::Address => KdlValue::String("Y.a".into()),
        Type::Supports | Type::Station => KdlValue::String("S1".into()),
        Type::Count | Type::Amount | Type::OneOf(_) | Type::Quantity(_) => KdlValue::Integer(1),
    }
}

/// Gives a name another one wherever it stands, alone or as a part of an address.
fn rename(document: &mut KdlDocument, old: &str) {
    for node in document.nodes_mut() {
        for entry in node.entries_mut() {
            let Some(value) = entry.value().as_string() else { continue };
            let parts: Vec<&str> = value.split('.').map(|part| if part == old { STAND_IN } else { part }).collect();
            let new = if value == old { STAND_IN.to_owned() } else { parts.join(".") };
            if new != value {
                let mut changed = KdlEntry::new(KdlValue::String(new));
                if let Some(name) = entry.name() {
                    changed = KdlEntry::new_prop(name.value(), changed.value().clone());
                }
                *entry = changed;
            }
        }
        if let Some(children) = node.children_mut() {
            rename(children, old);
        }
    }
}
