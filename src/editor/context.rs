//! What may be written at a place of a text that is not finished.
//!
//! Only what stands before the place counts: it is read with a word of ours at its end, and where that word has come to
//! stand says what is being written. So what follows may be as broken as it likes, and the reader's own recovery helps with
//! what goes before.

use crate::language::schema::{EntryShape, NodeShape, Type, language};
use crate::quantity::Dimension;
use crate::text::{self, Document, NodeRef, ReadLimits, Span};

/// The word of ours.
const WORD: &str = "q";

/// What is being written.
pub(super) enum WantedText {
    /// The name of a node.
    Node,
    /// The value of a property.
    Value(&'static EntryShape),
    /// An argument, where there may be one, or the name of a property.
    Entry(Option<&'static EntryShape>),
    /// The unit of an amount.
    Unit(Vec<Dimension>),
}

/// A place in a text.
pub(super) struct WritingPlace {
    /// What stands before it, with our word at its end.
    before: Document,
    /// How many nodes around it are passed over: where a brace is missing, a record seems to lie in another one.
    passed: usize,
    /// What was written of it already: to be replaced.
    pub word: Span,
    /// It stands in quotes.
    pub quoted: bool,
    /// The nodes around it from the top one: those that it lies in, and the one that it is a part of.
    pub shapes: Vec<&'static NodeShape>,
    pub wanted: WantedText,
}

impl WritingPlace {
    /// Nothing where nothing can be written: in a comment, in a text of several lines, in what is not known.
    pub(super) fn find(text: &str, offset: usize) -> Option<WritingPlace> {
        let line = text[..offset].rfind(['\n', '\r']).map_or(0, |at| at + 1);
        let (start, quoted) = word_start(&text[line..offset])?;
        let start = line + start;
        let end = if quoted { string_end(text, offset) } else { offset };
        let word = Span::new(start, end);
        if !quoted && text[..start].ends_with('(') {
            let before = read(format!("{}0", &text[..start - 1]));
            let (passed, shapes, part) = place_of(&before)?;
            let (WantedText::Value(part) | WantedText::Entry(Some(part))) = part else { return None };
            let wanted = WantedText::Unit(dimensions(part.ty));
            return Some(WritingPlace { before, passed, word, quoted, shapes, wanted });
        }
        let before = read(format!("{}{WORD}", &text[..start]));
        let (passed, shapes, wanted) = place_of(&before)?;
        Some(WritingPlace { before, passed, word, quoted, shapes, wanted })
    }

    /// The nodes around it, as they are written, from the top one.
    pub(super) fn nodes(&self) -> Vec<NodeRef<'_>> {
        self.before.path_to(self.before.text().len()).split_off(self.passed)
    }

    /// A value of the node at the top, by the name that the schema gives it.
    pub(super) fn said(&self, name: &str) -> Option<&str> {
        let (node, shape) = (*self.nodes().first()?, *self.shapes.first()?);
        let at = shape.args.iter().position(|part| part.name == name);
        let entry = at.and_then(|at| node.args().nth(at)).or_else(|| node.prop(name))?;
        // Our own word says nothing.
        (entry.value_span().range().end < self.before.text().len()).then(|| entry.word())?
    }

    /// The first value of the nearest node of that name around it.
    pub(super) fn around(&self, name: &str) -> Option<&str> {
        let nodes = self.nodes();
        let node = nodes.iter().rev().find(|node| node.name() == name)?;
        node.args().next()?.word()
    }
}

fn read(text: String) -> Document {
    text::read(text, &ReadLimits::default()).document
}

/// Where the word at the end of a line begins, and whether it stands in quotes; nothing in a comment.
fn word_start(line: &str) -> Option<(usize, bool)> {
    let (mut start, mut string) = (0, None);
    let mut chars = line.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        match (string, c) {
            (Some(_), '\\') => drop(chars.next()),
            (Some(_), '"') => {
                string = None;
                start = at + 1;
            }
            (Some(_), _) => {}
            (None, '"') => string = Some(at),
            (None, '/') if line[at..].starts_with("//") => return None,
            (None, c) if c.is_whitespace() || matches!(c, '=' | '{' | '}' | '(' | ')' | ';') => {
                start = at + c.len_utf8()
            }
            (None, _) => {}
        }
    }
    Some(string.map_or((start, false), |at| (at, true)))
}

/// Where the string ends that a place lies in: behind its closing quote, where that stands on the same line.
fn string_end(text: &str, offset: usize) -> usize {
    let rest = text[offset..].split(['\n', '\r']).next().unwrap_or("");
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ':');
    let inside = rest.len() - rest.trim_start_matches(plain).len();
    if rest[inside..].starts_with('"') { offset + inside + 1 } else { offset }
}

/// What the end of a text is a part of, and how many nodes around it are passed over.
fn place_of(before: &Document) -> Option<(usize, Vec<&'static NodeShape>, WantedText)> {
    let end = before.text().len();
    let nodes = before.path_to(end);
    let (last, around) = nodes.split_last()?;
    let mut passed = 0;
    let mut shapes: Vec<&'static NodeShape> = Vec::new();
    let is_name = last.name_span().range().end == end;
    for (at, node) in around.iter().chain((!is_name).then_some(last)).enumerate() {
        match known(&shapes, node.name()) {
            Some(shape) => shapes.push(shape),
            None => {
                passed = at;
                shapes = vec![language().node(node.name())?];
            }
        }
    }
    if is_name {
        return Some((passed, shapes, WantedText::Node));
    }
    let shape = *shapes.last()?;
    let entry = last.entries().last().filter(|entry| entry.value_span().range().end == end)?;
    if let Some(name) = entry.name() {
        return Some((passed, shapes, WantedText::Value(shape.prop(name)?)));
    }
    let index = last.args().count() - 1;
    Some((passed, shapes, WantedText::Entry(shape.part(None, index))))
}

fn known(around: &[&'static NodeShape], name: &str) -> Option<&'static NodeShape> {
    match around.last() {
        Some(shape) => shape.child(name),
        None => language().node(name),
    }
}

fn dimensions(ty: Type) -> Vec<Dimension> {
    match ty {
        Type::Quantity(_) | Type::OneOf(_) => ty.dimensions().unwrap_or_default().to_vec(),
        Type::Station => vec![Dimension::Length],
        Type::Amount => Dimension::ALL.to_vec(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is wanted at `|`.
    fn wanted(text: &str) -> String {
        let at = text.find('|').expect("a place");
        let text = text.replacen('|', "", 1);
        let Some(place) = WritingPlace::find(&text, at) else { return "nothing".into() };
        let path: Vec<&str> = place.shapes.iter().map(|shape| shape.name.as_str()).collect();
        let what = match place.wanted {
            WantedText::Node => "a node".to_string(),
            WantedText::Value(part) => format!("{}=", part.name),
            WantedText::Entry(Some(part)) => part.name.clone(),
            WantedText::Entry(None) => "a property".into(),
            WantedText::Unit(of) => of.iter().map(|it| it.name()).collect::<Vec<_>>().join(" or "),
        };
        format!("{what} in {}, for {:?}", path.join("/"), &text[place.word.range()])
    }

    #[test]
    fn what_is_written_is_known_from_what_stands_before() {
        for (text, expected) in [
            ("|", "a node in , for \"\""),
            ("fas|", "a node in , for \"fas\""),
            ("fasten X.p|", "on in fasten, for \"X.p\""),
            ("fasten X.port st|", "a property in fasten, for \"st\""),
            ("fasten X.port stage=|", "stage= in fasten, for \"\""),
            ("fasten X.port wrench=\"TW|\" stage=full {", "wrench= in fasten, for \"\\\"TW\\\"\""),
            ("fasten X.port stage=full {\n    at |\n", "support in fasten/at, for \"\""),
            ("fasten X.port stage=full {\n    at S1 (|", "torque in fasten/at, for \"\""),
            ("fasten X.port stage=full {\n    clicked S9..|\n} }", "supports in fasten/clicked, for \"S9..\""),
            ("machine m { axis X { rail port profile=R|", "profile= in machine/axis/rail, for \"R\""),
            ("machine m { axis X { rail port { se|", "a node in machine/axis/rail, for \"se\""),
            ("inspect X.a.J1 \"broken {\ninspect X.a.J2 gauge=|", "gauge= in inspect, for \"\""),
            ("fasten X.port // wr|", "nothing"),
            ("/* fas| */", "nothing"),
            ("nonsense x|", "nothing"),
            ("fasten X.port nonsense=|", "nothing"),
        ] {
            assert_eq!(wanted(text), expected, "{text}");
        }
    }

    #[test]
    fn what_was_said_before_is_known() {
        let text = "survey gap X.port date=\"2026-04-01\" { at S1 0; at |";
        let place = WritingPlace::find(&text.replace('|', ""), text.find('|').expect("a place")).expect("a place");
        assert_eq!((place.said("on"), place.said("kind")), (Some("X.port"), Some("gap")));
        assert_eq!((place.said("date"), place.said("by")), (Some("2026-04-01"), None));
        assert_eq!(place.around("at"), Some("q"));
    }
}
