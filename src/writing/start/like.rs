//! A second machine like one that is there: its description without what belongs to that one alone, which are its records,
//! the serial numbers, lots and marks of its bars, what went of it, and what somebody declared of it.

use crate::facts::lines::LineEdits;
use crate::text::{Document, EditError, NodeRef, Span, apply, quote};

/// Properties of a part that say which one it is, or when it came.
const OWN: [&str; 7] = ["serial", "lot", "mark", "near-mark", "far-mark", "owned", "since"];

/// The text of a machine of that name that is described as another one is.
pub(crate) fn like(other: &Document, name: &str, title: Option<&str>) -> Result<String, EditError> {
    let text = other.text();
    let mut lines = LineEdits::new(text);
    for node in other.nodes() {
        match node.name() {
            "machine" => machine(node, name, title, &mut lines),
            "shop" | "edition" | "design" => {}
            _ => lines.remove(node.span()),
        }
    }
    apply(text, &lines.edits)
}

fn machine(node: NodeRef, name: &str, title: Option<&str>, lines: &mut LineEdits) {
    match node.args().next() {
        Some(old) => lines.replace(old.span(), quote(name)),
        None => {
            let at = node.name_span().range().end;
            lines.replace(Span::new(at, at), format!(" {}", quote(name)));
        }
    }
    if let Some(title) =
        title.filter(|_| !node.children().any(|child| child.is("title") && child.args().next().is_some()))
    {
        lines.first_in(node, &[format!("title {}", quote(title))]);
    }
    // It is built to the design as it is now.
    let design = node.children().filter(|child| child.is("built-to")).last().map(|child| child.span());
    for child in node.children() {
        match (child.name(), title) {
            ("title", Some(title)) => match child.args().next() {
                Some(old) => lines.replace(old.span(), quote(title)),
                None => lines.remove(child.span()),
            },
            ("title" | "corrected" | "not-applicable" | "part" | "deviation", _) => lines.remove(child.span()),
            ("built-to", _) if Some(child.span()) != design => lines.remove(child.span()),
            _ => parts(child, lines),
        }
    }
}

/// All below a node as it would be begun today.
fn parts(top: NodeRef, lines: &mut LineEdits) {
    // As deep as somebody wrote it, so this does not call itself.
    let mut open = vec![top];
    while let Some(node) = open.pop() {
        if node.prop("until").is_some() {
            lines.remove(node.span());
            continue;
        }
        for entry in node.entries().filter(|entry| entry.name().is_some_and(|name| OWN.contains(&name))) {
            let start = entry.name_span().map_or(entry.span().start, |name| name.start.min(entry.span().start));
            let before = node.document().text()[..start as usize].trim_end_matches([' ', '\t']).len();
            lines.replace(Span::new(before, entry.span().range().end), String::new());
        }
        open.extend(node.children());
    }
}
