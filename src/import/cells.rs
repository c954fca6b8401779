//! Whether the cells of a row are the cells of the file's columns. A number written with a decimal comma falls into two
//! cells where commas part the columns, and what is read then is another number.

use super::mapping::{Column, Holds, Mapping};
use super::rows::shorten;

/// The columns of a file as the mapping reads them.
pub(super) struct Columns<'m> {
    /// Those that hold something, with their places.
    pub(super) held: Vec<(usize, &'m Column)>,
    /// How many columns have a name or a number.
    pub(super) width: usize,
    /// Whether the file names them itself.
    pub(super) named: bool,
}

impl Columns<'_> {
    /// Why a row's cells cannot be those of the columns, if they cannot. Cells that are empty may be left over: many
    /// programs end every row with them.
    pub(super) fn unfit(&self, cells: &csv::StringRecord, mapping: &Mapping) -> Option<String> {
        let full = cells.iter().rposition(|cell| !cell.trim().is_empty()).map_or(0, |last| last + 1);
        if full > self.width {
            let count = self.width;
            let whose = if self.named { "the header names" } else { "the mapping numbers" };
            let left: Vec<&str> = cells.iter().skip(count).take(full - count).map(str::trim).collect();
            let left = shorten(&left.join(&String::from(mapping.separator as char)));
            let cure = self.with_commas(cells, full, mapping).unwrap_or_else(|| {
                let more = if self.named { "let the header name every column" } else { "state every column" };
                format!("{more}, with holds=ignored in the mapping for what is not wanted")
            });
            return Some(format!(
                "it has {full} cells, and {whose} {count} column{}, so `{left}` is left over; {cure}",
                if count == 1 { "" } else { "s" }
            ));
        }
        self.held.iter().find_map(|(at, column)| self.parted(cells, *at, column, mapping))
    }

    /// A whole number with nothing but digits behind it in a column that nobody speaks of: a short row hides so that a
    /// decimal comma made one cell more.
    fn parted(&self, cells: &csv::StringRecord, at: usize, column: &Column, mapping: &Mapping) -> Option<String> {
        let spoken_of = self.held.iter().any(|(place, _)| *place == at + 1);
        if spoken_of || !is_figure(column.holds) {
            return None;
        }
        let number = joined(cells, at, mapping)?;
        Some(format!(
            "`{}` in `{}` has `{}` behind it, in a column that the mapping does not speak of; with a decimal comma it \
             would be {number}: {COMMA}; or state that column with holds=ignored",
            shorten(cells.get(at)?.trim()),
            column.header,
            shorten(cells.get(at + 1)?.trim())
        ))
    }

    /// What the numbers of a row with cells left over would be with decimal commas, where that explains every cell.
    fn with_commas(&self, cells: &csv::StringRecord, full: usize, mapping: &Mapping) -> Option<String> {
        let mut at = 0;
        let mut told = Vec::new();
        for place in 0..self.width {
            let column = self.held.iter().find(|(held, _)| *held == place).map(|(_, column)| *column);
            let over = full.saturating_sub(at) > self.width - place;
            let figure = column.filter(|column| over && is_figure(column.holds));
            match figure.and_then(|column| Some((column, joined(cells, at, mapping)?))) {
                Some((column, number)) => {
                    told.push(format!("`{}` {number}", column.header));
                    at += 2;
                }
                None => at += 1,
            }
        }
        // A row may end before its last columns do.
        (at >= full && !told.is_empty()).then(|| format!("with a decimal comma {} would be: {COMMA}", told.join(", ")))
    }
}

/// How a decimal comma is read where commas part the columns.
pub(super) const COMMA: &str = "export it with another mark between the columns and state it, as separator=\";\" decimal=comma, or \
                     export it with a decimal point";

fn is_figure(holds: Holds) -> bool {
    matches!(holds, Holds::Place | Holds::Reading | Holds::Before | Holds::After)
}

/// The number that a cell and the one behind it make, if a comma between them can be a decimal comma.
fn joined(cells: &csv::StringRecord, at: usize, mapping: &Mapping) -> Option<String> {
    if mapping.separator != b',' {
        return None;
    }
    let (whole, decimals) = (cells.get(at)?.trim(), cells.get(at + 1)?.trim());
    let figures = whole.strip_prefix(['-', '+', '\u{2212}']).unwrap_or(whole);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let sign = if whole.starts_with(['-', '\u{2212}']) { "-" } else { "" };
    (digits(figures) && digits(decimals)).then(|| format!("{sign}{figures}.{decimals}"))
}
