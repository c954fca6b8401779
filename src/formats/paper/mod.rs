//! A paper printed: as Markdown, as one HTML page, or as plain text. What a paper is made of stands in `views::paper`.

mod escape;
pub mod html;
mod in_characters;
pub mod markdown;
pub mod plain;

pub use escape::{html_text, markdown_line, markdown_text};
