//! The one way of records into a ledger: laid out, looked at by the lint as the ledger would be with them, and added to
//! the file of the day and the person. What stands in the file already stays as it is, byte for byte.

use std::path::PathBuf;

use super::files::{self, WriteError, day_file};
use super::tidy::{self, TidyError};
use crate::finding::Finding;
use crate::judging::lint::Judged;
use crate::judging::what_if::with_text;
use crate::ledger::{Ledger, NodeDraft};
use crate::quantity::Moment;
use crate::rules::rule;
use crate::text;
use crate::world::{Day, Path};

/// Why records cannot be added.
#[derive(Debug, thiserror::Error)]
pub(crate) enum AddRecordError {
    /// The file cannot be written.
    #[error(transparent)]
    NotWritten(#[from] WriteError),
    /// The text of the records cannot be laid out.
    #[error("the record cannot be laid out: {0}; nothing was written")]
    Untidied(#[from] TidyError),
    /// The records cannot be put behind the text that is there.
    #[error("`{path}` was not changed: {why}")]
    Edit { path: Path, why: text::EditError },
}

/// The file that one person's records of one day go into.
#[derive(Debug)]
pub(crate) struct DayFile {
    real: PathBuf,
    /// As the ledger names it.
    pub path: Path,
    /// What it says; nothing where it is not there yet.
    there: Option<String>,
}

impl DayFile {
    /// The file as it is on the disk now.
    pub(crate) fn now(
        folder: &std::path::Path,
        ledger: &Ledger,
        date: Moment,
        by: &str,
    ) -> Result<DayFile, WriteError> {
        let mut file = DayFile::as_read(folder, ledger, date, by)?;
        file.there = files::read_if_there(&file.real)?;
        Ok(file)
    }

    /// The file as the ledger was read: where it was changed since, nothing will be added to it.
    pub(crate) fn as_read(
        folder: &std::path::Path,
        ledger: &Ledger,
        date: Moment,
        by: &str,
    ) -> Result<DayFile, WriteError> {
        let real = day_file(folder, date.date, by)?;
        let path = ledger.folder.join(&real.file_name().unwrap_or_default().to_string_lossy());
        let there = ledger.sources.text_of(&path).map(str::to_owned);
        Ok(DayFile { real, path, there })
    }

    /// What it says.
    pub(crate) fn text(&self) -> &str {
        self.there.as_deref().unwrap_or("")
    }

    /// Whether it says what it said when the ledger was read.
    pub(crate) fn is_as_read(&self, ledger: &Ledger) -> bool {
        self.there.as_deref() == ledger.sources.text_of(&self.path)
    }

    /// The ledger with it as it is now.
    pub(crate) fn judged(&self, ledger: &Ledger, day: impl Into<Day>) -> Judged {
        with_text(ledger, &self.path, self.text().to_owned(), day)
    }

    /// Some records for its end, in the one layout.
    pub(crate) fn add(&self, records: &str) -> Result<Addition<'_>, AddRecordError> {
        let added = tidy::addition(self.text(), records)?;
        let becomes = text::apply(self.text(), &[text::append(self.text(), &added)]);
        let becomes = becomes.map_err(|why| AddRecordError::Edit { path: self.path.clone(), why })?;
        Ok(Addition { file: self, added, becomes })
    }
}

/// The text of some records, one after the other.
pub(crate) fn together<'d>(records: impl IntoIterator<Item = &'d NodeDraft>) -> String {
    records.into_iter().map(NodeDraft::text).collect::<Vec<_>>().join("\n")
}

/// Records that are not written yet.
#[derive(Debug)]
pub(crate) struct Addition<'f> {
    file: &'f DayFile,
    added: String,
    /// What the file would say.
    becomes: String,
}

/// The findings that point into records that are not written yet.
#[derive(Debug, Default)]
pub(crate) struct Trial {
    /// The text itself is at fault: such a record must not be written.
    pub faults: Vec<Finding>,
    /// What the rules say of the readings: true all the same, and to be recorded.
    pub findings: Vec<Finding>,
}

impl Addition<'_> {
    /// The records, as they will stand there.
    pub(crate) fn records(&self) -> &str {
        self.added.trim_start_matches('\n')
    }

    /// The ledger as it would be, judged.
    pub(crate) fn judged(&self, ledger: &Ledger, day: impl Into<Day>) -> Judged {
        with_text(ledger, &self.file.path, self.becomes.clone(), day)
    }

    /// What would be said of the records themselves.
    pub(crate) fn trial(&self, ledger: &Ledger, day: impl Into<Day>) -> Trial {
        let judged = self.judged(ledger, day);
        let mut trial = Trial::default();
        for finding in judged.findings {
            let place = finding.at.place;
            let own = judged.ledger.sources.get(place.source).path == self.file.path;
            if !own || place.span.range().start < self.file.text().len() {
                continue;
            }
            if rule(finding.rule).is_some_and(|rule| rule.checks.is_empty()) {
                trial.faults.push(finding);
            } else {
                trial.findings.push(finding);
            }
        }
        trial
    }

    /// Adds them to the file.
    pub(crate) fn write(&self) -> Result<(), WriteError> {
        files::append(&self.file.real, self.file.there.as_deref(), &self.added)
    }
}
