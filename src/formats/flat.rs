//! Readings as delimited text (RFC 4180) or as JSON Lines: a row a reading, the same columns in both.
//!
//! A spreadsheet runs a cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage return as a formula. Such a cell
//! gets an apostrophe in front, the spreadsheets' own mark for text, unless it is a plain number, which no formula is:
//! so `-0.02` stays a number. The same within a cell after a semicolon, where many countries' spreadsheets part cells.
//! Control characters are written out, so that a row is one line. JSON has no formulas, and its strings stay as they are.
//!
//! Down a table most cells stay as they are: what rows share is spelt once, and what stays as it was in the row above is copied from
//! there. When each cell was spelt by itself, an export took six times the instructions (benches/README.md).

use std::borrow::Cow;
use std::io;

use smol_str::SmolStr;

use super::{clean, json};
use crate::judging::lint::Judged;
use crate::views::readings::{
    Common, FORMAT, LedgerCells, LimitCells, ReadQuantity, Reading, ReadingPlace, ReadingRow, RecordCells, each,
};

/// How readings are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingFormat {
    /// Delimited text, a row a reading.
    Delimited,
    /// A line of JSON a reading, its numbers exact.
    JsonLines,
}

impl ReadingFormat {
    /// What stands above the rows: their names, in delimited text.
    pub fn head(self) -> String {
        match self {
            ReadingFormat::Delimited => format!("{}\r\n", Reading::COLUMNS.join(",")),
            ReadingFormat::JsonLines => String::new(),
        }
    }

    /// All rows of a ledger.
    pub fn rows(self, judged: &Judged) -> io::Result<Vec<u8>> {
        self.rows_instead(judged, Vec::new())
    }

    /// The same in place of a text that is done with: memory that was used before need not be made ready again.
    pub fn rows_instead(self, judged: &Judged, out: Vec<u8>) -> io::Result<Vec<u8>> {
        let mut writer = RowWriter::new(self, out);
        let mut written = Ok(());
        each(judged, |row| {
            if written.is_ok() {
                written = writer.row(row);
            }
        });
        written.map(|()| writer.out)
    }

    /// What stands in front of a cell.
    fn in_front(self, column: usize) -> String {
        match self {
            ReadingFormat::Delimited => if column == 0 { "" } else { "," }.into(),
            ReadingFormat::JsonLines => {
                let first = if column == 0 { format!("{{\"format\":{FORMAT:?}") } else { String::new() };
                format!("{first},{:?}:", Reading::COLUMNS[column])
            }
        }
    }

    fn end(self) -> &'static str {
        match self {
            ReadingFormat::Delimited => "\r\n",
            ReadingFormat::JsonLines => "}\n",
        }
    }

    fn text(self, text: &str, to: &mut Vec<u8>) -> io::Result<()> {
        let is_bare = is_bare(text);
        match self {
            ReadingFormat::Delimited if is_bare && !text.bytes().next().is_some_and(begins_something) => {
                to.extend_from_slice(text.as_bytes());
            }
            ReadingFormat::Delimited => quoted(&defused(text), to),
            ReadingFormat::JsonLines if is_bare => {
                to.push(b'"');
                to.extend_from_slice(text.as_bytes());
                to.push(b'"');
            }
            ReadingFormat::JsonLines => json::write(to, &text)?,
        }
        Ok(())
    }

    fn number(self, number: Option<&str>, to: &mut Vec<u8>) {
        match (self, number) {
            (_, Some(number)) => to.extend_from_slice(number.as_bytes()),
            (ReadingFormat::Delimited, None) => {}
            (ReadingFormat::JsonLines, None) => to.extend_from_slice(b"null"),
        }
    }

    fn words(self, words: &[&str], to: &mut Vec<u8>) -> io::Result<()> {
        match self {
            ReadingFormat::Delimited => self.text(&words.join(" "), to),
            ReadingFormat::JsonLines => Ok(json::write(to, &words)?),
        }
    }
}

/// Whether there are only signs that people see, and that neither part nor end nor quote a cell or a string of JSON.
fn is_bare(text: &str) -> bool {
    let bare = |byte: u8| (b' '..=b'~').contains(&byte) & !matches!(byte, b'"' | b'\\' | b',' | b';');
    if text.len() < 16 {
        return text.bytes().all(bare);
    }
    // All of them are looked at, so that sixteen are at once.
    text.bytes().fold(true, |all, byte| all & bare(byte))
}

/// Whether a formula or a command may begin so.
fn begins_something(byte: u8) -> bool {
    matches!(byte, b'=' | b'+' | b'-' | b'@' | b' ' | b':' | b'#')
}

/// What a reading holds in one column.
#[derive(Clone, Copy)]
enum Cell<'r> {
    Text(&'r str),
    Number(Option<&'r str>),
}

/// What rows share, by its number, as it was spelt for the first of them.
#[derive(Default)]
struct SpeltOnce {
    /// Where each stands in the text.
    places: Vec<Option<(usize, usize)>>,
    text: Vec<u8>,
}

impl SpeltOnce {
    fn get(&self, number: u32) -> Option<&[u8]> {
        let (from, to) = (*self.places.get(number as usize)?)?;
        self.text.get(from..to)
    }

    fn keep(&mut self, number: u32, spelt: &[u8]) {
        let from = self.text.len();
        self.text.extend_from_slice(spelt);
        let number = number as usize;
        if self.places.len() <= number {
            self.places.resize(number + 1, None);
        }
        self.places[number] = Some((from, self.text.len()));
    }
}

/// Writes rows, one behind the other.
struct RowWriter {
    format: ReadingFormat,
    out: Vec<u8>,
    in_front: [Vec<u8>; Reading::COLUMNS.len()],
    /// The cells of what rows share, which may stand in two places of a row.
    spelt: [SpeltOnce; 2],
    /// The beginnings of ids, where they need no care; nothing where they do.
    ids: SpeltOnce,
    /// Cells side by side that a row often has in common with the one above it.
    runs: [RunAbove<[u32; 3]>; 3],
    /// What was read, for each bolt of a support: row after row names the same bolts.
    read: [RunAbove<ReadQuantity>; 4],
}

/// Cells side by side as a row above has them, and what they tell. They are kept beside the table: what has just been written is
/// slow to read back.
#[derive(Default)]
struct RunAbove<T> {
    of: T,
    spelt: Vec<u8>,
}

impl RowWriter {
    fn new(format: ReadingFormat, mut out: Vec<u8>) -> Self {
        out.clear();
        RowWriter {
            format,
            out,
            in_front: std::array::from_fn(|column| format.in_front(column).into_bytes()),
            spelt: Default::default(),
            ids: SpeltOnce::default(),
            runs: Default::default(),
            read: Default::default(),
        }
    }

    /// One row, in the order of [`Reading::COLUMNS`].
    fn row(&mut self, row: &ReadingRow) -> io::Result<()> {
        use Cell::{Number, Text};
        let RowWriter { format, out, in_front, spelt: [once, again], ids, runs, read } = self;
        let [beginning, about, end] = runs;
        let (place, record, limit) = (row.place.number, row.record.number, row.limit.number);
        let mut cells = Cells { format: *format, in_front, column: 0, out };
        cells.id(ids, row)?;
        cells.run(beginning, [place, record, 0], 10, |cells| {
            cells.shared(once, row.ledger, |LedgerCells { ledger, machine }| [Text(ledger), Text(machine)])?;
            cells.shared(once, row.place, |place: &ReadingPlace| {
                [
                    Text(&place.axis_name),
                    Text(&place.rail_name),
                    Text(&place.joint),
                    Text(&place.support),
                    Number(place.position_mm.as_deref()),
                    Text(&place.address),
                ]
            })?;
            cells.shared(once, row.record, |of: &RecordCells| [Text(of.record), Text(of.stage)])
        })?;
        let what = &row.what;
        cells.run(&mut read[what.bolt.unwrap_or(0) as usize % 4], *what, 5, |cells| {
            cells.word(what.quantity);
            cells.word(what.interface);
            cells.count(what.bolt);
            cells.word(what.groove);
            cells.word(what.side);
            Ok(())
        })?;
        cells.count(Some(row.repeat));
        cells.text(row.written)?;
        cells.number(row.value);
        cells.word(row.unit);
        cells.shared(once, row.limit, |of: &LimitCells| [Number(of.least.as_deref()), Number(of.most.as_deref())])?;
        cells.number(row.uncertainty);
        cells.run(about, [place, record, limit], 9, |cells| {
            cells.shared(again, row.limit, |of: &LimitCells| [Text(&of.text), Text(&of.source)])?;
            cells.shared(again, row.record, |of: &RecordCells| {
                [Text(&of.day), Text(&of.time), Text(&of.by), Text(&of.instrument), Text(&of.calibration)]
            })?;
            cells.shared(again, row.place, |of: &ReadingPlace| [Text(&of.serial), Text(&of.lot)])
        })?;
        let mut stands = |cells: &mut Cells| {
            cells.word(row.verdict.word());
            cells.number(Some(if row.in_force { "true" } else { "false" }));
            cells.next(|format, out| format.words(row.rules, out))?;
            cells.shared(once, row.file, |file: &SmolStr| [Text(file)])
        };
        match row.rules {
            [] => cells.run(end, [row.verdict as u32, u32::from(row.in_force), row.file.number], 4, stands)?,
            _ => stands(&mut cells)?,
        }
        cells.count(Some(row.line));
        out.extend_from_slice(format.end().as_bytes());
        Ok(())
    }
}

/// The cells of one row, as they follow on each other.
struct Cells<'w> {
    format: ReadingFormat,
    in_front: &'w [Vec<u8>],
    column: usize,
    out: &'w mut Vec<u8>,
}

impl Cells<'_> {
    fn next<T>(&mut self, spell: impl FnOnce(ReadingFormat, &mut Vec<u8>) -> T) -> T {
        match self.in_front[self.column][..] {
            [comma] => self.out.push(comma),
            ref in_front => self.out.extend_from_slice(in_front),
        }
        self.column += 1;
        spell(self.format, self.out)
    }

    /// A word of our own: there is nothing in it to be defused.
    fn word(&mut self, word: &'static str) {
        self.next(|format, out| match format {
            ReadingFormat::Delimited if word.is_empty() => {}
            ReadingFormat::Delimited => out.extend_from_slice(word.as_bytes()),
            ReadingFormat::JsonLines => {
                out.push(b'"');
                out.extend_from_slice(word.as_bytes());
                out.push(b'"');
            }
        });
    }

    fn text(&mut self, text: &str) -> io::Result<()> {
        self.next(|format, out| format.text(text, out))
    }

    /// A number as it is printed, or another word that no format puts in quotation marks.
    fn number(&mut self, number: Option<&str>) {
        self.next(|format, out| format.number(number, out));
    }

    fn count(&mut self, count: Option<u32>) {
        let Some(mut rest) = count else { return self.number(None) };
        // From the last digit to the first.
        let mut digits = [b'0'; 10];
        let mut first = digits.len();
        loop {
            first -= 1;
            digits[first] = b'0' + (rest % 10) as u8;
            rest /= 10;
            if rest == 0 {
                break;
            }
        }
        self.next(|_, out| out.extend_from_slice(&digits[first..]));
    }

    /// The id of a row: put together from what is known to need no care, else with all of it.
    fn id(&mut self, ids: &mut SpeltOnce, row: &ReadingRow) -> io::Result<()> {
        for (number, part) in
            [(row.record.number, row.record.of.id.as_str()), (row.place.number, &row.place.of.address)]
        {
            if ids.get(number).is_none() {
                let needs_care = !is_bare(part) || part.bytes().next().is_some_and(begins_something);
                ids.keep(number, if needs_care { b"" } else { part.as_bytes() });
            }
        }
        let parts = (ids.get(row.record.number), ids.get(row.place.number));
        let (Some(record @ [_, ..]), Some(place @ [_, ..])) = parts else { return self.text(&row.id()) };
        self.next(|format, out| {
            let quotes: &[u8] = if format == ReadingFormat::JsonLines { b"\"" } else { b"" };
            out.extend_from_slice(quotes);
            out.extend_from_slice(record);
            out.push(b'|');
            out.extend_from_slice(place);
            out.push(b'|');
            row.end_of_id(&mut |part| out.extend_from_slice(part.as_bytes()));
            out.extend_from_slice(quotes);
        });
        Ok(())
    }

    /// Cells that are copied from a row above, if that has them in common.
    fn run<T: PartialEq>(
        &mut self,
        above: &mut RunAbove<T>,
        of: T,
        count: usize,
        spell: impl FnOnce(&mut Self) -> io::Result<()>,
    ) -> io::Result<()> {
        if above.of == of && !above.spelt.is_empty() {
            self.out.extend_from_slice(&above.spelt);
            self.column += count;
            return Ok(());
        }
        let begins = self.out.len();
        spell(self)?;
        above.of = of;
        above.spelt.clear();
        above.spelt.extend_from_slice(&self.out[begins..]);
        Ok(())
    }

    /// Cells that were spelt for an earlier row, if that shares them.
    fn shared<T, const N: usize>(
        &mut self,
        spelt: &mut SpeltOnce,
        common: &Common<T>,
        cells: impl FnOnce(&T) -> [Cell<'_>; N],
    ) -> io::Result<()> {
        if let Some(spelt) = spelt.get(common.number) {
            self.out.extend_from_slice(spelt);
            self.column += N;
            return Ok(());
        }
        let begins = self.out.len();
        for cell in cells(&common.of) {
            match cell {
                Cell::Text(text) => self.text(text)?,
                Cell::Number(number) => self.number(number),
            }
        }
        spelt.keep(common.number, &self.out[begins..]);
        Ok(())
    }
}

/// A field of delimited text, in quotation marks where it needs them.
fn quoted(text: &str, to: &mut Vec<u8>) {
    let mut writer = csv_core::Writer::new();
    let begins = to.len();
    // Each byte may be a quotation mark, which is doubled; two more stand around it all.
    to.resize(begins + 2 * text.len() + 2, 0);
    let (_, _, field) = writer.field(text.as_bytes(), &mut to[begins..]);
    let (_, end) = writer.finish(&mut to[begins + field..]);
    to.truncate(begins + field + end);
}

/// A cell that no spreadsheet takes for a formula.
pub(crate) fn defused(cell: &str) -> Cow<'_, str> {
    if is_plain_number(cell) {
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
