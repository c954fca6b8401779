//! Text with places that a person still fills: jumped through in an editor that knows how, plain text in any other.

use crate::ledger::SpeltValue;

/// What stands around the text of a place. Neither is a character that anybody writes (private use).
const OPEN: char = '\u{F8F0}';
const CLOSE: char = '\u{F8F1}';

/// A place to fill, with what stands there first.
pub(super) fn gap(first: &str) -> SpeltValue {
    SpeltValue::typed(&marked(first))
}

/// The same in quotes.
pub(super) fn quoted_gap(first: &str) -> SpeltValue {
    SpeltValue::typed(&format!("\"{}\"", marked(first)))
}

fn marked(first: &str) -> String {
    format!("{OPEN}{first}{CLOSE}")
}

/// A text with its places as the protocol writes them; without them for an editor that does not know how.
pub(super) fn written(text: &str, snippets: bool) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut number = 0;
    for c in text.chars() {
        match c {
            OPEN if snippets => {
                number += 1;
                out.push_str(&format!("${{{number}:"));
            }
            CLOSE if snippets => out.push('}'),
            OPEN | CLOSE => {}
            '\\' | '$' | '}' if snippets => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::NodeDraft;

    #[test]
    fn places_are_numbered_and_all_else_is_plain() {
        let draft =
            NodeDraft::new("at").value("a$}\\b").value(gap("#null")).value(gap("")).property("by", quoted_gap("f"));
        assert_eq!(written(&draft.line(), true), "at \"a\\$\\}\\\\\\\\b\" ${1:#null} ${2:} by=\"${3:f}\"");
        assert_eq!(written(&draft.line(), false), "at \"a$}\\\\b\" #null  by=\"f\"");
    }
}
