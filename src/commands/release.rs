//! `wayledger release`: adds the sealed release record of an axis, once nothing stands in its way.

use std::io::Write as _;
use std::path::PathBuf;

use super::axis::{ReadLedger, whole};
use super::prompter::StandardPrompter;
use super::{BROKEN, CLEAN, CommandError, moment, output};
use crate::finding::names;
use crate::finding::{Finding, Locator};
use crate::formats::clean;
use crate::judging::lint::Judged;
use crate::ledger::seal;
use crate::ledger::{Body, Ledger, NodeDraft, Target};
use crate::quantity::Moment;
use crate::rules::{self, Case, before_release};
use crate::world::{Disk, Path, World};
use crate::writing::records::{DayFile, together};

/// Releases axes: checks that nothing is broken or outstanding, and that nothing was altered under an earlier release, then
/// adds a sealed release record.
///
/// The seal holds every fact the release rests on: description, records, instruments and limits as they stand. From then
/// on `wayledger lint` names whatever changes, with the old value and the new one.
#[derive(Debug, clap::Args)]
pub(crate) struct ReleaseArguments {
    /// The axes, as `X`.
    #[arg(required = true, value_name = "AXIS")]
    axes: Vec<String>,
    /// Who releases: a role or a staff number; nobody who fitted or inspected.
    #[arg(long, value_name = "PERSON")]
    by: String,
    /// The ledger's folder, or any file in it.
    #[arg(long, default_value = ".", value_name = "PATH")]
    ledger: PathBuf,
    /// When it is released: 2026-04-20T14:30, or 2026-04-20 to be asked for the time; now where nothing is said.
    #[arg(long, value_name = "MOMENT", value_parser = moment::option)]
    date: Option<Moment>,
    /// The day it is judged by, as 2026-04-20; the machine's date where nothing is said.
    #[arg(long, value_name = "DATE", value_parser = super::source::day)]
    today: Option<jiff::civil::Date>,
}

/// More findings than this are counted and not listed.
const MOST_LISTED: usize = 12;

pub(crate) fn run(arguments: &ReleaseArguments) -> Result<u8, CommandError> {
    let said = |why: &dyn ToString| CommandError::Said(why.to_string());
    let disk = Disk::here().map_err(|why| said(&why))?;
    let disk = arguments.today.map_or(disk.clone(), |today| disk.clone().on(today));
    let ReadLedger { found, ledger } = whole(&disk, &arguments.ledger)?;
    if !ledger.text_findings.is_empty() {
        return Err(CommandError::Said(
            "the text of the ledger is at fault: `wayledger lint` shows where; mend it first".into(),
        ));
    }
    let axes = axes(&ledger, &arguments.axes)?;
    let case = Case::new(&ledger, disk.day());
    let mut out = output::standard();
    let mut clear = true;
    for &axis in &axes {
        let against = before_release(&case, axis, &arguments.by);
        if !against.is_empty() {
            clear = false;
            refuse(&mut out, &ledger, axis, &against)?;
        }
    }
    if !clear {
        out.flush()?;
        return Ok(BROKEN);
    }
    let moment = moment::settled(arguments.date, arguments.today, &mut StandardPrompter::new())?;
    for &axis in &axes {
        may_be_dated(&ledger, axis, moment, disk.today())?;
    }
    let records: Vec<NodeDraft> =
        axes.iter().map(|axis| seal::release(&ledger, *axis, moment, &arguments.by)).collect();
    let file = DayFile::as_read(&disk.real(&found.folder), &ledger, moment, &arguments.by)?;
    let addition = file.add(&together(&records))?;
    let names: Vec<&str> = axes.iter().map(|axis| ledger.machine.axes[*axis].name.as_str()).collect();
    if let Some(finding) = as_released(&addition.judged(&ledger, disk.day()), &names) {
        return Err(CommandError::Said(format!(
            "with this release {}: {}; {}; nothing was written",
            clean(&finding.address),
            clean(&finding.message),
            clean(&finding.next)
        )));
    }
    addition.write()?;
    // The record may lie in a new file, so the folder is looked through again.
    verify(&whole(&disk, &arguments.ledger)?.ledger, &axes, &file.path)?;
    for (axis, record) in axes.iter().zip(&records) {
        let facts = record.text();
        let facts = facts.lines().filter(|line| line.trim_start().starts_with("fact ")).count();
        writeln!(
            out,
            "{} is released by {} on {}, sealed over {facts} facts.",
            clean(&ledger.machine.axes[*axis].name),
            clean(&arguments.by),
            moment.date
        )?;
    }
    writeln!(out, "Added to {}: commit it with the ledger.", clean(&file.path.0))?;
    out.flush()?;
    Ok(CLEAN)
}

/// Refuses a release that is dated ahead, or before what it rests on, or as another release of the axis is.
fn may_be_dated(ledger: &Ledger, axis: usize, moment: Moment, today: jiff::civil::Date) -> Result<(), CommandError> {
    let name = clean(&ledger.machine.axes[axis].name).to_string();
    if moment.date > today {
        return Err(CommandError::Said(format!("{moment} lies ahead of today, {today}: nothing was written")));
    }
    let about = ledger.records.iter().filter(|record| record.target.is_some_and(|target| target.axis() == axis));
    for (record, date) in about.filter_map(|record| Some((record, **record.written.as_ref()?))) {
        let later = date.date > moment.date
            || date.date == moment.date && date.minute.zip(moment.minute).is_some_and(|(its, own)| its > own);
        if later {
            return Err(CommandError::Said(format!(
                "{name} has a `{}` of {date}, which is later than {moment}: nothing was written",
                record.kind
            )));
        }
        let same_day = matches!(record.body, Body::Release(_)) && date.date == moment.date;
        if same_day && (moment.minute.is_none() || date == moment) {
            return Err(CommandError::Said(format!(
                "{name} was released on {} before: tell the two apart by the time of day, as --date {}T14:30; nothing was written",
                date, date.date
            )));
        }
    }
    Ok(())
}

/// What would be uncertain in the ledger with the release records added: which of two releases counts, what a `void` means.
fn as_released(judged: &Judged, axes: &[&str]) -> Option<Finding> {
    let unsure = |finding: &&Finding| {
        [rules::keeping::date_order::RULE.name, names::UNKNOWN_REFERENCE].contains(&finding.rule)
            && axes.contains(&finding.address.as_str())
    };
    judged.findings.iter().find(unsure).cloned()
}

fn axes(ledger: &Ledger, names: &[String]) -> Result<Vec<usize>, CommandError> {
    let mut axes = Vec::new();
    for name in names {
        match Target::find(&ledger.machine, name) {
            Ok(Target::Axis(axis)) if !axes.contains(&axis) => axes.push(axis),
            Ok(Target::Axis(_)) => {}
            _ => {
                let known: Vec<&str> = ledger.machine.axes.iter().map(|axis| axis.name.as_str()).collect();
                let message = format!("`{name}` is no axis of this ledger; its axes: {}", known.join(", "));
                return Err(CommandError::Said(message));
            }
        }
    }
    Ok(axes)
}

/// Says what stands in the way.
fn refuse(
    out: &mut impl std::io::Write,
    ledger: &Ledger,
    axis: usize,
    against: &[Finding],
) -> Result<(), CommandError> {
    writeln!(out, "{} cannot be released:", clean(&ledger.machine.axes[axis].name))?;
    let locator = Locator::new(&ledger.sources);
    for finding in against.iter().take(MOST_LISTED) {
        let at = locator.locate(finding.at.place);
        writeln!(
            out,
            "  {}:{}: {} {}: {}\n    next: {}",
            clean(at.file),
            at.line,
            finding.rule,
            clean(&finding.address),
            clean(&finding.message),
            clean(&finding.next)
        )?;
    }
    if against.len() > MOST_LISTED {
        writeln!(out, "  and {} more", against.len() - MOST_LISTED)?;
    }
    writeln!(out, "`wayledger lint --complete` shows all of it in the text. Nothing was written.")?;
    Ok(())
}

/// Reads the ledger again and compares it with the seal just written.
fn verify(ledger: &Ledger, axes: &[usize], file: &Path) -> Result<(), CommandError> {
    for &axis in axes {
        // What cannot be read again has no such axis any more.
        let name = ledger.machine.axes.get(axis).map_or("the axis", |axis| axis.name.as_str());
        let sound = ledger.machine.axes.get(axis).is_some()
            && seal::release_of(ledger, axis)
                .is_some_and(|(record, release)| seal::changes(ledger, axis, record, release).is_empty());
        if !sound {
            return Err(CommandError::Said(format!(
                "the ledger changed while {name} was released: look at `{}`, take the release record out and release again",
                clean(&file.0)
            )));
        }
    }
    Ok(())
}
