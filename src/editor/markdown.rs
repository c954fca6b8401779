//! Text of ledgers and of the language as Markdown. Nothing that stands in a ledger comes to be markup.

use std::fmt::Write as _;

use crate::formats::clean;
use crate::formats::paper::markdown_text;
use crate::language::schema::{EntryShape, FurtherArguments, NodeShape};

/// What a node means, with an example.
pub(super) fn node_help(shape: &NodeShape) -> String {
    let mut out = shape.help.clone();
    if let Some(example) = &shape.example {
        let _ = write!(out, "\n\n{}", fenced(example));
    }
    let mut parts: Vec<String> = shape.args.iter().map(|part| format!("- _{}_: {}", part.name, part.help)).collect();
    if let FurtherArguments::Many { part, .. } = &shape.rest {
        parts.push(format!("- _{}_ …: {}", part.name, part.help));
    }
    parts.extend(shape.props.iter().map(|part| format!("- `{}=` {}", part.name, part.help)));
    if !parts.is_empty() {
        let _ = write!(out, "\n\n{}", parts.join("\n"));
    }
    out
}

/// What a part of a node means.
pub(super) fn part_help(part: &EntryShape) -> String {
    let mut out = part.help.clone();
    if part.allow.is_empty() {
        let _ = write!(out, " It is {}.", part.ty.describe());
    } else {
        let words: Vec<String> = part.allow.iter().map(|word| format!("`{word}`")).collect();
        let _ = write!(out, " One of {}.", words.join(", "));
    }
    if let Some(refers) = part.refers {
        let _ = write!(out, " It names {}.", refers.describe());
    }
    out
}

/// Lines that stay as they are, whatever they hold: the fence is longer than any row of back quotes in them.
pub(super) fn fenced(text: &str) -> String {
    let mut longest = 2;
    let mut run = 0;
    for c in text.chars() {
        run = if c == '`' { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    let fence = "`".repeat(longest + 1);
    let lines: Vec<String> = text.lines().map(|line| clean(line).into_owned()).collect();
    format!("{fence}text\n{}\n{fence}", lines.join("\n"))
}

/// A line of plain text.
pub(super) fn line(text: &str) -> String {
    markdown_text(text)
}

/// A link to a place. A URI holds no sign that could end it, but for brackets.
pub(super) fn link(text: &str, uri: &str, line: u32) -> String {
    let uri = uri.replace('(', "%28").replace(')', "%29").replace('<', "%3C").replace('>', "%3E");
    format!("[{}]({uri}#L{line})", markdown_text(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_ledger_comes_to_be_markup() {
        assert_eq!(fenced("a\n```\n[x](y)\u{1b}"), "````text\na\n```\n[x](y)\\u{1b}\n````");
        assert_eq!(link("a](http://x)", "file:///a(b)", 3), "[a\\](http\\://x)](file:///a%28b%29#L3)");
    }
}
