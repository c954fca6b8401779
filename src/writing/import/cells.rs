//! Whether the cells of a row are the cells of the file's columns. A number written with a decimal comma falls into two
//! cells where commas part the columns, and what is read then is another number. So it is with points.

use csv::StringRecord;

use super::mapping::{ColumnMeaning, MappedColumn, Mapping};

/// The columns of a file as the mapping reads them.
pub(super) struct MappedColumns<'m> {
    /// Those that hold something, with their places.
    pub(super) held: Vec<(usize, &'m MappedColumn)>,
    /// How many columns have a name or a number.
    pub(super) width: usize,
    /// Whether the file names them itself.
    pub(super) named: bool,
}

impl MappedColumns<'_> {
    /// Why a row's cells cannot be taken for those of the columns, if they cannot. Cells that are empty may be left over:
    /// many programs end every row with them. `fits` says whether cells could be a row.
    pub(super) fn unfit(
        &self,
        cells: &StringRecord,
        mapping: &Mapping,
        fits: impl Fn(&StringRecord) -> bool,
    ) -> Option<String> {
        let full = full(cells);
        let over = full > self.width;
        let mark = mark(mapping.separator);
        let other = mark.and_then(|_| {
            self.ways(cells, full, mapping).find(|(cells, _)| self::full(cells) <= self.width && fits(cells))
        });
        let other = mark.zip(other).map(|(mark, (_, numbers))| {
            format!("with a decimal {mark} it would be {}: {}", numbers.join(", "), cure(mapping.separator))
        });
        if !over {
            // The cells fit as they are; do they fit as others too?
            return other
                .map(|other| format!("it can be read in two ways; {other}; or state every column, with {IGNORED}"));
        }
        let whose = if self.named { "the header names" } else { "the mapping numbers" };
        let left: Vec<&str> = cells.iter().skip(self.width).take(full - self.width).map(str::trim).collect();
        let cure = other.unwrap_or_else(|| {
            let more = if self.named { "let the header name every column" } else { "state every column" };
            format!("{more}, with {IGNORED}")
        });
        Some(format!(
            "it has {full} cells, and {whose} {} column{}, so `{}` is left over; {cure}",
            self.width,
            if self.width == 1 { "" } else { "s" },
            shorten(&left.join(&String::from(mapping.separator as char))),
        ))
    }

    /// The ways in which numbers may have been parted: the cells made whole again, and the numbers that come of it. That
    /// of every number comes first, then those of the first ones.
    fn ways<'c>(
        &'c self,
        cells: &'c StringRecord,
        full: usize,
        mapping: &'c Mapping,
    ) -> impl Iterator<Item = (StringRecord, Vec<String>)> + 'c {
        let mut figures: Vec<_> = self.held.iter().filter(|(_, column)| is_figure(column.holds)).collect();
        figures.sort_by_key(|(place, _)| *place);
        // No row has that many numbers.
        let most = if full <= self.width + figures.len() { 1_usize << figures.len() } else { 1 };
        (1..most).rev().filter_map(move |chosen| {
            let (mut whole, mut numbers, mut at) = (StringRecord::new(), Vec::new(), 0);
            for place in 0.. {
                let Some(cell) = cells.get(at).filter(|_| at < full) else { break };
                let one = figures
                    .iter()
                    .position(|(held, _)| *held == place)
                    .filter(|one| chosen >> (figures.len() - 1 - one) & 1 == 1);
                let Some(one) = one else {
                    whole.push_field(cell);
                    at += 1;
                    continue;
                };
                let number = joined(cell, cells.get(at + 1))?;
                numbers.push(format!("`{}` {number}", figures[one].1.header));
                whole.push_field(&if mapping.decimal_comma { number.replace('.', ",") } else { number });
                at += 2;
            }
            (numbers.len() == chosen.count_ones() as usize).then_some((whole, numbers))
        })
    }
}

const IGNORED: &str = "holds=ignored in the mapping for what is not wanted";

/// How many cells there are up to the last that holds something.
fn full(cells: &StringRecord) -> usize {
    (0..cells.len()).rev().find(|at| !cells[*at].trim().is_empty()).map_or(0, |last| last + 1)
}

/// The decimal mark that some programs write as this separator.
fn mark(separator: u8) -> Option<&'static str> {
    match separator {
        b',' => Some("comma"),
        b'.' => Some("point"),
        _ => None,
    }
}

/// How numbers are read whose decimal mark parts the columns.
pub(super) fn cure(separator: u8) -> &'static str {
    match separator {
        b',' => {
            "export it with another mark between the columns and state it, as separator=\";\" decimal=comma, or export it \
             with a decimal point"
        }
        _ => "export it with another mark between the columns and state it, as separator=\";\"",
    }
}

fn is_figure(holds: ColumnMeaning) -> bool {
    matches!(holds, ColumnMeaning::Place | ColumnMeaning::Reading | ColumnMeaning::Before | ColumnMeaning::After)
}

/// The number that a cell and the one behind it make, if what parts them can be a decimal mark.
fn joined(whole: &str, decimals: Option<&str>) -> Option<String> {
    let (whole, decimals) = (whole.trim(), decimals?.trim());
    let figures = whole.strip_prefix(['-', '+', '\u{2212}']).unwrap_or(whole);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let sign = if whole.starts_with(['-', '\u{2212}']) { "-" } else { "" };
    (digits(figures) && digits(decimals)).then(|| format!("{sign}{figures}.{decimals}"))
}

pub(super) fn shorten(cell: &str) -> String {
    let line: String = cell.chars().take_while(|c| !matches!(c, '\n' | '\r')).take(40).collect();
    if line.len() < cell.len() { format!("{line}…") } else { line }
}
