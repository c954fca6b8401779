//! The words of the language, and how a text that uses one is changed there.

use wayledger::kdl::{Document, EntryRef, NodeRef, Span, Value, quoted};
use wayledger::schema::{EntryShape, FurtherArguments, Language, NodeShape, Type};

/// A text uses a word at so many places that are changed.
const MOST_PLACES: usize = 16;

/// Which part of a node a word is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Node,
    /// The argument at this place, or the last kind of them.
    Argument(usize),
    Property,
    Readings,
}

/// One word of the language: a node, an argument or a property.
#[derive(Clone, Debug)]
pub(crate) struct Word {
    /// As `shop gauge`, `shop gauge range=`, `fasten at <torques>`.
    pub path: String,
    /// The names of the nodes, from the top.
    pub nodes: Vec<String>,
    pub part: Part,
    pub name: String,
    pub required: bool,
    /// The schema marks it as written for people.
    pub informative: bool,
    shape: Option<(Type, Vec<String>)>,
}

/// All words, in the order of the reference.
pub(crate) fn words(language: &Language) -> Vec<Word> {
    let mut all = Vec::new();
    for shape in &language.top {
        below(&mut all, shape, &[], false);
    }
    all
}

fn below(all: &mut Vec<Word>, shape: &NodeShape, above: &[String], informative: bool) {
    let informative = informative || shape.informative;
    let nodes: Vec<String> = above.iter().cloned().chain([shape.name.clone()]).collect();
    let path = nodes.join(" ");
    let word = |part, name: String, path: String, of: Option<&EntryShape>| Word {
        path,
        nodes: nodes.clone(),
        part,
        name,
        required: of.is_none_or(|of| of.required),
        informative: informative || of.is_some_and(|of| of.informative),
        shape: of.map(|of| (of.ty, of.allow.clone())),
    };
    all.push(word(Part::Node, shape.name.clone(), path.clone(), None));
    for (at, arg) in shape.args.iter().enumerate() {
        all.push(word(Part::Argument(at), arg.name.clone(), format!("{path} <{}>", arg.name), Some(arg)));
    }
    match &shape.rest {
        FurtherArguments::Many { part, .. } => {
            let at = shape.args.len();
            all.push(word(Part::Argument(at), part.name.clone(), format!("{path} <{}>", part.name), Some(part)));
        }
        FurtherArguments::Readings => {
            all.push(word(Part::Readings, "readings".into(), format!("{path} <readings>"), None))
        }
        FurtherArguments::None => {}
    }
    for prop in &shape.props {
        all.push(word(Part::Property, prop.name.clone(), format!("{path} {}=", prop.name), Some(prop)));
    }
    // What is below it comes from the list of limits, one node an entry.
    if shape.name != "rulebook" {
        // A design is read by what reads a machine: its axes have no words of their own.
        for child in shape.children.iter().filter(|child| path != "design" || child.name != "axis") {
            below(all, child, &nodes, informative);
        }
    }
}

impl Word {
    /// The texts in which this word, where a text uses it, is taken away or has another value.
    pub(crate) fn changed(&self, document: &Document) -> Vec<String> {
        let nodes = (0..document.len()).filter_map(|index| document.node(index)).filter(|node| self.is_at(*node));
        let mut places: Vec<_> =
            nodes.take(MOST_PLACES).map(|node| self.changed_at(document, node).into_iter()).collect();
        // One of each place, then the next of each: what is tried is cut short.
        let rounds = places.iter().map(|of| of.len()).max().unwrap_or_default();
        (0..rounds).flat_map(|_| places.iter_mut().filter_map(Iterator::next).collect::<Vec<_>>()).collect()
    }

    fn is_at(&self, node: NodeRef) -> bool {
        node.is(self.nodes.last().expect("a node"))
            && node.depth() + 1 == self.nodes.len()
            && node
                .document()
                .path_to(node.name_span().start as usize)
                .iter()
                .map(|it| it.name())
                .eq(self.nodes.iter().map(String::as_str))
    }

    fn changed_at(&self, document: &Document, node: NodeRef) -> Vec<String> {
        let put = |span: Span, text: &str| {
            let whole = document.text();
            format!("{}{text}{}", &whole[..span.range().start], &whole[span.range().end..])
        };
        let others = |entry: EntryRef| self.other_values(document, entry);
        match self.part {
            Part::Node => {
                let text = document.text();
                let range = node.span().range();
                let blank: String = text[range.clone()].chars().filter(|c| *c == '\n').collect();
                let rest = text[range.end..].trim_start_matches([' ', '\t']);
                let rest = rest.strip_prefix(';').unwrap_or(rest);
                vec![format!("{}{blank}{rest}", &text[..range.start])]
            }
            Part::Property => {
                let Some(entry) = node.prop(&self.name) else { return Vec::new() };
                let without = (!self.required).then(|| put(entry.span(), ""));
                without.into_iter().chain(others(entry).iter().map(|it| put(entry.value_span(), it))).collect()
            }
            Part::Argument(at) => {
                let Some(entry) = node.args().nth(at) else { return Vec::new() };
                let without = (!self.required).then(|| put(entry.span(), ""));
                without.into_iter().chain(others(entry).iter().map(|it| put(entry.value_span(), it))).collect()
            }
            Part::Readings => {
                let all = node.args().filter(|it| matches!(it.value(), Value::Number(_)));
                all.flat_map(|it| ["0.5", "0", "-0.5"].map(|now| put(it.value_span(), now))).collect()
            }
        }
    }

    /// Other values that may stand there.
    fn other_values(&self, document: &Document, entry: EntryRef) -> Vec<String> {
        let Some((ty, allow)) = &self.shape else { return Vec::new() };
        if !allow.is_empty() {
            return allow.iter().filter(|it| Some(it.as_str()) != entry.text()).cloned().collect();
        }
        let mut all = Vec::new();
        match ty {
            Type::Flag => all.extend(["#true", "#false"].map(String::from)),
            Type::Text => all.extend([quoted(&format!("{}x", entry.text().unwrap_or_default()))]),
            // RFC 8032, section 7.1, test 2.
            Type::Key => all.push(
                "\"ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAID1AF8PoQ4lakrcKp00bfrycmCzPLsSWjMDNVfEq9GYM\"".to_string(),
            ),
            Type::Date | Type::Moment => {
                all.extend(
                    ["\"2020-01-01\"", "\"2026-04-14\"", "\"2026-10-30\"", "\"2026-04-30T10:00\""].map(String::from),
                );
            }
            Type::Quantity(_) | Type::OneOf(_) | Type::Amount | Type::Count => {
                for by in
                    ["0.001", "0.01", "0.1", "1", "2", "3", "5", "20", "90", "100", "1000", "10000", "1000000", "-1"]
                {
                    all.push(by.to_string());
                }
            }
            _ => {}
        }
        // What stands elsewhere in the text may stand here too.
        if matches!(ty, Type::Name | Type::Address | Type::Supports | Type::Station | Type::Text) {
            let values = (0..document.len()).filter_map(|index| document.node(index)).flat_map(NodeRef::entries);
            let mut seen: Vec<String> = values
                .filter(|it| matches!(it.value(), Value::Text(_)) && it.raw() != entry.raw())
                .filter(|it| !it.raw().contains(' ') && it.text().is_some_and(|it| it.len() < 20))
                .map(|it| it.raw().to_string())
                .collect();
            seen.sort();
            seen.dedup();
            seen.truncate(40);
            all.extend(seen);
            all.push("other-1".into());
        }
        all
    }
}
