//! What stops where: which findings stop a commit, a pull request or nothing. One place, so that the lint, the hook and a
//! pull request never drift apart.
//!
//! A hook stops only what the commit itself makes: what is put right by writing, a reading that does not conform and is
//! not held, and a record that was changed so that a broken verdict is gone. What is outstanding, what the calendar
//! brings, what a changed limit or description brings and what stood before is said in a line.
//!
//! * `records`: the records of a ledger as they say it; `history`: what became of each between two states
//! * `altered`, `parts`, `persons`, `instruments`, `withdrawn`: records, parts under records, persons, what was stated of
//!   instruments and whole ledgers that were changed or removed, as findings
//! * `standing`: what stood before; `brought`: what came without a reading
//! * `before`, `then`: ledgers and one ledger of another state
//! * `commit`: the staged ledger against those of the commits it is made upon
//! * `revision`: a ledger against a revision that somebody names

mod altered;
mod before;
mod brought;
mod commit;
mod designs;
mod history;
mod instruments;
mod limits;
mod parts;
mod persons;
mod records;
mod revision;
mod shops;
mod standing;
mod then;
mod withdrawn;

pub(crate) use before::LedgersBefore;
pub(crate) use commit::{CommitBefore, stop};
pub(crate) use parts::moved;
pub(crate) use revision::{GoneLedger, Revision, in_a_request};
pub(crate) use withdrawn::{Withdrawn, withdrawn};

use crate::finding::{Finding, Grade};
use crate::rules::keeping;

/// What becomes of a finding where work is handed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum FindingFate {
    /// It stops.
    Stops,
    /// A hold says that the reading is what was read.
    Held,
    /// It stood in the last commit already.
    Stood,
    /// The calendar brought it.
    Calendar,
    /// A limit, a concession or a description changed, and no reading.
    NoReading,
    /// Something is not recorded yet.
    Outstanding,
    /// What a rule needs is not described.
    NotJudged,
    /// Somebody declared that the rule does not apply: nothing is to be told.
    NotApplicable,
    /// Somebody accepted it.
    Conceded,
    Observation,
}

impl FindingFate {
    /// How many of them there are, in words.
    pub(crate) fn counted(self, count: usize) -> String {
        match self {
            FindingFate::Stops => format!("{count} to be put right first"),
            FindingFate::Held => format!("{count} held"),
            FindingFate::Stood => format!("{count} that stood before"),
            FindingFate::Calendar => format!("{count} brought by the calendar"),
            FindingFate::NoReading => format!("{count} by a changed limit or description"),
            FindingFate::Outstanding => format!("{count} outstanding"),
            FindingFate::NotJudged => format!("{count} not judged"),
            FindingFate::NotApplicable => format!("{count} declared not applicable"),
            FindingFate::Conceded => format!("{count} accepted by concession"),
            FindingFate::Observation if count == 1 => "1 observation".into(),
            FindingFate::Observation => format!("{count} observations"),
        }
    }
}

/// Why a finding stops nobody who hands work on, whatever was there before.
fn never_stops(finding: &Finding) -> Option<FindingFate> {
    Some(match finding.grade {
        Grade::NotJudged if finding.conceded.is_some() => FindingFate::NotApplicable,
        _ if finding.conceded.is_some() => FindingFate::Conceded,
        Grade::Outstanding => FindingFate::Outstanding,
        Grade::NotJudged => FindingFate::NotJudged,
        Grade::Observation => FindingFate::Observation,
        Grade::Nonconformity if finding.held.is_some() => FindingFate::Held,
        Grade::Nonconformity if finding.is_at_machine() => match finding.rule {
            // What was accepted until a day that is over stands in the last commit too; else the commit made it.
            _ if finding.ran_out => return None,
            _ if finding.by_date => FindingFate::Calendar,
            // By the distance travelled it falls due as by the calendar.
            rule if rule == keeping::service_due::RULE.name => FindingFate::Calendar,
            // What came open since the release is as it was before: work to be done.
            rule if rule == keeping::release_incomplete::RULE.name => FindingFate::Outstanding,
            _ => return None,
        },
        Grade::Nonconformity => return None,
    })
}

/// What is told of findings that do not stop, in one line: `2 held, 1 that stood before`; nothing where there are none.
pub(crate) fn told(fates: impl IntoIterator<Item = FindingFate>) -> String {
    let mut counts = std::collections::BTreeMap::new();
    for fate in fates.into_iter().filter(|fate| *fate != FindingFate::NotApplicable) {
        *counts.entry(fate).or_insert(0) += 1;
    }
    let words: Vec<String> =
        counts.into_iter().map(|(fate, count): (FindingFate, usize)| fate.counted(count)).collect();
    words.join(", ")
}
