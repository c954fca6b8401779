//! `wayledger export`: readings for spreadsheets and data frames.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::ValueEnum;

use super::source::{SourceArguments, asked, unread};
use super::{CLEAN, CommandError, FAILED, output};
use crate::formats::flat::{Delimited, json_line};
use crate::judging::lint::{Judged, lint};
use crate::views::readings::collect;

/// Writes every reading of ledgers as a flat table: address, reading as written and as a number in its plain unit, gauge
/// or wrench, person, date, and what the rules say of it.
///
/// In CSV, a text that a spreadsheet would run as a formula gets an apostrophe in front.
///
/// Exit code: 0 when all was written, 2 when a ledger or a file of it could not be read.
#[derive(Debug, clap::Args)]
pub(crate) struct ExportArguments {
    /// Ledgers, folders that hold ledgers, or files of a ledger.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    /// How the table is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    #[command(flatten)]
    source: SourceArguments,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Delimited text with commas and a header row, UTF-8.
    #[default]
    Csv,
    /// A JSON object a line.
    Jsonl,
}

pub(crate) fn run(arguments: &ExportArguments) -> Result<u8, CommandError> {
    let world = arguments.source.open()?;
    let asked = asked(&*world, &arguments.paths)?;
    let mut table = ExportTable::new(output::standard(), arguments.format)?;
    let mut hindered = asked.hindered;
    let mut failed: io::Result<()> = Ok(());
    lint(&*world, &asked.found, world.day(), |judged| {
        hindered |= unread(&judged);
        if failed.is_ok() && !judged.is_shop {
            failed = table.take(&judged);
        }
    });
    failed?;
    table.finish()?;
    Ok(if hindered { FAILED } else { CLEAN })
}

enum ExportTable<W: Write> {
    Delimited(Box<Delimited<W>>),
    Lines(W),
}

impl<W: Write> ExportTable<W> {
    fn new(out: W, format: Format) -> io::Result<Self> {
        Ok(match format {
            Format::Csv => ExportTable::Delimited(Box::new(Delimited::new(out)?)),
            Format::Jsonl => ExportTable::Lines(out),
        })
    }

    fn take(&mut self, judged: &Judged) -> io::Result<()> {
        for reading in collect(judged) {
            match self {
                ExportTable::Delimited(table) => table.row(&reading)?,
                ExportTable::Lines(out) => json_line(out, &reading)?,
            }
        }
        Ok(())
    }

    fn finish(self) -> io::Result<()> {
        match self {
            ExportTable::Delimited(table) => table.finish(),
            ExportTable::Lines(mut out) => out.flush(),
        }
    }
}
