//! From a byte to its line and column, for people and for other programs.

use super::Span;

/// Where the lines of a text begin. A line ends with LF, CR LF or a lone CR, as editors count.
#[derive(Clone, Debug, Default)]
pub struct LineIndex {
    starts: Vec<u32>,
    len: u32,
    /// How many characters stand before each stretch of [`STRIDE`] bytes; kept only where a line is longer than one, so
    /// that thousands of places on one endless line cost no more than their number.
    counted: Vec<u32>,
}

const STRIDE: usize = 1024;

/// How many characters begin in these bytes.
fn characters(bytes: &[u8]) -> u32 {
    bytes.iter().filter(|byte| **byte & 0xC0 != 0x80).count() as u32
}

/// Line and column from 1; the column counts characters, not bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    pub line: u32,
    pub column: u32,
}

impl LineIndex {
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
            let before = |sum: &mut u32, stretch: &[u8]| {
                let before = *sum;
                *sum += characters(stretch);
                Some(before)
            };
            bytes.chunks(STRIDE).scan(0, before).collect()
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
    pub fn place(&self, text: &str, offset: usize) -> Place {
        let offset = text.floor_char_boundary(offset);
        let line = self.line(offset);
        let start = self.start(line) as usize;
        let bytes = text.as_bytes();
        let column = match self.counted.is_empty() {
            true => characters(bytes.get(start..offset).unwrap_or_default()),
            false => self.before(bytes, offset).saturating_sub(self.before(bytes, start)),
        };
        Place { line, column: column + 1 }
    }

    /// How many characters stand before a byte.
    fn before(&self, bytes: &[u8], offset: usize) -> u32 {
        let stretch = (offset / STRIDE).min(self.counted.len().saturating_sub(1));
        let counted = self.counted.get(stretch).copied().unwrap_or(0);
        counted + characters(bytes.get(stretch * STRIDE..offset).unwrap_or_default())
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
            let text = format!("ä\n{}{}\nz", "x".repeat(pad), "µ°".repeat(STRIDE));
            let lines = LineIndex::new(&text);
            assert!(!lines.counted.is_empty());
            for (offset, _) in text.char_indices().chain([(text.len(), ' ')]) {
                let start = text[..offset].rfind('\n').map_or(0, |at| at + 1);
                let column = text[start..offset].chars().count() as u32 + 1;
                assert_eq!(lines.place(&text, offset).column, column, "{offset} of {}", text.len());
            }
        }
    }
}
