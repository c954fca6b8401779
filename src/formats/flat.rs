//! Readings as delimited text (RFC 4180) or as JSON Lines: a row a reading, the same columns in both.
//!
//! A spreadsheet runs a cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage return as a formula. Such a cell
//! gets an apostrophe in front, the spreadsheets' own mark for text, unless it is a plain number, which no formula is:
//! so `-0.02` stays a number. The same within a cell after a semicolon, where many countries' spreadsheets part cells.
//! Control characters are written out, so that a row is one line. JSON has no formulas, and its strings stay as they are.

use std::io::{self, Write};

use schemars::JsonSchema;
use serde::Serialize;

use super::clean;
use crate::views::readings::Reading;

/// One row in the order of [`Reading::COLUMNS`].
fn cells(reading: &Reading) -> [String; 18] {
    let text = |text: &str| text.to_owned();
    [
        text(&reading.ledger),
        text(&reading.machine),
        text(&reading.address),
        text(reading.record),
        text(reading.stage),
        text(&reading.what),
        text(&reading.written),
        reading.value.clone().unwrap_or_default(),
        text(reading.unit),
        text(&reading.instrument),
        text(&reading.by),
        text(&reading.date),
        text(reading.verdict.word()),
        text(&reading.limit),
        text(&reading.limit_source),
        reading.rules.join(" "),
        text(&reading.file),
        reading.line.to_string(),
    ]
}

/// A cell that no spreadsheet takes for a formula.
pub(crate) fn defused(cell: &str) -> String {
    if is_plain_number(cell) {
        return cell.to_owned();
    }
    let parts: Vec<String> = clean(cell).split(';').map(apart).collect();
    parts.join(";")
}

/// A text that may come to stand in a cell of its own.
fn apart(text: &str) -> String {
    // A quotation mark in front would be taken for that of a cell.
    let starts_formula = text.trim_start_matches([' ', '"']).starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']);
    if starts_formula { format!("'{text}") } else { text.to_owned() }
}

/// A sign, digits and one decimal point: nothing a spreadsheet could run.
fn is_plain_number(cell: &str) -> bool {
    let digits = cell.strip_prefix(['-', '+']).unwrap_or(cell);
    let (whole, rest) = digits.split_once('.').unwrap_or((digits, "0"));
    let all = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    all(whole) && all(rest)
}

/// Delimited text as it is written, reading by reading.
pub struct Delimited<W: Write>(csv::Writer<W>);

impl<W: Write> Delimited<W> {
    /// Begins with the row of names.
    pub fn new(out: W) -> io::Result<Self> {
        let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out);
        writer.write_record(Reading::COLUMNS)?;
        Ok(Delimited(writer))
    }

    /// Writes one row.
    pub fn row(&mut self, reading: &Reading) -> io::Result<()> {
        self.0.write_record(cells(reading).iter().map(|cell| defused(cell)))?;
        Ok(())
    }

    /// Ends the table.
    pub fn finish(mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// The shape of a line, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-reading-1";

/// A reading as a line of JSON.
#[derive(Serialize, JsonSchema)]
pub(crate) struct ReadingJson<'r> {
    #[schemars(extend("const" = FORMAT))]
    format: &'static str,
    ledger: &'r str,
    machine: &'r str,
    address: &'r str,
    record: &'r str,
    stage: &'r str,
    what: &'r str,
    written: &'r str,
    /// Exactly as a number, in `unit`.
    #[schemars(with = "Option<f64>")]
    value: Option<Box<serde_json::value::RawValue>>,
    unit: &'r str,
    instrument: &'r str,
    by: &'r str,
    date: &'r str,
    verdict: &'r str,
    #[serde(rename = "limit_text")]
    limit: &'r str,
    limit_source: &'r str,
    rules: &'r [&'static str],
    file: &'r str,
    line: u32,
}

/// One reading as one line of JSON, its value exactly as a number.
pub fn json_line(out: &mut impl Write, reading: &Reading) -> io::Result<()> {
    let number = |text: &String| serde_json::value::RawValue::from_string(text.clone());
    let row = ReadingJson {
        format: FORMAT,
        ledger: &reading.ledger,
        machine: &reading.machine,
        address: &reading.address,
        record: reading.record,
        stage: reading.stage,
        what: &reading.what,
        written: &reading.written,
        value: reading.value.as_ref().map(number).transpose()?,
        unit: reading.unit,
        instrument: &reading.instrument,
        by: &reading.by,
        date: &reading.date,
        verdict: reading.verdict.word(),
        limit: &reading.limit,
        limit_source: &reading.limit_source,
        rules: &reading.rules,
        file: &reading.file,
        line: reading.line,
    };
    super::json::write(&mut *out, &row)?;
    out.write_all(b"\n")
}
