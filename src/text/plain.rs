//! The short way through what nearly all of a ledger is made of: words, plain numbers and strings with one space between
//! them. What it takes, the careful way would take alike; it leaves everything else, and every mistake, to that.
//!
//! Without `plain_entries` the lint takes 1.27 times the instructions (benches/README.md).

use super::chars::{self, END, GAP, STOP, WORD, class, stretch};
use super::document::{Entry, Word};
use super::form::{Plain, WordForm};
use super::reader::Reader;
use super::scan::Token;

/// The token at `at`, if it is a word, a decimal number or a quoted string without escapes, and ends as it should.
// The compiler would rather call it; taken into the loop below it saves a sixth of all reading.
#[inline(always)]
pub(super) fn plain(bytes: &[u8], at: usize) -> Option<Token> {
    let first = *bytes.get(at)?;
    let (end, form) = if first == b'"' {
        let close = stretch(bytes, at + 1, |byte| class(byte) & STOP == 0);
        if bytes.get(close) != Some(&b'"') {
            return None;
        }
        (close + 1, WordForm::cut(1))
    } else if class(first) & WORD == 0 {
        return None;
    } else if first <= b'9' && chars::begins_number(&bytes[at..]) {
        decimal(bytes, at)?
    } else {
        let end = stretch(bytes, at + 1, |byte| class(byte) & WORD != 0);
        if chars::is_reserved(&bytes[at..end]) {
            return None;
        }
        (end, WordForm::BARE)
    };
    let ends = class(*bytes.get(end)?) & END != 0;
    ends.then(|| Token::new(at, end, form))
}

/// The end of the decimal number that begins at `at`, if it is all digits and one point at most, and its value.
#[inline(always)]
fn decimal(bytes: &[u8], at: usize) -> Option<(usize, WordForm)> {
    // The digits of so many signs can be held.
    const MOST_SIGNS: usize = 9;
    let negative = bytes[at] == b'-';
    let first = at + usize::from(negative || bytes[at] == b'+');
    let mut digits: u32 = 0;
    let mut run = |mut end: usize| {
        while let Some(digit) = bytes.get(end).map(|byte| byte.wrapping_sub(b'0')).filter(|digit| *digit < 10) {
            digits = digits.wrapping_mul(10).wrapping_add(digit.into());
            end += 1;
        }
        end
    };
    let mut end = run(first);
    let mut places = 0;
    if end == first {
        return None;
    }
    if bytes.get(end) == Some(&b'.') {
        let point = end;
        end = run(point + 1);
        places = end - point - 1;
        if places == 0 {
            return None;
        }
    }
    let plain = if end - first <= MOST_SIGNS { Plain::new(negative, digits, places) } else { None };
    Some((end, WordForm::number(plain)))
}

impl Reader<'_> {
    /// Takes the plain entries that follow on the name of a node, each behind one space.
    // Apart from its caller the compiler keeps what counts in registers.
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

#[cfg(test)]
mod tests {
    use crate::text::{ReadLimits, Span, read};

    /// All that is read from a text, its places counted as if the byte at `extra` were not there.
    fn all(text: String, extra: u32) -> String {
        let read = read(text, &ReadLimits::default());
        let shift = |offset: u32| offset - u32::from(offset > extra);
        let place = |span: Span| Span { start: shift(span.start), end: shift(span.end) };
        let mut all = String::new();
        for node in (0..read.document.len()).filter_map(|index| read.document.node(index)) {
            let (name, block) = (place(node.name_span()), node.block().map(place));
            all += &format!("{} {:?} {name:?} {block:?} {:?}\n", node.name(), node.ty(), place(node.span()));
            for entry in node.entries() {
                let (name, value) = (entry.name_span().map(place), place(entry.value_span()));
                all += &format!("  {:?} {name:?} {:?} {value:?} ", entry.name(), entry.value());
                all += &format!("{:?} {:?} {}\n", entry.ty().map(|(ty, _)| ty), place(entry.span()), entry.broken());
            }
        }
        for fault in read.faults {
            all += &format!("{:?} {:?}\n", fault.kind, place(fault.span));
        }
        all
    }

    /// Behind two spaces a line is read the careful way.
    #[test]
    fn the_short_way_reads_like_the_careful_one() {
        let pieces = [
            "a", "true", "\"x\"", "\"", "=", " ", "\n", "5", ".", "-", "_", "e1", "{", "\\", "/", ";", ")", "\u{a0}",
            "é",
        ];
        let mut texts = vec![String::new()];
        for _ in 0..4 {
            texts = texts.iter().flat_map(|text| pieces.iter().map(move |piece| format!("{text}{piece}"))).collect();
            for text in &texts {
                assert_eq!(all(format!("n {text}"), u32::MAX), all(format!("n  {text}"), 1), "{text:?}");
            }
        }
    }
}
