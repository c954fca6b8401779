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
            "shop" | "edition" => {}
            _ => lines.remove(node.span()),
        }
    }
    apply(text, &lines.edits)
}

fn machine(node: NodeRef, name: &str, title: Option<&str>, lines: &mut LineEdits) {
    if let Some(old) = node.args().next() {
        lines.replace(old.span(), quote(name));
    }
    for child in node.children() {
        match (child.name(), title) {
            ("title", Some(title)) => {
                if let Some(old) = child.args().next() {
                    lines.replace(old.span(), quote(title));
                }
            }
            ("title" | "corrected" | "not-applicable", _) => lines.remove(child.span()),
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
