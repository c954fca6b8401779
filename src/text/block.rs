//! Where a block begins and ends, and with it its node.

use super::fault::{Fault, FaultKind};
use super::reader::{ArenaSizes, NodeHead, OpenBlock, Reader};
use super::span::Span;

impl Reader<'_> {
    /// Takes the `{` at the reader's place. A block that lies too deep is skipped instead: then nothing is open.
    pub(super) fn open(&mut self, mut head: NodeHead, drop: Option<ArenaSizes>) -> bool {
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
        self.stack.push(OpenBlock { head, brace: brace as u32, drop, first_indent: None });
        true
    }

    /// Takes the `}` at the reader's place.
    pub(super) fn close(&mut self) {
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
    fn end_block(&mut self, head: &NodeHead, brace: usize, drop: Option<ArenaSizes>) {
        let node = &mut self.nodes[head.node as usize];
        match drop {
            Some(mark) => {
                if self.keep {
                    node.span.end = self.at as u32;
                }
                self.leave_out(mark);
            }
            None => {
                node.block.get_or_insert(Span::new(brace, self.at));
                node.span.end = self.at as u32;
            }
        }
    }

    /// Ends a node.
    pub(super) fn finish(&mut self, head: NodeHead) {
        self.nodes[head.node as usize].next = self.nodes.len() as u32;
        if let Some(mark) = head.drop {
            self.leave_out(mark);
        }
    }

    /// Ends a block that has no closing brace, and its node, at `end`.
    pub(super) fn finish_block(&mut self, open: OpenBlock, end: usize) {
        // An unclosed string may end in spaces, which are then its own.
        let last = self.nodes.last().map_or(0, |node| node.span.end as usize);
        let at = std::mem::replace(&mut self.at, end.max(last));
        self.end_block(&open.head, open.brace as usize, open.drop);
        self.finish(open.head);
        self.at = at;
    }

    pub(super) fn unclosed_block(&mut self, open: &OpenBlock, also: Option<(Span, &'static str)>) {
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
