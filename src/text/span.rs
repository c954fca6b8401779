//! Where something stands in a text.

use std::fmt;

/// A stretch of a file, in bytes from its start, end not included.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    /// The first byte.
    pub start: u32,
    /// The byte behind the last.
    pub end: u32,
}

impl Span {
    /// From one byte up to another.
    pub fn new(start: usize, end: usize) -> Self {
        let clip = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span { start: clip(start), end: clip(end) }
    }

    /// In bytes.
    #[inline]
    pub fn len(self) -> usize {
        (self.end - self.start) as usize
    }

    /// It holds no byte.
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// The smallest stretch that holds both.
    #[inline]
    pub fn to(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// To cut it out of its text.
    #[inline]
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

impl fmt::Debug for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}..{}", self.start, self.end)
    }
}
