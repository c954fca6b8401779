//! `wayledger export`: readings for spreadsheets, data frames and databases.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use clap::ValueEnum;

use super::source::{SourceArguments, asked, unread};
use super::{CLEAN, CommandError, FAILED, output};
use crate::formats::flat::ReadingFormat;
use crate::judging::lint::{Judged, lint_into};
use crate::world::World;

/// Writes every reading of ledgers as a flat table, a row a reading: what was read where, by whom and with what, the number
/// with its limits and how far it may be off, and how it stands today. `schema/export.md` says what each column holds.
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
    /// Write a file for each ledger into this new folder, under the ledger's own path, for engines that read many files.
    #[arg(long, value_name = "FOLDER")]
    output: Option<PathBuf>,
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

/// The rows of one ledger.
struct ExportedLedger {
    /// Where it lies; nothing for a shop file.
    path: Option<String>,
    hindered: bool,
    rows: io::Result<Vec<u8>>,
}

pub(crate) fn run(arguments: &ExportArguments) -> Result<u8, CommandError> {
    let world = arguments.source.open()?;
    let world: &dyn World = &*world;
    let asked = asked(world, &arguments.paths)?;
    let format = arguments.format;
    // Texts that are written out, for the next ledgers.
    let used: Mutex<Vec<Vec<u8>>> = Mutex::default();
    let spare = || used.lock().ok().and_then(|mut used| used.pop()).unwrap_or_default();
    // Ledgers are read, judged and written apart from each other, and put together in their order.
    let make = |judged: Judged| ExportedLedger {
        path: (!judged.is_shop).then(|| judged.path.to_string()),
        hindered: unread(&judged),
        rows: if judged.is_shop { Ok(Vec::new()) } else { format.of_readings().rows_instead(&judged, spare()) },
    };
    let mut hindered = asked.hindered;
    let mut out: Box<dyn ExportTarget> = match &arguments.output {
        None => Box::new(OneTable::new(output::standard(), format)?),
        Some(folder) => Box::new(TableFolder::new(folder, format)?),
    };
    let mut failed = Ok(());
    lint_into(world, &asked.found, world.day(), make, |ledger| {
        hindered |= ledger.hindered;
        if let (Ok(()), Some(path)) = (&failed, &ledger.path) {
            failed = ledger.rows.map_err(CommandError::from).and_then(|rows| {
                out.take(path, &rows)?;
                used.lock().map(|mut used| used.push(rows)).unwrap_or_default();
                Ok(())
            });
        }
    });
    failed?;
    out.finish()?;
    Ok(if hindered { FAILED } else { CLEAN })
}

impl Format {
    fn of_readings(self) -> ReadingFormat {
        match self {
            Format::Csv => ReadingFormat::Delimited,
            Format::Jsonl => ReadingFormat::JsonLines,
        }
    }

    fn ending(self) -> &'static str {
        match self {
            Format::Csv => "csv",
            Format::Jsonl => "jsonl",
        }
    }
}

/// Where rows go.
trait ExportTarget {
    fn take(&mut self, ledger: &str, rows: &[u8]) -> Result<(), CommandError>;

    fn finish(&mut self) -> io::Result<()>;
}

/// All ledgers below each other.
struct OneTable<W: Write>(W);

impl<W: Write> OneTable<W> {
    fn new(mut out: W, format: Format) -> io::Result<Self> {
        out.write_all(format.of_readings().head().as_bytes())?;
        Ok(OneTable(out))
    }
}

impl<W: Write> ExportTarget for OneTable<W> {
    fn take(&mut self, _ledger: &str, rows: &[u8]) -> Result<(), CommandError> {
        Ok(self.0.write_all(rows)?)
    }

    fn finish(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// A file for each ledger, in a folder that was not there before.
struct TableFolder {
    folder: PathBuf,
    format: Format,
}

impl TableFolder {
    fn new(folder: &Path, format: Format) -> Result<Self, CommandError> {
        if folder.exists() && fs::read_dir(folder).map_or(true, |mut all| all.next().is_some()) {
            return Err(CommandError::Said(format!(
                "{} is there and is no empty folder: take another one, so that no file of an earlier export is taken for one of this",
                folder.display()
            )));
        }
        make_folder(folder)?;
        Ok(TableFolder { folder: folder.to_owned(), format })
    }
}

fn make_folder(folder: &Path) -> Result<(), CommandError> {
    fs::create_dir_all(folder)
        .map_err(|why| CommandError::Said(format!("{} cannot be made as a folder: {why}", folder.display())))
}

impl ExportTarget for TableFolder {
    fn take(&mut self, ledger: &str, rows: &[u8]) -> Result<(), CommandError> {
        // A path from elsewhere must not lead out of the folder.
        let parts = ledger.split(['/', '\\']).map(|part| match part {
            "" | "." => "here",
            ".." => "up",
            part => part,
        });
        let mut file = self.folder.clone();
        file.extend(parts);
        make_folder(&file)?;
        let file = file.join(format!("readings.{}", self.format.ending()));
        // Two ledgers may come to the same name here: no rows are written over others.
        let mut open = File::create_new(&file).map_err(|why| {
            CommandError::Said(format!("{} cannot be written for the ledger {ledger}: {why}", file.display()))
        })?;
        open.write_all(self.format.of_readings().head().as_bytes())?;
        Ok(open.write_all(rows)?)
    }

    fn finish(&mut self) -> io::Result<()> {
        Ok(())
    }
}
