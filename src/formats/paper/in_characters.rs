//! What is written in or ticked with a pen, drawn in characters: Markdown and plain text show it alike.

use crate::views::paper::TableCell;

/// Room to write in.
pub(super) const BLANK: &str = "______";

/// A box, ticked or to be ticked.
pub(super) fn tick(done: bool) -> &'static str {
    if done { "[x]" } else { "[ ]" }
}

/// A cell, its text made harmless by `text`.
pub(super) fn cell(cell: &TableCell, text: impl Fn(&str) -> String) -> String {
    match cell {
        TableCell::Text(said) | TableCell::Number(said) | TableCell::Wrong(said) => text(said),
        TableCell::Link { text: said, .. } => text(said),
        TableCell::State(state) => state.word().into(),
        TableCell::Blank => BLANK.into(),
        TableCell::Tick(done) => tick(*done).into(),
        TableCell::Choice(words) => {
            words.iter().map(|word| format!("{} {word}", tick(false))).collect::<Vec<_>>().join(" ")
        }
        TableCell::Nothing => "–".into(),
    }
}
