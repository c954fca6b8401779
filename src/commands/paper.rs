//! How a paper is printed: the formats that every paper has.

use clap::ValueEnum;

use super::CommandError;
use crate::formats::paper::{html, markdown, plain};
use crate::views::paper::Paper;
use crate::world::World;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperFormat {
    /// For the terminal.
    #[default]
    Text,
    /// For review: one fact a line.
    Markdown,
    /// For programs.
    Json,
    /// One page that stands for itself, with pictures.
    Html,
}

impl PaperFormat {
    /// The paper in one of its formats, saying what it was made from, or as JSON the data that it is made from.
    pub(crate) fn print(
        self,
        shows: String,
        paper: impl FnOnce() -> Paper,
        data: &impl serde::Serialize,
    ) -> Result<String, CommandError> {
        let paper = || Paper { shows: Some(shows), ..paper() };
        Ok(match self {
            PaperFormat::Text => plain::plain(&paper()),
            PaperFormat::Markdown => markdown::markdown(&paper()),
            PaperFormat::Html => html::html(&paper()),
            PaperFormat::Json => json(data)?,
        })
    }
}

/// Which bytes a paper shows, and by which day they are judged.
pub(crate) fn shown(world: &dyn World) -> String {
    format!("{}, as of {}", world.called(), world.today())
}

/// JSON, one fact a line, so that two reports can be compared line by line.
fn json(what: &impl serde::Serialize) -> Result<String, CommandError> {
    crate::formats::json::pretty(what).map_err(|why| CommandError::Said(why.to_string()))
}
