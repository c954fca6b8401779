//! Reading a node: its name, then entries and blocks up to its end.

use super::chars::{WORD, class};
use super::document::{Node, Word};
use super::fault::FaultKind;
use super::plain::plain;
use super::reader::{ArenaSizes, NodeHead, Reader};
use super::span::Span;

impl Reader<'_> {
    /// A node up to its end or its first block.
    pub(super) fn node(&mut self) {
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
    fn named(&mut self, start: u32, drop: Option<ArenaSizes>, ty: Word, name: Word, broken: bool) {
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
        let head = NodeHead { node: index, drop, any_block: false };
        if self.peek() == b'\n' {
            return self.finish(head);
        }
        let spaced = self.skip_node_space();
        if self.peek() == b'=' && self.entries.len() == first as usize {
            return self.property_as_node(head, start as usize, name, broken);
        }
        self.tail(head, spaced);
    }

    /// `name=value` where a node belongs: the value becomes an argument, so that the rest of the line is read.
    fn property_as_node(&mut self, head: NodeHead, start: usize, name: Word, broken: bool) {
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
    pub(super) fn at_node_end(&self) -> bool {
        match self.peek() {
            b'\n' | b';' | b'}' => true,
            b'/' => self.byte(self.at + 1) == b'/',
            _ => self.at_end() || self.break_len(self.at) > 0,
        }
    }

    /// The rest of a node, after its name or after one of its blocks, up to its end or its next block.
    pub(super) fn tail(&mut self, mut head: NodeHead, mut spaced: bool) {
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
                self.leave_out(mark);
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
}
