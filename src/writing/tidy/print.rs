//! Nodes on paper: the one layout.

use super::rows::{ChildBlock, Inside, ItemKind, LeftOut, TidyEntry, TidyItem, TidyNode, TidyPart};
use super::table::{self, ColumnWidths};
use crate::language::schema::{NodeShape, language};

/// A block written on one line stays on it up to this many columns, comments behind it not counted.
const LINE: usize = 120;

pub(super) fn document(items: &[TidyItem]) -> String {
    let mut printed = print_items(items, 0, &language().top);
    // A record of several lines stands apart from its neighbours, its comments with it.
    let mut above: Option<usize> = None;
    for i in 0..printed.len() {
        if !matches!(items[i].what, ItemKind::Node(_)) {
            continue;
        }
        if let Some(above) = above
            && (printed[above].text.contains('\n') || printed[i].text.contains('\n'))
            && !printed[above + 1..=i].iter().any(|line| line.blank)
        {
            printed[above + 1].blank = true;
        }
        above = Some(i);
    }
    let mut out = String::new();
    for (i, line) in printed.iter().enumerate() {
        if line.blank && i > 0 {
            out.push('\n');
        }
        out.push_str(&line.text);
        out.push('\n');
    }
    out
}

/// An item as laid out, without its indentation and last line break.
struct Printed {
    blank: bool,
    text: String,
}

fn print_items(items: &[TidyItem], depth: usize, shapes: &'static [NodeShape]) -> Vec<Printed> {
    let tables = table::columns(items);
    let print = |(item, columns): (&TidyItem, Option<std::rc::Rc<ColumnWidths>>)| {
        let text = match &item.what {
            ItemKind::Comments(comments) => joined(comments),
            ItemKind::Node(node) => {
                print_node(node, LineRoom::Lines { depth }, shapes, columns.as_deref()).unwrap_or_default()
            }
        };
        Printed { blank: item.blank, text }
    };
    items.iter().zip(tables).map(print).collect()
}

fn joined(comments: &[&str]) -> String {
    comments.iter().map(|comment| comment.trim_end()).collect::<Vec<_>>().join(" ")
}

/// Where a node is printed.
#[derive(Clone, Copy)]
enum LineRoom {
    /// On lines of its own, so deep in blocks.
    Lines { depth: usize },
    /// On one line with others, in at most so many columns, or not at all.
    Columns(usize),
}

/// A node as it grows; a new line was begun where `fresh` says so.
struct NodePrinter {
    out: String,
    room: LineRoom,
    fresh: bool,
}

impl NodePrinter {
    fn space(&mut self) {
        if !self.fresh {
            self.out.push(' ');
        }
        self.fresh = false;
    }

    fn comment(&mut self, comment: &str) {
        self.space();
        self.out.push_str(comment.trim_end());
    }

    /// Goes on in the next line, one level further in.
    fn next_line(&mut self) {
        self.out.push('\n');
        let depth = self.depth();
        indent(&mut self.out, depth + 1);
        self.fresh = true;
    }

    fn depth(&self) -> usize {
        match self.room {
            LineRoom::Lines { depth } => depth,
            LineRoom::Columns(_) => 0,
        }
    }

    /// How many columns are left on this line for a block that may stay on it.
    fn left(&self) -> usize {
        let used = table::width(self.out.rsplit('\n').next().unwrap_or(""));
        match self.room {
            LineRoom::Lines { depth } if !self.out.contains('\n') => LINE.saturating_sub(depth * 4 + used),
            LineRoom::Lines { .. } => LINE.saturating_sub(used),
            LineRoom::Columns(room) => room.saturating_sub(used),
        }
    }

    /// Whether a line has become too long for its room, or more than one line.
    fn too_large(&self) -> bool {
        match self.room {
            LineRoom::Lines { .. } => false,
            LineRoom::Columns(room) => self.out.contains('\n') || table::width(&self.out) > room,
        }
    }

    fn left_out(&mut self, left_out: Option<&LeftOut>) {
        let Some(LeftOut(comments)) = left_out else { return };
        self.out.push_str("/-");
        self.fresh = false;
        for comment in comments {
            self.comment(comment);
            if comment.starts_with("//") {
                self.next_line();
            }
        }
        if !comments.is_empty() {
            self.space();
        }
    }
}

fn indent(out: &mut String, depth: usize) {
    out.extend(std::iter::repeat_n("    ", depth));
}

fn spaces(out: &mut String, count: usize) {
    out.extend(std::iter::repeat_n(' ', count));
}

/// Nothing where it does not fit into its room.
fn print_node(
    node: &TidyNode,
    room: LineRoom,
    shapes: &'static [NodeShape],
    columns: Option<&ColumnWidths>,
) -> Option<String> {
    let shape = shapes.iter().find(|shape| shape.name == node.bare_name());
    let mut pen = NodePrinter { out: String::new(), room, fresh: true };
    for comment in &node.lead {
        pen.comment(comment);
    }
    if !node.lead.is_empty() {
        pen.space();
    }
    pen.left_out(node.left_out.as_ref());
    if node.name == "kdl-version" && node.left_out.is_some() {
        // The version marker has its own usual spelling.
        pen.out.push(' ');
    }
    pen.out.push_str(&node.name);
    pen.fresh = false;
    let mut entries = in_order(node, shape).into_iter();
    let (mut arg, mut gap) = (0, 0);
    for part in &node.parts {
        match part {
            TidyPart::Entry(_) => {
                let Some(entry) = entries.next() else { continue };
                pen.space();
                let column = columns.filter(|_| entry.prop.is_none()).and_then(|columns| columns.get(arg));
                if let Some(column) = column {
                    let (before, after) = column.pad(&entry.text, entry.number);
                    spaces(&mut pen.out, gap + before);
                    gap = after;
                    arg += 1;
                }
                pen.left_out(entry.left_out.as_ref());
                pen.out.push_str(&entry.text);
                pen.fresh = false;
            }
            TidyPart::Comment(comment) => pen.comment(comment),
            TidyPart::NextLine(comments) => {
                pen.space();
                pen.out.push('\\');
                for comment in comments {
                    pen.comment(comment);
                }
                pen.next_line();
            }
            TidyPart::Block(block) => print_block(&mut pen, block, shape)?,
        }
        if pen.too_large() {
            return None;
        }
    }
    for comment in &node.trail {
        pen.comment(comment);
    }
    (!pen.too_large()).then_some(pen.out)
}

/// Arguments first, then properties in the order of the language, then unknown ones; as written, where a comment or a
/// line break stands between them.
fn in_order<'n, 't>(node: &'n TidyNode<'t>, shape: Option<&NodeShape>) -> Vec<&'n TidyEntry<'t>> {
    let mut entries: Vec<&TidyEntry> = node.entries().collect();
    if node.is_plain() {
        entries.sort_by_key(|entry| match entry.prop {
            None => 0,
            Some(name) => {
                let place = shape.and_then(|shape| shape.props.iter().position(|part| part.name == name));
                place.map_or(usize::MAX, |place| place + 1)
            }
        });
    }
    entries
}

fn print_block(pen: &mut NodePrinter, block: &ChildBlock, shape: Option<&'static NodeShape>) -> Option<()> {
    let shapes: &'static [NodeShape] = shape.map_or(&[], |shape| &shape.children);
    pen.space();
    pen.left_out(block.left_out.as_ref());
    pen.fresh = false;
    let inside = block.rows();
    if inside.items.is_empty() && inside.opening.is_empty() {
        pen.out.push_str("{}");
        return Some(());
    }
    if block.one_line
        && let Some(line) = on_one_line(&inside, pen.left(), shapes)
    {
        pen.out.push_str(&line);
        return Some(());
    }
    // Inside a line there is no other way.
    let LineRoom::Lines { depth } = pen.room else { return None };
    pen.out.push('{');
    for comment in &inside.opening {
        pen.comment(comment);
    }
    for (i, item) in print_items(&inside.items, depth + 1, shapes).iter().enumerate() {
        pen.out.push_str(if item.blank && i > 0 { "\n\n" } else { "\n" });
        indent(&mut pen.out, depth + 1);
        pen.out.push_str(&item.text);
    }
    pen.out.push('\n');
    indent(&mut pen.out, depth);
    pen.out.push('}');
    Some(())
}

/// A block that was written on one line, on one line; nothing where it takes more columns than there are. The room
/// shrinks from block to block, so that trying costs little however deep they lie.
fn on_one_line(inside: &Inside, room: usize, shapes: &'static [NodeShape]) -> Option<String> {
    let mut line = "{ ".to_owned();
    for (i, item) in inside.items.iter().enumerate() {
        let left = room.checked_sub(table::width(&line) + 2)?;
        match &item.what {
            ItemKind::Comments(comments) => line.push_str(&joined(comments)),
            ItemKind::Node(node) => line.push_str(&print_node(node, LineRoom::Columns(left), shapes, None)?),
        }
        let last = i + 1 == inside.items.len();
        line.push_str(if last {
            " }"
        } else if matches!(item.what, ItemKind::Node(_)) {
            "; "
        } else {
            " "
        });
    }
    (table::width(&line) <= room && !line.contains('\n')).then_some(line)
}
