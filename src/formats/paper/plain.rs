//! A paper as plain text for the terminal: columns under each other, nothing that could steer it.

use std::fmt::{Result, Write as _};

use super::in_characters::{self, BLANK, tick};
use crate::formats::clean;
use crate::views::paper::{Content, Element, Figure, Paper, Table, TableCell};

/// Names of columns up to this length stay in one line.
const UNBROKEN: usize = 10;

/// The paper; its title is the first line.
pub fn plain(paper: &Paper) -> String {
    let mut out = format!("{}\n", clean(&paper.title));
    let mut page = PlainPage { out: &mut out, indent: 0, folds: 0 };
    // Writing to a string cannot fail.
    let _ = page.body(&paper.body);
    out
}

struct PlainPage<'o> {
    out: &'o mut String,
    indent: usize,
    /// In how many folds we are.
    folds: usize,
}

impl PlainPage<'_> {
    fn line(&mut self, text: &str) -> Result {
        let text = clean(text);
        writeln!(self.out, "{}", format!("{:indent$}{text}", "", indent = self.indent).trim_end())
    }

    /// The elements, each after an empty line, but for what stands under a heading.
    fn body(&mut self, body: &Content) -> Result {
        let mut under_heading = false;
        for element in &body.0 {
            let is_heading = matches!(element, Element::Heading(..));
            if !under_heading && !matches!(element, Element::Group(_)) {
                self.out.push('\n');
            }
            self.element(element)?;
            under_heading = is_heading;
        }
        Ok(())
    }

    fn element(&mut self, element: &Element) -> Result {
        match element {
            Element::Heading(_, text) | Element::Paragraph(text) => self.line(text),
            Element::List(items) => {
                items.iter().try_for_each(|item| self.line_at(2 * usize::from(item.level), &item.text))
            }
            Element::Facts(facts) => self.facts(facts),
            Element::Table(table) => self.table(table),
            Element::Figure(figure) => self.figure(figure),
            Element::Checklist(items) => {
                items.iter().try_for_each(|item| self.line(&format!("{} {}", tick(item.is_done), clean(&item.what))))
            }
            Element::HoldPoint(what) => {
                self.line(&format!("HOLD POINT. {} Signed: {BLANK} Date: {BLANK}", clean(what)))
            }
            Element::NewPage => self.line("----"),
            Element::Group(group) => self.body(group),
            Element::Folded(line, folded) => {
                self.line(line)?;
                if self.folds > 0 {
                    return Ok(());
                }
                self.folds += 1;
                self.indent += 2;
                self.body(folded)?;
                self.indent -= 2;
                self.folds -= 1;
                Ok(())
            }
        }
    }

    fn line_at(&mut self, more: usize, text: &str) -> Result {
        self.indent += more;
        let written = self.line(text);
        self.indent -= more;
        written
    }

    fn facts(&mut self, facts: &[(&str, TableCell)]) -> Result {
        let wide = facts.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
        facts.iter().try_for_each(|(name, value)| self.line_at(2, &format!("{name:<wide$}  {}", cell(value))))
    }

    /// A column is as wide as its widest cell; a long name that is wider takes more lines.
    fn table(&mut self, table: &Table) -> Result {
        if !table.caption.is_empty() {
            self.line_at(2, &format!("{}:", clean(&table.caption)))?;
        }
        let rows: Vec<Vec<String>> = table.rows.iter().map(|row| row.iter().map(cell).collect()).collect();
        let widths: Vec<usize> = (0..table.head.len())
            .map(|column| {
                let words = table.head[column].split(' ').map(letters).max().unwrap_or(0);
                let words = words.max(letters(&table.head[column]).min(UNBROKEN));
                rows.iter().filter_map(|row| row.get(column)).map(|cell| letters(cell)).max().unwrap_or(0).max(words)
            })
            .collect();
        let right = |column: usize| table.rows.iter().any(|row| matches!(row.get(column), Some(TableCell::Number(_))));
        let head: Vec<Vec<String>> = table.head.iter().zip(&widths).map(|(name, wide)| broken(name, *wide)).collect();
        let high = head.iter().map(Vec::len).max().unwrap_or(0);
        let empty = String::new();
        for line in 0..high {
            // The last lines of all names stand beside each other.
            let names = head.iter().map(|name| (line + name.len()).checked_sub(high).map_or(&empty, |at| &name[at]));
            self.row(names.enumerate().map(|(column, name)| (name.as_str(), widths[column], right(column))))?;
        }
        for (row, cells) in rows.iter().zip(&table.rows) {
            // A dash stands under the numbers.
            let number = |column: usize| {
                matches!(cells[column], TableCell::Number(_)) || right(column) && letters(&row[column]) == 1
            };
            let width = |column: usize| widths.get(column).copied().unwrap_or(0);
            self.row(row.iter().enumerate().map(|(column, text)| (text.as_str(), width(column), number(column))))?;
        }
        Ok(())
    }

    fn row<'c>(&mut self, cells: impl Iterator<Item = (&'c str, usize, bool)>) -> Result {
        let padded = cells.map(|(text, wide, right)| {
            let pad = " ".repeat(wide.saturating_sub(letters(text)));
            if right { pad + text } else { format!("{text}{pad}") }
        });
        let line = padded.collect::<Vec<_>>().join("  ");
        self.line_at(2, &line)
    }

    fn figure(&mut self, figure: &Figure) -> Result {
        for line in figure.characters.iter().flat_map(|drawn| drawn.lines()) {
            self.line_at(2, line)?;
        }
        self.line_at(2, &figure.caption)
    }
}

fn letters(text: &str) -> usize {
    text.chars().count()
}

/// A name in as many lines as it needs to be no wider than its column.
fn broken(name: &str, wide: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in name.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if letters(line) + 1 + letters(word) <= wide => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_string()),
        }
    }
    lines
}

fn cell(cell: &TableCell) -> String {
    in_characters::cell(cell, |said| clean(said).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_under_each_other_and_wide_names_are_broken() {
        let mut paper = Paper::new("A paper");
        let number = |text: &str| TableCell::Number(text.into());
        let rows = vec![vec!["S1".into(), number("10"), "left".into()], vec!["S12".into(), number("7.5"), "".into()]];
        paper.body.table("Made of", &["Support", "At, mm", "Side of the rail"], rows);
        assert_eq!(
            plain(&paper),
            "A paper\n\n  Made of:\n                   Side of\n  Support  At, mm  the rail\n  S1           10  left\n  S12         7.5\n"
        );
    }

    #[test]
    fn what_is_folded_twice_is_left_out() {
        let mut inner = Content::default();
        inner.say("deep");
        let mut outer = Content::default();
        outer.say("shown");
        outer.0.push(Element::Folded("3 more".into(), inner));
        let mut paper = Paper::new("A paper");
        paper.body.0.push(Element::Folded("One ledger".into(), outer));
        assert_eq!(plain(&paper), "A paper\n\nOne ledger\n\n  shown\n\n  3 more\n");
    }
}
