//! `wayledger report`: the state of a ledger, or of many, on paper.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::{fs, io};

use super::paper::{PaperFormat, shown};
use super::source::{self, RequestedLedgers, SourceArguments};
use super::{CLEAN, CommandError, FAILED, output, progress};
use crate::finding::counted;
use crate::formats::page_names::{FLEET_PAGE, MACHINE_PAGE, PageNames};
use crate::formats::trial::paper as trial_paper;
use crate::formats::{fleet, report};
use crate::judging::lint::{Judged, lint, lint_into};
use crate::language::rulebook::{ENTRIES, LimitChange};
use crate::language::schema::nearest;
use crate::ledger;
use crate::views::report::{Fleet, Horizon, LimitTrial, report as gather};

/// Reports the state of a ledger: axes, joints, torques, gap, shims, instruments, limits, life. Over a folder of many
/// ledgers it is a table of machines, the first-pass yield of joints, their steps, the shims used and what is due.
///
/// Exit code: 0 when the report was made, whatever it says; 2 when it could not be made. `wayledger lint` judges.
#[derive(Debug, clap::Args)]
pub(crate) struct ReportArguments {
    /// Ledgers, or folders that hold ledgers.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    /// What is due: all that falls due within so many days, as `60d`. Without it, as far ahead as the ledger warns.
    #[arg(long, value_name = "DAYS", value_parser = days)]
    within: Option<i64>,
    /// Tells instead what would not meet a limit, as it was read, released axes among it: `joint-step=0.015`,
    /// `full-torque=10.2..10.8`, `proof=required`. Nothing is changed.
    #[arg(long = "try", value_name = "LIMIT=VALUE", value_parser = tried, conflicts_with = "within")]
    trial: Option<LimitChange>,
    #[command(flatten)]
    source: SourceArguments,
    /// How it is printed; text is a short form.
    #[arg(long, value_enum, default_value_t)]
    format: PaperFormat,
    /// Writes to this file. An earlier report of ours is replaced; any other file that is there already is left alone.
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Writes the page of the fleet, `index.html`, and one for each machine into this folder, with links to each other. Earlier
    /// pages of ours are replaced; where any other file is in the way nothing is written.
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["trial", "output", "format"])]
    pages: Option<PathBuf>,
}

/// A number of days, as `60d`, or of weeks, as `8w`.
fn days(text: &str) -> Result<i64, String> {
    let wrong = || "a horizon is written as 60d or 8w".to_string();
    let (number, each) = match (text.strip_suffix('d'), text.strip_suffix('w')) {
        (Some(days), _) => (days, 1),
        (_, Some(weeks)) => (weeks, 7),
        _ => return Err(wrong()),
    };
    let plain = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    // A thousand years are enough for any machine.
    let count: Option<i64> = plain.then(|| number.parse().ok()).flatten().filter(|count| *count <= 365_250);
    count.map(|count| count * each).ok_or_else(wrong)
}

/// A limit to be tried.
fn tried(text: &str) -> Result<LimitChange, String> {
    ledger::tried(text).map_err(|why| {
        let name = text.split('=').next().unwrap_or(text);
        let known = ENTRIES.iter().map(|entry| entry.name);
        let near = nearest(name, known.clone()).filter(|_| !known.clone().any(|known| known == name));
        near.map_or(why.clone(), |near| format!("{why}; did you mean `{near}`?"))
    })
}

/// Tells what would not meet a limit.
fn try_limit(arguments: &ReportArguments, change: &LimitChange) -> Result<u8, CommandError> {
    let world = arguments.source.open()?;
    let RequestedLedgers { found, hindered, .. } = source::asked(&*world, &arguments.paths)?;
    let mut unreadable = hindered;
    let progress = progress::ledgers(found.len());
    let mut trial = LimitTrial::new(change.clone(), world.today());
    let mut rows = Vec::new();
    let day = world.day();
    let make = |mut judged: Judged| {
        let unread = std::mem::take(&mut judged.unread);
        (unread, if judged.is_shop { Vec::new() } else { trial.of(judged, day) })
    };
    lint_into(&*world, &found, day, make, |(unread, mut of_one)| {
        unreadable |= source::unread_files(&unread);
        progress.inc(u64::from(!of_one.is_empty()));
        rows.append(&mut of_one);
    });
    trial.axes_tried = rows;
    progress.finish_and_clear();
    let text = arguments.format.print(shown(&*world), || trial_paper(&trial), &trial)?;
    output::deliver(arguments.output.as_deref(), &text)?;
    Ok(if unreadable { FAILED } else { CLEAN })
}

/// Writes the pages of a fleet: that of the fleet last, so that it leads to none that is not there.
fn pages(arguments: &ReportArguments, folder: &Path) -> Result<u8, CommandError> {
    let world = arguments.source.open()?;
    let RequestedLedgers { found, hindered, .. } = source::asked(&*world, &arguments.paths)?;
    let said = |why: String| CommandError::Said(format!("{why}; no page was written"));
    let names = PageNames::new(found.iter().map(|found| found.folder.0.as_str()))
        .map_err(|[one, other]| said(format!("the pages of `{one}` and `{other}` would have one name: rename one")))?;
    let no_folder = |why: io::Error| {
        let folder = folder.display();
        said(format!("`{folder}` cannot be the folder of the pages: {why}; name another one with `--pages`"))
    };
    let earlier = earlier_pages(folder).map_err(no_folder)?;
    for name in names.files().chain([FLEET_PAGE]) {
        output::may_deliver(&folder.join(name)).map_err(|why| said(why.to_string()))?;
    }
    fs::create_dir_all(folder).map_err(no_folder)?;
    let horizon = Horizon::new(world.today(), arguments.within);
    let mut unreadable = hindered;
    let mut fleet_of = Fleet::new(world.today());
    let mut written = 0;
    let mut stopped = None;
    let progress = progress::ledgers(found.len());
    lint(&*world, &found, world.day(), |judged: Judged| {
        unreadable |= source::unread(&judged);
        if judged.is_shop {
            return;
        }
        fleet_of.add(&judged, horizon);
        progress.inc(1);
        let Some(name) = names.of(&judged.path.0).filter(|_| stopped.is_none()) else { return };
        let one = gather(&judged, horizon);
        let page = PaperFormat::Html.print(shown(&*world), || report::page(&one, FLEET_PAGE), &one);
        match page.and_then(|page| output::deliver(Some(&folder.join(name)), &page)) {
            Ok(()) => written += 1,
            Err(why) => stopped = Some(why),
        }
    });
    progress.finish_and_clear();
    // What could be known was asked before; a disk that is full, or somebody else's hand, shows only now.
    let halfway = |why: CommandError| {
        let pages = counted(written, "page was", "pages were");
        CommandError::Said(format!("{why}; {pages} written before, and `{FLEET_PAGE}` was not: write the pages again"))
    };
    if let Some(why) = stopped {
        return Err(halfway(why));
    }
    let page = PaperFormat::Html.print(shown(&*world), || fleet::linked(&fleet_of, &names), &fleet_of)?;
    output::deliver(Some(&folder.join(FLEET_PAGE)), &page).map_err(halfway)?;
    let now: BTreeSet<&str> = names.files().collect();
    for name in earlier.iter().filter(|name| !now.contains(name.as_str())) {
        let file = folder.join(name);
        if !output::is_earlier(&file) {
            continue;
        }
        output::complain(&format!(
            "{}: a page of an earlier report, of none of these ledgers; it was left there",
            file.display()
        ));
    }
    Ok(if unreadable { FAILED } else { CLEAN })
}

/// The names of a folder's files that pages of machines have, sorted.
fn earlier_pages(folder: &Path) -> io::Result<Vec<String>> {
    let entries = match fs::read_dir(folder) {
        Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries?,
    };
    let names = entries.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
    let mut names = names.collect::<io::Result<Vec<String>>>()?;
    names.retain(|name| name.starts_with(MACHINE_PAGE) && name.ends_with(".html"));
    names.sort();
    Ok(names)
}

pub(crate) fn run(arguments: &ReportArguments) -> Result<u8, CommandError> {
    if let Some(change) = &arguments.trial {
        return try_limit(arguments, change);
    }
    if let Some(folder) = &arguments.pages {
        return pages(arguments, folder);
    }
    let world = arguments.source.open()?;
    let RequestedLedgers { found, hindered, .. } = source::asked(&*world, &arguments.paths)?;
    let today = world.today();
    let horizon = Horizon::new(today, arguments.within);
    let mut unreadable = hindered;
    let progress = progress::ledgers(found.len());
    let text = if let [_] = found[..] {
        let mut one = None;
        lint(&*world, &found, world.day(), |judged: Judged| {
            unreadable |= source::unread(&judged);
            if !judged.is_shop {
                one = Some(gather(&judged, horizon));
            }
        });
        let Some(one) = one else { return Err(CommandError::Said("the ledger could not be read".into())) };
        match arguments.format {
            PaperFormat::Text => arguments.format.print(shown(&*world), || report::summary(&one), &one)?,
            format => format.print(shown(&*world), || report::paper(&one), &one)?,
        }
    } else {
        let mut all = Fleet::new(today);
        lint(&*world, &found, world.day(), |judged: Judged| {
            unreadable |= source::unread(&judged);
            if !judged.is_shop {
                all.add(&judged, horizon);
                progress.inc(1);
            }
        });
        arguments.format.print(shown(&*world), || fleet::paper(&all), &all)?
    };
    progress.finish_and_clear();
    output::deliver(arguments.output.as_deref(), &text)?;
    Ok(if unreadable { FAILED } else { CLEAN })
}
