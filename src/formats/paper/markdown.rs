//! A paper as Markdown: one fact a line and no padding, so that a difference between two reports is a difference of facts.

use std::fmt::Write as _;

use super::{Block, Paper, Table, markdown_line, markdown_text};

/// The first line, by which our own earlier paper is known.
pub const HEAD: &str = "<!-- written by wayledger -->";

pub fn markdown(paper: &Paper) -> String {
    let mut out = format!("{HEAD}\n\n# {}\n", markdown_text(&paper.title));
    for block in &paper.blocks {
        out.push('\n');
        // Writing to a string cannot fail.
        let _ = match block {
            Block::Heading(level, text) => {
                writeln!(out, "{} {}", "#".repeat(usize::from(*level)), markdown_text(text))
            }
            Block::Text(text) => writeln!(out, "{}", markdown_line(text)),
            Block::List(items) => items.iter().try_for_each(|item| writeln!(out, "- {}", markdown_line(item))),
            Block::Facts(facts) => {
                facts.iter().try_for_each(|(name, value)| writeln!(out, "- {name}: {}", markdown_text(value.text())))
            }
            Block::Table(table) => print(&mut out, table),
            Block::Picture(picture) => writeln!(out, "{}", markdown_line(&picture.text)),
        };
    }
    out
}

fn print(out: &mut String, table: &Table) -> std::fmt::Result {
    if !table.caption.is_empty() {
        writeln!(out, "{}:\n", markdown_line(&table.caption))?;
    }
    writeln!(out, "| {} |", table.head.join(" | "))?;
    writeln!(out, "|{}", " --- |".repeat(table.head.len()))?;
    for row in &table.rows {
        let cells: Vec<String> = row.iter().map(|cell| markdown_text(cell.text())).collect();
        writeln!(out, "| {} |", cells.join(" | "))?;
    }
    Ok(())
}
