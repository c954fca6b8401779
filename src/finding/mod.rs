//! What a rule found: data, never an error, and nothing about how it is printed.

mod cure;
mod fix;
mod located;
mod measure;
pub(crate) mod names;
mod sentence;
mod source;

pub use cure::Cure;
pub use fix::Fix;
pub use located::{Located, Locator};
pub(crate) use measure::MeasuredValue;
pub use measure::{Measure, WorseDirection};
pub(crate) use names::RuleName;
pub(crate) use sentence::counted;
pub use sentence::sentence;
pub use source::{Place, Source, SourceId, Sources};

use crate::text::Edit;

/// No ledger is told more findings than this: who has so many mends the first ones and runs again.
pub const MOST_FINDINGS: usize = 10_000;

/// Whether an address is another one, or something on it.
pub(crate) fn within(address: &str, whole: &str) -> bool {
    address.strip_prefix(whole).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// A rule is broken.
    Nonconformity,
    /// Something is not recorded yet.
    Outstanding,
    /// Nobody can tell: what a rule needs is not described.
    NotJudged,
    /// Worth a look, but no breach.
    Observation,
}

impl Grade {
    /// Every grade, the heaviest first.
    pub const ALL: [Grade; 4] = [Grade::Nonconformity, Grade::Outstanding, Grade::NotJudged, Grade::Observation];

    /// As it is printed.
    pub fn name(self) -> &'static str {
        match self {
            Grade::Nonconformity => "nonconformity",
            Grade::Outstanding => "outstanding",
            Grade::NotJudged => "not judged",
            Grade::Observation => "observation",
        }
    }
}

/// A place in the text with what it shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Where it stands.
    pub place: Place,
    /// What is said there.
    pub text: String,
}

/// The limit a finding was judged by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// The rulebook entry's name, or nothing where the limit is a plain fact of geometry.
    pub entry: Option<&'static str>,
    /// As printed: `at most 0.02 mm`.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// Where a shop or machine set it.
    pub set_at: Option<Place>,
}

/// A concession that covers a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conceded {
    /// The concession.
    pub place: Place,
    /// Who conceded it.
    pub by: String,
    /// Why.
    pub reason: String,
    /// The last day that it holds, if it has one.
    pub until: Option<String>,
}

/// A hold that says that the reading is what was read, and keeps the axis from release.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// The hold.
    pub place: Place,
    /// The moment of the hold, as it is written.
    pub since: String,
    /// Who put it on hold.
    pub by: String,
    /// Why.
    pub reason: String,
}

/// One finding of one rule at one address.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The rule's name.
    pub rule: RuleName,
    /// How much it weighs.
    pub grade: Grade,
    /// What it is about: `X.port.J1`; empty where the text itself is at fault.
    pub address: String,
    /// What is wrong and how much, in one line.
    pub message: String,
    /// The number found, exactly.
    pub found: Option<Measure>,
    /// What it was judged by.
    pub limit: Option<Limit>,
    /// The exact place, with a short text under it.
    pub at: Label,
    /// Other places that belong to it, in other files too.
    pub also: Vec<Label>,
    /// The places of other facts that it follows from, in order: a change there can change it or make it go. Once a ledger
    /// is judged they are there.
    pub causes: Vec<Place>,
    /// What to do next.
    pub next: String,
    /// The judgement depends on today's date.
    pub by_date: bool,
    /// The concession that covers it.
    pub conceded: Option<Conceded>,
    /// It was accepted until a day that is over.
    pub ran_out: bool,
    /// How it is put right: the rule's own way unless the check said otherwise. Once a ledger is judged it is there, and
    /// no longer depends on what is built.
    pub cure: Option<Cure>,
    /// The hold that lets it in.
    pub held: Option<Held>,
    /// The record that would hold it, to be pasted below the reading, where a reading is what does not conform.
    pub to_hold: Option<String>,
    /// The one change of the text that puts it right, where there is one.
    pub fix: Option<Fix>,
    /// How it compares with a revision, where it is held against one.
    pub baseline: Option<BaselineState>,
    /// It stood at that revision, and does not fail.
    pub stands: bool,
}

/// How a finding compares with the same ledger at a revision, in the words of SARIF 2.1.0 (3.27.24).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BaselineState {
    /// It was not there, or its number was better.
    New,
    /// It was there, with the same number.
    Unchanged,
    /// It was there with a number that was worse.
    Updated,
    /// It was there, and is not found any more.
    Absent,
}

impl BaselineState {
    /// As it is printed.
    pub fn word(self) -> &'static str {
        match self {
            BaselineState::New => "new",
            BaselineState::Unchanged => "unchanged",
            BaselineState::Updated => "updated",
            BaselineState::Absent => "absent",
        }
    }
}

impl Finding {
    /// A finding with its place and message; all else is added.
    pub fn new(
        rule: RuleName,
        grade: Grade,
        address: impl Into<String>,
        at: Place,
        message: impl Into<String>,
    ) -> Self {
        Finding {
            rule,
            grade,
            address: address.into(),
            message: message.into(),
            found: None,
            limit: None,
            at: Label { place: at, text: String::new() },
            also: Vec::new(),
            causes: Vec::new(),
            next: String::new(),
            by_date: false,
            conceded: None,
            ran_out: false,
            cure: None,
            held: None,
            to_hold: None,
            fix: None,
            baseline: None,
            stands: false,
        }
    }

    /// The short text under the exact place.
    pub fn here(mut self, text: impl Into<String>) -> Self {
        self.at.text = text.into();
        self
    }

    /// Another place that belongs to the finding.
    pub fn also(mut self, place: Place, text: impl Into<String>) -> Self {
        self.also.push(Label { place, text: text.into() });
        self
    }

    /// The number found.
    pub fn found(mut self, found: Measure) -> Self {
        self.found = Some(found);
        self
    }

    /// What it was judged by.
    pub fn limit(mut self, limit: impl Into<Limit>) -> Self {
        self.limit = Some(limit.into());
        self
    }

    /// What to do next.
    pub fn next(mut self, text: impl Into<String>) -> Self {
        self.next = text.into();
        self
    }

    /// The one change of its file that puts it right.
    pub fn fix(mut self, title: impl Into<String>, edits: Vec<Edit>) -> Self {
        let source = self.at.place.source;
        self.fix = Some(Fix { title: title.into(), edits: edits.into_iter().map(|edit| (source, edit)).collect() });
        self
    }

    /// Says how this one is put right, where it is not as its rule says.
    pub fn cured(mut self, cure: Cure) -> Self {
        self.cure = Some(cure);
        self
    }

    /// A rule is broken here, and nobody has accepted it.
    pub fn is_broken(&self) -> bool {
        self.grade == Grade::Nonconformity && self.conceded.is_none()
    }

    /// Whether its number is no worse than another finding's, or neither has one.
    pub(crate) fn no_worse_than(&self, other: &Finding) -> bool {
        match (self.found, other.found) {
            (None, None) => true,
            (Some(own), Some(other)) => own.no_worse_than(&other),
            _ => false,
        }
    }

    /// Only work and a later reading put it right.
    pub fn is_at_machine(&self) -> bool {
        self.cure == Some(Cure::AtMachine)
    }

    /// Every place it names.
    pub fn places(&self) -> impl Iterator<Item = Place> {
        std::iter::once(&self.at).chain(&self.also).map(|label| label.place)
    }

    /// Marks the judgement as depending on today's date.
    pub fn by_date(mut self) -> Self {
        self.by_date = true;
        self
    }

    /// The order in which findings are printed: by place, then by rule, so that two runs are the same bytes.
    pub fn order(&self) -> (Place, RuleName, &str, &str) {
        (self.at.place, self.rule, &self.address, &self.message)
    }
}
