//! Names and entries as they are spelt, without the spaces that may stand inside them.

use crate::text::{EntryRef, NodeRef, Span};

/// `(type)name`.
pub(super) fn head(node: NodeRef) -> String {
    let name = node.name_span();
    let whole = Span { start: node.span().start, end: name.end };
    joined(node.document().text(), whole, None, node.ty().map(|(_, span)| span), name)
}

/// `name=(type)value`.
pub(super) fn entry(text: &str, entry: EntryRef) -> String {
    let ty = entry.ty().map(|(_, span)| span);
    joined(text, entry.span(), entry.name_span(), ty, entry.value_span())
}

/// The parts without what stands between them; or the whole as written, where a comment or a `\` is among that.
fn joined(text: &str, whole: Span, name: Option<Span>, ty: Option<Span>, value: Span) -> String {
    let written = |span: Span| text.get(span.range()).unwrap_or("");
    let mut spelt = String::with_capacity(whole.len());
    let (mut at, mut odd) = (whole.start, false);
    for (part, before, behind) in [(name, "", "="), (ty, "(", ")"), (Some(value), "", "")] {
        let Some(part) = part else { continue };
        odd |= written(Span { start: at, end: part.start }).contains(['/', '\\']);
        at = part.end;
        spelt.push_str(before);
        spelt.push_str(written(part));
        spelt.push_str(behind);
    }
    if odd { written(whole).to_owned() } else { spelt }
}
