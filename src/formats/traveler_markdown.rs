//! A traveler as Markdown: for reading on a screen and for keeping in git.

use std::fmt::Write as _;

use super::paper::{markdown_line, markdown_text};
use crate::views::cautions::{CAUTIONS, NO_SUBSTITUTE};
use crate::views::traveler::{Block, Cell, Joint, Section, Table, Traveler};

/// The whole document.
pub fn traveler(it: &Traveler) -> String {
    let mut out = format!("# Traveler: {}\n\n", markdown_text(&it.title));
    for (name, value) in &it.facts {
        out += &format!("- {name}: {}\n", markdown_text(value));
    }
    out += "- Job number: ______ Fitter: ______ Inspector: ______\n\n## Cautions\n\n";
    for caution in CAUTIONS {
        out += &format!("- **{}.** {}\n", caution.title, caution.text);
    }
    out += &format!("\n{NO_SUBSTITUTE}\n");
    it.sections.iter().for_each(|it| section(&mut out, it));
    out
}

fn section(out: &mut String, it: &Section) {
    *out += &format!("\n## {}\n", markdown_text(&it.title));
    for block in &it.blocks {
        out.push('\n');
        match block {
            Block::Text(text) => *out += &format!("{}\n", markdown_line(text)),
            Block::Steps(steps) => {
                for step in steps {
                    *out += &format!("- [{}] {}\n", if step.done { 'x' } else { ' ' }, markdown_text(&step.what));
                }
            }
            Block::Table(it) => table(out, it),
            Block::Joint(it) => joint(out, it),
            Block::Hold(text) => {
                *out += &format!("**HOLD POINT.** {} Signed: ______ Date: ______\n", markdown_text(text));
            }
        }
    }
}

fn table(out: &mut String, it: &Table) {
    row(out, it.head.iter().map(|head| markdown_text(head)));
    row(out, it.head.iter().map(|_| "---".to_string()));
    for cells in &it.rows {
        row(
            out,
            cells.iter().map(|cell| match cell {
                Cell::Text(text) | Cell::Number(text) => markdown_text(text),
                Cell::Blank => "______".into(),
                Cell::Tick(done) => if *done { "[x]" } else { "[ ]" }.into(),
                Cell::Nothing => String::new(),
            }),
        );
    }
}

fn row(out: &mut String, cells: impl Iterator<Item = String>) {
    out.push('|');
    for cell in cells {
        // Writing to a string cannot fail.
        let _ = write!(out, " {cell} |");
    }
    out.push('\n');
}

fn joint(out: &mut String, it: &Joint) {
    *out += &format!("### Joint {}, {}\n\n", markdown_text(&it.name), markdown_text(&it.place));
    *out += &format!("{}. Limit of each step: {}.\n\n", markdown_line(&it.state), markdown_text(&it.limit));
    *out += "Seen along increasing position:\n\n```text\n UL _____ UR\n   \\     /\n   /     \\\n LL _____ LR\n```\n\n";
    row(out, ["Groove", "Before (mm)", "After (mm)", "Step (mm)"].iter().map(ToString::to_string));
    row(out, (0..4).map(|_| "---".to_string()));
    for line in &it.grooves {
        let known = |value: &Option<String>| value.as_ref().map_or("______".into(), |value| markdown_text(value));
        row(out, [line.name.to_string(), known(&line.before), known(&line.after), known(&line.step)].into_iter());
    }
    let light = it.light.as_ref().map_or("none [ ] seen [ ]".to_string(), |light| markdown_text(light));
    *out += &format!("\nLight: {light}. Gauge: ______ Reach: ______ mm Travel: ______ mm By: ______ Date: ______\n");
}
