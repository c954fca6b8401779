//! Reading a text: the upper half of the reader, from nodes to blocks.
//!
//! There is no recursion: open blocks lie on a stack of their own, so that no nesting can exhaust the program's. A node
//! that is left out by `/-` is read like any other and then cut off the end of the arenas, so that nested `/-` costs
//! nothing more.

use super::Span;
use super::balance::Repair;
use super::chars::{self, WORD, class};
use super::document::{Document, Entry, Node, Word};
use super::fault::{Fault, FaultKind};
use super::form::Form;
use super::plain::plain;
use super::scan::Token;

/// What is refused so that no text, however made, exhausts memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Of the text, at most 2 GiB.
    pub bytes: usize,
    /// Nodes, and also entries.
    pub items: usize,
    /// Blocks inside one another.
    pub depth: u16,
    pub faults: usize,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits { bytes: crate::world::MOST_BYTES as usize, items: 4_000_000, depth: 128, faults: 2_000 }
    }
}

/// A text as read.
#[derive(Debug, Default)]
pub struct Read {
    /// All that could be understood, whatever faults there are.
    pub document: Document,
    /// In the order of the text.
    pub faults: Vec<Fault>,
}

/// Reads bytes as they come from a file. Bytes that are not UTF-8 end the text before them.
pub fn read_bytes(bytes: Vec<u8>, limits: &Limits) -> Read {
    let refuse = |kind| Read { faults: vec![Fault::new(kind, Span::default())], ..Read::default() };
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
pub fn read(text: String, limits: &Limits) -> Read {
    let most = limits.bytes.min(i32::MAX as usize);
    if text.len() > most {
        let kind = FaultKind::TooLarge { size: text.len() as u64, most: most as u64 };
        return Read { faults: vec![Fault::new(kind, Span::default())], ..Read::default() };
    }
    let mut reader = Reader::new(&text, limits);
    reader.document();
    if let Some(repair) = Repair::wanted(&reader) {
        // Braces do not match: read again, and let the indentation say which ones are at fault.
        reader = Reader::new(&text, limits);
        reader.repair = Some(repair);
        reader.document();
    }
    let Reader { nodes, entries, cooked, left_out, mut faults, .. } = reader;
    faults.sort_by_key(|fault| (fault.span.start, fault.span.end));
    Read { document: Document { nodes, entries, cooked, left_out, lines: Default::default(), text }, faults }
}

pub(super) struct Reader<'t> {
    pub text: &'t str,
    pub bytes: &'t [u8],
    pub at: usize,
    pub limits: &'t Limits,
    pub nodes: Vec<Node>,
    pub entries: Vec<Entry>,
    pub cooked: Vec<Box<str>>,
    pub faults: Vec<Fault>,
    pub muted: bool,
    pub stack: Vec<Open>,
    /// How often the rest of the text may still be searched in vain for the end of something.
    pub rescans: u32,
    pub left_out: u16,
    too_deep: bool,
    pub repair: Option<Repair>,
}

/// The sizes of the arenas, to cut them back to.
#[derive(Clone, Copy)]
pub(super) struct Mark {
    nodes: u32,
    entries: u32,
    cooked: u32,
}

/// A node whose end is not reached yet.
#[derive(Clone, Copy)]
pub(super) struct Head {
    pub node: u32,
    /// Left out by a `/-` before it.
    drop: Option<Mark>,
    /// Has had a block, left out or not.
    any_block: bool,
}

/// An open block.
pub(super) struct Open {
    pub head: Head,
    pub brace: u32,
    /// The block alone is left out.
    drop: Option<Mark>,
    /// How far its first line is indented, noted only while braces are repaired.
    pub first_indent: Option<usize>,
}

impl<'t> Reader<'t> {
    fn new(text: &'t str, limits: &'t Limits) -> Reader<'t> {
        let bytes = text.as_bytes();
        Reader {
            text,
            bytes,
            at: 0,
            limits,
            nodes: Vec::with_capacity(bytes.len() / 16),
            entries: Vec::with_capacity(bytes.len() / 8),
            cooked: Vec::new(),
            faults: Vec::new(),
            muted: false,
            stack: Vec::new(),
            rescans: 32,
            left_out: 0,
            too_deep: false,
            repair: None,
        }
    }

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

    fn mark(&self) -> Mark {
        let len = |len: usize| len as u32;
        Mark { nodes: len(self.nodes.len()), entries: len(self.entries.len()), cooked: len(self.cooked.len()) }
    }

    fn cut(&mut self, mark: Mark) {
        self.nodes.truncate(mark.nodes as usize);
        self.entries.truncate(mark.entries as usize);
        self.cooked.truncate(mark.cooked as usize);
    }

    /// A node up to its end or its first block.
    fn node(&mut self) {
        match plain(self.bytes, self.at) {
            Some(token) if token.word.form.is_text() => {
                self.at = token.end();
                self.named(token.word.span.start, None, Word::NONE, token.word, false);
            }
            _ => self.odd_node(),
        }
    }

    /// A node that begins with something else than a plain name.
    #[inline(never)]
    fn odd_node(&mut self) {
        let mut drop = None;
        while self.at_slashdash() {
            let dash = self.at;
            if drop.is_some() {
                self.fault(FaultKind::SlashdashMisplaced, dash, dash + 2);
            }
            drop = drop.or(Some(self.mark()));
            self.at += 2;
            self.skip_line_space();
            if self.at_end() || matches!(self.peek(), b'}' | b';') {
                self.fault(FaultKind::SlashdashNothing, dash, dash + 2);
                if self.peek() == b';' {
                    self.at += 1;
                }
                return;
            }
        }
        let start = self.at;
        let ty = self.annotation();
        let token = if self.at > start && (self.at_node_end() || self.peek() == b'{') {
            self.fault(FaultKind::TypeWithoutValue, start, self.at);
            self.nothing(self.at)
        } else if self.peek() == b'{' {
            self.fault(FaultKind::BlockWithoutName, self.at, self.at + 1);
            self.nothing(self.at)
        } else {
            self.token(None)
        };
        let broken = token.broken || token.name().is_none();
        let name = self.name_of(token);
        self.named(start as u32, drop, ty, name, broken);
    }

    /// A node from the end of its name on.
    // Put into `node`, where most is known to be not there, it costs half.
    #[inline(always)]
    fn named(&mut self, start: u32, drop: Option<Mark>, ty: Word, name: Word, broken: bool) {
        let index = self.nodes.len() as u32;
        let first = self.entries.len() as u32;
        self.nodes.push(Node {
            ty,
            name,
            entries: (first, first),
            block: None,
            span: Span { start, end: name.span.end },
            index,
            next: 0,
            depth: self.stack.len() as u16,
            broken,
        });
        self.plain_entries(index);
        let head = Head { node: index, drop, any_block: false };
        if self.peek() == b'\n' {
            return self.finish(head);
        }
        let spaced = self.skip_node_space();
        if self.peek() == b'=' && self.entries.len() == first as usize {
            return self.property_as_node(head, start as usize, name, broken);
        }
        self.tail(head, spaced);
    }

    /// The token as a name; a value is told to be none.
    fn name_of(&mut self, token: Token) -> Word {
        token.name().unwrap_or_else(|| {
            if !token.broken {
                let raw = self.text[token.word.span.range()].to_owned();
                self.fault(FaultKind::ValueAsName(raw), token.word.span.start as usize, token.end());
            }
            Word { form: Form::BARE, ..token.word }
        })
    }

    /// A place where a name or value should have been.
    fn nothing(&self, at: usize) -> Token {
        Token { broken: true, ..Token::new(at, at, Form::NULL) }
    }

    /// `name=value` where a node belongs: the value becomes an argument, so that the rest of the line is read.
    fn property_as_node(&mut self, head: Head, start: usize, name: Word, broken: bool) {
        self.at += 1;
        let equals = self.at;
        self.skip_node_space();
        if !broken {
            let name = self.text[name.span.range()].to_owned();
            self.fault(FaultKind::PropertyAsNode(name), start, equals);
        }
        self.nodes[head.node as usize].broken = true;
        if !self.at_node_end() && self.peek() != b'{' {
            self.value_for(head, Word::NONE, self.at, true);
        }
        let spaced = self.skip_node_space();
        self.tail(head, spaced);
    }

    /// Nothing more of this node follows directly.
    fn at_node_end(&self) -> bool {
        match self.peek() {
            b'\n' | b';' | b'}' => true,
            b'/' => self.byte(self.at + 1) == b'/',
            _ => self.at_end() || self.break_len(self.at) > 0,
        }
    }

    /// The rest of a node, after its name or after one of its blocks, up to its end or its next block.
    fn tail(&mut self, mut head: Head, mut spaced: bool) {
        loop {
            if self.entries.len() > self.limits.items {
                return self.finish(head);
            }
            let byte = self.peek();
            if class(byte) & WORD != 0 && spaced && !head.any_block {
                spaced = self.entry(head);
                continue;
            }
            if byte == b'{' {
                if self.nodes[head.node as usize].block.is_some() {
                    self.fault(FaultKind::SecondBlock, self.at, self.at + 1);
                }
                if self.open(head, None) {
                    return;
                }
                head.any_block = true;
                spaced = self.skip_node_space();
                continue;
            }
            if self.at_node_end() {
                if byte == b';' {
                    self.at += 1;
                }
                return self.finish(head);
            }
            if self.at_slashdash() {
                let dash = self.at;
                if !spaced && !head.any_block {
                    self.fault(FaultKind::MissingSpace, dash, dash + 2);
                }
                let mark = self.mark();
                self.at += 2;
                self.skip_line_space();
                if self.peek() == b'{' {
                    if self.open(head, Some(mark)) {
                        return;
                    }
                    head.any_block = true;
                    spaced = self.skip_node_space();
                    continue;
                }
                if self.at_end() || matches!(self.peek(), b'}' | b';') {
                    self.fault(FaultKind::SlashdashNothing, dash, dash + 2);
                    continue;
                }
                if head.any_block {
                    self.fault(FaultKind::AfterBlock, dash, dash + 2);
                }
                spaced = self.entry(head);
                self.cut(mark);
                self.nodes[head.node as usize].entries.1 = self.entries.len() as u32;
                continue;
            }
            if byte == b'\\' && !head.any_block {
                self.fault(FaultKind::StrayBackslash, self.at, self.at + 1);
                self.at += 1;
                self.skip_node_space();
                spaced = true;
                continue;
            }
            if byte == b'=' {
                self.fault(FaultKind::Stray("=".into()), self.at, self.at + 1);
                self.at += 1;
                self.skip_node_space();
                spaced = true;
                continue;
            }
            let begins = self.at;
            if head.any_block {
                // Most likely a line break is missing: what follows is read as the next node.
                let end = begins + self.char_at(begins).map_or(1, char::len_utf8);
                self.fault(FaultKind::AfterBlock, begins, end);
                return self.finish(head);
            }
            if !spaced {
                let end = begins + self.char_at(begins).map_or(1, char::len_utf8);
                self.fault(FaultKind::MissingSpace, begins, end);
            }
            spaced = self.entry(head);
        }
    }

    /// `(type)`, and the space behind it, where there is one.
    #[inline]
    fn annotation(&mut self) -> Word {
        if self.peek() == b'(' { self.annotation_here() } else { Word::NONE }
    }

    /// `(type)`, and the space behind it. Also takes the `/-` that cannot stand there.
    fn annotation_here(&mut self) -> Word {
        let open = self.at;
        self.at += 1;
        self.skip_node_space();
        let mut ty = Word::NONE;
        if self.peek() == b')' {
            self.fault(FaultKind::EmptyType, open, self.at + 1);
        } else if self.at_node_end() || matches!(self.peek(), b'{' | b'=') {
            self.fault(FaultKind::UnclosedType, open, open + 1);
            return ty;
        } else {
            let token = self.token(Some(b')'));
            ty = self.name_of(token);
            self.skip_node_space();
        }
        if self.peek() == b')' {
            self.at += 1;
        } else {
            self.fault(FaultKind::UnclosedType, open, open + 1);
        }
        self.skip_node_space();
        if self.at_slashdash() {
            self.fault(FaultKind::SlashdashMisplaced, self.at, self.at + 2);
            self.at += 2;
            self.skip_node_space();
        }
        ty
    }

    /// One argument or property, and the space behind it. Was there any?
    fn entry(&mut self, head: Head) -> bool {
        let start = self.at;
        let ty = self.annotation();
        if self.at > start && (self.at_node_end() || self.peek() == b'{') {
            self.fault(FaultKind::TypeWithoutValue, start, self.at);
            self.push(head, Word::NONE, ty, self.nothing(self.at), start, true);
            return false;
        }
        let token = self.token(None);
        let spaced = self.skip_node_space();
        if self.peek() != b'=' {
            self.push(head, Word::NONE, ty, token, start, false);
            return spaced;
        }
        let mut broken = token.broken || token.name().is_none();
        let name = self.name_of(token);
        if let Some(ty) = ty.get() {
            let kind = FaultKind::TypeBeforeName {
                ty: self.text[ty.span.range()].to_owned(),
                name: self.text[name.span.range()].to_owned(),
            };
            self.fault(kind, start, token.word.span.start as usize);
            broken = true;
        }
        self.at += 1;
        let equals = self.at;
        self.skip_node_space();
        if self.at_slashdash() {
            self.fault(FaultKind::SlashdashMisplaced, self.at, self.at + 2);
            broken = true;
            self.at += 2;
            self.skip_node_space();
        }
        if self.at_node_end() || matches!(self.peek(), b'{' | b'=') {
            if !broken {
                let raw = self.text[token.word.span.range()].to_owned();
                self.fault(FaultKind::MissingValue(raw), start, equals);
            }
            self.at = equals;
            self.push(head, name, Word::NONE, self.nothing(equals), start, true);
            return self.skip_node_space();
        }
        self.value_for(head, name, start, broken);
        if let Some(entry) = self.entries.last_mut()
            && entry.ty.get().is_none()
        {
            entry.ty = ty;
        }
        self.skip_node_space()
    }

    /// A value with its annotation.
    fn value_for(&mut self, head: Head, name: Word, start: usize, broken: bool) {
        let before = self.at;
        let ty = self.annotation();
        if self.at > before && (self.at_node_end() || self.peek() == b'{') {
            self.fault(FaultKind::TypeWithoutValue, before, self.at);
            self.push(head, name, ty, self.nothing(self.at), start, true);
            return;
        }
        let token = self.token(None);
        self.push(head, name, ty, token, start, broken);
    }

    fn push(&mut self, head: Head, name: Word, ty: Word, token: Token, start: usize, broken: bool) {
        self.entries.push(Entry { name, ty, value: token.word, start: start as u32, broken: broken || token.broken });
        let node = &mut self.nodes[head.node as usize];
        node.entries.1 = self.entries.len() as u32;
        node.span.end = node.span.end.max(token.word.span.end);
    }

    /// Takes the `{` at the reader's place. A block that lies too deep is skipped instead: then nothing is open.
    fn open(&mut self, mut head: Head, drop: Option<Mark>) -> bool {
        let brace = self.at;
        if self.stack.len() >= self.limits.depth as usize {
            // Once: whatever made the nesting grow goes on doing so.
            if !std::mem::replace(&mut self.too_deep, true) {
                self.fault(FaultKind::TooDeep { most: self.limits.depth }, brace, brace + 1);
            }
            self.skim();
            self.end_block(&head, brace, drop);
            return false;
        }
        self.at += 1;
        head.any_block = true;
        if drop.or(head.drop).is_some() {
            let around = self.stack.iter().filter(|open| open.drop.or(open.head.drop).is_some()).count();
            self.left_out = self.left_out.max(around as u16 + 1);
        }
        self.stack.push(Open { head, brace: brace as u32, drop, first_indent: None });
        true
    }

    /// Takes the `}` at the reader's place.
    fn close(&mut self) {
        let Some(open) = self.stack.pop() else {
            self.fault(FaultKind::SurplusBrace, self.at, self.at + 1);
            self.at += 1;
            return;
        };
        self.at += 1;
        self.end_block(&open.head, open.brace as usize, open.drop);
        let spaced = self.skip_node_space();
        self.tail(open.head, spaced);
    }

    /// The reader stands behind the end of a block.
    fn end_block(&mut self, head: &Head, brace: usize, drop: Option<Mark>) {
        match drop {
            Some(mark) => self.cut(mark),
            None => {
                let node = &mut self.nodes[head.node as usize];
                node.block.get_or_insert(Span::new(brace, self.at));
                node.span.end = self.at as u32;
            }
        }
    }

    /// Ends a node.
    fn finish(&mut self, head: Head) {
        match head.drop {
            Some(mark) => self.cut(mark),
            None => self.nodes[head.node as usize].next = self.nodes.len() as u32,
        }
    }

    /// Ends a block that has no closing brace, and its node, at `end`.
    pub(super) fn finish_block(&mut self, open: Open, end: usize) {
        // An unclosed string may end in spaces, which are then its own.
        let last = self.nodes.last().map_or(0, |node| node.span.end as usize);
        let at = std::mem::replace(&mut self.at, end.max(last));
        self.end_block(&open.head, open.brace as usize, open.drop);
        self.finish(open.head);
        self.at = at;
    }

    pub(super) fn unclosed_block(&mut self, open: &Open, also: Option<(Span, &'static str)>) {
        let name = self.nodes.get(open.head.node as usize).map_or("", |node| &self.text[node.name.span.range()]);
        let brace = open.brace as usize;
        self.fault_also(Fault {
            kind: FaultKind::UnclosedBlock(name.to_owned()),
            span: Span::new(brace, brace + 1),
            also,
        });
    }

    /// Skips a block that lies too deep, up to behind its closing brace.
    fn skim(&mut self) {
        let muted = std::mem::replace(&mut self.muted, true);
        let mut depth = 0usize;
        loop {
            self.skip_line_space();
            match self.peek() {
                b'{' => depth += 1,
                b'}' => depth -= 1,
                b'"' | b'#' => {
                    let mark = self.mark();
                    self.token(None);
                    self.cut(mark);
                    continue;
                }
                _ if self.at_end() => {
                    // The blocks around it end here as well; the depth is the one thing to say.
                    return;
                }
                _ => {}
            }
            self.at = match self.word_end(self.at) {
                end if end > self.at => end,
                _ => self.at + self.char_at(self.at).map_or(1, char::len_utf8),
            };
            if depth == 0 {
                break;
            }
        }
        self.muted = muted;
    }
}
