//! Makes strings that came from a file harmless: no terminal control, no text that runs backwards.

use std::borrow::Cow;

/// Whether a character could steer a terminal, hide text or turn its direction.
pub(super) fn harmful(c: char) -> bool {
    c.is_control() && c != '\t' && c != '\n' || crate::text::is_unseen(c)
}

/// The text with every harmful character written out, as `\u{1b}`. Line breaks too: a message is one line. So is the
/// first character of what would be a command to the machine that runs a review, if it came to stand first in a line.
pub fn clean(text: &str) -> Cow<'_, str> {
    let bad = |c: char| harmful(c) || c == '\n' || c == '\t';
    let command = is_command(text);
    if !command && !text.chars().any(bad) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for (at, c) in text.char_indices() {
        if bad(c) || command && at == 0 { out.extend(c.escape_unicode()) } else { out.push(c) }
    }
    Cow::Owned(out)
}

/// What continuous integration reads as a command to itself.
fn is_command(text: &str) -> bool {
    text.starts_with("::") || text.starts_with("##[") || text.starts_with("##vso[")
}

/// Source text of the same length with nothing harmful in it: such a character becomes as many `?` as it has bytes, and a
/// carriage return alone the line feed that it means, since a terminal would write over the line.
pub(crate) fn same_length(text: &str) -> Cow<'_, str> {
    let ends_line = |at: usize| text.as_bytes().get(at + 1) == Some(&b'\n');
    if !text.char_indices().any(|(at, c)| harmful(c) && !(c == '\r' && ends_line(at))) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for (at, c) in text.char_indices() {
        match c {
            '\r' if ends_line(at) => out.push(c),
            '\r' => out.push('\n'),
            c if harmful(c) => out.extend(std::iter::repeat_n('?', c.len_utf8())),
            c => out.push(c),
        }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_seen_is_what_unicode_says() {
        let unseen =
            regex::Regex::new(r"[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Default_Ignorable_Code_Point}]").expect("a pattern");
        for c in '\0'..=char::MAX {
            let expected = unseen.is_match(c.encode_utf8(&mut [0; 4])) && c != '\n' && c != '\t';
            assert_eq!(harmful(c), expected, "U+{:04X}", c as u32);
        }
    }

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(clean("a\u{1b}[31mb\u{202e}c"), "a\\u{1b}[31mb\\u{202e}c");
        assert_eq!(clean("plain µm → °C"), "plain µm → °C");
        let source = "x\u{1b}y\u{202e}z\r\n";
        assert_eq!(same_length(source), "x?y???z\r\n");
        assert_eq!(same_length(source).len(), source.len());
        assert_eq!(same_length("one\rtwo\r\nthree\r"), "one\ntwo\r\nthree\n");
    }
}
