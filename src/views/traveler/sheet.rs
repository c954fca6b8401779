//! What a traveler is made of, as plain data: sections of steps, tables and drawings. Paper is made of it in `formats`.

/// The document that goes with the job on one axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Traveler {
    pub title: String,
    /// What it is about: name and value.
    pub facts: Vec<(&'static str, String)>,
    pub sections: Vec<Section>,
}

/// A stretch of work under one heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    pub title: String,
    pub blocks: Vec<Block>,
}

impl Section {
    pub fn new(title: impl Into<String>) -> Section {
        Section { title: title.into(), blocks: Vec::new() }
    }

    pub fn text(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Text(text.into()));
    }

    pub fn steps(&mut self, steps: Vec<Step>) {
        if !steps.is_empty() {
            self.blocks.push(Block::Steps(steps));
        }
    }

    pub fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.blocks.push(Block::Table(table));
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
#[allow(clippy::large_enum_variant, reason = "a sheet has a few dozen blocks; boxing one would only blur what it is")]
pub enum Block {
    Text(String),
    /// Work in its order, each with a box to tick.
    Steps(Vec<Step>),
    Table(Table),
    Joint(Box<Joint>),
    /// Work stops here until somebody signs: what is signed for.
    Hold(String),
}

/// One piece of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    pub what: String,
    /// The ledger already has it.
    pub done: bool,
}

impl Step {
    pub fn open(what: impl Into<String>) -> Step {
        Step { what: what.into(), done: false }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    pub head: Vec<String>,
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    pub fn new<const N: usize>(head: [&str; N]) -> Table {
        Table { head: head.map(str::to_string).to_vec(), rows: Vec::new() }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cell {
    Text(String),
    Number(String),
    /// To be written in.
    Blank,
    /// To be ticked, or ticked already.
    Tick(bool),
    /// Nothing belongs here.
    Nothing,
}

impl Cell {
    pub fn text(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }

    /// What is known, or a blank.
    pub fn known(text: Option<String>) -> Cell {
        text.map_or(Cell::Blank, Cell::Text)
    }
}

/// The inspection of one joint, with its four grooves drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joint {
    pub name: String,
    /// Where it lies and between what.
    pub place: String,
    /// Why it is to be read (again), or that it is done.
    pub state: String,
    /// The limit of each groove's step, with its source.
    pub limit: String,
    /// Light as recorded.
    pub light: Option<String>,
    pub grooves: [GrooveLine; 4],
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GrooveLine {
    pub name: &'static str,
    pub before: Option<String>,
    pub after: Option<String>,
    pub step: Option<String>,
}
