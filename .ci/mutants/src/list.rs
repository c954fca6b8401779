//! The mutants as `cargo mutants --list --json` names them.

use std::path::Path;

use proc_macro2::LineColumn;
use serde::Deserialize;

/// One change to the program.
#[derive(Debug, Clone, Deserialize)]
pub struct Mutant {
    /// Its place in the list, counted from 1.
    #[serde(skip)]
    pub number: u32,
    pub file: String,
    pub genre: String,
    pub name: String,
    pub replacement: String,
    span: Position,
}

#[derive(Debug, Clone, Deserialize)]
struct Position {
    start: Place,
}

#[derive(Debug, Clone, Deserialize)]
struct Place {
    line: usize,
    column: usize,
}

impl Mutant {
    pub fn start(&self) -> LineColumn {
        LineColumn { line: self.span.start.line, column: self.span.start.column - 1 }
    }

    /// The room it is in, such as `calc`.
    pub fn room(&self) -> &str {
        self.file.split('/').nth(1).unwrap_or("")
    }
}

pub fn read(path: &Path) -> Vec<Mutant> {
    let text = std::fs::read_to_string(path).expect("the list of mutants can be read");
    let mut mutants: Vec<Mutant> = serde_json::from_str(&text).expect("the list is JSON of cargo-mutants");
    for (number, mutant) in (1..).zip(&mut mutants) {
        mutant.number = number;
    }
    mutants
}
