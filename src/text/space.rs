//! Reading over what says nothing: spaces, line breaks, comments.

use super::chars::{self, BREAK, GAP, LOOK, SPACE, class, stretch};
use super::fault::FaultKind;
use super::reader::Reader;

impl Reader<'_> {
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

    /// Whether `/-` stands here.
    #[inline]
    pub(super) fn at_slashdash(&self) -> bool {
        self.peek() == b'/' && self.byte(self.at + 1) == b'-'
    }

    /// Spaces, block comments and continued lines. Was there anything?
    #[inline]
    pub(super) fn skip_node_space(&mut self) -> bool {
        let start = self.at;
        // Mostly it is one space or none.
        self.at += usize::from(self.peek() == b' ');
        if class(self.peek()) & GAP != 0 {
            self.skip_gap();
        }
        self.at > start
    }

    #[inline(never)]
    fn skip_gap(&mut self) {
        loop {
            let byte = self.peek();
            if class(byte) & SPACE != 0 {
                self.at += 1;
            } else if byte == b'/' && self.byte(self.at + 1) == b'*' {
                self.block_comment();
            } else if byte == b'\\' {
                match self.continuation(self.at) {
                    Some(end) => self.at = end,
                    None => break,
                }
            } else {
                match self.space_len(self.at) {
                    0 => break,
                    len => self.at += len,
                }
            }
        }
    }

    /// Everything that may stand between nodes.
    #[inline]
    pub(super) fn skip_line_space(&mut self) {
        self.at = stretch(self.bytes, self.at, |byte| class(byte) & (SPACE | BREAK) != 0);
        if class(self.peek()) & GAP != 0 {
            self.skip_comments();
        }
    }

    /// The same, from something on that may begin a comment.
    #[inline(never)]
    fn skip_comments(&mut self) {
        loop {
            let start = self.at;
            self.skip_gap();
            if self.peek() == b'/' && self.byte(self.at + 1) == b'/' {
                self.at = self.line_end(self.at);
            }
            self.at += self.break_len(self.at);
            if self.at == start {
                break;
            }
        }
    }

    /// Where the line that holds `at` ends, before its break.
    pub(super) fn line_end(&self, mut at: usize) -> usize {
        loop {
            at = stretch(self.bytes, at, |byte| class(byte) & (BREAK | LOOK) == 0);
            if at >= self.bytes.len() || self.break_len(at) > 0 {
                return at;
            }
            at += 1;
        }
    }

    /// Where the line that holds `at` begins.
    pub(super) fn line_start(&self, at: usize) -> usize {
        memchr::memrchr2(b'\n', b'\r', &self.bytes[..at.min(self.bytes.len())]).map_or(0, |i| i + 1)
    }

    /// The end of a `\` with only spaces and comments behind it on its line, the break included.
    pub(super) fn continuation(&mut self, backslash: usize) -> Option<usize> {
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
        if self.rescans > 0
            && let Some(end) = comment_end(self.bytes, start)
        {
            self.at = end;
            return;
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
}

/// The end of the comment that a `/*` at `at` begins. Such comments lie inside one another.
pub(super) fn comment_end(bytes: &[u8], mut at: usize) -> Option<usize> {
    let mut depth = 0usize;
    loop {
        at += memchr::memchr2(b'/', b'*', bytes.get(at..)?)?;
        match (bytes.get(at), bytes.get(at + 1)) {
            (Some(b'/'), Some(b'*')) => {
                depth += 1;
                at += 2;
            }
            (Some(b'*'), Some(b'/')) => {
                depth -= 1;
                at += 2;
                if depth == 0 {
                    return Some(at);
                }
            }
            _ => at += 1,
        }
    }
}
