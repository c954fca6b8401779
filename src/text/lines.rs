//! From a byte to its line and column, for people and for other programs.

use super::span::Span;

/// Where the lines of a text begin. A line ends with LF, CR LF or a lone CR, as editors count.
#[derive(Clone, Debug, Default)]
pub struct LineIndex {
    starts: Vec<u32>,
    len: u32,
    /// What stands before each stretch of [`STRIDE`] bytes; kept only where a line is longer than one, so that
    /// thousands of places on one endless line cost no more than their number.
    counted: Vec<Width>,
}

const STRIDE: usize = 1024;

/// What columns count. Programs differ in it; people see characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ColumnUnit {
    /// Bytes.
    Bytes,
    /// Unicode code points, here called characters.
    Characters,
    /// 16 bits each, so that a character beyond U+FFFF counts as two.
    Utf16,
}

impl ColumnUnit {
    fn count(self, bytes: &[u8]) -> u32 {
        match self {
            ColumnUnit::Bytes => bytes.len() as u32,
            ColumnUnit::Characters => characters(bytes),
            ColumnUnit::Utf16 => characters(bytes) + beyond(bytes),
        }
    }
}

/// How many characters begin in some bytes, and how many of them are two in UTF-16.
#[derive(Clone, Copy, Debug, Default)]
struct Width {
    characters: u32,
    beyond: u32,
}

fn characters(bytes: &[u8]) -> u32 {
    bytes.iter().filter(|byte| **byte & 0xC0 != 0x80).count() as u32
}

/// Characters of four bytes are those beyond U+FFFF.
fn beyond(bytes: &[u8]) -> u32 {
    bytes.iter().filter(|byte| **byte >= 0xF0).count() as u32
}

/// Line and column from 1; the column counts characters where nothing else is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LineColumn {
    /// Counted from 1.
    pub line: u32,
    /// Counted from 1.
    pub column: u32,
}

impl LineIndex {
    /// Finds the lines of a text.
    pub fn new(text: &str) -> LineIndex {
        let bytes = text.as_bytes();
        let mut starts = vec![0];
        for at in memchr::memchr2_iter(b'\n', b'\r', bytes) {
            if bytes[at] == b'\n' || bytes.get(at + 1) != Some(&b'\n') {
                starts.push(at as u32 + 1);
            }
        }
        let ends = starts.iter().skip(1).copied().chain([bytes.len() as u32]);
        let long = starts.iter().zip(ends).any(|(start, end)| (end - start) as usize > STRIDE);
        let counted = if long {
            let before = |sum: &mut Width, stretch: &[u8]| {
                let before = *sum;
                sum.characters += characters(stretch);
                sum.beyond += beyond(stretch);
                Some(before)
            };
            bytes.chunks(STRIDE).scan(Width::default(), before).collect()
        } else {
            Vec::new()
        };
        LineIndex { starts, len: bytes.len() as u32, counted }
    }

    /// How many lines there are; an empty text has one.
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The line a byte lies in, from 1.
    pub fn line(&self, offset: usize) -> u32 {
        self.starts.partition_point(|start| *start as usize <= offset) as u32
    }

    /// Line and column of a byte of the text this was made from; past its end, the end.
    pub fn place(&self, text: &str, offset: usize) -> LineColumn {
        self.place_in(text, offset, ColumnUnit::Characters)
    }

    /// The same in columns of that kind.
    pub fn place_in(&self, text: &str, offset: usize, columns: ColumnUnit) -> LineColumn {
        let offset = text.floor_char_boundary(offset);
        let line = self.line(offset);
        let start = self.start(line) as usize;
        let bytes = text.as_bytes();
        let before = match self.counted.is_empty() || columns == ColumnUnit::Bytes {
            true => columns.count(bytes.get(start..offset).unwrap_or_default()),
            false => self.before(bytes, offset, columns).saturating_sub(self.before(bytes, start, columns)),
        };
        LineColumn { line, column: before + 1 }
    }

    /// The byte at a line and column of the text this was made from. A column that lies inside a character means that
    /// character; one past the end of its line, the end; a line past the last one, the end of the text.
    pub fn offset(&self, text: &str, place: LineColumn, columns: ColumnUnit) -> usize {
        let line = self.span(place.line).range();
        let inside = text.get(line.clone()).unwrap_or("").trim_end_matches(['\n', '\r']);
        let wanted = place.column.saturating_sub(1);
        let mut column = 0;
        for (at, c) in inside.char_indices() {
            column += columns.count(c.encode_utf8(&mut [0; 4]).as_bytes());
            if column > wanted {
                return line.start + at;
            }
        }
        line.start + inside.len()
    }

    /// How many columns stand before a byte, counted from the start of the text.
    fn before(&self, bytes: &[u8], offset: usize, columns: ColumnUnit) -> u32 {
        let stretch = (offset / STRIDE).min(self.counted.len().saturating_sub(1));
        let counted = self.counted.get(stretch).copied().unwrap_or_default();
        let counted = counted.characters + if columns == ColumnUnit::Utf16 { counted.beyond } else { 0 };
        counted + columns.count(bytes.get(stretch * STRIDE..offset).unwrap_or_default())
    }

    /// A line with the break that ends it; empty when there is no such line.
    pub fn span(&self, line: u32) -> Span {
        let end = self.starts.get(line as usize).copied().unwrap_or(self.len);
        Span { start: self.start(line), end }
    }

    fn start(&self, line: u32) -> u32 {
        let index = (line as usize).checked_sub(1);
        index.and_then(|i| self.starts.get(i)).copied().unwrap_or(self.len)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_as_editors_count() {
        let text = "a\nbµc\r\n\rd";
        let lines = LineIndex::new(text);
        let at = |offset| {
            let place = lines.place(text, offset);
            (place.line, place.column)
        };
        assert_eq!(lines.count(), 4);
        assert_eq!(at(0), (1, 1));
        assert_eq!(at(2), (2, 1));
        assert_eq!(at(5), (2, 3), "`µ` is two bytes and one column");
        assert_eq!(at(8), (3, 1));
        assert_eq!(at(9), (4, 1));
        assert_eq!(at(99), (4, 2));
        assert_eq!(lines.span(2), Span::new(2, 8));
        assert_eq!(lines.span(4), Span::new(9, 10));
    }

    #[test]
    fn columns_of_a_long_line_are_those_of_counting() {
        for pad in [STRIDE - 3, STRIDE, STRIDE + 1] {
            let text = format!("ä\n{}{}\nz", "x".repeat(pad), "µ𝄞°".repeat(STRIDE));
            let lines = LineIndex::new(&text);
            assert!(!lines.counted.is_empty());
            for (offset, _) in text.char_indices().chain([(text.len(), ' ')]) {
                let start = text[..offset].rfind('\n').map_or(0, |at| at + 1);
                let before = &text[start..offset];
                for (columns, count) in [
                    (ColumnUnit::Bytes, before.len()),
                    (ColumnUnit::Characters, before.chars().count()),
                    (ColumnUnit::Utf16, before.encode_utf16().count()),
                ] {
                    let column = lines.place_in(&text, offset, columns).column as usize;
                    assert_eq!(column, count + 1, "{columns:?} at {offset} of {}", text.len());
                }
            }
        }
    }
}
