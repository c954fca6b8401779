//! A document in the canonical form of the official KDL test suite: one spelling for one meaning.

use std::collections::BTreeMap;

use super::{Document, EntryRef, Value, number, quote};

/// Four spaces a level, arguments first, then properties by name, the last one where a name is repeated; no comments.
pub fn canonical(document: &Document) -> String {
    let mut out = String::new();
    let mut open = 0;
    for index in 0..document.len() {
        let Some(node) = document.node(index) else { break };
        while open > node.depth() {
            open -= 1;
            indent(&mut out, open);
            out.push_str("}\n");
        }
        indent(&mut out, open);
        if let Some((ty, _)) = node.ty() {
            out.push_str(&format!("({})", quote(ty)));
        }
        out.push_str(&quote(node.name()));
        for arg in node.args() {
            out.push(' ');
            value(&mut out, arg);
        }
        let mut props = BTreeMap::new();
        for entry in node.entries() {
            if let Some(name) = entry.name() {
                props.insert(name, entry);
            }
        }
        for (name, entry) in props {
            out.push_str(&format!(" {}=", quote(name)));
            value(&mut out, entry);
        }
        if node.children().next().is_some() {
            out.push_str(" {");
            open += 1;
        }
        out.push('\n');
    }
    while open > 0 {
        open -= 1;
        indent(&mut out, open);
        out.push_str("}\n");
    }
    out
}

fn indent(out: &mut String, depth: usize) {
    out.extend(std::iter::repeat_n("    ", depth));
}

fn value(out: &mut String, entry: EntryRef<'_>) {
    if let Some((ty, _)) = entry.ty() {
        out.push_str(&format!("({})", quote(ty)));
    }
    match entry.value() {
        Value::Text(text) => out.push_str(&quote(text)),
        Value::Number(raw) => out.push_str(&number::canonical(raw)),
        Value::Bool(true) => out.push_str("#true"),
        Value::Bool(false) => out.push_str("#false"),
        Value::Null => out.push_str("#null"),
    }
}
