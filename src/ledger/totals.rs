//! How much one ledger may hold in all. A few letters can mean very much (`count=100000`, `clicked S1..S100000`), so what a
//! row stands for is counted before it is made. Each total is far beyond what a machine has; with all of them at their
//! limit, every command stays below 1 GB and, but for the planners, 10 s.

use crate::finding::names;
use crate::finding::{Finding, Grade, MOST_FINDINGS, Place};

/// What is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountedPart {
    /// Axes, beams, pieces of beams, rails, blocks, rows of a carriage.
    Parts,
    /// Segments of rails.
    Segments,
    /// Supports of rails.
    Supports,
    /// Holes of rails, derived from the pitch.
    Holes,
    /// Bolts of supports, both interfaces.
    Bolts,
    /// Records.
    Records,
    /// Concessions, voids, corrections, doubts and what is declared not to apply, each of which is looked up among all records
    /// or findings.
    Lookups,
    /// Entries of the shop files that apply, with the rows below them.
    ShopEntries,
    /// Rows of records, ranges written out: one support, one station.
    Rows,
}

impl CountedPart {
    /// Every total.
    pub const ALL: [CountedPart; 9] = [
        CountedPart::Parts,
        CountedPart::Segments,
        CountedPart::Supports,
        CountedPart::Holes,
        CountedPart::Bolts,
        CountedPart::Records,
        CountedPart::Lookups,
        CountedPart::ShopEntries,
        CountedPart::Rows,
    ];

    /// How many there may be.
    pub const fn most(self) -> usize {
        match self {
            CountedPart::Parts => 500,
            CountedPart::Segments => 4_000,
            CountedPart::Supports | CountedPart::Records | CountedPart::ShopEntries => 20_000,
            CountedPart::Holes | CountedPart::Bolts => 200_000,
            CountedPart::Lookups => 4_000,
            CountedPart::Rows => 200_000,
        }
    }

    /// What is counted, in words.
    pub const fn words(self) -> &'static str {
        match self {
            CountedPart::Parts => "axes, beams, rails and parts of carriages",
            CountedPart::Segments => "segments",
            CountedPart::Supports => "supports",
            CountedPart::Holes => "holes",
            CountedPart::Bolts => "bolts",
            CountedPart::Records => "records",
            CountedPart::Lookups => "concessions, voids, corrections, doubts and lines of what does not apply",
            CountedPart::ShopEntries => "entries of the shop, with the rows below them",
            CountedPart::Rows => "rows of records, ranges written out",
        }
    }
}

/// What was counted so far.
#[derive(Debug, Default)]
pub(super) struct Totals {
    counts: [usize; CountedPart::ALL.len()],
    /// The first total that was passed. From then on nothing more is taken.
    pub beyond: Option<Finding>,
}

impl Totals {
    /// Whether so many more may be taken. Where they may not, nothing is.
    #[inline]
    pub(crate) fn take(&mut self, what: CountedPart, count: usize, place: Place) -> bool {
        if self.beyond.is_some() {
            return false;
        }
        let total = &mut self.counts[what as usize];
        *total = total.saturating_add(count);
        let few = *total <= what.most();
        if !few {
            self.passed(what, place);
        }
        few
    }

    #[cold]
    fn passed(&mut self, what: CountedPart, place: Place) {
        let (total, most) = (self.counts[what as usize], what.most());
        let message = format!("with this, the ledger has {total} {}; at most {most} can be held", what.words());
        self.beyond = Some(beyond(place, message).here("here the total is passed"));
    }

    /// That there is too much to tell.
    pub(crate) fn too_many_findings(&mut self, place: Place) {
        self.beyond.get_or_insert_with(|| too_many_findings(place));
    }
}

fn beyond(place: Place, message: String) -> Finding {
    Finding::new(names::TOO_MUCH, Grade::Nonconformity, "", place, message).next(
        "check the counts and ranges; a larger machine is kept in several ledgers. Until then nothing else is judged",
    )
}

/// That there were more findings than are told.
pub(crate) fn too_many_findings(place: Place) -> Finding {
    let message = format!("there are more than {MOST_FINDINGS} findings; the rest is not told");
    Finding::new(names::TOO_MUCH, Grade::Nonconformity, "", place, message)
        .here("in this ledger")
        .next("mend what is told and run again; until then nobody can say that something conforms")
}
