//! A record as it is asked for: what it says so far, and the questions that its readings came of.

use std::collections::BTreeMap;
use std::ops::{Deref, DerefMut};

use crate::ledger;

/// A record in the making.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct RecordDraft {
    pub record: ledger::NodeDraft,
    /// The gauge that is read.
    pub gauge: Option<String>,
    /// The questions that rows came of, by the row's number; that of the head's number under none.
    pub asked: BTreeMap<Option<usize>, AskedReading>,
}

/// A question that gave a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct AskedReading {
    pub question: String,
    /// The person has said that it is what it showed.
    pub confirmed: bool,
}

impl RecordDraft {
    pub(crate) fn new(record: ledger::NodeDraft) -> RecordDraft {
        RecordDraft { record, ..RecordDraft::default() }
    }

    /// A row that came of a question.
    pub(crate) fn answered(&mut self, row: ledger::NodeDraft, asked: AskedReading) {
        self.asked.insert(Some(self.record.row_count()), asked);
        self.record.push(row);
    }

    /// The same in the words of the ledger, as it was typed.
    pub(crate) fn answered_in_words(&mut self, row: &str, asked: AskedReading) {
        self.asked.insert(Some(self.record.row_count()), asked);
        self.record.push_typed(row);
    }
}

impl Deref for RecordDraft {
    type Target = ledger::NodeDraft;

    fn deref(&self) -> &ledger::NodeDraft {
        &self.record
    }
}

impl DerefMut for RecordDraft {
    fn deref_mut(&mut self) -> &mut ledger::NodeDraft {
        &mut self.record
    }
}
