//! Line breaks of KDL at which no editor or forge begins a new line: what stands behind one is read, and people see it as the
//! rest of the line, of a comment most of all.

use memchr::{memchr2_iter, memchr3_iter};

use super::chars::is_break;
use super::document::Document;
use super::pieces::{Piece, Trivia, WholeText};
use super::span::Span;

/// Each such break of a document that was read without a fault, where something stands behind it on the line that people see.
pub(crate) fn unseen_breaks(sound: &Document) -> Vec<Span> {
    let text = sound.text();
    // Nearly no text has one.
    if !may_have(text.as_bytes()) {
        return Vec::new();
    }
    let has_lines = text.contains('\n');
    let whole = WholeText::from_document(sound);
    let (mut found, mut waiting) = (Vec::new(), None);
    for piece in whole.pieces() {
        match piece {
            Piece::Between(Trivia::Break, span) => {
                let written = &text[span.range()];
                let is_seen = written.ends_with('\n') || written == "\r" && !has_lines;
                waiting = (!is_seen).then_some(waiting.unwrap_or(span));
            }
            Piece::Between(Trivia::Space | Trivia::LineComment | Trivia::BlockComment, _) => {}
            _ => found.extend(waiting.take()),
        }
    }
    found
}

/// Whether some byte may begin such a break.
fn may_have(bytes: &[u8]) -> bool {
    let begins = |at: usize| {
        let c = std::str::from_utf8(&bytes[at..bytes.len().min(at + 3)]).unwrap_or_default().chars().next();
        c.or_else(|| std::str::from_utf8(bytes.get(at..at + 2)?).ok()?.chars().next()).is_some_and(is_break)
    };
    memchr3_iter(b'\r', 0x0B, 0x0C, bytes).any(|at| bytes[at] != b'\r' || bytes.get(at + 1) != Some(&b'\n'))
        || memchr2_iter(0xC2, 0xE2, bytes).any(begins)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::{ReadLimits, read};

    fn found(text: &str) -> Vec<usize> {
        let read = read(text.to_owned(), &ReadLimits::default());
        assert!(read.faults.is_empty(), "{text:?}");
        unseen_breaks(&read.document).iter().map(|span| span.range().start).collect()
    }

    /// Which characters end a line: the newlines of KDL 2.0.0, held against those of POSIX (line feed) with the carriage
    /// return before it.
    #[test]
    fn what_stands_behind_a_break_that_nobody_sees_is_found() {
        for odd in ["\u{b}", "\u{c}", "\r", "\u{85}", "\u{2028}", "\u{2029}"] {
            assert_eq!(found(&format!("a 1 // c{odd}b 2\nc\n")), [8], "{odd:?} ends a comment");
            assert_eq!(found(&format!("/- a 1{odd}b 2\nc\n")), [6], "{odd:?} ends what is left out");
            assert_eq!(found(&format!("a 1{odd} /* x */ b 2\n")), [3], "{odd:?} between nodes");
            assert_eq!(found(&format!("a {{ // c{odd}}}\n")), [8], "{odd:?} before a brace");
            assert_eq!(found(&format!("a \\ // c{odd}1\n")), [8], "{odd:?} in a line that goes on");
            for plain in [
                format!("a 1 // c{odd}\nb\n"),
                format!("{odd}\na\n{odd}"),
                format!("a /* x{odd}y */ 1\n"),
                format!("a\n{odd} // c\nb\n"),
            ] {
                assert!(found(&plain).is_empty(), "{plain:?}");
            }
        }
        for plain in ["a 1 // c\nb\r\nc\n", "a // c\rb\rc\r", "a \"\u{2014} \u{a0}\" // \u{2014}\u{a0}\u{ab}\nb\n"] {
            assert!(found(plain).is_empty(), "{plain:?}");
        }
    }
}
