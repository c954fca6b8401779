//! Reading a text from its start to its end.
//!
//! There is no recursion: open blocks lie on a stack of their own, so that no nesting can exhaust the program's. A node
//! that is left out by `/-` is read like any other and then cut off the end of the arenas, so that nested `/-` costs
//! nothing more. `node`, `entry` and `block` are the upper half of the reader; `space`, `scan`, `strings` and `plain` the
//! lower.

use super::chars;
use super::document::Document;
use super::fault::{Fault, FaultKind};
use super::reader::{ReadLimits, Reader};
use super::span::Span;

/// A text as read.
#[derive(Debug, Default)]
pub struct ParsedText {
    /// All that could be understood, whatever faults there are.
    pub document: Document,
    /// In the order of the text.
    pub faults: Vec<Fault>,
}

/// Reads bytes as they come from a file. Bytes that are not UTF-8 end the text before them.
pub fn read_bytes(bytes: Vec<u8>, limits: &ReadLimits) -> ParsedText {
    let refuse = |kind| ParsedText { faults: vec![Fault::new(kind, Span::default())], ..ParsedText::default() };
    if bytes.len() > limits.bytes {
        return refuse(FaultKind::TooLarge { size: bytes.len() as u64, most: limits.bytes as u64 });
    }
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return refuse(FaultKind::Utf16);
    }
    let error = match String::from_utf8(bytes) {
        Ok(text) => return read(text, limits),
        Err(error) => error,
    };
    let valid = error.utf8_error().valid_up_to();
    let mut bytes = error.into_bytes();
    let byte = bytes.get(valid).copied().unwrap_or_default();
    bytes.truncate(valid);
    let mut cut = read(String::from_utf8(bytes).unwrap_or_default(), limits);
    // The cut itself leaves things open: that is no mistake of the writer's.
    let last_line = cut.document.text.rfind('\n').map_or(0, |at| at + 1);
    cut.faults.retain(|fault| match fault.kind {
        FaultKind::UnclosedBlock(_) | FaultKind::UnclosedLongString | FaultKind::UnclosedComment => false,
        FaultKind::UnclosedString | FaultKind::UnclosedType => fault.span.range().end <= last_line,
        _ => true,
    });
    cut.faults.push(Fault::new(FaultKind::NotUtf8 { byte }, Span::new(valid, valid)));
    cut
}

/// Reads a text.
pub fn read(text: String, limits: &ReadLimits) -> ParsedText {
    let most = limits.bytes.min(i32::MAX as usize);
    if text.len() > most {
        let kind = FaultKind::TooLarge { size: text.len() as u64, most: most as u64 };
        return ParsedText { faults: vec![Fault::new(kind, Span::default())], ..ParsedText::default() };
    }
    let mut reader = Reader::new(&text, limits);
    reader.document();
    if let Some(repair) = reader.unexplained() {
        // Braces do not match: read again, and let the indentation say which ones are at fault.
        reader = Reader::new(&text, limits);
        reader.repair = Some(repair);
        reader.document();
    }
    let Reader { nodes, entries, cooked, left_out, mut faults, .. } = reader;
    faults.sort_by_key(|fault| (fault.span.start, fault.span.end));
    ParsedText { document: Document { nodes, entries, cooked, left_out, lines: Default::default(), text }, faults }
}

/// Reads again the text of a document that has no fault, and keeps what `/-` leaves out like the rest.
pub(super) fn read_whole(sound: &Document) -> Document {
    // It has passed its limits; what is left out counts towards none.
    let limits = ReadLimits { items: usize::MAX, depth: u16::MAX, ..ReadLimits::default() };
    let mut reader = Reader::new(sound.text(), &limits);
    reader.keep = true;
    reader.document();
    let Reader { nodes, entries, cooked, left_out, .. } = reader;
    Document { nodes, entries, cooked, left_out, lines: Default::default(), text: sound.text.clone() }
}

impl Reader<'_> {
    fn document(&mut self) {
        if self.text.starts_with('\u{FEFF}') {
            self.at = 3;
        }
        for (start, end) in chars::banned_runs(self.text, self.at) {
            let first = self.char_at(start).unwrap_or_default();
            self.fault(FaultKind::Banned(first), start, end);
            if self.muted {
                break;
            }
        }
        self.version();
        loop {
            self.skip_line_space();
            if self.at_end() {
                break;
            }
            if self.nodes.len().max(self.entries.len()) > self.limits.items {
                self.muted = false;
                self.fault(FaultKind::TooMany { most: self.limits.items }, self.at, self.at + 1);
                self.muted = true;
                break;
            }
            if self.repair.is_some() && self.balance() {
                continue;
            }
            match self.peek() {
                b'}' => self.close(),
                b';' => {
                    self.fault(FaultKind::StraySemicolon, self.at, self.at + 1);
                    self.at += 1;
                }
                _ => self.node(),
            }
        }
        while let Some(open) = self.stack.pop() {
            self.unclosed_block(&open, None);
            self.finish_block(open, self.text.trim_end().len());
        }
    }

    /// `/- kdl-version 1` in front of everything.
    fn version(&mut self) {
        let rest = &self.text[self.at..];
        let Some(marker) = rest.strip_prefix("/-") else { return };
        let line = marker.split(chars::is_break).next().unwrap_or("");
        let mut words = line.split(chars::is_space).filter(|word| !word.is_empty());
        if (words.next(), words.next(), words.next()) == (Some("kdl-version"), Some("1"), None) {
            let end = self.at + 2 + line.trim_end().len();
            self.fault(FaultKind::VersionOne, self.at, end);
        }
    }
}
