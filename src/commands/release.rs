//! `wayledger release`: adds the sealed release record of an axis, once nothing stands in its way.

use std::io::Write as _;
use std::path::PathBuf;

use super::axis::{ReadLedger, whole};
use super::prompter::StandardPrompter;
use super::release_signing::signed;
use super::{BROKEN, CLEAN, CommandError, moment, output, release_history};
use crate::finding::names;
use crate::finding::{Finding, Locator, RuleName, within};
use crate::formats::clean;
use crate::judging::lint::Judged;
use crate::judging::neighbours::{Others, elsewhere};
use crate::ledger::seal::{self, Sealing};
use crate::ledger::{Body, Ledger, NodeDraft, Target, void_line};
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
    /// Replaces the release of that moment, which is in force: what it is sealed over is as it was, and records were added.
    #[arg(long, value_name = "MOMENT", value_parser = moment::option, requires = "reason")]
    supersedes: Option<Moment>,
    /// Why that release is replaced.
    #[arg(long, value_name = "TEXT", requires = "supersedes")]
    reason: Option<String>,
    /// Signs the seal by `ssh-keygen`, with a key that the shop declares for who releases: Ed25519, in the agent unless --key
    /// says where.
    #[arg(long)]
    sign: bool,
    /// The key's file: the private one, or the public one of a key that the agent or a security key holds.
    #[arg(long, value_name = "FILE", requires = "sign")]
    key: Option<PathBuf>,
    /// A remark for people, under the seal; may be given several times.
    #[arg(long, value_name = "TEXT")]
    note: Vec<String>,
    /// The day it is judged by, as 2026-04-20, and no more than that; it is sealed. The machine's date where nothing is said.
    #[arg(long, value_name = "DATE", value_parser = super::source::day)]
    today: Option<jiff::civil::Date>,
}

/// More findings than this are counted and not listed.
const MOST_LISTED: usize = 12;

pub(crate) fn run(arguments: &ReleaseArguments) -> Result<u8, CommandError> {
    let said = |why: &dyn ToString| CommandError::Said(why.to_string());
    let disk = Disk::here().map_err(|why| said(&why))?;
    let disk = arguments.today.map_or(disk.clone(), |today| disk.clone().on(today));
    let ReadLedger { found, mut ledger } = whole(&disk, &arguments.ledger)?;
    if !ledger.text_findings.is_empty() {
        return Err(CommandError::Said(
            "the text of the ledger is at fault: `wayledger lint` shows where; mend it first".into(),
        ));
    }
    ledger.elsewhere = elsewhere(&disk, &found, disk.day(), Others::Before).map_err(|why| {
        said(&format!(
            "another ledger of the shop cannot be read, and may have the same records: {why}; nothing was written"
        ))
    })?;
    let axes = axes(&ledger, &arguments.axes)?;
    if arguments.reason.as_ref().is_some_and(|reason| !rules::has_word(reason)) {
        return Err(said(&"--reason says why in words; nothing was written"));
    }
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
    // What cannot be released anyway is not looked up in the history.
    let lost = if clear { release_history::lost(&disk, &found)? } else { Vec::new() };
    if !lost.is_empty() {
        clear = false;
        writeln!(out, "Nothing can be released: what was recorded is not as it was.")?;
        lost.iter().take(MOST_LISTED).try_for_each(|one| writeln!(out, "{one}"))?;
        if lost.len() > MOST_LISTED {
            writeln!(out, "  and {} more", lost.len() - MOST_LISTED)?;
        }
        writeln!(out, "Nothing was written.")?;
    }
    if !clear {
        out.flush()?;
        return Ok(BROKEN);
    }
    let replaced: Vec<Option<Moment>> =
        axes.iter().map(|axis| replaced(&case, *axis, arguments.supersedes)).collect::<Result<_, _>>()?;
    let moment = moment::settled(arguments.date, None, &mut StandardPrompter::new())?;
    for &axis in &axes {
        may_be_dated(&ledger, axis, moment, disk.today())?;
    }
    let judged = rules::coverage_anew(&case);
    let sealing = |(axis, replaced): (&usize, &Option<Moment>)| {
        let (judged, idle) = rules::tallies(&judged, *axis);
        let supersedes = replaced.zip(arguments.reason.clone());
        let added = if supersedes.is_some() { seal::added_since(&ledger, *axis) } else { Vec::new() };
        Sealing {
            judged_on: arguments.today,
            supersedes,
            added,
            notes: arguments.note.clone(),
            judged,
            idle,
            ..Sealing::new(moment, &arguments.by)
        }
    };
    let mut sealings: Vec<Sealing> = axes.iter().zip(&replaced).map(sealing).collect();
    let file = DayFile::as_read(&disk.real(&found.folder), &ledger, moment, &arguments.by)?;
    let names: Vec<&str> = axes.iter().map(|axis| ledger.machine.axes[*axis].name.as_str()).collect();
    if arguments.sign {
        // Nobody is asked to sign what will not be written.
        let unsigned = file.add(&together(&sealed(&ledger, &axes, &sealings)))?;
        may_be_added(&unsigned.judged(&ledger, disk.day()), &names, &[rules::keeping::release_unsigned::RULE.name])?;
        for (axis, sealing) in axes.iter().zip(&mut sealings) {
            sealing.signature = Some(signed(&ledger, *axis, sealing, arguments.key.as_deref(), &mut out)?);
        }
    }
    let records = sealed(&ledger, &axes, &sealings);
    let addition = file.add(&together(&records))?;
    may_be_added(&addition.judged(&ledger, disk.day()), &names, &[])?;
    addition.write()?;
    // The record may lie in a new file, so the folder is looked through again.
    verify(&whole(&disk, &arguments.ledger)?.ledger, &axes, &file.path)?;
    for ((axis, record), sealing) in axes.iter().zip(&records).zip(&sealings) {
        let facts = record.text();
        let facts = facts.lines().filter(|line| line.trim_start().starts_with("fact ")).count();
        writeln!(
            out,
            "{} is released by {} on {}, sealed over {facts} facts.",
            clean(&ledger.machine.axes[*axis].name),
            clean(&arguments.by),
            moment.date
        )?;
        corrections(&mut out, &ledger, *axis)?;
        if let Some((earlier, _)) = &sealing.supersedes {
            writeln!(out, "It replaces the release of {earlier}; since then came:")?;
            sealing.added.iter().try_for_each(|record| writeln!(out, "  {}", clean(record)))?;
        }
    }
    writeln!(out, "Added to {}: commit it with the ledger.", clean(&file.path.0))?;
    out.flush()?;
    Ok(CLEAN)
}

/// Names the parts of an axis that somebody says were described wrong under their records: the release rests on their word.
fn corrections(out: &mut impl std::io::Write, ledger: &Ledger, axis: usize) -> Result<(), CommandError> {
    let name = &ledger.machine.axes[axis].name;
    for corrected in ledger.machine.corrected.iter().filter(|it| within(&it.on, name)) {
        let row = ledger.sources.text(corrected.place).trim();
        writeln!(out, "It rests on a part that was described wrong and corrected since: {}", clean(row))?;
    }
    Ok(())
}

/// The moment of the release in force that is replaced, where one may be.
fn replaced(case: &Case, axis: usize, supersedes: Option<Moment>) -> Result<Option<Moment>, CommandError> {
    let ledger = case.ledger;
    let name = clean(&ledger.machine.axes[axis].name).to_string();
    let said = |why: String| Err(CommandError::Said(format!("{why}; nothing was written")));
    // A release without a seal holds nothing that could be replaced.
    let in_force = seal::release_of(ledger, axis).filter(|(_, release)| release.seal.is_some());
    let Some((record, date)) = in_force.and_then(|(index, _)| Some((index, ledger.records[index].date?.value))) else {
        return match supersedes {
            Some(moment) => said(format!("{name} has no release of {moment} in force that could be replaced")),
            None => Ok(None),
        };
    };
    let Some(moment) = supersedes else {
        return said(format!(
            "{name} is released already, on {date}: where records were only added, replace that release by --supersedes {date} --reason \"…\"; for rework withdraw it first: {}",
            clean(&void_line("release", &ledger.machine.axes[axis].name, Some(date)))
        ));
    };
    if !date.is_meant_by(moment) {
        return said(format!("the release of {name} in force is of {date}, not of {moment}"));
    }
    if let Some((place, what)) = rules::reopened(case, axis, record) {
        let locator = Locator::new(&ledger.sources);
        let at = locator.locate(place);
        return said(format!(
            "{}:{}: {} since {name} was released on {date}, and no service of {name} followed: it is not replaced but withdrawn, and released anew",
            clean(at.file),
            at.line,
            clean(&what)
        ));
    }
    Ok(Some(date))
}

/// Refuses a release that is dated ahead, or before what it rests on, or as another release of the axis is.
fn may_be_dated(ledger: &Ledger, axis: usize, moment: Moment, today: jiff::civil::Date) -> Result<(), CommandError> {
    let name = clean(&ledger.machine.axes[axis].name).to_string();
    if moment.date > today {
        return Err(CommandError::Said(format!(
            "{moment} lies ahead of today, {today}: say when it is released by --date; nothing was written"
        )));
    }
    let about = |index: &usize| {
        let own = ledger.records[*index].target.is_some_and(|target| target.axis() == axis);
        own || seal::about(ledger, axis, *index)
    };
    let records = (0..ledger.records.len()).filter(about).map(|index| &ledger.records[index]);
    for (record, date) in records.filter_map(|record| Some((record, **record.written.as_ref()?))) {
        let later = date.date > moment.date
            || date.date == moment.date && date.minute.zip(moment.minute).is_some_and(|(its, own)| its > own);
        if later {
            return Err(CommandError::Said(format!(
                "{name} has a `{}` of {date}, which is later than {moment}: nothing was written",
                record.kind
            )));
        }
        if matches!(record.body, Body::Release(_)) && date.is_meant_by(moment) {
            return Err(CommandError::Said(format!(
                "{name} was released on {} before: tell the two apart by the time of day, as --date {}T14:30; nothing was written",
                date, date.date
            )));
        }
    }
    Ok(())
}

/// The release records.
fn sealed(ledger: &Ledger, axes: &[usize], sealings: &[Sealing]) -> Vec<NodeDraft> {
    axes.iter().zip(sealings).map(|(axis, sealing)| seal::release(ledger, *axis, sealing)).collect()
}

/// Refuses what would be uncertain in the ledger with the release records added: which of two releases counts, what a `void`
/// means; and what would be wrong with the releases themselves: who releases, and their signature.
fn may_be_added(judged: &Judged, axes: &[&str], but: &[RuleName]) -> Result<(), CommandError> {
    let own = [
        rules::keeping::date_order::RULE.name,
        rules::keeping::person_unknown::RULE.name,
        rules::keeping::person_unpermitted::RULE.name,
        rules::keeping::release_signature::RULE.name,
        rules::keeping::release_unsigned::RULE.name,
        names::UNKNOWN_REFERENCE,
    ];
    let against = |finding: &&Finding| {
        own.contains(&finding.rule) && axes.contains(&finding.address.as_str()) && !but.contains(&finding.rule)
    };
    match judged.findings.iter().find(against) {
        Some(finding) => Err(CommandError::Said(format!(
            "with this release {}: {}; {}; nothing was written",
            clean(&finding.address),
            clean(&finding.message),
            clean(&finding.next)
        ))),
        None => Ok(()),
    }
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
