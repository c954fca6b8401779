//! A paper before it has a format: headings, facts, tables and pictures. Its words are chosen once, and every format
//! prints the same.

mod escape;
pub mod html;
pub mod markdown;

pub use escape::{markdown_line, markdown_text};

use crate::views::report::State;

/// A paper.
#[derive(Clone, Debug, Default)]
pub struct Paper {
    pub title: String,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug)]
pub enum Block {
    /// A heading below the title; the first level is 2.
    Heading(u8, String),
    Text(String),
    List(Vec<String>),
    /// Names with their values.
    Facts(Vec<(&'static str, Cell)>),
    Table(Table),
    Picture(Picture),
}

#[derive(Clone, Debug)]
pub struct Table {
    pub caption: String,
    pub head: Vec<&'static str>,
    pub rows: Vec<Vec<Cell>>,
}

#[derive(Clone, Debug)]
pub enum Cell {
    Text(String),
    /// Set to the right, so that digits stand under digits.
    Number(String),
    State(State),
    /// A text that must catch the eye: something is wrong there.
    Wrong(String),
}

impl Cell {
    pub fn text(&self) -> &str {
        match self {
            Cell::Text(text) | Cell::Number(text) | Cell::Wrong(text) => text,
            Cell::State(state) => state.word(),
        }
    }

    /// A number, or a dash where it is not known.
    pub fn number(number: Option<String>) -> Cell {
        number.map_or_else(Cell::none, Cell::Number)
    }

    /// A text, or a dash where it is not known.
    pub fn given(text: Option<impl Into<String>>) -> Cell {
        text.map_or_else(Cell::none, |text| Cell::Text(text.into()))
    }

    /// Not known, or not recorded.
    pub fn none() -> Cell {
        Cell::Text("–".into())
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Cell {
        Cell::Text(text.into())
    }
}

/// A picture with what it says in words. Formats without pictures print the words.
#[derive(Clone, Debug)]
pub struct Picture {
    pub title: String,
    pub text: String,
    /// An `svg` element, complete and escaped.
    pub svg: maud::PreEscaped<String>,
}

impl Paper {
    pub fn new(title: impl Into<String>) -> Paper {
        Paper { title: title.into(), blocks: Vec::new() }
    }

    pub fn heading(&mut self, level: u8, text: impl Into<String>) {
        self.blocks.push(Block::Heading(level, text.into()));
    }

    pub fn say(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Text(text.into()));
    }

    pub fn facts(&mut self, facts: Vec<(&'static str, Cell)>) {
        self.blocks.push(Block::Facts(facts));
    }

    /// A table; nothing where it has no rows.
    pub fn table(&mut self, caption: impl Into<String>, head: &[&'static str], rows: Vec<Vec<Cell>>) {
        if !rows.is_empty() {
            self.blocks.push(Block::Table(Table { caption: caption.into(), head: head.to_vec(), rows }));
        }
    }

    pub fn picture(&mut self, picture: Option<Picture>) {
        self.blocks.extend(picture.map(Block::Picture));
    }

    /// The cautions, and what the tool is not.
    pub fn cautions(&mut self) {
        self.heading(2, "Cautions");
        let all = crate::views::cautions::CAUTIONS.iter().map(|caution| format!("{}: {}", caution.title, caution.text));
        self.blocks.push(Block::List(all.collect()));
        self.say(crate::views::cautions::NO_SUBSTITUTE);
    }
}
