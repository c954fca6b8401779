//! Every edit of one line or one value of a text.

use wayledger::kdl::{Document, EntryRef, NodeRef, Span, Value};

/// What is done to one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    /// A property, a row, a node or a whole record is gone.
    TakenAway,
    /// A number is ten times as large.
    Tenfold,
    /// A number is a tenth of what it was.
    Tenth,
    /// A number has the other sign.
    Negated,
    /// Two rows of one kind, one below the other, have changed places.
    Swapped,
    /// A row stands there twice, the second time with another value.
    Doubled,
}

/// One edit of one file.
#[derive(Clone, Debug)]
pub(crate) struct Edit {
    pub kind: Kind,
    /// The word that is edited, from the top of its file: `fasten at`, `fasten wrench=`.
    pub word: String,
    pub line: usize,
    /// What stood there, and what stands there now.
    pub was: String,
    pub now: String,
    /// The whole text of the file as it is then.
    pub text: String,
}

/// All edits of a text.
pub(crate) fn all(document: &Document) -> Vec<Edit> {
    let mut edits = Vec::new();
    for node in (0..document.len()).filter_map(|index| document.node(index)) {
        edits.push(edit(document, Kind::TakenAway, node_word(node), whole(node), String::new()));
        for entry in node.entries() {
            if entry.name().is_some() {
                edits.push(edit(document, Kind::TakenAway, entry_word(node, entry), entry.span(), String::new()));
            }
            if let Value::Number(raw) = entry.value() {
                for kind in [Kind::Tenfold, Kind::Tenth, Kind::Negated] {
                    if let Some(now) = changed(raw, kind) {
                        edits.push(edit(document, kind, entry_word(node, entry), entry.value_span(), now));
                    }
                }
            }
        }
        if node.depth() > 0 && node.block().is_none() {
            edits.extend(doubled(document, node));
        }
        edits.extend(swapped(document, node));
    }
    edits
}

fn edit(document: &Document, kind: Kind, word: String, span: Span, now: String) -> Edit {
    let text = document.text();
    let was = &text[span.range()];
    // Lines stay where they are.
    let put = if now.is_empty() { was.chars().filter(|c| *c == '\n').collect() } else { now.clone() };
    Edit {
        kind,
        word,
        line: document.place(span.start).line as usize,
        was: was.to_string(),
        now,
        text: format!("{}{put}{}", &text[..span.range().start], &text[span.range().end..]),
    }
}

/// A node with the `;` that ends it.
fn whole(node: NodeRef) -> Span {
    let span = node.span();
    let rest = &node.document().text()[span.range().end..];
    let behind = rest.len() - rest.trim_start_matches([' ', '\t']).len();
    let end = if rest[behind..].starts_with(';') { span.range().end + behind + 1 } else { span.range().end };
    Span::new(span.range().start, end)
}

/// The words above a node and its own.
fn node_word(node: NodeRef) -> String {
    let path = node.document().path_to(node.name_span().start as usize);
    path.iter().map(|node| node.name()).collect::<Vec<_>>().join(" ")
}

fn entry_word(node: NodeRef, entry: EntryRef) -> String {
    let word = node_word(node);
    entry.name().map_or(word.clone(), |name| format!("{word} {name}="))
}

/// A number as it is spelt, changed; nothing where it stays what it is.
fn changed(raw: &str, kind: Kind) -> Option<String> {
    let (minus, digits) = raw.strip_prefix('-').map_or((false, raw), |digits| (true, digits));
    if !digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.') || digits.bytes().all(|it| b"0.".contains(&it))
    {
        return None;
    }
    let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
    let size = match kind {
        Kind::Tenfold if part.is_empty() => format!("{whole}0"),
        Kind::Tenfold => format!("{whole}{}.{}", &part[..1], if part.len() > 1 { &part[1..] } else { "0" }),
        Kind::Tenth => {
            let (rest, last) = whole.split_at(whole.len() - 1);
            format!("{}.{last}{part}", if rest.is_empty() { "0" } else { rest })
        }
        _ => digits.to_string(),
    };
    // A count stays one where it can.
    let size = if part.is_empty() { size.strip_suffix(".0").map_or(size.clone(), str::to_string) } else { size };
    let zeros = size.bytes().zip(size.bytes().skip(1)).take_while(|(it, next)| *it == b'0' && next.is_ascii_digit());
    let size = &size[zeros.count()..];
    Some(if minus == (kind == Kind::Negated) { size.to_string() } else { format!("-{size}") })
}

/// A row twice, the last number of the copy a little larger.
fn doubled(document: &Document, node: NodeRef) -> Option<Edit> {
    let number = node.entries().rfind(|entry| matches!(entry.value(), Value::Number(_)))?;
    let last = number.value_span().range().end - 1;
    let text = document.text();
    let digit = text.as_bytes()[last].checked_sub(b'0').filter(|digit| *digit < 10)?;
    let digit = char::from(b'0' + (digit + 1) % 10);
    let span = node.span();
    let copy = format!("{}{digit}{}", &text[span.range().start..last], &text[last + 1..span.range().end]);
    let own = &text[span.range()];
    Some(edit(document, Kind::Doubled, node_word(node), span, format!("{own}; {copy}")))
}

/// A row and the next one of its kind in each other's place.
fn swapped(document: &Document, node: NodeRef) -> Option<Edit> {
    let next = document.node(node.after()).filter(|next| next.depth() == node.depth() && next.is(node.name()))?;
    let text = document.text();
    let (first, second) = (node.span().range(), next.span().range());
    if node.depth() == 0 || text[first.clone()] == text[second.clone()] {
        return None;
    }
    let now = format!("{}{}{}", &text[second.clone()], &text[first.end..second.start], &text[first.clone()]);
    Some(edit(document, Kind::Swapped, node_word(node), Span::new(first.start, second.end), now))
}
