//! `wayledger record`: readings are typed in at the machine, or come through a pipe.

use std::io::Write as _;

use clap::ValueEnum;

use super::axis::{Ledgers, Whole};
use super::desk::Line;
use super::{CLEAN, Failure, output};
use crate::entry::{self, Desk as _, Given, Kind};
use crate::finding::Grade;
use crate::lint;
use crate::quantity::Moment;
use crate::render::clean;
use crate::rules::Case;
use crate::syntax;
use crate::tidy;
use crate::what_if::what_if;
use crate::world::World as _;
use crate::writing;

/// Adds one record to the day's file of its author: asks through what is outstanding and checks every answer at once.
///
/// On a terminal a wrong answer is asked for again. From a pipe the same questions are answered line by line, without
/// being shown; a wrong answer ends with exit code 2. What is given as an option is not asked for. Nothing is written
/// before the last answer.
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
    /// When: 2026-04-14, or 2026-04-14T08:10; today where nothing is said.
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
    let today = disk.today();
    let judged = lint::judge_ledger(ledger, today);
    let moment = match &arguments.date {
        Some(text) => Moment::read(text)
            .ok_or_else(|| Failure::Said(format!("`{text}` is no date; write it as 2026-04-14 or 2026-04-14T08:10")))?,
        None => Moment { date: today, minute: None },
    };
    let mut desk = Line::new();
    let by = match &arguments.by {
        Some(by) => by.clone(),
        None => entry::right(&mut desk, "Who did it? (a role or staff number)", |by| {
            if by.is_empty() { Err("somebody did it: say who") } else { Ok(by.to_string()) }
        })?,
    };
    let file = writing::day_file(&disk.real(&judged.path), moment.date, &by)?;
    let case = Case::new(&judged.ledger, today);
    let mut draft = entry::compose(case, arguments.kind.kind(), &arguments.given(), &mut desk)?;
    draft.signed(moment, &by);
    // In the one layout of ledger files.
    let record = tidy::text(&draft.text()).unwrap_or_else(|_| draft.text());

    // The ledger as it would become, judged before a byte is written.
    let name = file.file_name().map_or(String::new(), |name| name.to_string_lossy().into_owned());
    let path = judged.path.join(&name);
    let there = writing::read_if_there(&file)?;
    let before = there.as_deref().unwrap_or("");
    // What cannot be laid out has a mistake, which the verdict below tells with the right spelling.
    let addition = tidy::addition(before, &record).unwrap_or_else(|_| record.clone());
    let becomes = syntax::apply(before, &[syntax::append(before, &addition)])
        .map_err(|why| Failure::Said(format!("`{name}` was not changed: {why}")))?;
    // Judged against the ledger as it was read: what others save meanwhile is not this record's doing.
    let now = |text: String| what_if(&disk, &judged.ledger, &[(path.clone(), text)]);
    let known = match there.as_deref() {
        there if there == judged.ledger.sources.text_of(&path) => judged.findings.clone(),
        there => now(there.unwrap_or("").to_string()).findings,
    };
    let verdict = entry::verdict(&known, now(becomes), &record)?;

    let mut out = output::standard();
    write!(out, "{}", shown(&record))?;
    out.flush()?;
    for finding in &verdict.new {
        let grade = if finding.grade == Grade::Nonconformity { "nonconformity" } else { "observation" };
        let limit = finding.limit.as_ref().map_or(String::new(), |it| format!(" ({}: {})", it.text, it.source));
        desk.tell(&format!("{grade} {}: {}{limit}", finding.address, finding.message));
        if !finding.next.is_empty() {
            desk.tell(&format!("  next: {}", finding.next));
        }
    }
    if arguments.show {
        return Ok(CLEAN);
    }
    if desk.patient() {
        let answer = desk.ask(&format!("Write it to {path}? (Enter writes, n does not)"));
        if answer.is_none_or(|answer| answer.trim().starts_with(['n', 'N'])) {
            return Err(Failure::Said("nothing was written".into()));
        }
    }
    writing::append(&file, there.as_deref(), &addition)?;
    let (was, is) = verdict.outstanding;
    desk.tell(&format!("written to {path}; outstanding: {was} before, {is} now"));
    Ok(CLEAN)
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
