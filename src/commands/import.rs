//! `wayledger import`: readings from the text export of a gauge or wrench, previewed first.

use std::collections::BTreeSet;
use std::io::Write as _;
use std::path::PathBuf;

use super::axis::{ReadLedger, whole};
use super::source::SourceArguments;
use super::{BROKEN, CLEAN, CommandError, FAILED, moment, output};
use crate::finding::{counted, sentence};
use crate::formats::clean;
use crate::ledger::{KINDS, Ledger, RailId, Target};
use crate::quantity::{Amount, Moment, Temperature};
use crate::world::{Disk, Path, disk};
use crate::writing::import::{self, Becomes, Built, ImportRows, Mapping, RecordHead};
use crate::writing::records::{DayFile, Trial};

/// Reads the text export of a gauge or electronic torque wrench, by a `readings-file` mapping of the shop file.
///
/// Prints how the first rows were understood, every row that does not fit and what would be recorded; `--write` then adds
/// one record to the person's file of that day. Rows that do not fit stop the writing, unless `--leave-out` is said.
///
/// Exit code: 0 when every row fits, 1 when some do not, 2 when the job could not be done.
#[derive(Debug, clap::Args)]
pub(crate) struct ImportArguments {
    /// The exported file.
    file: PathBuf,
    /// The mapping: the name of a `readings-file` in the shop file.
    #[arg(long = "as", value_name = "NAME")]
    mapping: String,
    /// What was read: a rail, as X.port, or a joint, as X.port.J1.
    #[arg(long, value_name = "ADDRESS")]
    on: String,
    /// The day of the readings, as 2026-04-14, or with a time of day, as 2026-04-14T08:10.
    #[arg(long, value_parser = moment::option)]
    date: Moment,
    /// Who read: a role or a staff number.
    #[arg(long, value_name = "PERSON")]
    by: String,
    /// The stage: snug or full for torques; as-fitted, verification, service or aligning for a survey; aligning or none for
    /// an inspection.
    #[arg(long)]
    stage: Option<String>,
    /// What a survey read: gap, straightness or height.
    #[arg(long, value_name = "KIND")]
    survey: Option<String>,
    /// The temperature of the rails, in °C.
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    temperature: Option<String>,
    /// The ledger's folder, or any file in it.
    #[arg(long, default_value = ".", value_name = "PATH")]
    ledger: PathBuf,
    /// Adds the record to the ledger.
    #[arg(long)]
    write: bool,
    /// Writes although some rows do not fit; they are left out.
    #[arg(long, requires = "write")]
    leave_out: bool,
}

pub(crate) fn run(arguments: &ImportArguments) -> Result<u8, CommandError> {
    let disk = Disk::here().map_err(said)?;
    let world = SourceArguments::default().open()?;
    let ReadLedger { found, ledger } = whole(&*world, &arguments.ledger)?;
    let mapping = import::find(&ledger, &arguments.mapping).map_err(CommandError::Said)?;
    let (head, id) = head(arguments, &mapping, &ledger)?;
    let typed = arguments.file.display();
    let bytes = disk::read(&arguments.file).map_err(|why| CommandError::Said(format!("`{typed}`: {why}")))?;
    let rows = import::read(&bytes, &mapping).map_err(|why| CommandError::Said(format!("`{typed}`: {why}")))?;
    let built = import::build(&rows.rows, &mapping, &head, ledger.machine.rail(id)).map_err(CommandError::Said)?;

    let file = DayFile::now(&disk.real(&found.folder), &ledger, head.date, &head.by)?;
    let addition = file.add(&built.text)?;
    let trial = addition.trial(&ledger, world.day());
    let again = recorded_already(&ledger, &mapping, &head, &built.text);

    let mut out = output::standard();
    Preview { arguments, rows: &rows, built: &built, mapping: &mapping, head: &head }.print(&mut out, &file.path)?;
    for finding in trial.faults.iter().chain(&trial.findings) {
        writeln!(out, "{}: {}", finding.rule, clean(&sentence(finding)))?;
    }
    let misfits = rows.misfits.len() + built.misfits.len();
    if let Some(why) = refusal(&built, &trial, again) {
        out.flush()?;
        output::complain(&format!("{why}; nothing was written"));
        return Ok(FAILED);
    }
    if !arguments.write && misfits > 0 {
        writeln!(
            out,
            "Nothing was written. Mend the file or the mapping, or add --write --leave-out to record what fits."
        )?;
    } else if !arguments.write {
        writeln!(out, "Nothing was written. Add --write to record this.")?;
    } else if misfits > 0 && !arguments.leave_out {
        writeln!(out, "Nothing was written: some rows do not fit. Mend the file or the mapping, or add --leave-out.")?;
    } else {
        addition.write()?;
        writeln!(out, "Added to {}.", clean(&file.path.0))?;
    }
    out.flush()?;
    Ok(if misfits > 0 { BROKEN } else { CLEAN })
}

/// What the file does not say, checked against what the record needs.
fn head(arguments: &ImportArguments, mapping: &Mapping, ledger: &Ledger) -> Result<(RecordHead, RailId), CommandError> {
    let target = Target::find(&ledger.machine, &arguments.on);
    let (id, joint) = match (mapping.becomes, &target) {
        (Becomes::Inspect, Ok(Target::Joint(id, joint))) => {
            (*id, Some(ledger.machine.rail(*id).joints[*joint].name.to_string()))
        }
        (Becomes::Fasten | Becomes::Survey, Ok(Target::Rail(id))) => (*id, None),
        (becomes, _) => {
            let what = if becomes == Becomes::Inspect { "joint, as X.port.J1" } else { "rail, as X.port" };
            return Err(CommandError::Said(format!("--on {}: the ledger has no such {what}", arguments.on)));
        }
    };
    let one_of = |option: &str, given: &Option<String>, known: &[&str]| match given {
        Some(word) if known.contains(&word.as_str()) => Ok(()),
        _ => Err(CommandError::Said(format!("say {option} {}", known.join(&format!(", or {option} "))))),
    };
    match mapping.becomes {
        Becomes::Fasten => one_of("--stage", &arguments.stage, &["snug", "full"])?,
        Becomes::Survey => {
            one_of("--stage", &arguments.stage, &["as-fitted", "verification", "service", "aligning"])?;
            one_of("--survey", &arguments.survey, &["gap", "straightness", "height"])?;
        }
        Becomes::Inspect if arguments.stage.is_some() => one_of("--stage", &arguments.stage, &["aligning"])?,
        Becomes::Inspect => {}
    }
    if let Some(temperature) = &arguments.temperature {
        Temperature::read(temperature, None)
            .map_err(|why| CommandError::Said(format!("--temperature {temperature}: it {why}")))?;
    }
    let head = RecordHead {
        on: arguments.on.clone(),
        joint,
        date: arguments.date,
        by: arguments.by.clone(),
        stage: arguments.stage.clone(),
        survey: arguments.survey.clone(),
        temperature: arguments.temperature.clone(),
    };
    Ok((head, id))
}

/// The place of a record of the same kind, subject and moment that the ledger has already; or of one of that day that has
/// the very same rows, which is this file taken in before.
fn recorded_already(ledger: &Ledger, mapping: &Mapping, head: &RecordHead, text: &str) -> Option<Recorded> {
    let kind = match mapping.becomes {
        Becomes::Fasten => "fasten",
        Becomes::Survey => "survey",
        Becomes::Inspect => "inspect",
    };
    debug_assert!(KINDS.contains(&kind));
    let stage = head.stage.as_deref();
    let mut alike = ledger.records.iter().filter_map(|record| {
        let told = ledger.sources.text(record.place);
        let date = record.date.filter(|date| date.value.date == head.date.date)?.value;
        let alike = record.kind == kind
            && record.counts()
            && record.on.as_ref().is_some_and(|on| on.value == head.on)
            && stage.is_none_or(|stage| told.contains(&format!("stage={stage}")))
            && head.survey.as_ref().is_none_or(|survey| told.contains(survey.as_str()));
        let what = match (date == head.date, rows_of(ledger.sources.text(record.whole)) == rows_of(text)) {
            _ if !alike => return None,
            (true, _) => RecordedWhat::Moment,
            (_, true) => RecordedWhat::Rows,
            _ => return None,
        };
        let source = ledger.sources.get(record.place.source);
        let line = source.document.place(record.place.span.start).line;
        Some(Recorded { what, place: format!("{}:{line}", source.path) })
    });
    alike.next()
}

/// What the ledger has of an import already, and where.
struct Recorded {
    what: RecordedWhat,
    place: String,
}

enum RecordedWhat {
    /// A record of that moment.
    Moment,
    /// The same rows, of another time of that day.
    Rows,
}

/// The rows of a record, however they are laid out.
fn rows_of(record: &str) -> Vec<&str> {
    record
        .split_once('{')
        .map_or("", |(_, rows)| rows)
        .split([' ', '\n', '\r', '\t', ';', '}'])
        .filter(|it| !it.is_empty())
        .collect()
}

/// So many rows are shown as they were understood.
const SHOWN: usize = 5;

/// What an import would do.
struct Preview<'p> {
    arguments: &'p ImportArguments,
    rows: &'p ImportRows,
    built: &'p Built,
    mapping: &'p Mapping,
    head: &'p RecordHead,
}

impl Preview<'_> {
    fn print(&self, out: &mut impl std::io::Write, file: &Path) -> std::io::Result<()> {
        let mut misfits: Vec<_> = self.rows.misfits.iter().chain(&self.built.misfits).collect();
        misfits.sort();
        writeln!(
            out,
            "{} in {}: {}, {}",
            counted(self.rows.lines, "row", "rows"),
            clean(&self.arguments.file.display().to_string()),
            counted(self.built.taken, "fits", "fit"),
            counted(misfits.len(), "does not", "do not")
        )?;
        for misfit in &misfits {
            writeln!(out, "  line {}: {}", misfit.line, clean(&misfit.why))?;
        }
        let left: BTreeSet<u64> = self.built.misfits.iter().map(|misfit| misfit.line).collect();
        if self.built.taken > 0 {
            let first = if self.built.taken > SHOWN { "\nThe first rows" } else { "\nThe rows" };
            writeln!(out, "{first} as understood; look whether the gauge showed that:")?;
        }
        for row in self.rows.rows.iter().filter(|row| !left.contains(&row.line)).take(SHOWN) {
            writeln!(out, "  line {}: {}", row.line, clean(&import::understood(row, self.mapping, self.head)))?;
        }
        if !self.built.text.is_empty() {
            writeln!(out, "\nFor {}:\n\n{}", clean(&file.0), self.built.text)?;
        }
        Ok(())
    }
}

/// Why this must not be written, whatever was asked for.
fn refusal(built: &Built, trial: &Trial, again: Option<Recorded>) -> Option<String> {
    if built.taken == 0 {
        return Some("no row of the file fits".into());
    }
    if let Some(fault) = trial.faults.first() {
        return Some(format!("the record would not be right: {}", fault.message));
    }
    again.map(|Recorded { what, place }| match what {
        RecordedWhat::Moment => format!(
            "the ledger has such a record of that moment at {place}: withdraw it first, or say a time of day in --date"
        ),
        RecordedWhat::Rows => {
            format!("the ledger has these very rows of that day at {place}: were they not taken in already?")
        }
    })
}

fn said(why: impl ToString) -> CommandError {
    CommandError::Said(why.to_string())
}
