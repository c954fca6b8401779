//! The lower half of the reader: words, numbers, and where a spoilt token ends.

use super::chars::{self, END, LOOK, NUMERIC, WORD, class, stretch};
use super::document::Word;
use super::fault::{Fault, FaultKind};
use super::form::WordForm;
use super::reader::Reader;
use super::span::Span;

/// Something that stands where a name or value can.
#[derive(Clone, Copy)]
pub(super) struct Token {
    pub word: Word,
    pub broken: bool,
}

impl Token {
    #[inline]
    pub(crate) fn new(start: usize, end: usize, form: WordForm) -> Token {
        Token { word: Word { span: Span { start: start as u32, end: end as u32 }, form }, broken: false }
    }

    #[inline]
    pub(crate) fn end(&self) -> usize {
        self.word.span.end as usize
    }

    /// The token as a name, if it is a string.
    #[inline]
    pub(crate) fn name(&self) -> Option<Word> {
        self.word.form.is_text().then_some(self.word)
    }
}

impl Reader<'_> {
    /// The byte at the reader's place; 0 at the end.
    #[inline]
    pub(super) fn peek(&self) -> u8 {
        self.byte(self.at)
    }

    #[inline]
    pub(super) fn byte(&self, at: usize) -> u8 {
        self.bytes.get(at).copied().unwrap_or(0)
    }

    #[inline]
    pub(super) fn at_end(&self) -> bool {
        self.at >= self.bytes.len()
    }

    pub(super) fn char_at(&self, at: usize) -> Option<char> {
        self.text.get(at..)?.chars().next()
    }

    #[cold]
    pub(super) fn fault(&mut self, kind: FaultKind, start: usize, end: usize) {
        self.fault_also(Fault::new(kind, Span::new(start, end)));
    }

    pub(super) fn fault_also(&mut self, fault: Fault) {
        if self.muted {
            return;
        }
        // What is wrong at one place is said once.
        if let Some(last) = self.faults.last()
            && last.span.start == fault.span.start
        {
            match last.kind {
                FaultKind::MissingSpace => {
                    self.faults.pop();
                }
                FaultKind::AfterBlock => return,
                _ if *last == fault || fault.kind == FaultKind::TypeWithoutValue => return,
                _ => {}
            }
        }
        if self.faults.len() >= self.limits.faults {
            self.muted = true;
            self.faults.push(Fault::new(FaultKind::TooManyFaults { most: self.limits.faults }, fault.span));
            return;
        }
        self.faults.push(fault);
    }

    /// The end of the bare word that begins at `at`.
    #[inline]
    pub(super) fn word_end(&self, mut at: usize) -> usize {
        loop {
            at = stretch(self.bytes, at, |byte| class(byte) & WORD != 0);
            let (byte, class) = (self.byte(at), class(self.byte(at)));
            // A longer character after all, or a NUL, which was marked already.
            let inside =
                class & LOOK != 0 && self.space_len(at) + self.break_len(at) == 0 || byte == 0 && at < self.bytes.len();
            if !inside {
                return at;
            }
            at += 1;
        }
    }

    /// Whether a token may end before `at`.
    fn is_delimiter(&mut self, at: usize) -> bool {
        let byte = self.byte(at);
        let class = class(byte);
        if class & END != 0 {
            return true;
        }
        match byte {
            b'/' => matches!(self.byte(at + 1), b'/' | b'*' | b'-'),
            b'\\' => self.continuation(at).is_some(),
            0 => at >= self.bytes.len(),
            _ => class & LOOK != 0 && self.space_len(at) + self.break_len(at) > 0,
        }
    }

    /// Where a spoilt token ends, so that one mistake is one fault: before the next space, brace, `;` or `=`.
    fn spoilt_end(&mut self, start: usize, stop: Option<u8>) -> usize {
        let mut at = start;
        loop {
            let byte = self.byte(at);
            let ends = match byte {
                b'/' => matches!(self.byte(at + 1), b'/' | b'*'),
                // `5"` is meant as inches; in `5"a b"` a string follows.
                b'"' => !self.is_delimiter(at + 1),
                _ => self.is_delimiter(at) || Some(byte) == stop,
            };
            if ends && at > start {
                return at;
            }
            match self.char_at(at) {
                Some(c) => at += c.len_utf8(),
                None => return self.bytes.len(),
            }
        }
    }

    /// A token that is wrong as a whole, read as the text it is.
    pub(super) fn spoilt(&mut self, start: usize, stop: Option<u8>, kind: impl Fn(String) -> FaultKind) -> Token {
        let end = self.spoilt_end(start, stop);
        let raw = &self.text[start..end];
        // A banned character inside was marked already.
        if !raw.chars().any(chars::is_banned) {
            self.fault(kind(raw.to_owned()), start, end);
        }
        self.at = end;
        Token { broken: true, ..Token::new(start, end, WordForm::BARE) }
    }

    /// The token at the reader's place. `stop`: a byte that also ends a word, as `)` does in an annotation.
    pub(super) fn token(&mut self, stop: Option<u8>) -> Token {
        let start = self.at;
        let byte = self.peek();
        if class(byte) & (WORD | LOOK) != 0 {
            if chars::begins_number(&self.bytes[start..]) {
                return self.number(start, stop);
            }
            return self.bare_word(start, stop);
        }
        match byte {
            b'"' => self.quoted(),
            b'#' => self.hash(stop),
            _ => self.spoilt(start, stop, FaultKind::Stray),
        }
    }

    fn bare_word(&mut self, start: usize, stop: Option<u8>) -> Token {
        let end = self.word_end(start);
        let next = self.byte(end);
        if Some(next) != stop && !self.is_delimiter(end) {
            let word = &self.text[start..end];
            match next {
                b'"' | b'#' if word == "r" => {
                    let quote = end + self.bytes[end..].iter().take_while(|b| **b == b'#').count();
                    if self.byte(quote) == b'"' {
                        self.fault(FaultKind::OldRawString, start, end);
                        self.at = end;
                        let token = if next == b'"' { self.quoted() } else { self.hash(stop) };
                        return Token { broken: true, ..token };
                    }
                }
                // Two tokens with no space between them: the caller says so.
                b'"' => {
                    self.at = end;
                    return self.finish_word(start, end);
                }
                b'(' => {
                    // `rail(mm)5` lacks a space, `rail(1)` lacks quotes.
                    let close = self.word_end(end + 1);
                    if self.byte(close) == b')' && !self.is_delimiter(close + 1) {
                        self.at = end;
                        return self.finish_word(start, end);
                    }
                }
                _ => {}
            }
            return self.spoilt(start, stop, FaultKind::BadWord);
        }
        self.at = end;
        self.finish_word(start, end)
    }

    fn finish_word(&mut self, start: usize, end: usize) -> Token {
        let word = &self.text[start..end];
        let mut token = Token::new(start, end, WordForm::BARE);
        if chars::is_reserved(word.as_bytes()) {
            self.fault(FaultKind::BareKeyword(word.to_owned()), start, end);
            token.word.form = keyword(word).unwrap_or(WordForm::BARE);
            token.broken = true;
        }
        token
    }

    fn number(&mut self, start: usize, stop: Option<u8>) -> Token {
        let Some(end) = number_end(self.bytes, start) else {
            return self.spoilt(start, stop, FaultKind::BadNumber);
        };
        let string_follows = self.byte(end) == b'"' && !self.is_delimiter(end + 1);
        if !self.is_delimiter(end) && !string_follows {
            return self.spoilt(start, stop, FaultKind::BadNumber);
        }
        self.at = end;
        Token::new(start, end, WordForm::NUMBER)
    }

    /// `#true`, `#"raw"#` and their like.
    fn hash(&mut self, stop: Option<u8>) -> Token {
        let start = self.at;
        let hashes = self.bytes[start..].iter().take_while(|b| **b == b'#').count();
        if self.byte(start + hashes) == b'"' {
            return self.raw_string(hashes);
        }
        let end = self.word_end(start + 1);
        let word = &self.text[start + 1..end];
        let next = self.byte(end);
        let ends = Some(next) == stop || matches!(next, b'"' | b'(') || self.is_delimiter(end);
        match keyword(word).filter(|_| ends) {
            Some(form) => {
                self.at = end;
                Token::new(start, end, form)
            }
            None => self.spoilt(start, stop, FaultKind::UnknownKeyword),
        }
    }
}

/// The end of the number of any kind that begins at `start`.
fn number_end(bytes: &[u8], start: usize) -> Option<usize> {
    let is_sign = |at: usize| matches!(bytes.get(at), Some(b'+' | b'-'));
    let first = start + usize::from(is_sign(start));
    let is_digit = match bytes.get(first..first + 2) {
        Some(b"0x") => |byte: u8| byte.is_ascii_hexdigit(),
        Some(b"0o") => |byte: u8| matches!(byte, b'0'..=b'7'),
        Some(b"0b") => |byte: u8| matches!(byte, b'0' | b'1'),
        _ => {
            let end = decimal_end(bytes, first)?;
            let exponent = end + 1 + usize::from(is_sign(end + 1));
            return if matches!(bytes.get(end), Some(b'e' | b'E')) { digits_end(bytes, exponent) } else { Some(end) };
        }
    };
    let digits = first + 2;
    if !is_digit(*bytes.get(digits)?) {
        return None;
    }
    Some(stretch(bytes, digits, |byte| is_digit(byte) || byte == b'_'))
}

/// The end of the digits, and the point between them, that begin at `at`.
fn decimal_end(bytes: &[u8], at: usize) -> Option<usize> {
    let whole = digits_end(bytes, at)?;
    if bytes.get(whole) == Some(&b'.') { digits_end(bytes, whole + 1) } else { Some(whole) }
}

/// The end of a digit and the digits and underscores behind it.
fn digits_end(bytes: &[u8], at: usize) -> Option<usize> {
    if !bytes.get(at)?.is_ascii_digit() {
        return None;
    }
    let mut end = at + 1;
    while bytes.get(end).is_some_and(|byte| class(*byte) & NUMERIC != 0) {
        end += 1;
    }
    Some(end)
}

fn keyword(word: &str) -> Option<WordForm> {
    match word {
        "true" => Some(WordForm::TRUE),
        "false" => Some(WordForm::FALSE),
        "null" => Some(WordForm::NULL),
        "inf" | "-inf" | "nan" => Some(WordForm::NUMBER),
        _ => None,
    }
}
