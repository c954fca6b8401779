//! A record that was begun: what was said on the command line and every answer so far. Taken up again, the same questions
//! get the same answers, until one comes that was not answered yet. What is kept and where is for who has the files.

use serde::{Deserialize, Serialize};

use super::prompter::{for_yes_no, is_yes_no, yes_or_no};
use super::{GivenAnswers, PromptError, Prompter};

/// All that a record needs to be gone on with.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Unfinished {
    /// What is recorded: `fasten`.
    pub record: String,
    /// The ledger's folder.
    pub ledger: String,
    /// What it is about, once that is known: `X.left`.
    pub about: Option<String>,
    /// When it was begun, by the machine's clock.
    pub begun: String,
    /// Options as they were typed.
    pub today: Option<String>,
    pub date: Option<String>,
    pub by: Option<String>,
    pub given: GivenAnswers,
    /// Questions with their answers, in the order in which they were asked.
    pub answers: Vec<(String, String)>,
}

/// Whether a command means a record that was begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Likeness {
    Another,
    /// The same kind of record about the same thing, but said to be otherwise: another person, stage or gauge.
    Otherwise,
    Same,
}

impl Unfinished {
    pub(crate) fn text(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }

    pub(crate) fn read(text: &str) -> Option<Unfinished> {
        serde_json::from_str(text).ok()
    }

    /// Whether what is `said` now means this record. What is not said is as it was.
    pub(crate) fn likeness(&self, said: &Unfinished) -> Likeness {
        let on = said.given.on.as_ref();
        if self.record != said.record || self.ledger != said.ledger || on.is_some() && on != self.about.as_ref() {
            return Likeness::Another;
        }
        let same = |said: &Option<String>, was: &Option<String>| said.is_none() || said == was;
        let (new, old) = (&said.given, &self.given);
        let options = [
            (&said.today, &self.today),
            (&said.date, &self.date),
            (&said.by, &self.by),
            (&new.stage, &old.stage),
            (&new.interface, &old.interface),
            (&new.wrench, &old.wrench),
            (&new.setting, &old.setting),
            (&new.gauge, &old.gauge),
            (&new.temperature, &old.temperature),
            (&new.reads, &old.reads),
            (&new.task, &old.task),
            (&new.travelled, &old.travelled),
            (&new.reason, &old.reason),
        ];
        let lists = [(&new.rows, &old.rows), (&new.notes, &old.notes)];
        let all = options.iter().all(|(said, was)| same(said, was))
            && lists.iter().all(|(said, was)| said.is_empty() || said == was);
        if all { Likeness::Same } else { Likeness::Otherwise }
    }
}

/// A prompter that keeps what is answered, and answers by itself what was answered before.
pub(crate) struct KeepingPrompter<'d> {
    prompter: &'d mut dyn Prompter,
    /// The record as far as it has come.
    record: Unfinished,
    /// Answers to be given again.
    again: Vec<(String, String)>,
    /// Called whenever there is more to keep; says why it cannot be kept.
    keep: &'d mut dyn FnMut(&Unfinished) -> Result<(), String>,
    /// What is answered again the person has seen already, so it is not shown once more.
    seen: bool,
    /// Nothing is told: it is about an answer that was seen.
    quiet: bool,
    failed: bool,
    /// Somebody wants to type an answer again, so it all begins anew with the others.
    went_back: bool,
}

/// What somebody at a terminal is told first.
pub(crate) const HOW_TO_GO_BACK: &str =
    "`back` as an answer: the last one is typed again; `back S4`: that for S4. Nothing is written before the last y.";

impl<'d> KeepingPrompter<'d> {
    /// Goes on with a record, which may be a new one without answers.
    pub(crate) fn new(
        mut record: Unfinished,
        prompter: &'d mut dyn Prompter,
        keep: &'d mut dyn FnMut(&Unfinished) -> Result<(), String>,
    ) -> KeepingPrompter<'d> {
        let again = std::mem::take(&mut record.answers);
        KeepingPrompter { prompter, record, again, keep, seen: false, quiet: false, failed: false, went_back: false }
    }

    /// Begins anew with the same answers, in silence but for questions that have none.
    pub(crate) fn restart(&mut self) {
        self.again.splice(..0, std::mem::take(&mut self.record.answers));
        (self.seen, self.quiet) = (true, true);
    }

    /// Tells of what comes now, whatever it is about.
    pub(crate) fn aloud(&mut self) {
        self.quiet = false;
    }

    /// Asks for yes or no whenever it comes to that: the answer is not kept.
    pub(crate) fn once(&mut self, question: &str) -> Result<bool, PromptError> {
        let question = for_yes_no(question);
        loop {
            let Some(answer) = self.fresh(&question) else { return Err(PromptError::Ended(question)) };
            match yes_or_no(answer.trim()) {
                Ok(meant) => return Ok(meant),
                Err(why) => self.prompter.tell(why),
            }
        }
    }

    /// Whether no answer came because somebody went back to another one.
    pub(crate) fn went_back(&mut self) -> bool {
        std::mem::take(&mut self.went_back)
    }

    /// An answer that was not given before; none where somebody goes back.
    fn fresh(&mut self, question: &str) -> Option<String> {
        loop {
            let answer = self.prompter.ask(question)?;
            let words: Vec<&str> = answer.split_whitespace().collect();
            let name = match words[..] {
                ["back"] if self.prompter.patient() => None,
                ["back", name] if self.prompter.patient() => Some(name),
                _ => return Some(answer),
            };
            let about = |question: &str| {
                let rest = name.map(|name| question.strip_prefix(name));
                rest.is_none_or(|rest| {
                    rest.is_some_and(|it| !it.starts_with(|c: char| c.is_alphanumeric() || c == '-'))
                })
            };
            let known = self.record.answers.iter().rev().map(|(known, _)| known);
            if let Some(known) = known.filter(|known| !is_yes_no(known)).find(|known| about(known)).cloned() {
                self.forget(&known);
                self.went_back = true;
                return None;
            }
            self.prompter.tell(&match name {
                Some(name) => format!("nothing was answered for `{name}`"),
                None => "nothing was answered yet".to_string(),
            });
        }
    }

    /// Tells of answers to questions that were not asked any more: the ledger has changed since.
    pub(crate) fn tell_unasked(&mut self) {
        for (question, answer) in std::mem::take(&mut self.again) {
            self.tell(&format!("not asked any more, and left out: {question}: {answer}"));
        }
    }

    fn save(&mut self) {
        // Those that are still to be given again are not lost either.
        let mut all = self.record.clone();
        all.answers.extend(self.again.iter().cloned());
        if let Err(why) = (self.keep)(&all)
            && !std::mem::replace(&mut self.failed, true)
        {
            self.prompter.tell(&format!("the answers cannot be kept until the record is written: {why}"));
        }
    }
}

impl Prompter for KeepingPrompter<'_> {
    fn ask(&mut self, question: &str) -> Option<String> {
        if let Some(at) = self.again.iter().position(|(known, _)| known == question) {
            let (_, answer) = self.again.remove(at);
            self.quiet = self.seen;
            if !self.seen {
                self.prompter.tell(&format!("{question}: {answer}"));
            }
            self.record.answers.push((question.to_string(), answer.clone()));
            return Some(answer);
        }
        self.quiet = false;
        let answer = self.fresh(question)?;
        self.record.answers.push((question.to_string(), answer.clone()));
        self.save();
        Some(answer)
    }

    fn tell(&mut self, line: &str) {
        if !self.quiet {
            self.prompter.tell(line);
        }
    }

    fn patient(&self) -> bool {
        self.prompter.patient()
    }

    fn left_over(&mut self) -> bool {
        self.prompter.left_over()
    }

    fn about(&mut self, address: &str) {
        self.record.about = Some(address.to_string());
        if !self.record.answers.is_empty() {
            self.save();
        }
    }

    fn forget(&mut self, question: &str) {
        let answers = &mut self.record.answers;
        let Some(at) = answers.iter().rposition(|(known, _)| known == question) else { return };
        // A yes or no that follows is about it.
        let about = answers[at + 1..].iter().take_while(|(known, _)| is_yes_no(known)).count();
        answers.drain(at..=at + about);
        self.save();
    }
}
