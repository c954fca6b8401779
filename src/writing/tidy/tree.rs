//! A text as nodes with everything a person put between them: comments, blank lines, what `/-` leaves out.

use super::lex::{Kind, Token};
use crate::text;

/// What stands in a block, or at the top, in order.
#[derive(Debug)]
pub(super) struct Item<'t> {
    /// A blank line stood before it.
    pub blank: bool,
    pub what: What<'t>,
}

#[derive(Debug)]
pub(super) enum What<'t> {
    /// Comments on a line of their own.
    Comments(Vec<&'t str>),
    Node(Node<'t>),
}

#[derive(Debug)]
pub(super) struct Node<'t> {
    /// Comments in front of it on its line.
    pub lead: Vec<&'t str>,
    pub left_out: Option<LeftOut<'t>>,
    /// With its type annotation.
    pub name: String,
    pub parts: Vec<Part<'t>>,
    /// Comments behind it on its last line.
    pub trail: Vec<&'t str>,
}

/// A `/-`, with the comments between it and what it leaves out.
#[derive(Debug)]
pub(super) struct LeftOut<'t>(pub Vec<&'t str>);

#[derive(Debug)]
pub(super) enum Part<'t> {
    Entry(Entry<'t>),
    Comment(&'t str),
    /// The line goes on below: a `\` with the comments behind it.
    NextLine(Vec<&'t str>),
    Block(Block<'t>),
}

#[derive(Debug)]
pub(super) struct Entry<'t> {
    pub left_out: Option<LeftOut<'t>>,
    /// The name of a property, as written.
    pub prop: Option<&'t str>,
    /// Name, annotation and value.
    pub text: String,
    pub number: bool,
}

#[derive(Debug)]
pub(super) struct Block<'t> {
    pub left_out: Option<LeftOut<'t>>,
    /// Comments behind the opening brace on its line.
    pub opening: Vec<&'t str>,
    pub items: Vec<Item<'t>>,
    /// It was written on one line.
    pub one_line: bool,
}

/// Reads pieces of a text that has no fault. It calls itself for each block; the reader has limited their depth.
pub(super) fn tree<'t>(text: &'t str, tokens: &[Token<'t>]) -> Vec<Item<'t>> {
    let mut opening = Vec::new();
    let mut builder = Builder { text, tokens, at: 0, breaks: 0 };
    let mut items = builder.items(&mut opening);
    if !opening.is_empty() {
        items.insert(0, Item { blank: false, what: What::Comments(opening) });
    }
    items
}

struct Builder<'t, 'k> {
    text: &'t str,
    tokens: &'k [Token<'t>],
    at: usize,
    /// Line breaks passed so far.
    breaks: usize,
}

impl<'t> Builder<'t, '_> {
    fn peek(&self) -> Option<Kind> {
        self.tokens.get(self.at).map(|token| token.kind)
    }

    fn next(&mut self) -> &'t str {
        let text = self.tokens.get(self.at).map_or("", |token| token.text);
        self.at += 1;
        self.breaks += usize::from(text.contains(text::is_break));
        text
    }

    /// Where the next piece begins in the text.
    fn offset(&self) -> usize {
        self.tokens.get(self.at).map_or(self.text.len(), |token| token.start)
    }

    /// Up to the end of the text or before a closing brace. Comments right behind the opening brace go to `opening`.
    fn items(&mut self, opening: &mut Vec<&'t str>) -> Vec<Item<'t>> {
        let mut items: Vec<Item> = Vec::new();
        // Comments on the line so far, whose owner is not known yet.
        let mut pending: Vec<&str> = Vec::new();
        let (mut breaks, mut pending_blank) = (0, false);
        // What a comment behind it on the same line belongs to: a node, or the opening brace.
        let mut line_has_owner = true;
        while let Some(kind) = self.peek() {
            match kind {
                Kind::Close => break,
                Kind::Space | Kind::Continued | Kind::Semicolon => {
                    self.next();
                }
                Kind::LineComment | Kind::BlockComment => {
                    if pending.is_empty() {
                        pending_blank = breaks > 1;
                    }
                    pending.push(self.next());
                }
                Kind::Break => {
                    self.next();
                    if !pending.is_empty() {
                        breaks = 0;
                        let owner = items.last_mut().map(|item| &mut item.what);
                        match owner {
                            Some(What::Node(node)) if line_has_owner => node.trail.append(&mut pending),
                            None if line_has_owner => opening.append(&mut pending),
                            _ => {
                                let what = What::Comments(std::mem::take(&mut pending));
                                items.push(Item { blank: pending_blank, what });
                            }
                        }
                    }
                    breaks += 1;
                    line_has_owner = false;
                }
                _ => {
                    let blank = if pending.is_empty() { breaks > 1 } else { pending_blank };
                    let node = self.node(std::mem::take(&mut pending));
                    items.push(Item { blank, what: What::Node(node) });
                    breaks = 0;
                    line_has_owner = true;
                }
            }
        }
        if !pending.is_empty() {
            match items.last_mut().map(|item| &mut item.what) {
                Some(What::Node(node)) if line_has_owner && self.peek().is_none() => node.trail.append(&mut pending),
                _ => items.push(Item { blank: pending_blank, what: What::Comments(pending) }),
            }
        }
        items
    }

    fn node(&mut self, lead: Vec<&'t str>) -> Node<'t> {
        let left_out = self.left_out();
        let name = self.value();
        let mut node = Node { lead, left_out, name, parts: Vec::new(), trail: Vec::new() };
        loop {
            match self.peek() {
                None | Some(Kind::Close | Kind::Break) => break,
                Some(Kind::Semicolon) => {
                    self.next();
                    break;
                }
                Some(Kind::Space) => {
                    self.next();
                }
                Some(Kind::LineComment) => {
                    node.trail.push(self.next());
                    break;
                }
                Some(Kind::BlockComment) => node.parts.push(Part::Comment(self.next())),
                Some(Kind::Continued) => {
                    let comments = self.continued();
                    node.parts.push(Part::NextLine(comments));
                }
                Some(_) => {
                    let left_out = self.left_out();
                    let part = match self.peek() {
                        Some(Kind::Open) => Part::Block(self.block(left_out)),
                        _ => Part::Entry(self.entry(left_out)),
                    };
                    node.parts.push(part);
                }
            }
        }
        node.without_idle_lines();
        node
    }

    /// A `/-` and what lies between it and its target.
    fn left_out(&mut self) -> Option<LeftOut<'t>> {
        if self.peek() != Some(Kind::LeftOut) {
            return None;
        }
        self.next();
        let mut comments = Vec::new();
        loop {
            match self.peek() {
                Some(Kind::Space | Kind::Break | Kind::Continued) => {
                    self.next();
                }
                Some(Kind::LineComment | Kind::BlockComment) => comments.push(self.next()),
                _ => return Some(LeftOut(comments)),
            }
        }
    }

    /// Behind a `\`: the comments up to the end of its line.
    fn continued(&mut self) -> Vec<&'t str> {
        self.next();
        let mut comments = Vec::new();
        loop {
            match self.peek() {
                Some(Kind::Space) => {
                    self.next();
                }
                Some(Kind::LineComment | Kind::BlockComment) => comments.push(self.next()),
                Some(Kind::Break) => {
                    self.next();
                    return comments;
                }
                _ => return comments,
            }
        }
    }

    fn block(&mut self, left_out: Option<LeftOut<'t>>) -> Block<'t> {
        let before = self.breaks;
        self.next();
        let mut opening = Vec::new();
        let items = self.items(&mut opening);
        self.next();
        Block { left_out, opening, items, one_line: self.breaks == before }
    }

    fn entry(&mut self, left_out: Option<LeftOut<'t>>) -> Entry<'t> {
        let start = self.at;
        let name = self.tokens.get(start).map_or("", |token| token.text);
        let mut text = self.value();
        let behind = self.at;
        self.skip_inside();
        if self.peek() != Some(Kind::Equals) {
            (self.at, self.breaks) = (behind, self.breaks_at(behind));
            let number = self.tokens[start..behind].last().is_some_and(|last| is_number(last.text));
            return Entry { left_out, prop: None, text, number };
        }
        self.next();
        self.skip_inside();
        text.push('=');
        text.push_str(&self.value());
        let tidy = self.one_piece(start).unwrap_or(text);
        Entry { left_out, prop: Some(name), text: tidy, number: false }
    }

    /// Breaks are only counted to see whether a block is on one line: the few looked ahead at are counted back.
    fn breaks_at(&self, behind: usize) -> usize {
        let ahead = self.tokens[behind..self.at.max(behind)].iter();
        self.breaks - ahead.filter(|token| token.text.contains(text::is_break)).count()
    }

    /// `(type)value` without the spaces in it, or as written where a comment or a `\` is inside.
    fn value(&mut self) -> String {
        let start = self.at;
        let mut text = String::new();
        if self.peek() == Some(Kind::TypeOpen) {
            while !matches!(self.peek(), None | Some(Kind::TypeClose)) {
                self.next();
            }
            self.next();
            self.skip_inside();
        }
        self.next();
        for token in &self.tokens[start..self.at.min(self.tokens.len())] {
            if !matches!(token.kind, Kind::Space) {
                text.push_str(token.text);
            }
        }
        self.one_piece(start).unwrap_or(text)
    }

    /// The text from a piece to here, where something is in it that cannot be taken out.
    fn one_piece(&self, start: usize) -> Option<String> {
        let inside = &self.tokens[start..self.at.min(self.tokens.len())];
        let odd = |token: &Token| matches!(token.kind, Kind::LineComment | Kind::BlockComment | Kind::Continued);
        let from = inside.first()?.start;
        inside.iter().any(odd).then(|| self.text[from..self.offset()].to_owned())
    }

    /// Spaces, comments and continued lines.
    fn skip_inside(&mut self) {
        loop {
            match self.peek() {
                Some(Kind::Space | Kind::BlockComment) => {
                    self.next();
                }
                Some(Kind::Continued) => {
                    self.continued();
                }
                _ => return,
            }
        }
    }
}

impl<'t> Node<'t> {
    /// Takes out each `\` at the end behind which nothing follows; its comments stay.
    fn without_idle_lines(&mut self) {
        while let Some(Part::NextLine(comments)) = self.parts.last_mut() {
            if self.trail.is_empty() {
                self.trail.append(comments);
            }
            if !comments.is_empty() {
                break;
            }
            self.parts.pop();
        }
    }

    /// The name alone, as written.
    pub fn bare_name(&self) -> &str {
        match self.name.rsplit_once(')') {
            Some((_, name)) if self.name.starts_with('(') => name,
            _ => &self.name,
        }
    }

    pub fn entries(&self) -> impl Iterator<Item = &Entry<'t>> {
        self.parts.iter().filter_map(|part| match part {
            Part::Entry(entry) => Some(entry),
            _ => None,
        })
    }

    /// Its entries in a row, with no comment or line break between them.
    pub fn is_plain(&self) -> bool {
        let last = self.parts.iter().rposition(|part| matches!(part, Part::Entry(_)));
        self.parts[..last.map_or(0, |last| last + 1)].iter().all(|part| matches!(part, Part::Entry(_)))
    }
}

fn is_number(text: &str) -> bool {
    text::begins_number(text.as_bytes())
}
