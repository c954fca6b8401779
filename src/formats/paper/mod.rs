//! A paper printed: as Markdown, as one HTML page, or as plain text. What a paper is made of stands in `views::paper`.

mod escape;
pub(crate) mod html;
mod in_characters;
pub(crate) mod markdown;
pub(crate) mod plain;

/// Which tool a paper is made by.
pub(super) const MADE_BY: &str = concat!("made by wayledger ", env!("CARGO_PKG_VERSION"));

pub(crate) use escape::{html_text, markdown_line, markdown_text};
