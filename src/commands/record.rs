//! `wayledger record`: readings are typed in at the machine, or come through a pipe.

use std::io::Write as _;

use clap::ValueEnum;

use super::axis::{Ledgers, Whole};
use super::desk::Line;
use super::record_draft::Done;
use super::{CLEAN, Failure, output, record_draft};
use crate::finding::Grade;
use crate::formats::clean;
use crate::judging::lint::{self, Judged};
use crate::judging::what_if::with_text;
use crate::quantity::Moment;
use crate::rules::{Case, hold_record};
use crate::text;
use crate::world::{Disk, World as _};
use crate::writing::entry::{self, Broken, Desk as _, Draft, Given, Kept, Kind, Unfinished, Verdict};
use crate::writing::files;
use crate::writing::tidy;

/// Adds one record to the day's file of its author: asks through what is outstanding and checks every answer at once.
///
/// On a terminal a wrong answer is asked for again. From a pipe the same questions are answered line by line, without
/// being shown; a wrong or missing answer ends with exit code 2. What is given as an option is not asked for. Nothing is
/// written before the last answer.
///
/// On a terminal every answer is kept at once in a draft, out of Git's sight: in `.git/wayledger`, or where there is no
/// repository in a hidden file beside the ledger. After Ctrl-C, a closed window or a refused write the next `record` of
/// the same kind and address offers to go on with it.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// What is recorded.
    #[arg(value_enum)]
    kind: Recorded,
    /// What it is about: a rail as `X.port`, a joint as `X.port.J1`, an axis as `X`.
    on: Option<String>,
    #[command(flatten)]
    place: Ledgers,
    /// Who did it: a role or a staff number, not a name.
    #[arg(long, value_name = "PERSON")]
    by: Option<String>,
    /// When: 2026-04-14T08:10, or 2026-04-14 to be asked for the time; now where nothing is said.
    #[arg(long, value_name = "MOMENT")]
    date: Option<String>,
    /// snug or full; as-fitted, verification or service.
    #[arg(long)]
    stage: Option<String>,
    /// rail or base bolts; both is for loosen.
    #[arg(long)]
    interface: Option<String>,
    /// The torque wrench.
    #[arg(long)]
    wrench: Option<String>,
    /// What a clicking wrench was set to, in N·m.
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

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Recorded {
    /// Bolts were tightened.
    Fasten,
    /// A joint was inspected.
    Inspect,
    /// Gap, straightness or height was read along a rail.
    Survey,
    /// Bolts were slackened.
    Loosen,
    /// Shims were put in or taken out.
    Shim,
    /// Goods came in.
    Receive,
    /// The carriage was pushed along.
    RunForce,
    /// Something was serviced.
    Service,
}

impl Recorded {
    fn kind(self) -> Kind {
        match self {
            Recorded::Fasten => Kind::Fasten,
            Recorded::Inspect => Kind::Inspect,
            Recorded::Survey => Kind::Survey,
            Recorded::Loosen => Kind::Loosen,
            Recorded::Shim => Kind::Shim,
            Recorded::Receive => Kind::Receive,
            Recorded::RunForce => Kind::RunForce,
            Recorded::Service => Kind::Service,
        }
    }
}

pub fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let (disk, Whole { ledger, .. }) = arguments.place.one_on_disk()?;
    let judged = lint::judge_ledger(ledger, disk.day());
    let mut line = Line::new();
    let said = Unfinished {
        record: arguments.kind.kind().word().to_string(),
        begun: now().to_string(),
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
        let mut desk = Kept::new(said.clone(), &mut line, &mut keep);
        return sitting(arguments, &disk, &judged, &said, &mut desk).map(|_| CLEAN);
    }
    let (mut kept, record) = record_draft::take_up(&disk.real(&judged.path), said, &mut line)?;
    let done = {
        let mut keep = |record: &Unfinished| kept.write(&record.text()).map_err(|why| why.to_string());
        let mut desk = Kept::new(record.clone(), &mut line, &mut keep);
        sitting(arguments, &disk, &judged, &record, &mut desk)
    };
    record_draft::put_away(kept, done, &record)
}

/// Now, by the machine's clock.
fn now() -> Moment {
    let now = jiff::ZonedDateTime::now();
    let minute = i16::from(now.hour()) * 60 + i16::from(now.minute());
    Moment { date: now.date(), minute: u16::try_from(minute).ok() }
}

/// Asks, judges, asks again where a reading was none, and writes.
fn sitting(
    arguments: &Arguments,
    disk: &Disk,
    judged: &Judged,
    said: &Unfinished,
    desk: &mut Kept,
) -> Result<Done, Failure> {
    let day = disk.day();
    loop {
        let by = match &said.by {
            Some(by) => by.clone(),
            None => entry::right(desk, "Who did it? (a role or staff number)", |by| {
                if by.is_empty() { Err("somebody did it: say who") } else { Ok(by.to_string()) }
            })?,
        };
        let moment = moment(said, desk)?;
        let file = files::day_file(&disk.real(&judged.path), moment.date, &by)?;
        let case = Case::new(&judged.ledger, day);
        let mut draft = entry::compose(case, arguments.kind.kind(), &said.given, desk)?;
        desk.aloud();
        draft.signed(moment, &by);
        if !desk.patient() && desk.left_over() {
            let why = "there are more answers than questions, so some stand at the wrong place; nothing was written";
            return Err(Failure::Said(why.into()));
        }
        // In the one layout of ledger files.
        let record = tidy::text(&draft.text()).unwrap_or_else(|_| draft.text());
        entry::one_record(&record)?;

        // The ledger as it would become, judged before a byte is written.
        let name = file.file_name().map_or(String::new(), |name| name.to_string_lossy().into_owned());
        let path = judged.path.join(&name);
        let there = files::read_if_there(&file)?;
        let before = there.as_deref().unwrap_or("");
        if before.contains(&record) && !said.answers.is_empty() {
            desk.tell(&format!("this record is in {path} already; nothing was written"));
            return Ok(Done::Written);
        }
        // Judged against the ledger as it was read: what others save meanwhile is not this record's doing.
        let with = |text: String| with_text(&judged.ledger, &path, text, day);
        let known = match there.as_deref() {
            there if there == judged.ledger.sources.text_of(&path) => judged.findings.clone(),
            _ => with(before.to_string()).findings,
        };
        let verdict = entry::verdict(&known, with(becomes(&name, before, &record)?))?;
        let mut out = output::standard();
        write!(out, "{}", shown(&record))?;
        out.flush()?;
        tell(desk, &verdict);
        if arguments.show {
            return Ok(Done::Shown);
        }
        let mut records = record;
        if desk.patient() {
            let broken = entry::broken(&verdict.new, &verdict.ledger, &path, before.len(), &draft);
            match confirmed(&broken, &draft, moment, &by, desk)? {
                Some(holds) if holds.is_empty() => {}
                Some(holds) => {
                    records = format!("{records}\n{}", tidy::text(&holds).unwrap_or(holds));
                    entry::verdict(&known, with(becomes(&name, before, &records)?))?;
                    write!(out, "{}", shown(&records))?;
                    out.flush()?;
                }
                None => {
                    desk.restart();
                    continue;
                }
            }
            desk.tell_unasked();
            if !desk.once(&format!("Write it to {path}?"))? {
                return Err(Failure::Said("nothing was written".into()));
            }
        }
        let addition = tidy::addition(before, &records).unwrap_or(records);
        files::append(&file, there.as_deref(), &addition)?;
        let (was, is) = verdict.outstanding;
        desk.tell(&format!("written to {path}; outstanding: {was} before, {is} now"));
        return Ok(Done::Written);
    }
}

/// When it was done: to the minute, since the order of records decides what counts. Now, where no day is said.
fn moment(said: &Unfinished, desk: &mut Kept) -> Result<Moment, Failure> {
    let begun = Moment::read(&said.begun).unwrap_or_else(now);
    let (day, usual) = match (&said.date, &said.today) {
        (Some(text), _) => match Moment::read(text) {
            Some(moment) if moment.minute.is_some() => return Ok(moment),
            Some(day) => (day.date, (day.date == begun.date).then_some(begun)),
            None => {
                let why = format!("`{text}` is no date; write it as 2026-04-14 or 2026-04-14T08:10");
                return Err(Failure::Said(why));
            }
        },
        (None, Some(today)) => (Moment::read(today).unwrap_or(begun).date, Some(begun)),
        (None, None) => return Ok(begun),
    };
    // Only a person can mean now by saying nothing.
    let usual = usual.filter(|_| desk.patient()).map(|now| now.to_string()[11..].to_string());
    let enter = usual.as_ref().map_or(String::new(), |now| format!(" (Enter for {now})"));
    let question = format!("At what time on {day}, as 08:10?{enter}");
    Ok(entry::right(desk, &question, |time| {
        let time = usual.as_deref().filter(|_| time.is_empty()).unwrap_or(time);
        Moment::read(&format!("{day}T{time}"))
            .filter(|moment| moment.minute.is_some())
            .ok_or_else(|| format!("`{time}` is no time of day; write it as 08:10, or give --date {day}T08:10"))
    })?)
}

/// A file's text with records at its end.
fn becomes(name: &str, before: &str, records: &str) -> Result<String, Failure> {
    // What cannot be laid out has a mistake, which the verdict tells with the right spelling.
    let addition = tidy::addition(before, records).unwrap_or_else(|_| records.to_string());
    text::apply(before, &[text::append(before, &addition)])
        .map_err(|why| Failure::Said(format!("`{name}` was not changed: {why}")))
}

fn tell(desk: &mut Kept, verdict: &Verdict) {
    for finding in &verdict.new {
        let grade = if finding.grade == Grade::Nonconformity { "nonconformity" } else { "observation" };
        let limit = finding.limit.as_ref().map_or(String::new(), |it| format!(" ({}: {})", it.text, it.source));
        desk.tell(&format!("{grade} {}: {}{limit}", finding.address, finding.message));
        if !finding.next.is_empty() {
            desk.tell(&format!("  next: {}", finding.next));
        }
        // A person is asked; whoever answers through a pipe adds it.
        if let Some(hold) = finding.to_hold.as_ref().filter(|_| !desk.patient()) {
            desk.tell(&format!("  or, if it is so: {hold}"));
        }
    }
}

/// Asks of every reading that breaks a rule whether it is what was read: then it is held, with a reason. Gives the records
/// that hold; nothing where something is to be typed again.
fn confirmed(
    broken: &[Broken],
    draft: &Draft,
    moment: Moment,
    by: &str,
    desk: &mut Kept,
) -> Result<Option<String>, Failure> {
    let mut holds = String::new();
    for it in broken {
        if !it.confirmed && !entry::yes_no(desk, &entry::showed(&it.address))? {
            let all = draft.asked.values().map(|asked| &asked.question);
            let questions: Vec<&String> =
                if it.questions.is_empty() { all.collect() } else { it.questions.iter().collect() };
            if questions.is_empty() {
                return Err(Failure::Said("then the rows were given wrong; nothing was written".into()));
            }
            questions.iter().for_each(|question| desk.forget(question));
            return Ok(None);
        }
        let question = format!("{} is held until that is put right. Reason, for the record", it.address);
        let reason = entry::right(desk, &question, |reason| match reason {
            "" => Err("a hold needs its reason"),
            reason => Ok(reason.to_string()),
        })?;
        holds += &format!("{}\n", hold_record(&it.address, moment, by, &reason));
    }
    Ok(Some(holds))
}

/// A record for the terminal: its lines stay lines.
fn shown(record: &str) -> String {
    record.lines().map(|line| format!("{}\n", clean(line))).collect()
}

impl Arguments {
    fn given(&self) -> Given {
        Given {
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
