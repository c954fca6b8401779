//! Spelling a string in KDL 2.

use std::fmt::Write;

use super::chars;

/// The shortest right spelling: a bare word where KDL allows one, quotes otherwise.
pub fn quote(text: &str) -> String {
    if is_bare(text) { text.to_owned() } else { quoted(text) }
}

/// The string in quotes on one line, whatever it holds; what is not seen is written by its number.
pub fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            '\u{8}' => out.push_str("\\b"),
            '\u{C}' => out.push_str("\\f"),
            c if chars::is_break(c) || chars::is_banned(c) || c.is_control() || chars::is_unseen(c) => {
                // Writing to a string cannot fail.
                let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// May the string stand without quotes?
fn is_bare(text: &str) -> bool {
    !text.is_empty()
        && text.chars().all(|c| chars::is_word(c) && !chars::is_unseen(c))
        && !chars::begins_number(text.as_bytes())
        && !chars::is_reserved(text.as_bytes())
}
