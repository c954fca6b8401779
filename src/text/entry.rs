//! Reading the entries of a node: arguments and properties, each with its annotation.

use super::document::{Entry, Word};
use super::fault::FaultKind;
use super::form::WordForm;
use super::reader::{NodeHead, Reader};
use super::scan::Token;

impl Reader<'_> {
    /// `(type)`, and the space behind it, where there is one.
    #[inline]
    pub(super) fn annotation(&mut self) -> Word {
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
    pub(super) fn entry(&mut self, head: NodeHead) -> bool {
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
    pub(super) fn value_for(&mut self, head: NodeHead, name: Word, start: usize, broken: bool) {
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

    pub(super) fn push(&mut self, head: NodeHead, name: Word, ty: Word, token: Token, start: usize, broken: bool) {
        self.entries.push(Entry { name, ty, value: token.word, start: start as u32, broken: broken || token.broken });
        let node = &mut self.nodes[head.node as usize];
        node.entries.1 = self.entries.len() as u32;
        node.span.end = node.span.end.max(token.word.span.end);
    }

    /// The token as a name; a value is told to be none.
    pub(super) fn name_of(&mut self, token: Token) -> Word {
        token.name().unwrap_or_else(|| {
            if !token.broken {
                let raw = self.text[token.word.span.range()].to_owned();
                self.fault(FaultKind::ValueAsName(raw), token.word.span.start as usize, token.end());
            }
            Word { form: WordForm::BARE, ..token.word }
        })
    }

    /// A place where a name or value should have been.
    pub(super) fn nothing(&self, at: usize) -> Token {
        Token { broken: true, ..Token::new(at, at, WordForm::NULL) }
    }
}
