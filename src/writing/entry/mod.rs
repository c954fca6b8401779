//! Taking readings in: questions through what is outstanding, each answer checked as it is given, one clean record at
//! the end. Nothing here touches a file.

mod bolts;
mod broken;
mod draft;
mod grooves;
pub(crate) mod outstanding;
mod prompter;
mod stations;
mod steps;
mod supports;
mod unfinished;
pub(crate) mod value;
mod verdict;

pub(crate) use broken::{Broken, broken};
pub(crate) use draft::{AskedReading, RecordDraft};
pub(crate) use prompter::{PromptError, Prompter, optional, right, yes_no};
pub(crate) use supports::in_words;
pub(crate) use unfinished::{HOW_TO_GO_BACK, KeepingPrompter, Likeness, Unfinished};
pub(crate) use verdict::{EntryVerdict, one_record, verdict};

use serde::{Deserialize, Serialize};

use crate::ledger::{Keyword, Ledger, NodeDraft, RailId, SpeltValue, Target};
use crate::quantity::{Length, Temperature, Travel};
use crate::rules::Case;
use crate::text::{self, ReadLimits};
use value::number;

/// What is taken in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum RecordKind {
    Fasten,
    Inspect,
    Survey,
    Loosen,
    Shim,
    Receive,
    RunningForce,
    Service,
}

impl RecordKind {
    /// In the order in which they are told.
    pub(crate) const ALL: [RecordKind; 8] = [
        RecordKind::Fasten,
        RecordKind::Inspect,
        RecordKind::Survey,
        RecordKind::Loosen,
        RecordKind::Shim,
        RecordKind::Receive,
        RecordKind::RunningForce,
        RecordKind::Service,
    ];

    /// The word it is written with.
    pub(crate) fn word(self) -> &'static str {
        match self {
            RecordKind::Fasten => "fasten",
            RecordKind::Inspect => "inspect",
            RecordKind::Survey => "survey",
            RecordKind::Loosen => "loosen",
            RecordKind::Shim => "shim",
            RecordKind::Receive => "receive",
            RecordKind::RunningForce => "running-force",
            RecordKind::Service => "service",
        }
    }

    /// What it says that happened.
    pub(crate) fn what(self) -> &'static str {
        match self {
            RecordKind::Fasten => "Bolts were tightened",
            RecordKind::Inspect => "A joint was inspected",
            RecordKind::Survey => "Gap, straightness or height was read along a rail",
            RecordKind::Loosen => "Bolts were slackened",
            RecordKind::Shim => "Shims were put in or taken out",
            RecordKind::Receive => "Goods came in",
            RecordKind::RunningForce => "The carriage was pushed along",
            RecordKind::Service => "Something was serviced",
        }
    }
}

/// What was said beforehand and need not be asked.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct GivenAnswers {
    pub on: Option<String>,
    pub stage: Option<String>,
    pub interface: Option<String>,
    pub wrench: Option<String>,
    pub setting: Option<String>,
    pub gauge: Option<String>,
    pub temperature: Option<String>,
    pub reads: Option<String>,
    pub task: Option<String>,
    pub travelled: Option<String>,
    pub reason: Option<String>,
    /// Rows in the words of the ledger. Where there are any, none is asked for.
    pub rows: Vec<String>,
    pub notes: Vec<String>,
}

/// Asks for what was not said and gives the record, still to be signed.
pub(crate) fn compose(
    case: Case,
    kind: RecordKind,
    given: &GivenAnswers,
    prompter: &mut dyn Prompter,
) -> Result<RecordDraft, PromptError> {
    let mut session = EntrySession { case, given, prompter };
    let mut draft = match kind {
        RecordKind::Fasten => session.fasten(),
        RecordKind::Inspect => session.inspect(),
        RecordKind::Survey => session.survey(),
        RecordKind::Loosen => session.loosen(),
        RecordKind::Shim => session.shim(),
        RecordKind::Service => session.service(),
        RecordKind::Receive | RecordKind::RunningForce => session.plain(kind),
    }?;
    let says_rows = !matches!(kind, RecordKind::Loosen | RecordKind::Service);
    if says_rows && draft.row_count() == 0 {
        return Err(PromptError::Wrong("this record would hold no row, and so say nothing".to_string()));
    }
    given.notes.iter().for_each(|note| draft.push(NodeDraft::new("note").value(note)));
    Ok(draft)
}

/// One person taking readings in.
struct EntrySession<'l, 'd> {
    case: Case<'l>,
    given: &'d GivenAnswers,
    prompter: &'d mut dyn Prompter,
}

/// What an address may be for a kind of record.
type AddressMeaning<T> = fn(Target) -> Option<T>;

impl EntrySession<'_, '_> {
    /// What it is about: as said, else asked for.
    fn target<T>(
        &mut self,
        what: &str,
        known: &[String],
        meant: AddressMeaning<T>,
    ) -> Result<(String, T), PromptError> {
        let ledger: &Ledger = self.case.ledger;
        let find = |address: &str| match Target::find(&ledger.machine, address) {
            Ok(target) => meant(target)
                .map(|it| (address.to_string(), it))
                .ok_or_else(|| format!("`{address}` is no {what}; there are {}", known.join(", "))),
            Err(_) => Err(format!("there is no `{address}`; there are {}", known.join(", "))),
        };
        let found = match (&self.given.on, known) {
            (Some(on), _) => find(on).map_err(PromptError::Wrong),
            (None, [only]) => find(only).map_err(PromptError::Wrong),
            (None, _) => right(self.prompter, &format!("Which {what}? ({})", known.join(", ")), find),
        }?;
        self.prompter.about(&found.0);
        Ok(found)
    }

    fn rail(&mut self) -> Result<(String, RailId), PromptError> {
        let known: Vec<String> = self.case.rails().map(|(id, ..)| self.case.machine.rail_address(id)).collect();
        let meant: AddressMeaning<RailId> = |target| match target {
            Target::Rail(id) => Some(id),
            _ => None,
        };
        self.target("rail", &known, meant)
    }

    /// One of some words: as said, else asked for.
    fn one_of<W: Keyword + PartialEq>(
        &mut self,
        name: &str,
        said: Option<&String>,
        usual: Option<W>,
    ) -> Result<W, PromptError> {
        let words: Vec<&str> = W::WORDS.iter().map(|(word, _)| *word).collect();
        let check = |word: &str| match (W::from_word(word), usual) {
            (Some(it), _) => Ok(it),
            (None, Some(usual)) if word.is_empty() => Ok(usual),
            _ => Err(format!("`{word}` is none of {}", words.join(", "))),
        };
        if let Some(said) = said {
            return check(said).map_err(PromptError::Wrong);
        }
        let usual = usual.map_or(String::new(), |usual| format!(", Enter for {}", usual.word()));
        right(self.prompter, &format!("{name}? ({}{usual})", words.join(", ")), check)
    }

    /// An instrument of the shop: as said, else asked for; nothing where none is named.
    fn instrument(
        &mut self,
        what: &str,
        said: Option<&String>,
        known: Vec<String>,
    ) -> Result<Option<String>, PromptError> {
        let check = |name: &str| {
            if known.is_empty() || known.iter().any(|it| it == name) {
                Ok(name.to_string())
            } else {
                Err(format!("the shop has no {what} `{name}`; it has {}", known.join(", ")))
            }
        };
        match said {
            Some(said) => check(said).map(Some).map_err(PromptError::Wrong),
            None if !self.given.rows.is_empty() => Ok(None),
            None => optional(self.prompter, &format!("Which {what}? ({})", known.join(", ")), check),
        }
    }

    fn gauge(&mut self, draft: &mut RecordDraft) -> Result<Option<Length>, PromptError> {
        let known = self.case.shop.gauges.iter().map(|gauge| gauge.name.to_string()).collect();
        let said = self.given.gauge.as_ref();
        let Some(name) = self.instrument("gauge", said, known)? else { return Ok(None) };
        draft.set("gauge", &name);
        draft.gauge = Some(name.clone());
        Ok(self.case.ledger.shop.gauge(&name).and_then(|gauge| gauge.graduation).map(|graduation| graduation.value))
    }

    /// What a gauge that is read cannot show, for a person who can read again. A pipe has read what it has read: the lint
    /// says of that what it says.
    fn out_of_range(&self, gauge: Option<&String>) -> Option<(String, Length)> {
        let gauge = self.case.ledger.shop.gauge(gauge?)?;
        Some((gauge.name.to_string(), gauge.range?.value)).filter(|_| self.prompter.patient())
    }

    fn temperature(&mut self, draft: &mut RecordDraft) -> Result<(), PromptError> {
        let typed = match &self.given.temperature {
            Some(said) => Some(number::<Temperature>(said).map_err(PromptError::Wrong)?),
            None if !self.given.rows.is_empty() => None,
            None => optional(self.prompter, "Rail temperature in °C? (Enter leaves it out)", number::<Temperature>)?,
        };
        if let Some(typed) = typed {
            draft.set("temperature", SpeltValue::typed(&typed.text));
        }
        Ok(())
    }

    /// Asks whether something worth a second look is as it was read, and has the answer to `question` forgotten if it is
    /// not. A pipe cannot tell: it is kept and told of.
    fn keep(&mut self, name: &str, question: &str, warning: &str) -> Result<bool, PromptError> {
        self.prompter.tell(warning);
        if !self.prompter.patient() {
            return Ok(true);
        }
        let kept = yes_no(self.prompter, &showed(name))?;
        if !kept {
            self.prompter.forget(question);
        }
        Ok(kept)
    }

    fn service(&mut self) -> Result<RecordDraft, PromptError> {
        let known: Vec<String> = self.case.machine.axes.iter().map(|axis| axis.name.to_string()).collect();
        let meant: AddressMeaning<usize> = |target| match target {
            Target::Axis(axis) => Some(axis),
            _ => None,
        };
        let (on, _) = self.target("axis", &known, meant)?;
        let mut draft = RecordDraft::new(NodeDraft::new("service").value(&on));
        let task = self.one_of::<crate::ledger::Task>("What was done", self.given.task.as_ref(), None)?;
        draft.set("task", task.word());
        let typed = match &self.given.travelled {
            Some(said) => Some(number::<Travel>(said).map_err(PromptError::Wrong)?),
            None => optional(
                self.prompter,
                "Distance travelled since release in km? (Enter leaves it out)",
                number::<Travel>,
            )?,
        };
        if let Some(typed) = typed {
            draft.set("travelled", SpeltValue::typed(&typed.text));
        }
        Ok(draft)
    }

    /// The rows that were said beforehand; whether there are any.
    fn rows_given(&self, draft: &mut RecordDraft) -> bool {
        self.given.rows.iter().for_each(|row| draft.push_typed(row));
        !self.given.rows.is_empty()
    }

    /// Rows in the words of the ledger, one after the other.
    fn plain(&mut self, kind: RecordKind) -> Result<RecordDraft, PromptError> {
        let (mut draft, example) = if kind == RecordKind::RunningForce {
            let known: Vec<String> = self.case.machine.axes.iter().map(|axis| axis.name.to_string()).collect();
            let (on, ()) = self.target("axis", &known, |target| matches!(target, Target::Axis(_)).then_some(()))?;
            let mut draft = RecordDraft::new(NodeDraft::new("running-force").value(&on));
            self.gauge(&mut draft)?;
            (draft, "at 600 14 14.5")
        } else {
            (RecordDraft::new(NodeDraft::new("receive")), "part serial=K-118 lot=\"7731\" length=2400")
        };
        self.rows_given(&mut draft);
        while self.given.rows.is_empty() {
            // Each question is another one, so that each can be asked again.
            let question = format!("Row {}, as `{example}` (Enter ends)", draft.row_count() + 1);
            let Some(row) = optional(self.prompter, &question, one_row)? else { break };
            draft.answered_in_words(&row, AskedReading { question, confirmed: false });
        }
        Ok(draft)
    }
}

/// Fails where a gauge of this range cannot show a reading.
fn shows(range: Option<&(String, Length)>, reading: Length) -> Result<(), String> {
    match range {
        Some((gauge, range)) if reading.abs() > *range => Err(format!(
            "{gauge} has a range of {range} and cannot show {reading}: look at the unit and the decimal point, or leave it blank and read it with another gauge"
        )),
        _ => Ok(()),
    }
}

/// How it is asked whether a reading is what was read.
pub(crate) fn showed(what: &str) -> String {
    format!("{what}: is that what it showed?")
}

/// A row in the words of the ledger: one node that reads.
fn one_row(row: &str) -> Result<String, String> {
    let read = text::read(row.to_string(), &ReadLimits::default());
    match (read.faults.first(), read.document.nodes().count()) {
        (Some(fault), _) => Err(format!("it does not read: {}; {}", fault.message(), fault.help())),
        (None, 1) => Ok(row.to_string()),
        _ => Err("one row at a time".into()),
    }
}
