//! `wayledger report`: the state of a ledger, or of many, on paper.

use std::path::PathBuf;

use super::paper::PaperFormat;
use super::source::{self, RequestedLedgers, SourceArguments};
use super::{CLEAN, CommandError, FAILED, output, progress};
use crate::formats::{fleet, report};
use crate::judging::lint::{Judged, lint};
use crate::views::report::{Fleet, Horizon, report as gather};

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
    #[command(flatten)]
    source: SourceArguments,
    /// How it is printed; text is a short form.
    #[arg(long, value_enum, default_value_t)]
    format: PaperFormat,
    /// Writes to this file. An earlier report of ours is replaced; any other file that is there already is left alone.
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
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

pub(crate) fn run(arguments: &ReportArguments) -> Result<u8, CommandError> {
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
            PaperFormat::Text => arguments.format.print(|| report::summary(&one), &one)?,
            format => format.print(|| report::paper(&one), &one)?,
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
        arguments.format.print(|| fleet::paper(&all), &all)?
    };
    progress.finish_and_clear();
    output::deliver(arguments.output.as_deref(), &text)?;
    Ok(if unreadable { FAILED } else { CLEAN })
}
