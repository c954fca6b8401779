//! Texts that are long in one way: one node of the language, over and over. They are taken from the schema, so that a new
//! word is covered without a line here.

use std::fmt::Write as _;

use wayledger::schema::{EntryShape, FurtherArguments, NodeShape, Range, Type, language};

/// What the repeated nodes may be about.
const MACHINE: &str =
    "machine m { axis X { rail a { segment 1200; segment 1200; supports S first=100 pitch=200 count=10; } } }\n";

/// What records are about, where the schema leaves it open.
const ADDRESSES: [&str; 3] = ["X", "X.a", "X.a.J1"];

/// A way to write a node many times.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Way {
    /// All its properties, or those that must be there.
    pub full: bool,
    /// Another name and number each time.
    pub distinct: bool,
    address: &'static str,
}

/// A node of the language, by the nodes that it lies in, and a way to write it.
#[derive(Clone, Debug)]
pub(crate) struct LongText {
    path: Vec<&'static NodeShape>,
    pub way: Way,
}

impl LongText {
    pub(crate) fn name(&self) -> String {
        let path: Vec<&str> = self.path.iter().map(|shape| shape.name.as_str()).collect();
        let Way { full, distinct, address } = self.way;
        format!("{} full={full} distinct={distinct} {address}", path.join("/"))
    }

    /// How deep the node lies, from 1.
    pub(crate) fn depth(&self) -> usize {
        self.path.len()
    }

    /// A ledger of one file with about so many bytes of it.
    pub(crate) fn text(&self, bytes: usize) -> String {
        let mut text = String::with_capacity(bytes + 1000);
        let (last, above) = self.path.split_last().expect("a node");
        if self.path[0].name != "machine" {
            text.push_str(MACHINE);
        }
        for shape in above {
            self.head(&mut text, shape, 0, true);
            text.push_str(" {\n");
        }
        let mut number = 1;
        while text.len() < bytes {
            self.head(&mut text, last, number, self.way.full);
            self.needed(&mut text, last, number);
            text.push('\n');
            number += 1;
        }
        text.push_str(&"}\n".repeat(above.len()));
        text
    }

    fn head(&self, text: &mut String, shape: &NodeShape, number: usize, full: bool) {
        text.push_str(&shape.name);
        for part in &shape.args {
            write!(text, " {}", self.value(part, number)).expect("a text");
        }
        match &shape.rest {
            FurtherArguments::Many { part, least } => {
                for _ in 0..(*least).max(1) {
                    write!(text, " {}", self.value(part, number)).expect("a text");
                }
            }
            FurtherArguments::Readings => text.push_str(" 0 -> 0.001"),
            FurtherArguments::None => {}
        }
        for part in shape.props.iter().filter(|part| full || part.required) {
            write!(text, " {}={}", part.name, self.value(part, number)).expect("a text");
        }
    }

    /// What must be below it.
    fn needed(&self, text: &mut String, shape: &NodeShape, number: usize) {
        let needed: Vec<&NodeShape> = shape.children.iter().filter(|child| child.least > 0).collect();
        if needed.is_empty() {
            return;
        }
        text.push_str(" { ");
        for child in needed {
            self.head(text, child, number, false);
            text.push_str("; ");
        }
        text.push('}');
    }

    fn value(&self, part: &EntryShape, number: usize) -> String {
        let number = if self.way.distinct { number } else { 1 };
        match part.ty {
            Type::Word => part.allow.get(number % part.allow.len().max(1)).cloned().unwrap_or_else(|| "word".into()),
            Type::Text => format!("t{number}"),
            Type::Name => match part.name.as_str() {
                "by" => "f-1".into(),
                _ => format!("n{number}"),
            },
            Type::Flag => "#true".into(),
            Type::Date => "\"2026-05-01\"".into(),
            // RFC 8032, section 7.1, test 1.
            Type::Key => "\"ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea\"".into(),
            Type::Moment => {
                let minute = number % 1440;
                let day = 1 + number / 1440 % 28;
                format!("\"2026-05-{day:02}T{:02}:{:02}\"", minute / 60, minute % 60)
            }
            Type::Address => self.way.address.into(),
            Type::Supports | Type::Station => format!("S{}", 1 + number % 10),
            Type::Count if part.range == Range::AboveZero || !self.way.distinct => "1".into(),
            Type::Count => format!("{}", 1 + number % 4),
            Type::Amount | Type::OneOf(_) | Type::Quantity(_) => format!("{}", 1 + number % 1000),
        }
    }
}

/// Every node of the language in some ways.
pub(crate) fn all() -> Vec<LongText> {
    let mut all = Vec::new();
    for shape in &language().top {
        walk(&mut vec![shape], &mut all);
    }
    all
}

fn walk(path: &mut Vec<&'static NodeShape>, all: &mut Vec<LongText>) {
    let shape = path.last().expect("a node");
    let about = |shape: &&NodeShape| shape.args.iter().chain(&shape.props).any(|part| part.ty == Type::Address);
    let addresses = if path.iter().any(about) { &ADDRESSES[..] } else { &ADDRESSES[..1] };
    let optional = shape.props.iter().any(|part| !part.required);
    for &address in addresses {
        for (full, distinct) in [(false, false), (false, true), (true, false), (true, true)] {
            if !full || optional {
                all.push(LongText { path: path.clone(), way: Way { full, distinct, address } });
            }
        }
    }
    for child in &shape.children {
        path.push(child);
        walk(path, all);
        path.pop();
    }
}
