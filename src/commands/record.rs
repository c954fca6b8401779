//! `wayledger record`: readings are typed in at the machine, or come through a pipe.

use std::io::Write as _;

use clap::ValueEnum;
use clap::builder::PossibleValue;

use super::axis::{LedgerOnDisk, ReadLedger};
use super::prompter::StandardPrompter;
use super::record_draft::RecordOutcome;
use super::{CLEAN, CommandError, moment, output, record_draft};
use crate::finding::{Grade, Locator, names};
use crate::formats::clean;
use crate::judging::lint::{self, Judged};
use crate::ledger::NodeDraft;
use crate::quantity::Moment;
use crate::rules::{Case, hold_record};
use crate::world::{Disk, World as _};
use crate::writing::entry::{
    self, Broken, EntryVerdict, GivenAnswers, HOW_TO_GO_BACK, KeepingPrompter, Prompter as _, RecordDraft, RecordKind,
    Unfinished,
};
use crate::writing::records::{self, Addition, DayFile};

/// Adds one record to the day's file of its author: asks through what is outstanding and checks every answer at once.
///
/// On a terminal a wrong answer is asked for again. From a pipe the same questions are answered line by line, without
/// being shown; a wrong or missing answer ends with exit code 2. What is given as an option is not asked for. Nothing is
/// written before the last answer.
///
/// On a terminal every answer is kept at once in a draft, out of Git's sight: in `.git/wayledger`, or where there is no
/// repository in a hidden file beside the ledger. After Ctrl-C, a closed window or a refused write the next `record` of
/// the same kind and address offers to go on with it. `back` as an answer takes the last one back, `back S4` that for S4;
/// the others stay.
#[derive(Debug, clap::Args)]
pub(crate) struct RecordArguments {
    /// What is recorded.
    #[arg(value_enum)]
    kind: RecordKind,
    /// What it is about: a rail as `X.port`, a joint as `X.port.J1`, an axis as `X`.
    on: Option<String>,
    #[command(flatten)]
    place: LedgerOnDisk,
    /// Who did it: a role or a staff number, not a name.
    #[arg(long, value_name = "PERSON")]
    by: Option<String>,
    /// When: 2026-04-14T08:10, or 2026-04-14 to be asked for the time; now where nothing is said.
    #[arg(long, value_name = "MOMENT")]
    date: Option<String>,
    /// snug or full; as-fitted, verification or service; aligning for what is read while the rail is set.
    #[arg(long)]
    stage: Option<String>,
    /// rail or base bolts; both is for loosen.
    #[arg(long)]
    interface: Option<String>,
    /// The torque wrench.
    #[arg(long)]
    wrench: Option<String>,
    /// What a setting wrench was set to, in N·m.
    #[arg(long)]
    setting: Option<String>,
    /// The gauge.
    #[arg(long)]
    gauge: Option<String>,
    /// Temperature of the rails in °C.
    #[arg(long, allow_hyphen_values = true)]
    temperature: Option<String>,
    /// What a survey reads: gap, straightness or height.
    #[arg(long)]
    reads: Option<String>,
    /// What was serviced.
    #[arg(long)]
    task: Option<String>,
    /// Kilometres travelled since release.
    #[arg(long)]
    travelled: Option<String>,
    /// Why bolts were loosened.
    #[arg(long)]
    reason: Option<String>,
    /// A row in the words of the ledger, as "at S1 10.4 10.5" or "UL -0.04 -> -0.03"; more than one may be given.
    #[arg(long = "row", value_name = "ROW")]
    rows: Vec<String>,
    /// A remark for people.
    #[arg(long = "note", value_name = "TEXT")]
    notes: Vec<String>,
    /// Shows the record and writes nothing.
    #[arg(long)]
    show: bool,
}

impl ValueEnum for RecordKind {
    fn value_variants<'a>() -> &'a [RecordKind] {
        &RecordKind::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.word()).help(self.what()))
    }
}

pub(crate) fn run(arguments: &RecordArguments) -> Result<u8, CommandError> {
    let (disk, ReadLedger { ledger, .. }) = arguments.place.one_on_disk()?;
    let judged = lint::judge_ledger(ledger, disk.day());
    let mut line = StandardPrompter::new();
    if let Some(fault) = judged.ledger.text_findings.iter().find(|fault| fault.rule == names::UNREADABLE) {
        let at = Locator::new(&judged.ledger.sources).locate(fault.at.place);
        line.tell(&format!(
            "{}:{} cannot be read: {}; what it says is missing here, so look whether it was saved whole",
            at.file, at.line, fault.message
        ));
    }
    if let Some(date) = &arguments.date {
        let date = moment::option(date).map_err(CommandError::Said)?;
        if date.date > disk.day().latest {
            let why = format!("{date} lies ahead of today, {}: nothing was written", disk.day().date);
            return Err(CommandError::Said(why));
        }
    }
    let said = Unfinished {
        record: arguments.kind.word().to_string(),
        begun: moment::now().to_string(),
        today: arguments.place.today().map(|day| day.to_string()),
        date: arguments.date.clone(),
        by: arguments.by.clone(),
        about: arguments.on.clone(),
        given: arguments.given(),
        ..Unfinished::default()
    };
    // A pipe answers what it was written to answer, and can be run again.
    if !line.patient() {
        let mut keep = |_: &Unfinished| Ok(());
        let mut prompter = KeepingPrompter::new(said.clone(), &mut line, &mut keep);
        return session(arguments, &disk, &judged, &said, &mut prompter).map(|_| CLEAN);
    }
    let (mut kept, record) = record_draft::take_up(&disk.real(&judged.path), said, &mut line)?;
    line.tell(HOW_TO_GO_BACK);
    let done = {
        let mut keep = |record: &Unfinished| kept.write(&record.text()).map_err(|why| why.to_string());
        let mut prompter = KeepingPrompter::new(record.clone(), &mut line, &mut keep);
        session(arguments, &disk, &judged, &record, &mut prompter)
    };
    record_draft::put_away(kept, done, &record)
}

/// Asks, judges and writes; begins anew with the answers so far where one of them is to be another.
fn session(
    arguments: &RecordArguments,
    disk: &Disk,
    judged: &Judged,
    said: &Unfinished,
    prompter: &mut KeepingPrompter,
) -> Result<RecordOutcome, CommandError> {
    loop {
        match sitting(arguments, disk, judged, said, prompter) {
            Err(_) if prompter.went_back() => prompter.restart(),
            Ok(None) => prompter.restart(),
            Ok(Some(outcome)) => return Ok(outcome),
            Err(why) => return Err(why),
        }
    }
}

/// Asks once through all; nothing where a reading was none and is to be typed again.
fn sitting(
    arguments: &RecordArguments,
    disk: &Disk,
    judged: &Judged,
    said: &Unfinished,
    prompter: &mut KeepingPrompter,
) -> Result<Option<RecordOutcome>, CommandError> {
    let day = disk.day();
    let by = person(said, disk, judged, prompter)?;
    let moment = moment(said, prompter)?;
    // A word that makes no file name is refused before anything is asked.
    DayFile::as_read(&disk.real(&judged.path), &judged.ledger, moment, &by)?;
    let case = Case::new(&judged.ledger, day);
    let mut draft = entry::compose(case, arguments.kind, &said.given, prompter)?;
    prompter.aloud();
    draft.record = draft.record.signed(moment, &by);
    if !prompter.patient() && prompter.left_over() {
        let why = "there are more answers than questions, so some stand at the wrong place; nothing was written";
        return Err(CommandError::Said(why.into()));
    }
    entry::one_record(&draft.text())?;

    // The ledger as it would become, judged before a byte is written.
    let file = DayFile::now(&disk.real(&judged.path), &judged.ledger, moment, &by)?;
    let path = &file.path;
    let mut addition = file.add(&draft.text())?;
    if file.text().contains(addition.records()) && !said.answers.is_empty() {
        prompter.tell(&format!("this record is in {path} already; nothing was written"));
        return Ok(Some(RecordOutcome::Written));
    }
    // Judged against the ledger as it was read: what others save meanwhile is not this record's doing.
    let known = match file.is_as_read(&judged.ledger) {
        true => judged.findings.clone(),
        false => file.judged(&judged.ledger, day).findings,
    };
    let verdict_of = |addition: &Addition| entry::verdict(&known, addition.judged(&judged.ledger, day));
    let verdict = verdict_of(&addition)?;
    let mut out = output::standard();
    write!(out, "{}", shown(addition.records()))?;
    out.flush()?;
    tell(prompter, &verdict);
    if arguments.show {
        return Ok(Some(RecordOutcome::Shown));
    }
    if prompter.patient() {
        let broken = entry::broken(&verdict.new, &verdict.ledger, path, file.text().len(), &draft);
        match confirmed(&broken, &draft, moment, &by, prompter)? {
            Some(holds) if holds.is_empty() => {}
            Some(holds) => {
                addition = file.add(&records::together(std::iter::once(&draft.record).chain(&holds)))?;
                verdict_of(&addition)?;
                write!(out, "{}", shown(addition.records()))?;
                out.flush()?;
            }
            None => return Ok(None),
        }
        prompter.tell_unasked();
        if !prompter.once(&format!("Write it to {path}?"))? {
            return Err(CommandError::Said("nothing was written".into()));
        }
    }
    addition.write()?;
    let (was, is) = verdict.outstanding;
    prompter.tell(&format!("written to {path}; outstanding: {was} before, {is} now"));
    Ok(Some(RecordOutcome::Written))
}

/// Who did it, as it was said or is asked for. A word that makes no file name is no answer, and one that the shop does not
/// know is asked about.
fn person(
    said: &Unfinished,
    disk: &Disk,
    judged: &Judged,
    prompter: &mut KeepingPrompter,
) -> Result<String, CommandError> {
    let question = "Who did it? (a role or staff number)";
    let day = Moment { date: disk.day().date, minute: None };
    let fits = |by: &str| match by {
        "" => Err("somebody did it: say who".to_string()),
        by => DayFile::as_read(&disk.real(&judged.path), &judged.ledger, day, by)
            .map(|_| by.to_string())
            .map_err(|why| why.to_string()),
    };
    let persons = &judged.ledger.shop.persons;
    loop {
        let by = match &said.by {
            Some(by) => by.clone(),
            None => entry::right(prompter, question, fits)?,
        };
        let unknown = said.by.is_none() && prompter.patient() && !persons.is_empty() && persons.get(&by).is_none();
        if !unknown {
            return Ok(by);
        }
        let known: Vec<&str> = persons.iter().map(|person| person.as_str()).collect();
        if entry::yes_no(prompter, &format!("The shop knows {} and no `{by}`: is it right?", known.join(", ")))? {
            return Ok(by);
        }
        prompter.forget(question);
    }
}

/// When it was done, as it was said or is asked for.
fn moment(said: &Unfinished, prompter: &mut KeepingPrompter) -> Result<Moment, CommandError> {
    let begun = Moment::read(&said.begun).unwrap_or_else(moment::now);
    let date = said.date.as_deref().map(moment::option).transpose().map_err(CommandError::Said)?;
    let today = said.today.as_deref().and_then(Moment::read).map(|today| today.date);
    moment::asked(date, today, begun, prompter)
}

fn tell(prompter: &mut KeepingPrompter, verdict: &EntryVerdict) {
    for finding in &verdict.new {
        let grade = if finding.grade == Grade::Nonconformity { "nonconformity" } else { "observation" };
        let limit = finding.limit.as_ref().map_or(String::new(), |it| format!(" ({}: {})", it.text, it.source));
        prompter.tell(&format!("{grade} {}: {}{limit}", finding.address, finding.message));
        if !finding.next.is_empty() {
            prompter.tell(&format!("  next: {}", finding.next));
        }
        // A person is asked; whoever answers through a pipe adds it.
        if let Some(hold) = finding.to_hold.as_ref().filter(|_| !prompter.patient()) {
            prompter.tell(&format!("  or, if it is so: {hold}"));
        }
    }
}

/// Asks of every reading that breaks a rule whether it is what was read: then it is held, with a reason. Gives the records
/// that hold; nothing where something is to be typed again.
fn confirmed(
    broken: &[Broken],
    draft: &RecordDraft,
    moment: Moment,
    by: &str,
    prompter: &mut KeepingPrompter,
) -> Result<Option<Vec<NodeDraft>>, CommandError> {
    let mut holds = Vec::new();
    for it in broken {
        if !it.confirmed && !entry::yes_no(prompter, &entry::showed(&it.address))? {
            let all = draft.asked.values().map(|asked| &asked.question);
            let questions: Vec<&String> =
                if it.questions.is_empty() { all.collect() } else { it.questions.iter().collect() };
            if questions.is_empty() {
                return Err(CommandError::Said("then the rows were given wrong; nothing was written".into()));
            }
            questions.iter().for_each(|question| prompter.forget(question));
            return Ok(None);
        }
        let question = format!("{} is held until that is put right. Reason, for the record", it.address);
        let reason = entry::right(prompter, &question, |reason| match reason {
            "" => Err("a hold needs its reason"),
            reason => Ok(reason.to_string()),
        })?;
        holds.push(hold_record(&it.address, moment, by, &reason));
    }
    Ok(Some(holds))
}

/// A record for the terminal: its lines stay lines.
fn shown(record: &str) -> String {
    record.lines().map(|line| format!("{}\n", clean(line))).collect()
}

impl RecordArguments {
    fn given(&self) -> GivenAnswers {
        GivenAnswers {
            on: self.on.clone(),
            stage: self.stage.clone(),
            interface: self.interface.clone(),
            wrench: self.wrench.clone(),
            setting: self.setting.clone(),
            gauge: self.gauge.clone(),
            temperature: self.temperature.clone(),
            reads: self.reads.clone(),
            task: self.task.clone(),
            travelled: self.travelled.clone(),
            reason: self.reason.clone(),
            rows: self.rows.clone(),
            notes: self.notes.clone(),
        }
    }
}
