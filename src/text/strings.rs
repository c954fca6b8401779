//! Strings of all kinds: quoted, raw, and of several lines.

use super::chars::{self, STOP, class, stretch};
use super::fault::FaultKind;
use super::form::WordForm;
use super::reader::Reader;
use super::scan::Token;

/// A quoted string, or one line of a longer one, while its spaces escapes are resolved.
struct StringLine {
    /// Where it begins in the file.
    start: usize,
    text: String,
}

impl Reader<'_> {
    fn text_token(&mut self, start: usize, form: WordForm, broken: bool) -> Token {
        Token { broken, ..Token::new(start, self.at, form) }
    }

    fn cook(&mut self, text: String) -> WordForm {
        self.cooked.push(text.into_boxed_str());
        WordForm::cooked(self.cooked.len() - 1)
    }

    /// The reader stands on a `"`.
    pub(super) fn quoted(&mut self) -> Token {
        let start = self.at;
        if self.bytes[start..].starts_with(b"\"\"\"") {
            return self.long_string(0);
        }
        let mut at = start + 1;
        loop {
            at = stretch(self.bytes, at, |byte| class(byte) & STOP == 0);
            match self.byte(at) {
                b'"' => {
                    self.at = at + 1;
                    return self.text_token(start, WordForm::cut(1), false);
                }
                b'\\' => return self.escaped(start, at),
                _ if at >= self.bytes.len() || self.break_len(at) > 0 => return self.unclosed(start, start + 1),
                _ => at += 1,
            }
        }
    }

    /// The rest of a quoted string from its first `\` on.
    fn escaped(&mut self, start: usize, mut at: usize) -> Token {
        let mut out = self.text[start + 1..at].to_owned();
        let mut broken = false;
        loop {
            let plain = at;
            at = stretch(self.bytes, at, |byte| class(byte) & STOP == 0);
            out.push_str(&self.text[plain..at]);
            match self.byte(at) {
                b'"' => break,
                b'\\' => {
                    let (end, c) = self.escape(at, &mut broken);
                    out.extend(c);
                    at = end;
                }
                _ if at >= self.bytes.len() || self.break_len(at) > 0 => return self.unclosed(start, at),
                _ => {
                    let c = self.char_at(at).unwrap_or('\0');
                    out.push(c);
                    at += c.len_utf8();
                }
            }
        }
        self.at = at + 1;
        let form = self.cook(out);
        self.text_token(start, form, broken)
    }

    /// What the escape at `at` stands for, and where it ends.
    fn escape(&mut self, at: usize, broken: &mut bool) -> (usize, Option<char>) {
        let Some(c) = self.char_at(at + 1) else { return (self.bytes.len(), None) };
        let end = at + 1 + c.len_utf8();
        let simple = match c {
            'n' => '\n',
            'r' => '\r',
            't' => '\t',
            'b' => '\u{8}',
            'f' => '\u{C}',
            's' => ' ',
            '"' | '\\' => c,
            'u' => {
                let digits: String = self.text[end..].chars().take(8).skip(1).take_while(|c| *c != '}').collect();
                let close = end + 1 + digits.len();
                let hex = self.byte(end) == b'{' && digits.bytes().all(|b| b.is_ascii_hexdigit());
                let value = u32::from_str_radix(&digits, 16).ok().and_then(char::from_u32);
                if let (true, b'}', 1..=6, Some(value)) = (hex, self.byte(close), digits.len(), value) {
                    return (close + 1, Some(value));
                }
                let shown = if self.byte(end) == b'{' && self.byte(close) == b'}' { close + 1 } else { end };
                self.bad_escape(at, shown, broken);
                return (shown, None);
            }
            _ if chars::is_space(c) || chars::is_break(c) => return (self.skip_blank(at + 1), None),
            _ => {
                self.bad_escape(at, end, broken);
                return (end, Some(c));
            }
        };
        (end, Some(simple))
    }

    fn bad_escape(&mut self, start: usize, end: usize, broken: &mut bool) {
        *broken = true;
        self.fault(FaultKind::BadEscape(self.text[start..end].to_owned()), start, end);
    }

    /// The end of the spaces and line breaks from `at` on.
    fn skip_blank(&self, mut at: usize) -> usize {
        while let len @ 1.. = self.space_len(at) + self.break_len(at) {
            at += len;
        }
        at
    }

    /// A string that is not closed by the end of the line that holds `at`. It ends there, or before a brace at the end
    /// of that line, which more likely opens or closes a block than belongs to the text.
    fn unclosed(&mut self, start: usize, at: usize) -> Token {
        self.fault(FaultKind::UnclosedString, start, start + 1);
        let mut end = self.line_end(at.max(start + 1));
        let line = &self.text[start + 1..end];
        let trimmed = line.trim_end();
        let opened_here = self.stack.last().is_some_and(|open| open.brace as usize >= self.line_start(start));
        let without = match trimmed.chars().next_back() {
            Some('{') => Some(&trimmed[..trimmed.len() - 1]),
            Some('}') if opened_here => Some(&trimmed[..trimmed.len() - 1]),
            _ => None,
        };
        if let Some(text) = without {
            end = start + 1 + text.trim_end().len();
        }
        self.at = end;
        let text = self.text[start + 1..end].to_owned();
        let form = self.cook(text);
        self.text_token(start, form, true)
    }

    /// The reader stands on the first of `hashes` `#`, a `"` follows.
    pub(super) fn raw_string(&mut self, hashes: usize) -> Token {
        let start = self.at;
        let open = start + hashes;
        if self.bytes[open..].starts_with(b"\"\"\"") {
            return self.long_string(hashes);
        }
        let line_end = self.line_end(open);
        let mut at = open + 1;
        while let Some(quote) = memchr::memchr(b'"', &self.bytes[at.min(line_end)..line_end]) {
            at += quote + 1;
            if self.bytes[at..].iter().take(hashes).filter(|b| **b == b'#').count() == hashes {
                self.at = at + hashes;
                return self.text_token(start, WordForm::cut(hashes + 1), false);
            }
        }
        let token = self.unclosed(start, open);
        Token { broken: true, ..token }
    }

    /// A string between `"""`, with `hashes` `#` around it when it is raw.
    fn long_string(&mut self, hashes: usize) -> Token {
        let start = self.at;
        let body = start + hashes + 3;
        let Some(end) = self.long_end(body, hashes) else {
            self.fault(FaultKind::UnclosedLongString, start, body);
            self.at = self.less_indented(start);
            let form = self.cook(self.text[body.min(self.at)..self.at].to_owned());
            return self.text_token(start, form, true);
        };
        self.at = end + 3 + hashes;
        let first = self.break_len(body);
        if first == 0 {
            self.fault(FaultKind::LongStringStart, start, body);
            let form = self.cook(self.text[body..end].to_owned());
            return self.text_token(start, form, true);
        }
        let mut broken = false;
        let mut lines = self.logical_lines(body + first, end, hashes > 0, &mut broken);
        let last = lines.pop().unwrap_or(StringLine { start: end, text: String::new() });
        if !last.text.chars().all(chars::is_space) {
            self.fault(FaultKind::LongStringEnd, last.start, end + 3 + hashes);
            broken = true;
        }
        let prefix = if broken { "" } else { last.text.as_str() };
        let mut out = String::with_capacity(end - body);
        for (i, line) in lines.iter().enumerate() {
            if i > 0 {
                out.push('\n');
            }
            if line.text.chars().all(chars::is_space) {
                continue;
            }
            match line.text.strip_prefix(prefix) {
                Some(text) => unescape_into(&mut out, text, hashes > 0),
                None => {
                    let mut indent = line.start;
                    while let len @ 1.. = self.space_len(indent) {
                        indent += len;
                    }
                    if indent == line.start {
                        indent += self.char_at(indent).map_or(0, char::len_utf8);
                    }
                    self.fault(FaultKind::LongStringIndent, line.start, indent);
                    broken = true;
                    unescape_into(&mut out, line.text.trim_start_matches(chars::is_space), hashes > 0);
                }
            }
        }
        let form = self.cook(out);
        self.text_token(start, form, broken)
    }

    /// Where the closing quotes of a long string stand.
    fn long_end(&mut self, body: usize, hashes: usize) -> Option<usize> {
        if self.rescans == 0 {
            return None;
        }
        let mut at = body;
        while let Some(found) = memchr::memchr2(b'"', b'\\', &self.bytes[at.min(self.bytes.len())..]) {
            at += found;
            if self.bytes[at] == b'\\' {
                at += if hashes == 0 { 2 } else { 1 };
            } else if self.bytes[at..].starts_with(b"\"\"\"")
                && self.bytes[at + 3..].iter().take(hashes).filter(|b| **b == b'#').count() == hashes
            {
                return Some(at);
            } else {
                at += 1;
            }
        }
        self.rescans -= 1;
        None
    }

    /// The lines from `at` to `end`, with the escaped spaces taken out and, in a raw string, nothing else.
    fn logical_lines(&mut self, mut at: usize, end: usize, raw: bool, broken: &mut bool) -> Vec<StringLine> {
        let mut lines = Vec::new();
        let mut line = StringLine { start: at, text: String::new() };
        while at < end {
            let len = self.break_len(at);
            if len > 0 {
                at += len;
                lines.push(std::mem::replace(&mut line, StringLine { start: at, text: String::new() }));
                continue;
            }
            let Some(c) = self.char_at(at) else { break };
            if c == '\\' && !raw {
                let blank = self.skip_blank(at + 1);
                if blank > at + 1 {
                    at = blank;
                    continue;
                }
                let (after, _) = self.escape(at, broken);
                line.text.push_str(&self.text[at..after]);
                at = after;
            } else {
                line.text.push(c);
                at += c.len_utf8();
            }
        }
        lines.push(line);
        lines
    }

    /// Where to go on behind a string of several lines that has no end: the first line below that is indented no
    /// deeper than the line it begins on.
    fn less_indented(&self, start: usize) -> usize {
        let header = self.indent(start);
        let mut end = self.line_end(start);
        loop {
            let next = end + self.break_len(end);
            if next >= self.bytes.len() {
                return self.bytes.len();
            }
            let line_end = self.line_end(next);
            let blank = self.text[next..line_end].chars().all(chars::is_space);
            if !blank && self.indent(next) <= header {
                return end;
            }
            end = line_end;
        }
    }

    /// How far the line that holds `at` is indented; a tab goes to the next multiple of four.
    pub(super) fn indent(&self, at: usize) -> usize {
        let mut width = 0;
        for byte in &self.bytes[self.line_start(at)..] {
            match byte {
                b' ' => width += 1,
                b'\t' => width = (width / 4 + 1) * 4,
                _ => break,
            }
        }
        width
    }
}

/// Appends a line of a long string; its escapes were checked before.
fn unescape_into(out: &mut String, text: &str, raw: bool) {
    if raw {
        out.push_str(text);
        return;
    }
    let mut rest = text;
    while let Some(at) = memchr::memchr(b'\\', rest.as_bytes()) {
        out.push_str(&rest[..at]);
        rest = &rest[at + 1..];
        let Some(c) = rest.chars().next() else { return };
        rest = &rest[c.len_utf8()..];
        match c {
            'n' => out.push('\n'),
            'r' => out.push('\r'),
            't' => out.push('\t'),
            'b' => out.push('\u{8}'),
            'f' => out.push('\u{C}'),
            's' => out.push(' '),
            'u' => {
                let inner = rest.strip_prefix('{').and_then(|rest| rest.split_once('}'));
                if let Some((digits, after)) = inner
                    && let Some(c) = u32::from_str_radix(digits, 16).ok().and_then(char::from_u32)
                {
                    out.push(c);
                    rest = after;
                }
            }
            other => out.push(other),
        }
    }
    out.push_str(rest);
}
