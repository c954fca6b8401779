//! Bars from which more than one segment comes, while rails are laid.
//!
//! Where only a few segments can share a bar with others, each of them is told apart: the first one opens a bar, and
//! what is left of it serves another one. So what is laid in this way can be cut, where counting segments by their lengths
//! alone allows much that cannot.

/// A bar that is begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct OpenBar {
    /// Longest piece that can still come from it.
    pub rest: i64,
    /// Nothing has come from the rest yet. Something has to: a bar that serves one segment is not opened.
    pub owed: bool,
}

/// The open bars of one profile.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct OpenBars {
    /// In order.
    pub bars: Vec<OpenBar>,
    /// Segments beyond the first of their bar, those that are owed among them.
    pub shared: u32,
}

/// Where a segment comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Taking {
    /// A bar of its own, or one that is counted by lengths alone.
    Alone,
    /// A bar so long, of which others are cut too.
    Opening(i64),
    /// The rest of an open bar.
    Rest(OpenBar),
}

impl OpenBars {
    /// Takes a piece, after which so much is left once the blade has gone through; less than `least` serves nothing.
    pub(super) fn take(&mut self, taking: Taking, (length, kerf, least): (i64, i64, i64)) {
        let (rest, owed) = match taking {
            Taking::Alone => return,
            Taking::Opening(bar) => {
                self.shared += 1;
                (bar - length - kerf, true)
            }
            Taking::Rest(open) => {
                if let Ok(at) = self.bars.binary_search(&open) {
                    self.bars.remove(at);
                }
                self.shared += u32::from(!open.owed);
                (open.rest - length - kerf, false)
            }
        };
        if rest >= least {
            let open = OpenBar { rest, owed };
            let at = self.bars.binary_search(&open).unwrap_or_else(|at| at);
            self.bars.insert(at, open);
        }
    }

    /// The bars from which something can still come where so many segments may share one.
    pub(super) fn usable(&self, shares: u32) -> impl Iterator<Item = &OpenBar> {
        self.bars.iter().filter(move |open| open.owed || self.shared < shares)
    }

    /// Whether the rest of a bar is still to be used.
    pub(super) fn owing(&self) -> bool {
        self.bars.iter().any(|open| open.owed)
    }
}
