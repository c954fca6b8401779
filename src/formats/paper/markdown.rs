//! A paper as Markdown: one fact a line and no padding, so that a difference between two reports is a difference of facts.

use std::fmt::{Result, Write as _};

use super::in_characters::{self, BLANK, tick};
use super::{html_text, markdown_line, markdown_text};
use crate::formats::clean;
use crate::views::paper::{Content, Element, Figure, Paper, Table, TableCell};

/// The first line, by which our own earlier paper is known.
pub(crate) const HEAD: &str = "<!-- written by wayledger -->";

/// A paper as Markdown.
pub fn markdown(paper: &Paper) -> String {
    let mut out = format!("{HEAD}\n\n# {}\n", markdown_text(&paper.title));
    // Writing to a string cannot fail.
    let _ = body(&mut out, &paper.body);
    if let Some(shows) = &paper.shows {
        out += &format!("\nShows {}; {}.\n", markdown_text(shows), super::MADE_BY);
    }
    out
}

/// The elements, each after an empty line.
fn body(out: &mut String, body: &Content) -> Result {
    for element in &body.0 {
        if let Element::Group(group) = element {
            self::body(out, group)?;
            continue;
        }
        out.push('\n');
        self::element(out, element)?;
    }
    Ok(())
}

fn element(out: &mut String, element: &Element) -> Result {
    match element {
        Element::Heading(level, text) => {
            writeln!(out, "{} {}", "#".repeat(usize::from(*level)), markdown_text(text))
        }
        Element::Paragraph(text) => writeln!(out, "{}", markdown_line(text)),
        Element::List(items) => items.iter().try_for_each(|item| {
            writeln!(out, "{}- {}", "  ".repeat(usize::from(item.level)), markdown_line(&item.text))
        }),
        Element::Facts(facts) => facts.iter().try_for_each(|(name, value)| writeln!(out, "- {name}: {}", cell(value))),
        Element::Table(table) => self::table(out, table),
        Element::Figure(figure) => self::figure(out, figure),
        Element::Checklist(items) => {
            items.iter().try_for_each(|item| writeln!(out, "- {} {}", tick(item.is_done), markdown_text(&item.what)))
        }
        Element::HoldPoint(what) => {
            writeln!(out, "**HOLD POINT.** {} Signed: {BLANK} Date: {BLANK}", markdown_text(what))
        }
        Element::NewPage => writeln!(out, "---"),
        Element::Group(group) => body(out, group),
        Element::Folded(line, folded) => {
            writeln!(out, "<details><summary>{}</summary>", html_text(line))?;
            body(out, folded)?;
            writeln!(out, "\n</details>")
        }
    }
}

fn table(out: &mut String, table: &Table) -> Result {
    if !table.caption.is_empty() {
        writeln!(out, "{}:\n", markdown_line(&table.caption))?;
    }
    let head: Vec<String> = table.head.iter().map(|name| markdown_text(name)).collect();
    writeln!(out, "| {} |", head.join(" | "))?;
    writeln!(out, "|{}", " --- |".repeat(table.head.len()))?;
    for row in &table.rows {
        let cells: Vec<String> = row.iter().map(cell).collect();
        writeln!(out, "| {} |", cells.join(" | "))?;
    }
    Ok(())
}

fn cell(cell: &TableCell) -> String {
    in_characters::cell(cell, markdown_text)
}

/// Drawn in characters where it can be; its words always.
fn figure(out: &mut String, figure: &Figure) -> Result {
    if let Some(characters) = &figure.characters {
        // Indented, the lines are code whatever they hold.
        for line in characters.lines() {
            writeln!(out, "{}", format!("    {}", clean(line)).trim_end())?;
        }
        out.push('\n');
    }
    writeln!(out, "{}", markdown_line(&figure.caption))
}
