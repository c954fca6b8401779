//! From delimited text to rows: each line of the file is a row or a misfit.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::Misfit;
use super::cells::{MappedColumns, cure, shorten};
use super::decode::{DecodeError, decode};
use super::mapping::{ColumnMeaning, DateOrder, MappedColumn, Mapping};

/// One row, its cells in the ledger's words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ImportRow {
    /// The line of the file, from 1.
    pub line: u64,
    pub(crate) place: Option<String>,
    /// Counted from 1.
    pub bolt: Option<usize>,
    pub(crate) joint: Option<String>,
    pub(crate) groove: Option<String>,
    pub(crate) before: Option<Number>,
    pub(crate) after: Option<Number>,
    pub(crate) reading: Option<Number>,
    pub(crate) date: Option<Date>,
    pub(crate) gauge: Option<String>,
    pub(crate) person: Option<String>,
}

/// A number as KDL spells it, with its unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Number {
    pub raw: String,
    pub unit: Option<String>,
}

/// What a file holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ImportRows {
    /// Rows that could be read.
    pub rows: Vec<ImportRow>,
    /// Rows that could not.
    pub misfits: Vec<Misfit>,
    /// Lines that hold readings or should: rows and misfits together.
    pub lines: usize,
}

/// Why nothing of a file can be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ImportError {
    /// The bytes are no text in the encoding that the mapping names.
    #[error("{0}")]
    Undecodable(#[from] DecodeError),
    /// The file is too large.
    #[error("it is {size} bytes; at most {most} are read")]
    TooLarge {
        /// Its bytes.
        size: usize,
        /// The most that are read.
        most: usize,
    },
    /// There are too many rows.
    #[error("it has more than {most} rows")]
    TooManyRows {
        /// The most that are read.
        most: usize,
    },
    /// The line that names the columns is not there.
    #[error("it has no header row")]
    NoHeader,
    /// A column that the mapping asks for is not there.
    #[error("it has no column `{missing}`; its columns are {found}")]
    NoColumn {
        /// Its name.
        missing: String,
        /// The names there are.
        found: String,
    },
    /// Two columns have the name that the mapping asks for.
    #[error("it has the column `{0}` twice: name the columns by number and state header=#false with skip")]
    TwiceTheColumn(String),
}

/// More than any gauge exports.
const MOST_BYTES: usize = 16 << 20;
const MOST_ROWS: usize = 100_000;
/// A reading or a name is never longer; a longer cell comes of a quote that is not closed.
const MOST_CELL: usize = 200;
/// No support has more bolts.
const MOST_BOLTS: usize = 64;

/// Reads a file by its mapping.
pub fn read(bytes: &[u8], mapping: &Mapping) -> Result<ImportRows, ImportError> {
    if bytes.len() > MOST_BYTES {
        return Err(ImportError::TooLarge { size: bytes.len(), most: MOST_BYTES });
    }
    let text = decode(bytes, mapping.encoding)?;
    let mut body = text.as_str();
    let mut skipped = 0;
    while skipped < mapping.skip as u64 {
        let Some(end) = body.find('\n') else {
            body = "";
            break;
        };
        body = &body[end + 1..];
        skipped += 1;
    }
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(mapping.separator)
        .from_reader(body.as_bytes());
    let mut records = reader.records();
    let mut found = ImportRows::default();
    let columns = match mapping.header {
        true => match records.next() {
            Some(Ok(header)) => by_name(&header, &mapping.columns)?,
            _ => return Err(ImportError::NoHeader),
        },
        false => by_number(&mapping.columns)?,
    };
    let mut lines = LineCounter { text: body, at: 0, line: skipped + 1 };
    let timed = columns.held.iter().find(|(_, column)| column.holds == ColumnMeaning::Date).map(|(at, _)| *at);
    let mut stamped: BTreeMap<Vec<String>, u64> = BTreeMap::new();
    for record in records {
        found.lines += 1;
        if found.lines > MOST_ROWS {
            return Err(ImportError::TooManyRows { most: MOST_ROWS });
        }
        let record = match record {
            Ok(record) => record,
            Err(why) => {
                let line = lines.at(why.position());
                found.misfits.push(Misfit { line, why: "the line cannot be read".into() });
                continue;
            }
        };
        let line = lines.at(record.position());
        if record.iter().all(|cell| cell.trim().is_empty()) {
            found.lines -= 1;
            continue;
        }
        match row(&record, line, &columns, mapping) {
            Ok(row) => {
                // One reading is taken at one second: the same once more is the same reading, exported twice.
                let second = timed.and_then(|at| record.get(at)).is_some_and(|cell| cell.matches(':').count() == 2);
                if second && let Some(first) = stamped.get(&cells(&record)) {
                    let why = format!("it is line {first} once more, time of day and all");
                    found.misfits.push(Misfit { line, why });
                    continue;
                }
                if second {
                    stamped.insert(cells(&record), line);
                }
                found.rows.push(row);
            }
            Err(why) => found.misfits.push(Misfit { line, why }),
        }
    }
    Ok(found)
}

/// The cells of a row without the spaces around them.
fn cells(record: &csv::StringRecord) -> Vec<String> {
    record.iter().map(|cell| cell.trim().to_owned()).collect()
}

/// Counts lines up to a row. The row may be said to begin at blank lines in front of it: those are passed.
struct LineCounter<'t> {
    text: &'t str,
    at: usize,
    line: u64,
}

impl LineCounter<'_> {
    fn at(&mut self, position: Option<&csv::Position>) -> u64 {
        let bytes = self.text.as_bytes();
        let mut row = position.map_or(self.at, |position| position.byte() as usize).clamp(self.at, bytes.len());
        row += bytes[row..].iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).count();
        self.line += bytes[self.at..row].iter().filter(|byte| **byte == b'\n').count() as u64;
        self.at = row;
        self.line
    }
}

/// The columns that hold something, with their places.
fn by_name<'m>(header: &csv::StringRecord, columns: &'m [MappedColumn]) -> Result<MappedColumns<'m>, ImportError> {
    let names: Vec<&str> = header.iter().map(str::trim).collect();
    let mut places = Vec::new();
    for column in columns {
        let mut at = (0..names.len()).filter(|at| names[*at] == column.header.trim());
        match (at.next(), at.next()) {
            (Some(at), None) => places.push((at, column)),
            (Some(_), Some(_)) => return Err(ImportError::TwiceTheColumn(column.header.clone())),
            (None, _) => {
                let shown: Vec<String> = names.iter().take(20).map(|name| format!("`{}`", shorten(name))).collect();
                return Err(ImportError::NoColumn { missing: column.header.clone(), found: shown.join(", ") });
            }
        }
    }
    // Columns without a name at the end are none: such headers come from separators that end every line.
    let width = names.iter().rposition(|name| !name.is_empty()).map_or(0, |last| last + 1);
    Ok(MappedColumns { held: places, width, named: true })
}

fn by_number(columns: &[MappedColumn]) -> Result<MappedColumns<'_>, ImportError> {
    let place = |column: &'_ MappedColumn| column.header.trim().parse::<usize>().ok().filter(|number| *number > 0);
    let numbered = columns.iter().map(|column| match place(column) {
        Some(number) => Ok((number - 1, column)),
        None => Err(ImportError::NoColumn { missing: column.header.clone(), found: "numbered from 1".into() }),
    });
    let held: Vec<(usize, &MappedColumn)> = numbered.collect::<Result<_, _>>()?;
    let width = held.iter().map(|(at, _)| at + 1).max().unwrap_or(0);
    Ok(MappedColumns { held, width, named: false })
}

fn row(record: &csv::StringRecord, line: u64, columns: &MappedColumns, mapping: &Mapping) -> Result<ImportRow, String> {
    let fits = |cells: &csv::StringRecord| fields(cells, line, columns, mapping).is_ok();
    match columns.unfit(record, mapping, fits) {
        Some(why) => Err(why),
        None => fields(record, line, columns, mapping),
    }
}

fn fields(
    record: &csv::StringRecord,
    line: u64,
    columns: &MappedColumns,
    mapping: &Mapping,
) -> Result<ImportRow, String> {
    let mut row = ImportRow { line, ..ImportRow::default() };
    for (at, column) in &columns.held {
        let header = &column.header;
        let Some(cell) = record.get(*at) else {
            return Err(format!("it has {} columns, and `{header}` is column {}", record.len(), at + 1));
        };
        if cell.contains(['\n', '\r']) || cell.len() > MOST_CELL {
            return Err(format!("`{header}` holds `{}` and more lines: is a quote not closed?", shorten(cell)));
        }
        let cell = cell.trim();
        if column.holds == ColumnMeaning::Ignored {
            continue;
        }
        if cell.is_empty() {
            return Err(format!("`{header}` is empty"));
        }
        let wrong = |what: &str| format!("`{}` in `{header}` is {what}", shorten(cell));
        let name = || {
            named(cell, mapping)
                .ok_or_else(|| wrong("no name a ledger can hold: say what it means with a `row` in the mapping"))
        };
        let figure = || {
            let raw = number(cell, mapping.decimal_comma).ok_or_else(|| {
                let other =
                    number(cell, !mapping.decimal_comma).map_or(String::new(), |read| otherwise(&read, mapping));
                wrong(not_a_number(mapping.decimal_comma)) + &other
            })?;
            Ok::<_, String>(Number { raw, unit: column.unit.clone() })
        };
        match column.holds {
            ColumnMeaning::Place => row.place = Some(name()?),
            ColumnMeaning::Joint => row.joint = Some(name()?),
            ColumnMeaning::Gauge => row.gauge = Some(cell.to_owned()),
            ColumnMeaning::Person => row.person = Some(cell.to_owned()),
            ColumnMeaning::Groove => row.groove = Some(name()?),
            ColumnMeaning::Before => row.before = Some(figure()?),
            ColumnMeaning::After => row.after = Some(figure()?),
            ColumnMeaning::Reading => row.reading = Some(figure()?),
            ColumnMeaning::Bolt => {
                let number = cell.parse::<usize>().ok().filter(|number| (1..=MOST_BOLTS).contains(number));
                row.bolt = Some(number.ok_or_else(|| wrong("no number of a bolt"))?);
            }
            ColumnMeaning::Date => {
                row.date = Some(date(cell, mapping.dates).ok_or_else(|| wrong("no date in the stated order"))?)
            }
            ColumnMeaning::Ignored => {}
        }
    }
    Ok(row)
}

/// What a number would be with the other decimal mark, and how that is read.
fn otherwise(read: &str, mapping: &Mapping) -> String {
    match (mapping.decimal_comma, mapping.separator) {
        (true, b'.') => format!("; with a decimal point it would be {read}: {}", cure(b'.')),
        (true, _) => format!("; with a decimal point it would be {read}: leave decimal=comma out of the mapping"),
        (false, b',') => format!("; with a decimal comma it would be {read}: {}", cure(b',')),
        (false, _) => format!("; with a decimal comma it would be {read}: state decimal=comma in the mapping"),
    }
}

fn not_a_number(decimal_comma: bool) -> &'static str {
    if decimal_comma { "no number with a decimal comma" } else { "no number with a decimal point" }
}

/// The ledger's name for a word of the file. A position, as a number, is a name too.
fn named(cell: &str, mapping: &Mapping) -> Option<String> {
    if let Some((_, name)) = mapping.words.iter().find(|(word, _)| word == cell) {
        return Some(name.clone());
    }
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    // `J1+` is the end behind a joint; a number has its sign in front.
    let own = cell.strip_suffix('+').filter(|own| own.starts_with(char::is_alphabetic)).unwrap_or(cell);
    if own.chars().all(plain) { Some(cell.to_owned()) } else { number(cell, mapping.decimal_comma) }
}

/// A number of the file as KDL spells it: sign, digits, one decimal mark, and an exponent. Digits are never grouped:
/// whether `1.234` is one or a thousand must not be guessed.
fn number(cell: &str, decimal_comma: bool) -> Option<String> {
    let (sign, rest) = match cell.chars().next()? {
        '-' | '\u{2212}' => ("-", &cell[cell.chars().next()?.len_utf8()..]),
        '+' => ("", &cell[1..]),
        _ => ("", cell),
    };
    let (figures, exponent) = match rest.find(['e', 'E']) {
        Some(at) => (&rest[..at], Some(&rest[at + 1..])),
        None => (rest, None),
    };
    let mark = if decimal_comma { ',' } else { '.' };
    let (whole, decimals) = match figures.split_once(mark) {
        Some((whole, decimals)) => (whole, Some(decimals)),
        None => (figures, None),
    };
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let whole = if whole.is_empty() && decimals.is_some() { "0" } else { whole };
    if !digits(whole) || decimals.is_some_and(|decimals| !digits(decimals)) {
        return None;
    }
    let mut out = format!("{sign}{whole}");
    if let Some(decimals) = decimals {
        out.push('.');
        out.push_str(decimals);
    }
    if let Some(exponent) = exponent {
        let unsigned = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
        if !digits(unsigned) || unsigned.len() > 3 {
            return None;
        }
        out.push('e');
        out.push_str(exponent);
    }
    Some(out)
}

/// A date of the file; what follows it after a space or `T` is a time of day.
fn date(cell: &str, order: DateOrder) -> Option<Date> {
    let day = cell.split([' ', 'T']).next()?;
    let parts: Vec<i16> = day.split(['-', '.', '/']).map(|part| part.parse().ok()).collect::<Option<_>>()?;
    let [first, second, third] = parts[..] else { return None };
    let (year, month, day) = match order {
        DateOrder::YearMonthDay => (first, second, third),
        DateOrder::DayMonthYear => (third, second, first),
        DateOrder::MonthDayYear => (third, first, second),
    };
    // A year of two digits would have to be guessed.
    if year < 1000 {
        return None;
    }
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}
