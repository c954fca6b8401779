//! Text from a ledger as Markdown that shows it as it is: no markup, no link, no mention of a person comes of it.

use crate::formats::clean;

/// One line of text, safe anywhere within a line of Markdown, in a table cell too.
pub(crate) fn markdown_text(text: &str) -> String {
    let text = clean(text.trim());
    let mut out = String::with_capacity(text.len() + 8);
    for (at, c) in text.char_indices() {
        let special = match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~' | '&' | '$' => true,
            // What review pages turn into links by themselves.
            ':' => text[at..].starts_with("://"),
            '.' => text[..at].to_ascii_lowercase().ends_with("www"),
            _ => false,
        };
        if special {
            out.push('\\');
        }
        out.push(c);
        // A review page would see a mention of a person or a number of an issue, backslash or not.
        if matches!(c, '@' | '#') {
            out.push('\u{2060}');
        }
    }
    out
}

/// The same for the beginning of a line, where a mark or a number could begin a list, a heading or a rule.
pub(crate) fn markdown_line(text: &str) -> String {
    let text = markdown_text(text);
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    match text.as_bytes().get(digits) {
        Some(b'.' | b')') if digits > 0 => format!("{}\\{}", &text[..digits], &text[digits..]),
        Some(b'#' | b'+' | b'-' | b'=' | b'!') if digits == 0 => format!("\\{text}"),
        _ => text,
    }
}

/// Text inside an HTML element of Markdown, where Markdown's own escapes do not work. A joiner that is not seen keeps
/// review pages from making mentions and links of it.
pub(crate) fn html_text(text: &str) -> String {
    let text = clean(text);
    let mut out = String::with_capacity(text.len() + 8);
    for (at, c) in text.char_indices() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            c => out.push(c),
        }
        let links = match c {
            '@' | '#' => true,
            ':' => text[at..].starts_with("://"),
            'w' | 'W' => text[..=at].to_ascii_lowercase().ends_with("www"),
            _ => false,
        };
        if links {
            out.push('\u{2060}');
        }
    }
    out
}
