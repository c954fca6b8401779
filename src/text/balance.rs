//! Which brace is at fault when braces do not match: the indentation says it best.
//!
//! A file whose braces do not match is read a second time. While a closing brace is missing, a line that begins a node
//! and is indented no deeper than the header of the innermost open block shows that this block should have ended above
//! it; so does a closing brace indented less than that header. While a closing brace is surplus, one that is indented
//! deeper than the header it would close is the surplus one. What indentation cannot tell is left as it stands: blocks
//! open at the end, and closing braces with nothing to close.

use super::fault::FaultKind;
use super::reader::{Reader, Repair};
use super::span::Span;

impl Reader<'_> {
    /// Looks at a finished first reading: which braces are to be explained in a second one.
    pub(super) fn unexplained(&self) -> Option<Repair> {
        let count = |is: fn(&FaultKind) -> bool| self.faults.iter().filter(|fault| is(&fault.kind)).count();
        let missing = count(|kind| matches!(kind, FaultKind::UnclosedBlock(_)));
        let surplus = count(|kind| matches!(kind, FaultKind::SurplusBrace));
        if missing + surplus == 0 {
            return None;
        }
        let mut score = 0i64;
        for pair in self.nodes.windows(2) {
            if pair[1].depth > pair[0].depth && self.is_first(pair[1].span.start as usize) {
                let deeper = self.indent(pair[1].span.start as usize) > self.indent(pair[0].span.start as usize);
                score += if deeper { 1 } else { -1 };
            }
        }
        Some(Repair { missing, surplus, indented: score > 0 })
    }

    /// Nothing but spaces stands before `at` on its line.
    fn is_first(&self, at: usize) -> bool {
        self.bytes[self.line_start(at)..at].iter().all(|b| matches!(b, b' ' | b'\t'))
    }

    /// Called before each node and closing brace of the second reading. Whether something was repaired.
    pub(super) fn balance(&mut self) -> bool {
        let at = self.at;
        let (Some(open), Some(repair)) = (self.stack.last(), &self.repair) else { return false };
        if !self.is_first(at) {
            return false;
        }
        let header = self.nodes.get(open.head.node as usize).map_or(open.brace, |node| node.span.start);
        let (header, here) = (self.indent(header as usize), self.indent(at));
        let closing = self.peek() == b'}';
        // A block whose own lines are not indented says nothing.
        let telling = open.first_indent.map_or(repair.indented, |first| first > header);
        let ended = if closing { here < header } else { here <= header };
        if repair.missing > 0 && ended && telling {
            if let Some(open) = self.stack.pop() {
                let end = at + self.char_at(at).map_or(0, char::len_utf8);
                let label = if closing {
                    "this brace is indented like a block further out"
                } else {
                    "this line is indented no deeper than the block's own first line"
                };
                self.unclosed_block(&open, Some((Span::new(at, end), label)));
                self.finish_block(open, self.text[..at].trim_end().len());
            }
            if let Some(repair) = &mut self.repair {
                repair.missing -= 1;
            }
            return true;
        }
        if repair.surplus > 0 && closing && here > header && telling {
            self.fault(FaultKind::SurplusBrace, at, at + 1);
            self.at += 1;
            if let Some(repair) = &mut self.repair {
                repair.surplus -= 1;
            }
            return true;
        }
        if !closing && let Some(open) = self.stack.last_mut() {
            open.first_indent.get_or_insert(here);
        }
        false
    }
}
