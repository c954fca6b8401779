//! Makes strings that came from a file harmless: no terminal control, no text that runs backwards.

use std::borrow::Cow;

/// Whether a character could steer a terminal, hide text or turn its direction.
pub(super) fn harmful(c: char) -> bool {
    c.is_control() && c != '\t' && c != '\n' || crate::syntax::is_banned(c) || invisible(c)
}

/// Characters that change what is seen around them without being seen.
fn invisible(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

/// The text with every harmful character written out, as `\u{1b}`. Line breaks too: a message is one line.
pub fn clean(text: &str) -> Cow<'_, str> {
    let bad = |c: char| harmful(c) || c == '\n' || c == '\t';
    if !text.chars().any(bad) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if bad(c) { out.extend(c.escape_unicode()) } else { out.push(c) }
    }
    Cow::Owned(out)
}

/// Source text with every harmful character replaced by as many `?` as it has bytes, so that spans still fit.
pub fn same_length(text: &str) -> Cow<'_, str> {
    let bad = |c: char| harmful(c) && c != '\r';
    if !text.chars().any(bad) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if bad(c) { out.extend(std::iter::repeat_n('?', c.len_utf8())) } else { out.push(c) }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(clean("a\u{1b}[31mb\u{202e}c"), "a\\u{1b}[31mb\\u{202e}c");
        assert_eq!(clean("plain µm → °C"), "plain µm → °C");
        let source = "x\u{1b}y\u{202e}z\r\n";
        assert_eq!(same_length(source), "x?y???z\r\n");
        assert_eq!(same_length(source).len(), source.len());
    }
}
