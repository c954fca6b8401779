//! Adding, moving and removing whole nodes in a text, in the way the text is laid out: one a line where it has one a line,
//! with `;` where it has them side by side. Comments stay where they are.

use crate::text::{Edit, NodeRef, Span};

/// How far a block is set in from its node.
const SET_IN: &str = "    ";

/// The edits of one text as they come together.
pub(crate) struct LineEdits<'t> {
    text: &'t str,
    newline: &'static str,
    pub edits: Vec<Edit>,
}

impl<'t> LineEdits<'t> {
    pub(crate) fn new(text: &'t str) -> LineEdits<'t> {
        LineEdits { text, newline: if text.contains("\r\n") { "\r\n" } else { "\n" }, edits: Vec::new() }
    }

    /// Puts a text in the place of a stretch.
    pub(crate) fn replace(&mut self, span: Span, text: String) {
        self.edits.push(Edit { span, text });
    }

    /// Adds nodes in front of a node, above the comment lines that belong to it.
    pub(crate) fn before(&mut self, node: Span, nodes: &[String]) {
        if nodes.is_empty() {
            return;
        }
        let Some(indent) = self.indent(node.range().start) else {
            let at = node.range().start;
            return self.replace(Span::new(at, at), format!("{}; ", nodes.join("; ")));
        };
        let mut at = self.line_start(node.range().start);
        while at > 0 {
            let above = self.line_start(at - 1);
            if !self.text[above..at].trim_start().starts_with("//") {
                break;
            }
            at = above;
        }
        let text = nodes.iter().map(|node| format!("{indent}{node}{}", self.newline)).collect();
        self.replace(Span::new(at, at), text);
    }

    /// Adds nodes behind a node and the comment on its line.
    pub(crate) fn after(&mut self, node: Span, nodes: &[String]) {
        if nodes.is_empty() {
            return;
        }
        let (start, end) = (node.range().start, node.range().end);
        let (at, text) = match (self.indent(start), self.rest_of_line(end)) {
            (Some(indent), Some(rest)) => {
                (rest, nodes.iter().map(|node| format!("{}{indent}{node}", self.newline)).collect())
            }
            _ => (end, nodes.iter().map(|node| format!("; {node}")).collect()),
        };
        self.replace(Span::new(at, at), text);
    }

    /// Adds nodes as the first in a node's block, which is made where there is none.
    pub(crate) fn first_in(&mut self, node: NodeRef, nodes: &[String]) {
        if nodes.is_empty() {
            return;
        }
        let outer = self.indent(self.line_start_of_text(node.span().range().start)).unwrap_or("");
        let first = node.children().next().and_then(|child| self.indent(child.span().range().start));
        let inner = first.map_or_else(|| format!("{outer}{SET_IN}"), str::to_string);
        let listed: String = nodes.iter().map(|node| format!("{}{inner}{node}", self.newline)).collect();
        let Some(block) = node.block() else {
            let at = node.head().range().end;
            let text = match nodes {
                [one] => format!(" {{ {one} }}"),
                _ => format!(" {{{listed}{}{outer}}}", self.newline),
            };
            return self.replace(Span::new(at, at), text);
        };
        let (open, close) = (block.range().start + 1, block.range().end - 1);
        if let Some(rest) = self.rest_of_line(open) {
            self.replace(Span::new(rest, rest), listed);
        } else if self.text[open..close].trim().is_empty() {
            self.replace(Span::new(open, close), format!("{listed}{}{outer}", self.newline));
        } else {
            self.replace(Span::new(open, open), format!(" {};", nodes.join("; ")));
        }
    }

    /// Takes a node out, with its line where nothing else stands on it.
    pub(crate) fn remove(&mut self, node: Span) {
        let (mut start, mut end) = (node.range().start, node.range().end);
        let after = self.text[end..].trim_start_matches([' ', '\t']);
        if let Some(after) = after.strip_prefix(';') {
            end = self.text.len() - after.trim_start_matches([' ', '\t']).len();
        }
        let rest = self.text[end..].trim_start_matches([' ', '\t', '\r']);
        if self.indent(start).is_some() && (rest.is_empty() || rest.starts_with('\n')) {
            start = self.line_start(start);
            end = (self.text.len() - rest.len() + 1).min(self.text.len());
        }
        self.replace(Span::new(start, end), String::new());
    }

    /// Puts a copy of one node, with the comment on its line, in the place of another and of the comment on its.
    pub(crate) fn put(&mut self, place: Span, node: Span) {
        let end = |span: Span| self.rest_of_line(span.range().end).unwrap_or(span.range().end);
        let text = self.text[node.range().start..end(node)].trim_end().to_string();
        let span = Span::new(place.range().start, end(place));
        self.replace(span, text);
    }

    /// Leaves a node in the text and out of what it says.
    pub(crate) fn comment_out(&mut self, node: Span) {
        self.replace(node, format!("/-{}", &self.text[node.range()]));
    }

    fn line_start(&self, at: usize) -> usize {
        self.text[..at].rfind('\n').map_or(0, |newline| newline + 1)
    }

    /// Where the text of a line begins, behind its indent.
    fn line_start_of_text(&self, at: usize) -> usize {
        let start = self.line_start(at);
        let line = &self.text[start..];
        start + (line.len() - line.trim_start_matches([' ', '\t']).len())
    }

    /// What a place is set in by; nothing where other text stands before it on its line.
    fn indent(&self, at: usize) -> Option<&'t str> {
        let before = &self.text[self.line_start(at)..at];
        before.chars().all(|c| c == ' ' || c == '\t').then_some(before)
    }

    /// The end of the line, where only `;` or a comment follows on it.
    fn rest_of_line(&self, at: usize) -> Option<usize> {
        let rest = self.text[at..].split('\n').next().unwrap_or("");
        let rest = rest.strip_suffix('\r').unwrap_or(rest);
        let comment = rest.trim_start_matches([' ', '\t', ';']);
        (comment.is_empty() || comment.starts_with("//")).then_some(at + rest.len())
    }
}
