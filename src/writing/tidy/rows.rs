//! What stands in one block, row by row: its nodes, and everything a person put around them, which are comments, blank
//! lines and what `/-` leaves out. A block inside is a place to go on from, so nothing is held of a text but the rows
//! that are being laid out.

use super::spelt;
use crate::text::{Piece, Pieces, Span, Trivia, begins_number, is_break};

/// What stands in a block, or at the top, in order.
#[derive(Debug)]
pub(super) struct TidyItem<'t> {
    /// A blank line stood before it.
    pub blank: bool,
    pub what: ItemKind<'t>,
}

#[derive(Debug)]
pub(super) enum ItemKind<'t> {
    /// Comments on a line of their own.
    Comments(Vec<&'t str>),
    Node(TidyNode<'t>),
}

#[derive(Debug)]
pub(super) struct TidyNode<'t> {
    /// Comments in front of it on its line.
    pub lead: Vec<&'t str>,
    pub left_out: Option<LeftOut<'t>>,
    /// With its type annotation.
    pub name: String,
    pub parts: Vec<TidyPart<'t>>,
    /// Comments behind it on its last line.
    pub trail: Vec<&'t str>,
}

/// A `/-`, with the comments between it and what it leaves out.
#[derive(Debug)]
pub(super) struct LeftOut<'t>(pub Vec<&'t str>);

#[derive(Debug)]
pub(super) enum TidyPart<'t> {
    Entry(TidyEntry<'t>),
    Comment(&'t str),
    /// The line goes on below: a `\` with the comments behind it.
    NextLine(Vec<&'t str>),
    Block(ChildBlock<'t>),
}

#[derive(Debug)]
pub(super) struct TidyEntry<'t> {
    pub left_out: Option<LeftOut<'t>>,
    /// The name of a property, as written.
    pub prop: Option<&'t str>,
    /// Name, annotation and value.
    pub text: String,
    pub number: bool,
}

#[derive(Debug)]
pub(super) struct ChildBlock<'t> {
    pub left_out: Option<LeftOut<'t>>,
    /// It was written on one line.
    pub one_line: bool,
    /// From behind its opening brace on.
    inside: TidyRows<'t>,
}

/// The rows of a text without its blocks' own; `opening` are comments behind the opening brace on its line.
#[derive(Debug)]
pub(super) struct Inside<'t> {
    pub opening: Vec<&'t str>,
    pub items: Vec<TidyItem<'t>>,
}

/// The rows of the text at its top.
pub(super) fn top<'t>(text: &'t str, pieces: Pieces<'t>) -> Vec<TidyItem<'t>> {
    let Inside { opening, mut items } = TidyRows { text, pieces }.inside();
    if !opening.is_empty() {
        items.insert(0, TidyItem { blank: false, what: ItemKind::Comments(opening) });
    }
    items
}

#[derive(Clone, Debug)]
struct TidyRows<'t> {
    text: &'t str,
    pieces: Pieces<'t>,
}

impl<'t> TidyRows<'t> {
    /// What comes next, where it is neither a name nor an entry.
    fn between(&self) -> Option<Trivia> {
        match self.pieces.peek() {
            Some(Piece::Between(between, _)) => Some(between),
            _ => None,
        }
    }

    /// Goes over a piece that is neither a name nor an entry.
    fn over(&mut self) -> &'t str {
        match self.pieces.next() {
            Some(Piece::Between(_, span)) => self.written(span),
            _ => "",
        }
    }

    fn written(&self, span: Span) -> &'t str {
        self.text.get(span.range()).unwrap_or("")
    }

    /// Up to the end of the text or before a closing brace.
    fn inside(mut self) -> Inside<'t> {
        let (mut opening, mut items): (Vec<&str>, Vec<TidyItem>) = Default::default();
        // Comments on the line so far, whose owner is not known yet.
        let mut pending: Vec<&str> = Vec::new();
        let (mut breaks, mut pending_blank) = (0, false);
        // What a comment behind it on the same line belongs to: a node, or the opening brace.
        let mut line_has_owner = true;
        let mut end_of_text = false;
        loop {
            match self.between() {
                Some(Trivia::Close) => break,
                Some(Trivia::Space | Trivia::Continued | Trivia::Semicolon) => {
                    self.over();
                }
                Some(Trivia::LineComment | Trivia::BlockComment) => {
                    if pending.is_empty() {
                        pending_blank = breaks > 1;
                    }
                    pending.push(self.over());
                }
                Some(Trivia::Break) => {
                    self.over();
                    if !pending.is_empty() {
                        breaks = 0;
                        let owner = items.last_mut().map(|item| &mut item.what);
                        match owner {
                            Some(ItemKind::Node(node)) if line_has_owner => node.trail.append(&mut pending),
                            None if line_has_owner => opening.append(&mut pending),
                            _ => {
                                let what = ItemKind::Comments(std::mem::take(&mut pending));
                                items.push(TidyItem { blank: pending_blank, what });
                            }
                        }
                    }
                    breaks += 1;
                    line_has_owner = false;
                }
                Some(Trivia::LeftOut | Trivia::Open) | None => {
                    let blank = if pending.is_empty() { breaks > 1 } else { pending_blank };
                    let Some(node) = self.node(&mut pending) else {
                        end_of_text = true;
                        break;
                    };
                    items.push(TidyItem { blank, what: ItemKind::Node(node) });
                    breaks = 0;
                    line_has_owner = true;
                }
            }
        }
        if !pending.is_empty() {
            match items.last_mut().map(|item| &mut item.what) {
                Some(ItemKind::Node(node)) if line_has_owner && end_of_text => node.trail.append(&mut pending),
                _ => items.push(TidyItem { blank: pending_blank, what: ItemKind::Comments(pending) }),
            }
        }
        Inside { opening, items }
    }

    /// The next node, with the comments in front of it.
    fn node(&mut self, lead: &mut Vec<&'t str>) -> Option<TidyNode<'t>> {
        let left_out = self.left_out();
        let Some(Piece::Node(node)) = self.pieces.next() else { return None };
        let (name, parts, trail) = (spelt::head(node), Vec::new(), Vec::new());
        let mut node = TidyNode { lead: std::mem::take(lead), left_out, name, parts, trail };
        loop {
            match self.between() {
                Some(Trivia::Close | Trivia::Break) => break,
                Some(Trivia::Semicolon) => {
                    self.over();
                    break;
                }
                Some(Trivia::Space) => {
                    self.over();
                }
                Some(Trivia::LineComment) => {
                    node.trail.push(self.over());
                    break;
                }
                Some(Trivia::BlockComment) => node.parts.push(TidyPart::Comment(self.over())),
                Some(Trivia::Continued) => {
                    let comments = self.continued();
                    node.parts.push(TidyPart::NextLine(comments));
                }
                Some(Trivia::LeftOut | Trivia::Open) | None => {
                    let left_out = self.left_out();
                    let part = match self.pieces.next() {
                        Some(Piece::Entry(entry)) => {
                            let prop = entry.name_span().map(|name| self.written(name));
                            let number = prop.is_none() && begins_number(entry.raw().as_bytes());
                            TidyPart::Entry(TidyEntry { left_out, prop, text: spelt::entry(self.text, entry), number })
                        }
                        Some(_) => TidyPart::Block(self.block(left_out)),
                        None => break,
                    };
                    node.parts.push(part);
                }
            }
        }
        node.without_idle_lines();
        Some(node)
    }

    /// A `/-` and what lies between it and its target.
    fn left_out(&mut self) -> Option<LeftOut<'t>> {
        if self.between() != Some(Trivia::LeftOut) {
            return None;
        }
        self.over();
        let mut comments = Vec::new();
        loop {
            match self.between() {
                Some(Trivia::Space | Trivia::Break | Trivia::Continued) => {
                    self.over();
                }
                Some(Trivia::LineComment | Trivia::BlockComment) => comments.push(self.over()),
                _ => return Some(LeftOut(comments)),
            }
        }
    }

    /// Behind a `\`: the comments up to the end of its line.
    fn continued(&mut self) -> Vec<&'t str> {
        self.over();
        let mut comments = Vec::new();
        loop {
            match self.between() {
                Some(Trivia::Space) => {
                    self.over();
                }
                Some(Trivia::LineComment | Trivia::BlockComment) => comments.push(self.over()),
                Some(Trivia::Break) => {
                    self.over();
                    return comments;
                }
                _ => return comments,
            }
        }
    }

    /// From behind its opening brace to behind its closing one.
    fn block(&mut self, left_out: Option<LeftOut<'t>>) -> ChildBlock<'t> {
        let inside = self.clone();
        self.pieces.leave_block();
        let one_line = !self.text[inside.pieces.offset()..self.pieces.offset()].contains(is_break);
        ChildBlock { left_out, one_line, inside }
    }
}

impl<'t> ChildBlock<'t> {
    pub(crate) fn rows(&self) -> Inside<'t> {
        self.inside.clone().inside()
    }
}

impl<'t> TidyNode<'t> {
    /// Takes out each `\` at the end behind which nothing follows; its comments stay.
    fn without_idle_lines(&mut self) {
        while let Some(TidyPart::NextLine(comments)) = self.parts.last_mut() {
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
    pub(crate) fn bare_name(&self) -> &str {
        match self.name.rsplit_once(')') {
            Some((_, name)) if self.name.starts_with('(') => name,
            _ => &self.name,
        }
    }

    pub(crate) fn entries(&self) -> impl Iterator<Item = &TidyEntry<'t>> {
        self.parts.iter().filter_map(|part| match part {
            TidyPart::Entry(entry) => Some(entry),
            _ => None,
        })
    }

    /// Its entries in a row, with no comment or line break between them.
    pub(crate) fn is_plain(&self) -> bool {
        let last = self.parts.iter().rposition(|part| matches!(part, TidyPart::Entry(_)));
        self.parts[..last.map_or(0, |last| last + 1)].iter().all(|part| matches!(part, TidyPart::Entry(_)))
    }
}
