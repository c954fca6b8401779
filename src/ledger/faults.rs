//! What reading a description found at fault, gathered while it is read.

use std::collections::BTreeSet;

use super::damage::Damage;
use super::spanned::Spanned;
use super::totals::{CountedPart, Totals};
use crate::finding::{Finding, Grade, MOST_FINDINGS, Place, names};

/// What reading a description found at fault: names twice, names unknown.
#[derive(Default)]
pub(super) struct Faults {
    pub found: Vec<Finding>,
    /// Where the text itself is at fault.
    pub damage: Damage,
    /// Names that nodes unknown at their place may describe: to cite one of them is no second mistake.
    pub half_told: BTreeSet<String>,
    /// How much was taken of the ledger so far.
    pub totals: Totals,
    /// How many names were compared with unknown ones so far.
    pub compared: usize,
}

/// More comparisons than this are not made: a text with that many unknown names is no slip of the finger, and comparing
/// each with every known one would take the square of their number.
const MOST_COMPARED: usize = 100_000;

impl Faults {
    /// Whether it may still be asked which known name an unknown one means.
    pub(crate) fn may_compare(&self) -> bool {
        self.compared < MOST_COMPARED
    }

    /// Whether so many more may be taken.
    #[inline]
    pub(crate) fn take(&mut self, what: CountedPart, count: usize, place: Place) -> bool {
        if self.found.len() > MOST_FINDINGS {
            self.totals.too_many_findings(place);
        }
        self.totals.take(what, count, place)
    }

    /// Leaves out what was found from there on and is told before: an earlier state of a rail has the faults that it has
    /// still.
    pub(crate) fn once_since(&mut self, told: usize) {
        let more = self.found.split_off(told);
        for finding in more {
            let same = |it: &Finding| {
                (it.rule, it.at.place, &it.message) == (finding.rule, finding.at.place, &finding.message)
            };
            if !self.found.iter().any(same) {
                self.found.push(finding);
            }
        }
    }

    /// Whether a total was passed: then nothing more needs to be read.
    pub(crate) fn beyond(&self) -> bool {
        self.totals.beyond.is_some()
    }

    pub(crate) fn duplicate(&mut self, what: &str, name: Spanned<&str>, first: Place) {
        self.found.push(
            Finding::new(
                names::DUPLICATE_NAME,
                Grade::Nonconformity,
                "",
                name.place,
                format!("two {what} are called `{}`", *name),
            )
            .here("the second one")
            .also(first, "the first one")
            .next("give one of them another name; records that mean it must follow"),
        );
    }
}
