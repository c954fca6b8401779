//! Our reader against two others that share no code with it, the crates `kdl` and `neco-kdl`: over random documents,
//! spoilt documents and soups of tokens, all accept and refuse the same and mean the same. Where the two others differ
//! from one another, or are known to be wrong, the case is named here with the reason.

use std::collections::BTreeMap;

use crate::text::{
    NodeRef, ParsedText, ReadLimits, Value, canonical, read, read as read_text, read_bytes, same_meaning,
};
use proptest::prelude::*;

/// What a node says, from whichever reader.
#[derive(Debug, Clone, PartialEq)]
struct Tree {
    ty: Option<String>,
    name: String,
    args: Vec<(Option<String>, Said)>,
    props: BTreeMap<String, (Option<String>, Said)>,
    children: Vec<Tree>,
}

#[derive(Debug, Clone, PartialEq)]
enum Said {
    Text(String),
    /// As a double, by its bits: that is all `kdl` keeps.
    Number(u64),
    Bool(bool),
    Null,
}

fn number(raw: &str) -> Said {
    let plain = raw.replace('_', "");
    let unsigned = plain.trim_start_matches(['+', '-']);
    let radix = match unsigned.get(..2) {
        Some("0x") => 16,
        Some("0o") => 8,
        Some("0b") => 2,
        _ => 10,
    };
    let value = match (plain.strip_prefix('#'), radix) {
        (Some(word), _) => word.parse().expect("#inf, #-inf or #nan"),
        (None, 10) => plain.parse().expect("a decimal"),
        _ => {
            let value = u128::from_str_radix(&unsigned[2..], radix).map_or(f64::NAN, |value| value as f64);
            if plain.starts_with('-') { -value } else { value }
        }
    };
    double(value)
}

fn double(value: f64) -> Said {
    // One zero and one #nan.
    let value = if value == 0.0 { 0.0 } else { value };
    Said::Number(if value.is_nan() { f64::NAN.to_bits() } else { value.to_bits() })
}

fn ours(node: NodeRef<'_>) -> Tree {
    let mut tree = Tree {
        ty: node.ty().map(|(ty, _)| ty.to_owned()),
        name: node.name().to_owned(),
        args: Vec::new(),
        props: BTreeMap::new(),
        children: node.children().map(ours).collect(),
    };
    for entry in node.entries() {
        let value = match entry.value() {
            Value::Text(text) => Said::Text(text.to_owned()),
            Value::Number(raw) => number(raw),
            Value::Bool(value) => Said::Bool(value),
            Value::Null => Said::Null,
        };
        let said = (entry.ty().map(|(ty, _)| ty.to_owned()), value);
        match entry.name() {
            Some(name) => drop(tree.props.insert(name.to_owned(), said)),
            None => tree.args.push(said),
        }
    }
    tree
}

fn of_kdl(node: &kdl::KdlNode) -> Tree {
    let mut tree = Tree {
        ty: node.ty().map(|ty| ty.value().to_owned()),
        name: node.name().value().to_owned(),
        args: Vec::new(),
        props: BTreeMap::new(),
        children: node.children().map_or(Vec::new(), |children| children.nodes().iter().map(of_kdl).collect()),
    };
    for entry in node.entries() {
        let value = match entry.value() {
            kdl::KdlValue::String(text) => Said::Text(text.clone()),
            kdl::KdlValue::Integer(value) => double(*value as f64),
            kdl::KdlValue::Float(value) => double(*value),
            kdl::KdlValue::Bool(value) => Said::Bool(*value),
            kdl::KdlValue::Null => Said::Null,
        };
        let said = (entry.ty().map(|ty| ty.value().to_owned()), value);
        match entry.name() {
            Some(name) => drop(tree.props.insert(name.value().to_owned(), said)),
            None => tree.args.push(said),
        }
    }
    tree
}

fn of_neco(node: &neco_kdl::KdlNode) -> Tree {
    let mut tree = Tree {
        ty: node.ty().map(str::to_owned),
        name: node.name().to_owned(),
        args: Vec::new(),
        props: BTreeMap::new(),
        children: node.children().map_or(Vec::new(), |children| children.iter().map(of_neco).collect()),
    };
    for entry in node.entries() {
        let value = match entry.value() {
            neco_kdl::KdlValue::String(text) => Said::Text(text.clone()),
            neco_kdl::KdlValue::Number(value) => number(value.raw()),
            neco_kdl::KdlValue::Bool(value) => Said::Bool(*value),
            neco_kdl::KdlValue::Null => Said::Null,
        };
        let said = (entry.ty().map(str::to_owned), value);
        match entry {
            neco_kdl::KdlEntry::Property { key, .. } => drop(tree.props.insert(key.clone(), said)),
            neco_kdl::KdlEntry::Argument { .. } => tree.args.push(said),
        }
    }
    tree
}

type Verdict = Option<Vec<Tree>>;

fn verdicts(text: &str) -> (ParsedText, Verdict, Verdict, Verdict) {
    let read = read(text.to_owned(), &ReadLimits::default());
    let ours = read.faults.is_empty().then(|| read.document.nodes().map(ours).collect());
    let kdl = kdl::KdlDocument::parse_v2(text).ok().map(|document| document.nodes().iter().map(of_kdl).collect());
    let neco = neco_kdl::parse(text).ok().map(|document| document.nodes().iter().map(of_neco).collect());
    (read, ours, kdl, neco)
}

/// A space must stand before a `/-` between entries (the suite's `zero_space_before_slashdash_arg_fail`); `kdl` wants it
/// behind strings only, `neco-kdl` nowhere.
fn dense_slashdash(text: &str) -> bool {
    text.match_indices("/-").any(|(at, _)| !text[..at].ends_with([' ', '\t', '\n', '\r', '{', '}', ';']) && at > 0)
}

/// Texts on which `kdl` 6.7.1 is known to be wrong by the KDL 2 grammar.
fn kdl_errs(text: &str, refused: bool) -> bool {
    // `-inf` is among the disallowed keyword identifiers; it is taken for a string.
    text.contains("-inf")
        // A node left out by `/-` must end like any other; no end is demanded, and `;` is refused.
        || text.contains("/-") && (text.contains(';') || refused)
        // `#"""` begins a string of several lines, whatever follows; with no line break behind it, `""` and text are
        // taken out of it.
        || text.contains("#\"\"\"") && refused
        || dense_slashdash(text)
}

/// Texts on which `neco-kdl` 0.5.1 is known to be wrong by the KDL 2 grammar.
fn neco_errs(text: &str, refused: bool) -> bool {
    // Node space around `=` may continue on the next line; it is refused.
    text.contains('=') && text.contains('\\')
        // Only spaces may stand before closing `"""` (the suite's `multiline_string_final_whitespace_escape_fail`); a
        // string with one line of text that ends in them is taken for an empty one.
        || text.contains("\"\"\"") && refused
        // A node must end before a `/-` that leaves out the next one; it need not.
        || text.contains("/-") && refused
        || dense_slashdash(text)
}

/// Agrees with each reader that is not known to be wrong. How many was it compared with?
fn compare(text: &str) -> Result<usize, TestCaseError> {
    // `kdl` takes twice the time for each `/-` inside another.
    if text.matches("/-").count() > 6 {
        return Ok(0);
    }
    let (read, ours, kdl, neco) = verdicts(text);
    if text.trim_start_matches('\u{FEFF}').chars().any(crate::text::is_banned) {
        // Both others let some of them through: U+007F in names, bidirectional marks in comments.
        prop_assert!(ours.is_none(), "a banned character in {:?}", text);
        return Ok(1);
    }
    let mut compared = 0;
    for (name, other, errs) in
        [("kdl", kdl, kdl_errs(text, ours.is_none())), ("neco-kdl", neco, neco_errs(text, ours.is_none()))]
    {
        if !errs {
            prop_assert_eq!(&ours, &other, "{} on {:?}; we said {:?}", name, text, read.faults);
            compared += 1;
        }
    }
    Ok(compared)
}

/// Spaces that may stand between the parts of a node.
fn gap() -> impl Strategy<Value = String> {
    prop_oneof![
        8 => Just(" ".to_owned()),
        1 => Just("\t  ".to_owned()),
        1 => Just("/* c \n /* in */ */ ".to_owned()),
        1 => Just(" \\\n  ".to_owned()),
        1 => Just(" \\ // why\r\n".to_owned()),
        1 => Just("\u{a0}\u{3000}".to_owned()),
    ]
}

fn string() -> impl Strategy<Value = String> {
    prop_oneof![
        // Not beginning like a reserved word (false, inf, nan, null, true).
        4 => "[a-eg-hj-mo-su-z][a-z0-9-]{0,6}",
        1 => prop::sample::select(vec!["+", "-x", ".", ".a", "--", "+.", "µ-é", "J1,", "torque:", "“q”", "infx", "a'b", "~!@$%^&*"]).prop_map(str::to_owned),
        1 => "\"[a-z {};=#/]{0,8}\"",
        1 => prop::sample::select(vec![r#""\n\t\"\\ \u{b5}\s""#, r#""a\   b""#, "\"a\\\n   b\"", r#""""#, r##"#"a"b\n"#"##, r###"##"x"#y"##"###, "\"é\u{a0}\"", "#\"\"#"]).prop_map(str::to_owned),
        1 => prop::sample::select(vec![
            "\"\"\"\n  one\n    two\n\n  \\\"\"\"three\n  \"\"\"", "\"\"\"\n\"\"\"", "#\"\"\"\n  a \\n\n  \"\"\"#",
            "\"\"\"\r\n\ta\\\r\n\t\tb\r\n\tc\\s\r\n\t\"\"\"", "\"\"\"\n   \n  x\n \"\"\"",
        ]).prop_map(str::to_owned),
    ]
}

fn value() -> impl Strategy<Value = String> {
    let plain = prop_oneof![
        3 => string(),
        3 => "[+-]?(0|[1-9][0-9_]{0,5})(\\.[0-9][0-9_]{0,4})?([eE][+-]?[0-9]{1,2})?",
        1 => "[+-]?0x[0-9a-fA-F][0-9a-fA-F_]{0,6}",
        1 => "[+-]?0o[0-7][0-7_]{0,6}",
        1 => "[+-]?0b[01][01_]{0,6}",
        2 => prop::sample::select(vec!["#true", "#false", "#null", "#inf", "#-inf", "#nan"]).prop_map(str::to_owned),
    ];
    (prop::option::weighted(0.2, (string(), prop_oneof![3 => Just(String::new()), 1 => gap()])), plain).prop_map(
        |(ty, value)| match ty {
            Some((ty, gap)) => format!("({ty}){gap}{value}"),
            None => value,
        },
    )
}

fn entry() -> impl Strategy<Value = String> {
    let equals = prop_oneof![6 => Just("=".to_owned()), 1 => Just(" = ".to_owned()), 1 => (gap(), gap()).prop_map(|(a, b)| format!("{a}={b}"))];
    prop_oneof![
        3 => value(),
        3 => (string(), equals, value()).prop_map(|(name, equals, value)| format!("{name}{equals}{value}")),
        1 => value().prop_map(|value| format!("/-{value}")),
        1 => (string(), value()).prop_map(|(name, value)| format!("/- {name}={value}")),
    ]
}

fn end() -> impl Strategy<Value = String> {
    prop::sample::select(vec!["\n", "\n", "\n", "\n\n  ", ";", " ; ", " // end\n", "\r\n", "\r", "\u{85}", "\u{2028}"])
        .prop_map(str::to_owned)
}

fn node() -> impl Strategy<Value = String> {
    let head = (
        prop::option::weighted(0.1, Just("/-".to_owned())),
        prop::option::weighted(0.1, string().prop_map(|ty| format!("({ty})"))),
        string(),
        prop::collection::vec((gap(), entry()), 0..4),
    )
        .prop_map(|(dash, ty, name, entries)| {
            let entries: String = entries.into_iter().map(|(gap, entry)| gap + &entry).collect();
            format!("{}{}{name}{entries}", dash.unwrap_or_default(), ty.unwrap_or_default())
        })
        .boxed();
    let leaf = (head.clone(), end()).prop_map(|(head, end)| head + &end);
    leaf.prop_recursive(3, 12, 3, move |inner| {
        (
            head.clone(),
            gap(),
            prop::option::weighted(0.1, Just("/-".to_owned())),
            prop::collection::vec(inner, 0..3),
            end(),
        )
            .prop_map(|(head, gap, dash, inner, end)| {
                format!("{head}{gap}{}{{\n{}}}{end}", dash.unwrap_or_default(), inner.concat())
            })
    })
}

fn documents() -> impl Strategy<Value = String> {
    (prop::option::weighted(0.05, Just("\u{FEFF}".to_owned())), prop::collection::vec(node(), 0..5))
        .prop_map(|(mark, nodes)| format!("{}{}", mark.unwrap_or_default(), nodes.concat()))
}

/// Pieces that change what stands around them.
const PIECES: [&str; 58] = [
    "a", "node", "\"", "\"\"\"", "#\"", "\"#", "#", "(", ")", "{", "}", ";", "=", "/-", "/*", "*/", "//", "\\", "\n",
    "\r\n", " ", " ", "1", "0x", "0xF", "1.5", ".5", "-", "+", "1e5", "_", "#true", "true", "null", "#inf", "-inf",
    "\\n", "\\u{41}", "\\q", ",", ":", "\u{85}", "\u{a0}", "\u{FEFF}", "\u{7f}", "\u{200e}", "é", "[", "]", "\t",
    "x=1", "(mm)5", "'", "/", "*", "  ", "\r", "\u{b}",
];

fn soup() -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(&PIECES[..]), 0..14).prop_map(|pieces| pieces.concat())
}

fn spoilt() -> impl Strategy<Value = String> {
    (
        documents(),
        prop::collection::vec((any::<prop::sample::Index>(), 0..3u8, prop::sample::select(&PIECES[..])), 1..3),
    )
        .prop_map(|(mut text, changes)| {
            for (index, way, piece) in changes {
                let places: Vec<usize> = text.char_indices().map(|(at, _)| at).chain([text.len()]).collect();
                let at = places[index.index(places.len())];
                let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
                match way {
                    0 => text.insert_str(at, piece),
                    1 => text.replace_range(at..end, ""),
                    _ => text.replace_range(at..end, piece),
                }
            }
            text
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, ..ProptestConfig::default() })]

    #[test]
    fn documents_mean_the_same_to_three_readers(text in documents()) {
        compare(&text)?;
        let read = read(text, &ReadLimits::default());
        prop_assert!(read.faults.is_empty(), "{:?} in {:?}", read.faults, read.document.text());
        check_spans(&read)?;
        let written = read_text(canonical(&read.document), &ReadLimits::default());
        prop_assert_eq!(written.faults, vec![]);
        prop_assert_eq!(same_meaning(&read.document, &written.document), None);
    }

    #[test]
    fn spoilt_documents_are_refused_and_accepted_alike(text in spoilt()) {
        compare(&text)?;
        check_spans(&read(text, &ReadLimits::default()))?;
    }

    #[test]
    fn soups_are_refused_and_accepted_alike(text in soup()) {
        compare(&text)?;
    }

    #[test]
    fn bytes_never_stop_the_reader(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        check_spans(&read_bytes(bytes, &ReadLimits::default()))?;
    }

    #[test]
    fn soup_never_stops_the_reader(text in soup()) {
        check_spans(&read(text, &ReadLimits::default()))?;
    }
}

/// Everything that can be asked of a document has an answer, and every place lies in the text.
fn check_spans(read: &ParsedText) -> Result<(), TestCaseError> {
    let text = read.document.text();
    let inside = |span: crate::text::Span| text.get(span.range()).is_some();
    for fault in &read.faults {
        prop_assert!(inside(fault.span), "{fault:?} in {text:?}");
        prop_assert!(fault.also.is_none_or(|(span, _)| inside(span)), "{fault:?} in {text:?}");
        let _ = (fault.message(), fault.help());
    }
    let mut open: Vec<NodeRef<'_>> = read.document.nodes().collect();
    let mut seen = 0;
    while let Some(node) = open.pop() {
        seen += 1;
        prop_assert!(inside(node.span()) && inside(node.name_span()) && inside(node.head()), "{node:?} in {text:?}");
        prop_assert!(node.block().is_none_or(inside), "{node:?} in {text:?}");
        for entry in node.entries() {
            prop_assert!(inside(entry.span()) && inside(entry.value_span()), "{entry:?} in {text:?}");
            let _ = (entry.name(), entry.ty(), entry.value());
        }
        open.extend(node.children());
    }
    prop_assert_eq!(seen, read.document.len(), "every node is reached once in {:?}", text);
    Ok(())
}
