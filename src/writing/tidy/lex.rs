//! The pieces of a text, spaces and comments included. The reader forgets those; a layout must not.
//!
//! Only a text that the reader finds no fault with is cut here, so nothing has to be reported and every piece ends
//! where it must.

use crate::text::{is_break, is_space, is_word};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Space,
    Break,
    /// `// …`, without its line break.
    LineComment,
    /// `/* … */`.
    BlockComment,
    /// The `\` at the end of a line that goes on.
    Continued,
    /// `/-`.
    LeftOut,
    Open,
    Close,
    Semicolon,
    TypeOpen,
    TypeClose,
    Equals,
    /// A name or value as written.
    Word,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Token<'t> {
    pub kind: Kind,
    pub text: &'t str,
    pub start: usize,
}

/// Cuts a text; the pieces in a row are the text.
pub(super) fn cut(text: &str) -> Vec<Token<'_>> {
    let mut tokens = Vec::with_capacity(text.len() / 4);
    let mut at = 0;
    while at < text.len() {
        let (kind, len) = first(&text[at..]);
        tokens.push(Token { kind, text: &text[at..at + len], start: at });
        at += len;
    }
    tokens
}

fn first(rest: &str) -> (Kind, usize) {
    let c = rest.chars().next().unwrap_or('\n');
    let one = |kind| (kind, c.len_utf8());
    match c {
        '{' => one(Kind::Open),
        '}' => one(Kind::Close),
        ';' => one(Kind::Semicolon),
        '(' => one(Kind::TypeOpen),
        ')' => one(Kind::TypeClose),
        '=' => one(Kind::Equals),
        '\\' => one(Kind::Continued),
        '/' if rest.starts_with("/-") => (Kind::LeftOut, 2),
        '/' if rest.starts_with("//") => (Kind::LineComment, until(rest, is_break)),
        '/' if rest.starts_with("/*") => (Kind::BlockComment, block_comment(rest)),
        '"' => (Kind::Word, string(rest, 0)),
        '#' => {
            let hashes = until(rest, |c| c != '#');
            if rest[hashes..].starts_with('"') {
                (Kind::Word, string(rest, hashes))
            } else {
                (Kind::Word, 1 + until(&rest[1..], |c| !is_word(c)))
            }
        }
        '\r' if rest.starts_with("\r\n") => (Kind::Break, 2),
        c if is_break(c) => one(Kind::Break),
        c if is_space(c) => (Kind::Space, until(rest, |c| !is_space(c))),
        _ => (Kind::Word, until(rest, |c| !is_word(c)).max(c.len_utf8())),
    }
}

fn until(text: &str, stop: impl Fn(char) -> bool) -> usize {
    text.find(stop).unwrap_or(text.len())
}

/// Comments of this kind lie inside one another.
fn block_comment(text: &str) -> usize {
    let (mut depth, mut at) = (0usize, 0);
    while let Some(next) = memchr::memchr2(b'/', b'*', &text.as_bytes()[at..]) {
        at += next;
        if text[at..].starts_with("/*") {
            depth += 1;
            at += 2;
        } else if text[at..].starts_with("*/") {
            depth -= 1;
            at += 2;
            if depth == 0 {
                return at;
            }
        } else {
            at += 1;
        }
    }
    text.len()
}

/// The length of a string with quotes, raw when there are `hashes`.
fn string(text: &str, hashes: usize) -> usize {
    let quotes = if text[hashes..].starts_with("\"\"\"") { 3 } else { 1 };
    // `""` is empty, not the beginning of a long string.
    let end = format!("{}{}", "\"".repeat(quotes), "#".repeat(hashes));
    let mut at = hashes + quotes;
    while let Some(next) = memchr::memchr2(b'"', b'\\', &text.as_bytes()[at..]) {
        at += next;
        if text.as_bytes()[at] == b'\\' {
            let escaped = text[at + 1..].chars().next().map_or(0, char::len_utf8);
            at += 1 + if hashes == 0 { escaped } else { 0 };
        } else if text[at..].starts_with(&end) {
            return at + end.len();
        } else {
            at += 1;
        }
    }
    text.len()
}
