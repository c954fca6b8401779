//! The short way through what nearly all of a ledger is made of: words, plain numbers and strings with one space between
//! them. What it takes, the careful way would take alike; it leaves everything else, and every mistake, to that.

use super::chars::{self, END, GAP, STOP, WORD, class, stretch};
use super::document::{Entry, Form, Word};
use super::read::Reader;
use super::scan::Token;

/// The token at `at`, if it is a word, a decimal number or a quoted string without escapes, and ends as it should.
#[inline(always)]
pub(super) fn plain(bytes: &[u8], at: usize) -> Option<Token> {
    let first = *bytes.get(at)?;
    let (end, form) = if first == b'"' {
        let close = stretch(bytes, at + 1, |byte| class(byte) & STOP == 0);
        // Two in a row may begin a string of several lines.
        if close == at + 1 || bytes.get(close) != Some(&b'"') {
            return None;
        }
        (close + 1, Form::cut(1))
    } else if class(first) & WORD == 0 {
        return None;
    } else if first <= b'9' {
        let sign = usize::from(matches!(first, b'+' | b'-'));
        (decimal_end(bytes, at + sign)?, Form::NUMBER)
    } else {
        let end = stretch(bytes, at + 1, |byte| class(byte) & WORD != 0);
        if chars::is_reserved(&bytes[at..end]) {
            return None;
        }
        (end, Form::BARE)
    };
    let ends = class(*bytes.get(end)?) & END != 0;
    ends.then(|| Token::new(at, end, form))
}

/// The end of the digits, and the point between them, that begin at `at`.
#[inline(always)]
pub(super) fn decimal_end(bytes: &[u8], at: usize) -> Option<usize> {
    let whole = digits_end(bytes, at, |byte| byte.is_ascii_digit())?;
    if bytes.get(whole) == Some(&b'.') {
        digits_end(bytes, whole + 1, |byte| byte.is_ascii_digit())
    } else {
        Some(whole)
    }
}

/// The end of a digit and the digits and underscores behind it.
#[inline(always)]
pub(super) fn digits_end(bytes: &[u8], at: usize, is_digit: impl Fn(u8) -> bool) -> Option<usize> {
    if !is_digit(*bytes.get(at)?) {
        return None;
    }
    Some(stretch(bytes, at + 1, |byte| is_digit(byte) || byte == b'_'))
}

impl Reader<'_> {
    /// Takes the plain entries that follow on the name of a node, each behind one space.
    #[inline(never)]
    pub(super) fn plain_entries(&mut self, node: u32) {
        if self.peek() != b' ' {
            return;
        }
        let (bytes, most) = (self.bytes, self.limits.items);
        let mut name = Word::NONE;
        let mut start = self.at + 1;
        let mut from = start;
        while self.entries.len() <= most
            && let Some(token) = plain(bytes, from)
        {
            let end = token.end();
            let next = bytes[end];
            if name.get().is_none() {
                if next == b'=' && token.word.form.is_text() {
                    name = token.word;
                    from = end + 1;
                    continue;
                }
                // Behind more space there may be a `=`.
                let after = if next == b' ' { self.byte(end + 1) } else { next };
                if after == b'=' || class(after) & GAP != 0 {
                    break;
                }
            }
            self.entries.push(Entry { name, ty: Word::NONE, value: token.word, start: start as u32, broken: false });
            self.at = end;
            if next != b' ' {
                break;
            }
            name = Word::NONE;
            start = end + 1;
            from = start;
        }
        let node = &mut self.nodes[node as usize];
        node.entries.1 = self.entries.len() as u32;
        node.span.end = self.at as u32;
    }
}
