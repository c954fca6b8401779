//! Readings as delimited text (RFC 4180) or as JSON Lines: a row a reading, the same columns in both.
//!
//! A spreadsheet runs a cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage return as a formula. Such a cell
//! gets an apostrophe in front, the spreadsheets' own mark for text, unless it is a plain number, which no formula is:
//! so `-0.02` stays a number. The same within a cell after a semicolon, where many countries' spreadsheets part cells.
//! Control characters are written out, so that a row is one line. JSON has no formulas, and its strings stay as they are.

use std::borrow::Cow;
use std::io::{self, Write};

use super::clean;
use crate::views::readings::{ExactNumber, Reading};

/// One row in the order of [`Reading::COLUMNS`].
fn cells(reading: &Reading) -> [Cow<'_, str>; Reading::COLUMNS.len()] {
    fn number(number: &Option<ExactNumber>) -> Cow<'_, str> {
        number.as_ref().map_or("", |number| number.0.as_str()).into()
    }
    [
        reading.id.as_str().into(),
        reading.ledger.as_str().into(),
        reading.machine.as_str().into(),
        reading.axis.as_str().into(),
        reading.rail.as_str().into(),
        reading.joint.as_str().into(),
        reading.support.as_str().into(),
        number(&reading.position_mm),
        reading.address.as_str().into(),
        reading.record.into(),
        reading.stage.into(),
        reading.quantity.as_str().into(),
        reading.interface.into(),
        reading.bolt.map_or_else(String::new, |bolt| bolt.to_string()).into(),
        reading.groove.into(),
        reading.side.into(),
        reading.repeat.to_string().into(),
        reading.written.as_str().into(),
        number(&reading.value),
        reading.unit.into(),
        number(&reading.least),
        number(&reading.most),
        number(&reading.uncertainty),
        reading.limit_text.as_str().into(),
        reading.limit_source.as_str().into(),
        reading.day.as_str().into(),
        reading.time.as_str().into(),
        reading.by.as_str().into(),
        reading.instrument.as_str().into(),
        reading.calibration.as_str().into(),
        reading.serial.as_str().into(),
        reading.lot.as_str().into(),
        reading.verdict.word().into(),
        if reading.in_force { "true" } else { "false" }.into(),
        reading.rules.join(" ").into(),
        reading.file.as_str().into(),
        reading.line.to_string().into(),
    ]
}

/// A cell that no spreadsheet takes for a formula.
pub(crate) fn defused(cell: &str) -> Cow<'_, str> {
    // Most cells are words, names and numbers: what could be a formula, or part cells, has one of these.
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"._ |:/,()".contains(&byte);
    if is_plain_number(cell) || cell.bytes().all(is_plain) {
        return cell.into();
    }
    let parts: Vec<String> = clean(cell).split(';').map(apart).collect();
    parts.join(";").into()
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

/// The text of a table that is whole.
pub(crate) fn written(table: csv::Writer<Vec<u8>>) -> Result<String, csv::Error> {
    let bytes = table.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Delimited text as it is written, reading by reading.
pub struct Delimited<W: Write>(csv::Writer<W>);

impl<W: Write> Delimited<W> {
    /// Begins with the row of names.
    pub fn new(out: W) -> io::Result<Self> {
        let mut table = Delimited::more(out);
        table.0.write_record(Reading::COLUMNS)?;
        Ok(table)
    }

    /// Rows that belong below others.
    pub fn more(out: W) -> Self {
        Delimited(csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out))
    }

    /// Writes one row.
    pub fn row(&mut self, reading: &Reading) -> io::Result<()> {
        for cell in &cells(reading) {
            self.0.write_field(defused(cell).as_bytes())?;
        }
        self.0.write_record(None::<&[u8]>)?;
        Ok(())
    }

    /// Ends the table.
    pub fn finish(mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// One reading as one line of JSON, its numbers exact.
pub fn json_line(out: &mut impl Write, reading: &Reading) -> io::Result<()> {
    super::json::write(&mut *out, reading)?;
    out.write_all(b"\n")
}
