//! Rows of readings under each other: columns with the decimal points in line.

use super::rows::{ItemKind, TidyItem, TidyNode, TidyPart};

/// Beyond this, a cell stands alone and nothing is moved for it.
const WIDEST: usize = 24;

/// How wide each column of a row is, left and right of where it is lined up.
pub(super) type ColumnWidths = Vec<ColumnWidth>;

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ColumnWidth {
    /// All its cells are numbers or blanks, and some cell is a number.
    numbers: bool,
    /// Up to the decimal point.
    whole: usize,
    /// From the decimal point on.
    rest: usize,
    /// The widest cell that is no number.
    other: usize,
}

impl ColumnWidth {
    fn width(self) -> usize {
        (self.whole + self.rest).max(self.other)
    }

    /// The cell with the spaces in front of it and behind it.
    pub(crate) fn pad(self, cell: &str, number: bool) -> (usize, usize) {
        let before = if self.numbers && number { self.whole - whole(cell) } else { 0 };
        (before, self.width().saturating_sub(before + width(cell)))
    }
}

/// For each item, the columns of the table it is a row of. A table is two or more neighbouring rows of one name (the
/// four grooves count as one), with no blank line between them and a number in some column.
pub(super) fn columns(items: &[TidyItem]) -> Vec<Option<std::rc::Rc<ColumnWidths>>> {
    let mut tables = vec![None; items.len()];
    let mut run: Vec<usize> = Vec::new();
    for (i, item) in items.iter().enumerate() {
        let ItemKind::Node(node) = &item.what else {
            if item.blank {
                settle(items, &mut run, &mut tables);
            }
            continue;
        };
        let goes_on = run
            .last()
            .is_none_or(|last| matches!(&items[*last].what, ItemKind::Node(above) if key(above) == key(node)));
        if item.blank || !goes_on || !is_row(node) {
            settle(items, &mut run, &mut tables);
        }
        if is_row(node) {
            run.push(i);
        }
    }
    settle(items, &mut run, &mut tables);
    tables
}

fn settle(items: &[TidyItem], run: &mut Vec<usize>, tables: &mut [Option<std::rc::Rc<ColumnWidths>>]) {
    let rows = std::mem::take(run);
    if rows.len() < 2 {
        return;
    }
    let mut columns: ColumnWidths = Vec::new();
    for node in rows.iter().filter_map(|row| node(&items[*row])) {
        for (i, (cell, number)) in cells(node).enumerate() {
            if i == columns.len() {
                columns.push(ColumnWidth { numbers: true, ..ColumnWidth::default() });
            }
            let column = &mut columns[i];
            if number {
                column.whole = column.whole.max(whole(cell));
                column.rest = column.rest.max(width(cell) - whole(cell));
            } else {
                column.other = column.other.max(width(cell));
                column.numbers &= cell == "#null";
            }
        }
    }
    for column in &mut columns {
        column.numbers &= column.whole + column.rest > 0;
        if !column.numbers {
            // Words and numbers mixed stand flush left.
            *column = ColumnWidth { other: column.other.max(column.whole + column.rest), ..ColumnWidth::default() };
        }
    }
    if columns.iter().any(|column| column.numbers) && columns.iter().all(|column| column.width() <= WIDEST) {
        let columns = std::rc::Rc::new(columns);
        for row in rows {
            tables[row] = Some(columns.clone());
        }
    }
}

fn node<'i, 't>(item: &'i TidyItem<'t>) -> Option<&'i TidyNode<'t>> {
    match &item.what {
        ItemKind::Node(node) => Some(node),
        ItemKind::Comments(_) => None,
    }
}

fn key<'n>(node: &'n TidyNode) -> &'n str {
    if matches!(node.name.as_str(), "UL" | "UR" | "LL" | "LR") { "UL" } else { &node.name }
}

/// A node on one line, whose values can stand in columns.
fn is_row(node: &TidyNode) -> bool {
    let on_one_line = |text: &str| !text.contains(crate::text::is_break);
    node.left_out.is_none()
        && node.lead.is_empty()
        && node.parts.iter().all(|part| matches!(part, TidyPart::Entry(_)))
        && node.entries().all(|entry| entry.left_out.is_none() && on_one_line(&entry.text))
        && node.trail.iter().all(|comment| comment.starts_with("//"))
        && cells(node).next().is_some()
}

fn cells<'n>(node: &'n TidyNode) -> impl Iterator<Item = (&'n str, bool)> {
    node.entries().filter(|entry| entry.prop.is_none()).map(|entry| (entry.text.as_str(), entry.number))
}

pub(super) fn width(text: &str) -> usize {
    text.chars().count()
}

/// How much of a number stands before its decimal point.
fn whole(cell: &str) -> usize {
    // A point inside an annotation, as in `(N.m)10.5`, is none.
    let value = cell.rfind(')').map_or(0, |close| close + 1);
    width(cell.find('.').map_or(cell, |_| cell[value..].find('.').map_or(cell, |point| &cell[..value + point])))
}
