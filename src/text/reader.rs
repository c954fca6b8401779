//! The state of reading: where the reader stands, what it has read, which blocks are open.

use super::document::{Entry, Node};
use super::fault::Fault;

/// What is refused so that no text, however made, exhausts memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadLimits {
    /// Of the text, at most 2 GiB.
    pub bytes: usize,
    /// Nodes, and also entries.
    pub items: usize,
    /// Blocks inside one another.
    pub depth: u16,
    /// How many mistakes are told.
    pub faults: usize,
}

impl Default for ReadLimits {
    fn default() -> ReadLimits {
        ReadLimits { bytes: crate::world::MOST_BYTES as usize, items: 4_000_000, depth: 128, faults: 2_000 }
    }
}

pub(super) struct Reader<'t> {
    pub text: &'t str,
    pub bytes: &'t [u8],
    pub at: usize,
    pub limits: &'t ReadLimits,
    pub nodes: Vec<Node>,
    pub entries: Vec<Entry>,
    pub cooked: Vec<Box<str>>,
    pub faults: Vec<Fault>,
    pub muted: bool,
    pub stack: Vec<OpenBlock>,
    /// How often the rest of the text may still be searched in vain for the end of something.
    pub rescans: u32,
    pub left_out: u16,
    pub too_deep: bool,
    /// What `/-` leaves out is kept like the rest.
    pub keep: bool,
    pub repair: Option<Repair>,
}

/// How many braces are still to be explained, where braces do not match.
pub(super) struct Repair {
    pub missing: usize,
    pub surplus: usize,
    /// Most blocks of the file are indented deeper than their headers.
    pub indented: bool,
}

/// The sizes of the arenas, to cut them back to.
#[derive(Clone, Copy)]
pub(super) struct ArenaSizes {
    nodes: u32,
    entries: u32,
    cooked: u32,
}

/// A node whose end is not reached yet.
#[derive(Clone, Copy)]
pub(super) struct NodeHead {
    pub node: u32,
    /// Left out by a `/-` before it.
    pub drop: Option<ArenaSizes>,
    /// Has had a block, left out or not.
    pub any_block: bool,
}

/// An open block.
pub(super) struct OpenBlock {
    pub head: NodeHead,
    pub brace: u32,
    /// The block alone is left out.
    pub drop: Option<ArenaSizes>,
    /// How far its first line is indented, noted only while braces are repaired.
    pub first_indent: Option<usize>,
}

impl<'t> Reader<'t> {
    pub(super) fn new(text: &'t str, limits: &'t ReadLimits) -> Reader<'t> {
        let bytes = text.as_bytes();
        Reader {
            text,
            bytes,
            at: 0,
            limits,
            nodes: Vec::with_capacity(bytes.len() / 16),
            entries: Vec::with_capacity(bytes.len() / 8),
            cooked: Vec::new(),
            faults: Vec::new(),
            muted: false,
            stack: Vec::new(),
            rescans: 32,
            left_out: 0,
            too_deep: false,
            keep: false,
            repair: None,
        }
    }

    pub(super) fn mark(&self) -> ArenaSizes {
        let len = |len: usize| len as u32;
        ArenaSizes { nodes: len(self.nodes.len()), entries: len(self.entries.len()), cooked: len(self.cooked.len()) }
    }

    pub(super) fn cut(&mut self, mark: ArenaSizes) {
        self.nodes.truncate(mark.nodes as usize);
        self.entries.truncate(mark.entries as usize);
        self.cooked.truncate(mark.cooked as usize);
    }

    /// Forgets what was read since the mark, which a `/-` leaves out.
    pub(super) fn leave_out(&mut self, mark: ArenaSizes) {
        if !self.keep {
            self.cut(mark);
        }
    }
}
