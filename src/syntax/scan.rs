//! The lower half of the reader: spaces, comments, words, numbers, and where a spoilt token ends.

use super::Span;
use super::chars::{self, BREAK, DIGIT, LOOK, NUMERIC, SPACE, WORD, class};
use super::document::{Form, Stored, Word};
use super::fault::{Fault, FaultKind};
use super::read::Reader;

/// Something that stands where a name or value can.
#[derive(Clone, Copy)]
pub(super) struct Token {
    pub span: Span,
    pub value: Stored,
    pub broken: bool,
}

impl Token {
    /// The token as a name, if it is a string.
    pub fn word(&self) -> Option<Word> {
        match self.value {
            Stored::Text(form) => Some(Word { span: self.span, form }),
            _ => None,
        }
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

    /// The length of the line break at `at`, 0 if there is none.
    #[inline]
    pub(super) fn break_len(&self, at: usize) -> usize {
        let byte = self.byte(at);
        match class(byte) & (BREAK | LOOK) {
            0 => 0,
            BREAK if byte == b'\r' && self.byte(at + 1) == b'\n' => 2,
            BREAK => 1,
            _ => self.char_at(at).filter(|c| chars::is_break(*c)).map_or(0, char::len_utf8),
        }
    }

    /// The length of the space at `at`, 0 if there is none.
    #[inline]
    pub(super) fn space_len(&self, at: usize) -> usize {
        match class(self.byte(at)) & (SPACE | LOOK) {
            0 => 0,
            SPACE => 1,
            _ => self.char_at(at).filter(|c| chars::is_space(*c)).map_or(0, char::len_utf8),
        }
    }

    /// Spaces, block comments and continued lines. Was there anything?
    pub(super) fn skip_node_space(&mut self) -> bool {
        let start = self.at;
        loop {
            let byte = self.peek();
            let class = class(byte);
            if class & SPACE != 0 {
                self.at += 1;
            } else if class & WORD != 0 {
                break;
            } else if class & LOOK != 0 {
                match self.space_len(self.at) {
                    0 => break,
                    len => self.at += len,
                }
            } else if byte == b'/' && self.byte(self.at + 1) == b'*' {
                self.block_comment();
            } else if byte == b'\\' {
                match self.continuation(self.at) {
                    Some(end) => self.at = end,
                    None => break,
                }
            } else {
                break;
            }
        }
        self.at > start
    }

    /// Everything that may stand between nodes.
    pub(super) fn skip_line_space(&mut self) {
        loop {
            self.skip_node_space();
            let byte = self.peek();
            if class(byte) & (BREAK | LOOK) != 0 {
                match self.break_len(self.at) {
                    0 => break,
                    len => self.at += len,
                }
            } else if byte == b'/' && self.byte(self.at + 1) == b'/' {
                self.at = self.line_end(self.at);
            } else {
                break;
            }
        }
    }

    /// Where the line that holds `at` ends, before its break.
    pub(super) fn line_end(&self, mut at: usize) -> usize {
        while at < self.bytes.len() {
            if class(self.bytes[at]) & (BREAK | LOOK) != 0 && self.break_len(at) > 0 {
                break;
            }
            at += 1;
        }
        at
    }

    /// Where the line that holds `at` begins.
    pub(super) fn line_start(&self, at: usize) -> usize {
        memchr::memrchr2(b'\n', b'\r', &self.bytes[..at.min(self.bytes.len())]).map_or(0, |i| i + 1)
    }

    /// The end of a `\` with only spaces and comments behind it on its line, the break included.
    fn continuation(&mut self, backslash: usize) -> Option<usize> {
        let back = self.at;
        self.at = backslash + 1;
        loop {
            let len = self.space_len(self.at);
            if len > 0 {
                self.at += len;
            } else if self.peek() == b'/' && self.byte(self.at + 1) == b'*' {
                self.block_comment();
            } else {
                break;
            }
        }
        if self.peek() == b'/' && self.byte(self.at + 1) == b'/' {
            self.at = self.line_end(self.at);
        }
        let (end, len) = (self.at, self.break_len(self.at));
        self.at = back;
        (len > 0 || end >= self.bytes.len()).then_some(end + len)
    }

    fn block_comment(&mut self) {
        let start = self.at;
        let mut depth = 0usize;
        let mut at = start;
        while self.rescans > 0 {
            let Some(next) = memchr::memchr2(b'/', b'*', &self.bytes[at.min(self.bytes.len())..]) else { break };
            at += next;
            match (self.byte(at), self.byte(at + 1)) {
                (b'/', b'*') => {
                    depth += 1;
                    at += 2;
                }
                (b'*', b'/') => {
                    depth -= 1;
                    at += 2;
                    if depth == 0 {
                        self.at = at;
                        return;
                    }
                }
                _ => at += 1,
            }
        }
        // Go on behind its line: one forgotten `*/` shall not hide what is wrong below. Only so many times, though,
        // since each time the rest of the file was searched.
        self.fault(FaultKind::UnclosedComment, start, start + 2);
        if self.rescans == 0 {
            self.at = self.bytes.len();
        } else {
            self.rescans -= 1;
            self.at = self.line_end(start);
        }
    }

    /// The end of the bare word that begins at `at`.
    #[inline]
    pub(super) fn word_end(&self, mut at: usize) -> usize {
        loop {
            while class(self.byte(at)) & WORD != 0 {
                at += 1;
            }
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
        if class & (SPACE | BREAK) != 0 {
            return true;
        }
        match byte {
            b';' | b'{' | b'}' | b'=' => true,
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
        Token { span: Span::new(start, end), value: Stored::Text(Form::cut(0)), broken: true }
    }

    /// The token at the reader's place. `stop`: a byte that also ends a word, as `)` does in an annotation.
    pub(super) fn token(&mut self, stop: Option<u8>) -> Token {
        let start = self.at;
        let byte = self.peek();
        if class(byte) & (WORD | LOOK) != 0 {
            if class(byte) & DIGIT == 0 && !matches!(byte, b'+' | b'-' | b'.') {
                return self.bare_word(start, stop);
            }
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
        if class(next) & (SPACE | BREAK) == 0 && next != b'=' && Some(next) != stop && !self.is_delimiter(end) {
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
        let mut token = Token { span: Span::new(start, end), value: Stored::Text(Form::cut(0)), broken: false };
        if word.len() <= 5 && chars::is_reserved(word) {
            self.fault(FaultKind::BareKeyword(word.to_owned()), start, end);
            token.value = keyword(word).unwrap_or(token.value);
            token.broken = true;
        }
        token
    }

    fn number(&mut self, start: usize, stop: Option<u8>) -> Token {
        let mut at = start + usize::from(matches!(self.peek(), b'+' | b'-'));
        let radix = if self.byte(at) == b'0' { self.byte(at + 1) } else { 0 };
        let fine = match radix {
            b'x' => self.digits(&mut at, 2, u8::is_ascii_hexdigit),
            b'o' => self.digits(&mut at, 2, |b| matches!(b, b'0'..=b'7')),
            b'b' => self.digits(&mut at, 2, |b| matches!(b, b'0' | b'1')),
            _ => {
                let mut fine = self.decimals(&mut at, 0);
                if fine && self.byte(at) == b'.' {
                    fine = self.decimals(&mut at, 1);
                }
                if fine && matches!(self.byte(at), b'e' | b'E') {
                    let sign = usize::from(matches!(self.byte(at + 1), b'+' | b'-'));
                    fine = self.decimals(&mut at, 1 + sign);
                }
                fine
            }
        };
        let next = self.byte(at);
        let string_follows = next == b'"' && !self.is_delimiter(at + 1);
        if !fine || !(class(next) & (SPACE | BREAK) != 0 || self.is_delimiter(at) || string_follows) {
            return self.spoilt(start, stop, FaultKind::BadNumber);
        }
        self.at = at;
        Token { span: Span::new(start, at), value: Stored::Number, broken: false }
    }

    /// Skips `lead` bytes, one digit, and digits and underscores.
    fn decimals(&self, at: &mut usize, lead: usize) -> bool {
        let first = *at + lead;
        let mut end = first;
        while class(self.byte(end)) & NUMERIC != 0 {
            end += 1;
        }
        *at = end;
        end > first && self.byte(first) != b'_'
    }

    fn digits(&self, at: &mut usize, lead: usize, is_digit: impl Fn(&u8) -> bool) -> bool {
        let first = *at + lead;
        let mut end = first;
        while is_digit(&self.byte(end)) || self.byte(end) == b'_' && end > first {
            end += 1;
        }
        *at = end;
        end > first
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
            Some(value) => {
                self.at = end;
                Token { span: Span::new(start, end), value, broken: false }
            }
            None => self.spoilt(start, stop, FaultKind::UnknownKeyword),
        }
    }
}

fn keyword(word: &str) -> Option<Stored> {
    match word {
        "true" => Some(Stored::Bool(true)),
        "false" => Some(Stored::Bool(false)),
        "null" => Some(Stored::Null),
        "inf" | "-inf" | "nan" => Some(Stored::Number),
        _ => None,
    }
}
