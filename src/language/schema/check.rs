//! Holds a document against the language: what is unknown, missing, repeated or of the wrong type.

use smallvec::SmallVec;

use super::ends::{self, WrongEnds};
use super::in_order::in_order;
use super::nearest::{nearest, only_near};
use super::shape::{EntryShape, FurtherArguments, Language, NodeShape, Places, Type};
use super::value::{self, ValueError};
use crate::finding::MOST_FINDINGS;
use crate::finding::names;
use crate::finding::{Finding, Grade, Place, RuleName, SourceId};
use crate::language::edition;
use crate::text::{self, Document, Edit, EntryRef, NodeRef, Span};
use crate::world::ledgers::{DESIGN, MACHINE, SHOP};

/// What a file is for: it decides which nodes may stand at its top.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FileKind {
    Shop,
    Machine,
    Design,
    Record,
}

impl FileKind {
    /// By the name of the file.
    pub(crate) fn of(name: &str) -> FileKind {
        match name {
            SHOP => FileKind::Shop,
            MACHINE => FileKind::Machine,
            DESIGN => FileKind::Design,
            _ => FileKind::Record,
        }
    }

    /// As the schema calls it.
    pub(crate) fn word(self) -> &'static str {
        match self {
            FileKind::Shop => "shop",
            FileKind::Machine => "machine",
            FileKind::Design => "design",
            FileKind::Record => "record",
        }
    }
}

/// All that is wrong with a document's shape. Nodes and values that the reader has already found fault with
/// (`faults`, in order) are passed over, so that one mistake gives one finding.
pub(crate) fn check(
    language: &Language,
    document: &Document,
    source: SourceId,
    kind: FileKind,
    faults: &[Span],
) -> Vec<Finding> {
    let mut check = ShapeCheck { source, faults, findings: Vec::new(), describes: false };
    let here = |shape: &NodeShape| shape.files.iter().any(|file| file == kind.word());
    let mut seen = Seen::default();
    for node in document.nodes() {
        if check.is_full() {
            return check.findings;
        }
        match language.place(node.name()).map(|place| (place, &language.top[place])) {
            Some((place, shape)) if here(shape) => {
                check.describes = shape.describes();
                check.count(shape, node, place, &mut seen);
                check.node(shape, node);
                if shape.name == edition::WORD && node.index() > 0 {
                    check.not_first(node);
                }
            }
            Some((_, shape)) => check.misplaced(shape, node, kind),
            None => check.unknown_node(node, language.top.iter().filter(|shape| here(shape)), "a ledger file"),
        }
    }
    // A node that nobody knows may be the one that is missing.
    let complete = faults.is_empty() && check.findings.iter().all(|finding| finding.rule != names::UNKNOWN_NODE);
    for shape in language.top.iter().filter(|shape| shape.least > 0 && complete && here(shape)) {
        if !document.nodes().any(|node| node.name() == shape.name) {
            let finding = check
                .finding(names::MISSING_PART, Span::new(0, 0), format!("the file has no `{}`", shape.name))
                .next(format!("add it: {}", shape.help));
            check.findings.push(finding);
        }
    }
    check.findings
}

/// What of a shape has been met in one node, and where each first was.
struct Seen<T> {
    places: Places,
    first: SmallVec<[(usize, T); 8]>,
}

impl<T> Default for Seen<T> {
    fn default() -> Self {
        Seen { places: Places::default(), first: SmallVec::new() }
    }
}

impl<T: Copy> Seen<T> {
    /// Takes note of one; what was met in its place before, if anything was.
    #[inline]
    fn note(&mut self, place: usize, new: T) -> Option<T> {
        if self.places.has(place) {
            return self.first.iter().find(|(other, _)| *other == place).map(|(_, first)| *first);
        }
        self.places.add(place);
        self.first.push((place, new));
        None
    }
}

struct ShapeCheck<'f> {
    source: SourceId,
    faults: &'f [Span],
    findings: Vec<Finding>,
    /// What is being checked is no record: a value in it may be put right by a program.
    describes: bool,
}

impl ShapeCheck<'_> {
    /// Whether there is more wrong than anybody is told.
    fn is_full(&self) -> bool {
        self.findings.len() > MOST_FINDINGS
    }

    fn place(&self, span: Span) -> Place {
        Place { source: self.source, span }
    }

    fn finding(&self, rule: RuleName, span: Span, message: String) -> Finding {
        Finding::new(rule, Grade::Nonconformity, "", self.place(span), message)
    }

    /// Whether the reader found fault with this stretch.
    fn faulty(&self, span: Span) -> bool {
        if self.faults.is_empty() {
            return false;
        }
        let first = self.faults.partition_point(|fault| fault.end <= span.start);
        self.faults.get(first).is_some_and(|fault| fault.start < span.end)
    }

    /// One node with all below it. The language is a few levels deep and unknown nodes are not entered, so this may
    /// call itself.
    fn node(&mut self, shape: &NodeShape, node: NodeRef) {
        let before = self.findings.len();
        if let Some((unit, span)) = node.ty() {
            let finding = self
                .finding(
                    names::WRONG_UNIT,
                    span,
                    format!("`({unit})` before a word says nothing of the numbers behind it"),
                )
                .here("before a word")
                .next(format!("write ({unit}) before each number that it is the unit of, or take it out"));
            self.findings.push(finding);
        }
        if !(self.faults.is_empty() && in_order(shape, node)) {
            let faulty = self.faulty(node.head());
            self.args(shape, node, faulty);
            self.props(shape, node);
            if !faulty && self.findings.len() == before {
                self.required(shape, node);
            }
        }
        if self.findings.len() == before {
            for ends in shape.outline.ends.iter().filter_map(|ends| ends::wrong(shape, *ends, node)) {
                self.wrong_ends(shape, ends);
            }
        }
        // Most nodes have nothing below them, and need nothing there.
        if node.after() == node.index() + 1 && Places::default().hold(shape.outline.needed_children) {
            return;
        }
        let mut seen = Seen::default();
        for child in node.children() {
            if self.is_full() {
                return;
            }
            match shape.child_place(child.name()).map(|place| (place, &shape.children[place])) {
                Some((place, below)) => {
                    self.count(below, child, place, &mut seen);
                    self.node(below, child);
                }
                None => self.unknown_node(child, shape.children.iter(), &format!("`{}`", shape.name)),
            }
        }
        if shape.filled
            && node.children().next().is_none()
            && self.findings.len() == before
            && !self.faulty(node.head())
        {
            let message = format!("this `{}` says nothing: its block holds no row", shape.name);
            let finding = self.finding(names::MISSING_PART, node.head(), message).here("no row").next(usage(shape));
            self.findings.push(finding);
        }
        if !seen.places.hold(shape.outline.needed_children) && self.findings.len() == before {
            self.missing_child(shape, node, seen.places);
        }
    }

    /// The lower end of a span lies above the upper one, or on it.
    fn wrong_ends(&mut self, shape: &NodeShape, wrong: WrongEnds) {
        let WrongEnds { ends: [(lower, low), (upper, high)], same, days } = wrong;
        if self.faulty(low.span()) || self.faulty(high.span()) {
            return;
        }
        let message = match same {
            true => format!("`{lower}` and `{upper}` of `{}` lie in one place", shape.name),
            false if days => format!("`{lower}` of `{}` lies after `{upper}`", shape.name),
            false => format!("`{lower}` of `{}` lies above `{upper}`", shape.name),
        };
        let finding = self
            .finding(names::WRONG_VALUE, low.span(), message)
            .here(format!("`{lower}`"))
            .also(self.place(high.span()), format!("`{upper}`"))
            .next(format!(
                "correct the one that is wrong: `{lower}` is {} here, `{upper}` is {}",
                low.raw(),
                high.raw()
            ));
        self.findings.push(finding);
    }

    fn missing_child(&mut self, shape: &NodeShape, node: NodeRef, there: Places) {
        let mut needed = shape.children.iter().enumerate().filter(|(_, below)| below.least > 0);
        let instead =
            |below: &NodeShape| below.unless.as_ref().is_some_and(|other| node.children().any(|it| it.is(other)));
        if let Some((_, below)) = needed.find(|(place, below)| !there.has(*place) && !instead(below))
            && !self.faulty(node.head())
        {
            let finding = self
                .finding(names::MISSING_PART, node.head(), format!("`{}` has no `{}`", shape.name, below.name))
                .here("this one")
                .next(format!("add it: {}", below.help));
            self.findings.push(finding);
        }
    }

    /// Takes note of a node; one that may stand there once only is told of where it stands again.
    #[inline]
    fn count<'d>(&mut self, shape: &NodeShape, node: NodeRef<'d>, place: usize, seen: &mut Seen<NodeRef<'d>>) {
        if shape.most != Some(1) {
            seen.places.add(place);
        } else if let Some(first) = seen.note(place, node) {
            let finding = self
                .finding(names::REPEATED_PART, node.head(), format!("`{}` is written twice", shape.name))
                .here("the second one")
                .also(self.place(first.head()), "the first one")
                .next("keep one of the two");
            self.findings.push(finding);
        }
    }

    fn args(&mut self, shape: &NodeShape, node: NodeRef, faulty: bool) {
        let mut joined = false;
        for (index, arg) in node.args().enumerate() {
            let part = match (shape.args.get(index), &shape.rest) {
                (Some(part), _) => part,
                (None, FurtherArguments::Many { part, .. }) => part,
                (None, FurtherArguments::Readings) => break,
                (None, FurtherArguments::None) => {
                    if !joined && !faulty {
                        let takes = match shape.args.len() {
                            0 => "no value of its own".to_string(),
                            1 => "one value".to_string(),
                            n => format!("{n} values"),
                        };
                        let mut finding = self
                            .finding(
                                names::WRONG_VALUE,
                                arg.span(),
                                format!("`{}` takes {takes}; this is one too many", shape.name),
                            )
                            .here("too many");
                        finding = match quoted(shape, node) {
                            Some((next, Some(edit))) if self.describes => finding.next(next).fix(IN_QUOTES, vec![edit]),
                            Some((next, _)) => finding.next(next),
                            None => finding.next(usage(shape)),
                        };
                        self.findings.push(finding);
                    }
                    break;
                }
            };
            if self.is_full() {
                return;
            }
            joined |= self.value(shape, part, arg);
        }
        if matches!(shape.rest, FurtherArguments::Readings) && !faulty {
            self.readings(shape, node);
        }
    }

    /// `before -> after`, once or more.
    fn readings(&mut self, shape: &NodeShape, node: NodeRef) {
        let mut args = node.args().filter(|arg| !self.faulty(arg.span())).peekable();
        let mut wrong = (args.peek().is_none()).then_some(node.name_span());
        while let (None, Some(before)) = (wrong, args.next()) {
            let arrow = args.next();
            let after = args.next();
            if value::reading(before).is_err() {
                wrong = Some(before.span());
            } else if arrow.is_none_or(|arrow| arrow.raw() != "->") {
                wrong = Some(arrow.map_or(before.span(), |arrow| arrow.span()));
            } else if after.is_none_or(|after| value::reading(after).is_err()) {
                wrong = Some(after.or(arrow).map_or(before.span(), |entry| entry.span()));
            }
        }
        let Some(span) = wrong else { return };
        let wrong = node.args().find(|arg| arg.span() == span);
        if let Some((entry, Err(fault @ ValueError::Number(_)))) = wrong.map(|entry| (entry, value::reading(entry))) {
            let reading = EntryShape::reading();
            let (rule, message, next) = fault.explain(&format!("a reading of `{}`", shape.name), &reading, entry);
            let finding = self.finding(rule, span, message).here(expected(reading.ty)).next(next);
            self.findings.push(finding);
            return;
        }
        let better = crate::quantity::better_spelling(self.raw(node, span));
        let finding = self
            .finding(names::WRONG_VALUE, span, format!("`{}` is not a row of readings", shape.name))
            .here("here")
            .next(match better {
                Some(better) => format!("write {better}"),
                None => format!(
                    "write the readings on either side of the joint, the one before it first, as `{} -0.04 -> -0.03`",
                    shape.name
                ),
            });
        self.findings.push(finding);
    }

    fn raw<'d>(&self, node: NodeRef<'d>, span: Span) -> &'d str {
        node.document().text().get(span.range()).unwrap_or("")
    }

    fn props(&mut self, shape: &NodeShape, node: NodeRef) {
        let mut seen = Seen::default();
        for entry in node.entries() {
            let Some(name) = entry.name() else { continue };
            if self.is_full() {
                return;
            }
            let Some(place) = shape.prop_place(name) else {
                self.unknown_property(shape, node, entry, name);
                continue;
            };
            if let Some(first) = seen.note(place, entry) {
                let finding = self
                    .finding(names::REPEATED_PART, entry.span(), format!("`{name}` is given twice"))
                    .here("the second one")
                    .also(self.place(first.span()), "the first one")
                    .next("keep one of the two");
                self.findings.push(finding);
            }
            self.value(shape, &shape.props[place], entry);
        }
    }

    /// Checks one value; true where its punctuation was joined to it.
    fn value(&mut self, shape: &NodeShape, part: &EntryShape, entry: EntryRef) -> bool {
        if self.faulty(entry.span()) {
            return false;
        }
        let Err(fault) = value::check(part, entry) else { return false };
        let what = match entry.name() {
            Some(name) => format!("`{name}` of `{}`", shape.name),
            None if part.ty == Type::Word => format!("the word behind `{}`", shape.name),
            None => format!("the {} of `{}`", part.name, shape.name),
        };
        let joined = matches!(fault, ValueError::Joined { .. });
        let (rule, message, next) = fault.explain(&what, part, entry);
        let finding = self.finding(rule, entry.span(), message).here(expected(part.ty)).next(next);
        self.findings.push(match fault.fix(part, entry).filter(|_| self.describes) {
            Some((title, edit)) => finding.fix(title, vec![edit]),
            None => finding,
        });
        joined
    }

    fn required(&mut self, shape: &NodeShape, node: NodeRef) {
        let args = node.args().count();
        let missing_arg = shape.args.iter().enumerate().find(|(index, part)| part.required && *index >= args);
        let missing_rest = match &shape.rest {
            FurtherArguments::Many { part, least } if args < shape.args.len() + least => Some(part),
            _ => None,
        };
        if let Some(part) = missing_arg.map(|(_, part)| part).or(missing_rest) {
            let finding = self
                .finding(names::MISSING_PART, node.head(), format!("`{}` does not say its {}", shape.name, part.name))
                .here(format!("expects {}", part.ty.describe()))
                .next(usage(shape));
            self.findings.push(finding);
        }
        for part in shape.props.iter().filter(|part| part.required) {
            if node.prop(&part.name).is_none() {
                let finding = self
                    .finding(names::MISSING_PART, node.head(), format!("`{}` does not say `{}`", shape.name, part.name))
                    .here(format!("expects {}=…, {}", part.name, part.ty.describe()))
                    .next(format!("add {}=…: {}", part.name, part.help));
                self.findings.push(finding);
            }
        }
        if !shape.one_of.is_empty() && shape.one_of.iter().all(|name| node.prop(name).is_none()) {
            let named: Vec<String> = shape.one_of.iter().map(|name| format!("`{name}`")).collect();
            let message = format!("`{}` says neither {}", shape.name, named.join(" nor "));
            let helps = shape.one_of.iter().filter_map(|name| Some(format!("{name}=…: {}", shape.prop(name)?.help)));
            let finding = self
                .finding(names::MISSING_PART, node.head(), message)
                .here("says nothing")
                .next(format!("add {}", helps.collect::<Vec<String>>().join(" Or ")));
            self.findings.push(finding);
        }
    }

    fn unknown_node<'s>(&mut self, node: NodeRef, shapes: impl Iterator<Item = &'s NodeShape> + Clone, inside: &str) {
        if self.faulty(node.name_span()) {
            return;
        }
        let name = node.name();
        let finding = if let Some(better) = value::unjoined(self.raw(node, node.name_span())) {
            self.finding(
                names::JOINED_PUNCTUATION,
                node.name_span(),
                format!("the punctuation in `{name}` is read as part of the name"),
            )
            .here("part of the name")
            .next(format!("write `{better}`"))
        } else {
            let names = shapes.clone().map(|shape| shape.name.as_str());
            let finding = self
                .finding(names::UNKNOWN_NODE, node.name_span(), format!("`{name}` is not known in {inside}"))
                .here("not known here");
            match nearest(name, names.clone()) {
                Some(near) => {
                    let help = shapes.clone().find(|shape| shape.name == near).map_or("", |shape| &shape.help);
                    let finding = finding.next(format!("did you mean `{near}`? {help}"));
                    respelt(finding, only_near(name, names), node.name_span())
                }
                None => finding.next(format!("known here: {}", list(names))),
            }
        };
        self.findings.push(finding);
    }

    fn unknown_property(&mut self, shape: &NodeShape, node: NodeRef, entry: EntryRef, name: &str) {
        let Some(span) = entry.name_span().filter(|span| !self.faulty(*span)) else { return };
        let names = shape.props.iter().map(|part| part.name.as_str());
        let finding = self
            .finding(names::UNKNOWN_PROPERTY, span, format!("`{name}` is not known in `{}`", shape.name))
            .here("not known here");
        let finding = match nearest(name, names.clone()) {
            Some(near) => {
                let help = shape.prop(near).map_or("", |part| &part.help);
                let finding = finding.next(format!("did you mean `{near}`? {help}"));
                respelt(finding, only_near(name, names).filter(|name| node.prop(name).is_none()), span)
            }
            None if shape.child(name).is_some() => {
                finding.next(format!("`{name}` goes inside the braces of `{}`, on a line of its own", node.name()))
            }
            None if shape.props.is_empty() => finding.next(usage(shape)),
            None => finding.next(format!("known here: {}", list(names))),
        };
        self.findings.push(finding);
    }

    /// The edition stands below what it speaks of.
    fn not_first(&mut self, node: NodeRef) {
        let finding = self
            .finding(names::UNKNOWN_NODE, node.name_span(), format!("`{}` does not belong here", node.name()))
            .here("belongs elsewhere")
            .next("it belongs at the top of the file");
        self.findings.push(finding);
    }

    fn misplaced(&mut self, shape: &NodeShape, node: NodeRef, kind: FileKind) {
        let place = match (kind, shape.files.first().map(String::as_str)) {
            (_, Some("shop")) => "in `shop.kdl`",
            (_, Some("machine")) => "in `machine.kdl`",
            (_, Some("design")) => "in `design.kdl`",
            (FileKind::Shop | FileKind::Design, _) => "in a file of the machine's folder",
            _ => "elsewhere",
        };
        let finding = self
            .finding(names::UNKNOWN_NODE, node.name_span(), format!("`{}` does not belong in this file", shape.name))
            .here("belongs elsewhere")
            .next(format!("it belongs {place}"));
        self.findings.push(finding);
    }
}

const IN_QUOTES: &str = "put the text in quotes";

/// With the word of the language that can only be meant, put in the place of the written one.
fn respelt(finding: Finding, word: Option<&str>, span: Span) -> Finding {
    match word {
        Some(word) => finding.fix(format!("write `{word}`"), vec![Edit { span, text: word.into() }]),
        None => finding,
    }
}

/// A text of several words that stands without its quotes: what to write, and the edit that does it where nothing but
/// one space stands between them.
fn quoted(shape: &NodeShape, node: NodeRef) -> Option<(String, Option<Edit>)> {
    let [EntryShape { ty: super::Type::Text, .. }] = shape.args[..] else { return None };
    let words: Option<Vec<&str>> = node
        .args()
        .map(|arg| match arg.value() {
            text::Value::Text(text) if !arg.raw().starts_with(['"', '#']) => Some(text),
            _ => None,
        })
        .collect();
    let words = words?.join(" ");
    let quoted = text::quoted(&words);
    let next = format!("a text of several words needs quotes: {} {quoted}", shape.name);
    let span = node.args().map(|arg| arg.span()).reduce(Span::to)?;
    let alone = node.document().text().get(span.range()) == Some(words.as_str());
    Some((next, alone.then_some(Edit { span, text: quoted })))
}

/// How a node is written.
fn usage(shape: &NodeShape) -> String {
    match &shape.example {
        Some(example) => format!("it is written as `{example}`"),
        None => shape.help.clone(),
    }
}

fn list<'n>(names: impl Iterator<Item = &'n str>) -> String {
    names.map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

/// What stands under a value that is none.
fn expected(ty: Type) -> String {
    match ty {
        Type::Word => "none of the words allowed here".into(),
        ty => format!("expects {}", ty.describe()),
    }
}
