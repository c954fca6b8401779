//! `wayledger lint`: the main job.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::ValueEnum;

use super::source::{self, Asked, Source, Touched};
use super::{BROKEN, CLEAN, FAILED, Failure, output};
use crate::formats::{Counts, Root, clean, github, gitlab, json, sarif, terminal};
use crate::judging::lint::{Judged, lint_into};
use crate::judging::stops::{self, Before, Fate};
use crate::world::ledgers::touched_by;
use crate::world::{Day, World};

/// Checks ledgers against the rules of the trade.
///
/// Exit code: 0 when no rule is broken, 1 when one is, 2 when the job could not be done.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Ledgers, folders that hold ledgers, or files of a ledger.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    source: Source,
    /// Judges a commit, as the hook does: only the ledgers that the staged changes touch, against the last commit. It stops
    /// what the commit itself makes: what is put right by writing, a bad reading that is not held, a record altered. The
    /// rest is told in a line. A changed shop.kdl touches all below its folder.
    #[arg(long, requires = "staged", conflicts_with_all = ["paths", "complete"])]
    touched: bool,
    /// Judges a pull request: what is held or was brought by the calendar does not make the exit code 1.
    #[arg(long, conflicts_with_all = ["complete", "touched"])]
    allow_held: bool,
    /// Counts what is outstanding too: the exit code is 1 until everything is recorded.
    #[arg(long)]
    complete: bool,
    /// How findings are printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// When output has colour.
    #[arg(long, value_enum, default_value_t)]
    colour: output::Colour,
    /// Prints findings and no summary of ledgers without any.
    #[arg(long, short)]
    quiet: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people, with the text at fault.
    #[default]
    Text,
    /// For programs; the shape is in schema/findings.md.
    Json,
    /// SARIF 2.1.0, for review pages.
    Sarif,
    /// Workflow commands that GitHub shows as annotations.
    Github,
    /// A code-quality report for GitLab.
    Gitlab,
}

impl Format {
    /// Review pages know paths from the top of the repository; people and programs, from where they stand.
    fn shows_paths_from_top(self) -> bool {
        matches!(self, Format::Sarif | Format::Github | Format::Gitlab)
    }
}

pub fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let (world, was, asked) = if arguments.touched {
        let Touched { world, before, paths, withdrawn } = arguments.source.touched()?;
        let mut asked = source::told(&world, touched_by(&world, &paths));
        for withdrawn in withdrawn {
            asked.hindered = true;
            output::complain(&withdrawn.to_string());
        }
        let was = before.into_iter().map(|was| (touched_by(&was, &paths).found, was)).collect();
        (Box::new(world) as Box<dyn World>, was, asked)
    } else {
        let world = arguments.source.open()?;
        let asked = source::asked_or_hidden(&*world, &arguments.paths)?;
        (world, Vec::new(), asked)
    };
    let Asked { found, hindered, failed } = asked;
    let day = world.day();
    let before: Vec<Before> =
        was.iter().map(|(there, was)| Before::new(was, there.clone(), (&*world, &found), day)).collect();
    let policy = match (arguments.touched, arguments.allow_held) {
        (true, _) => Policy::Commit { before: &before, day, in_short: arguments.format == Format::Text },
        (_, true) => Policy::Request,
        _ => Policy::Plain { complete: arguments.complete },
    };
    let look = Look {
        format: arguments.format,
        style: output::style(arguments.colour),
        quiet: arguments.quiet,
        root: if arguments.format.shows_paths_from_top() { source::root() } else { Root::default() },
    };
    let mut paper =
        Paper { out: output::standard(), format: arguments.format, quiet: arguments.quiet, ledgers: 0, entries: 0 };
    let mut total = Counts::default();
    let mut unreadable = failed;
    let mut broken = hindered;
    let mut written = paper.begin();
    let take = |(counts, stops, unread, shown): (Counts, bool, bool, io::Result<Shown>)| {
        total.add(counts);
        broken |= stops;
        unreadable |= unread;
        if written.is_ok() {
            written = shown.and_then(|shown| paper.ledger(&shown));
        }
    };
    let make = |judged: Judged| {
        let counts = Counts::of(&judged.findings);
        let unread = judged.failed;
        let (stops, judged, told) = policy.judge(judged);
        (counts, stops, unread, look.of(&judged, told.as_deref()))
    };
    lint_into(&*world, &found, day, make, take);
    written?;
    paper.end(total, !arguments.touched)?;
    Ok(if unreadable {
        FAILED
    } else if broken {
        BROKEN
    } else {
        CLEAN
    })
}

/// By what the exit code is judged.
enum Policy<'b> {
    /// Every broken rule counts.
    Plain { complete: bool },
    /// A pull request: what is held is let in.
    Request,
    /// A commit, against those it is made upon.
    Commit { before: &'b [Before<'b>], day: Day, in_short: bool },
}

impl Policy<'_> {
    /// Whether a ledger stops, what is to be shown of it in full, and what is told of the rest in a line.
    fn judge(&self, mut judged: Judged) -> (bool, Judged, Option<String>) {
        match self {
            Policy::Plain { complete } => {
                let counts = Counts::of(&judged.findings);
                (counts.nonconformities > 0 || *complete && counts.outstanding > 0, judged, None)
            }
            Policy::Request => {
                let fates: Vec<Fate> = judged.findings.iter().map(stops::in_a_request).collect();
                let stops = fates.contains(&Fate::Stops);
                let let_in = fates.into_iter().filter(|fate| matches!(fate, Fate::Held | Fate::Calendar));
                let told = stops::told(let_in);
                (stops, judged, (!told.is_empty()).then(|| format!("let in: {told}")))
            }
            Policy::Commit { before, day, in_short } => {
                let stop = stops::stop(&judged, before, *day);
                let stops = stop.stops();
                let told = stops::told(stop.fates.iter().copied().filter(|fate| *fate != Fate::Stops));
                let mut fates = stop.fates.iter();
                judged.findings.retain(|_| fates.next() == Some(&Fate::Stops) || !in_short);
                judged.findings.extend(stop.altered);
                judged.findings.sort_by(|a, b| a.order().cmp(&b.order()));
                let path = if judged.path.0.is_empty() { "." } else { &judged.path.0 };
                let told = (!told.is_empty()).then(|| format!("{}: let in: {told}", clean(path)));
                (stops, judged, told)
            }
        }
    }
}

/// How findings are to look.
struct Look {
    format: Format,
    style: terminal::Style,
    quiet: bool,
    root: Root,
}

/// What is to be printed of a ledger or a shop file.
struct Shown {
    /// A shop file without findings is not shown.
    is_shown: bool,
    /// Entries of an array, or the text in one piece.
    entries: Vec<Vec<u8>>,
}

impl Look {
    /// What of a ledger is printed, with a line about what is not shown or does not count.
    fn of(&self, judged: &Judged, told: Option<&str>) -> io::Result<Shown> {
        let is_shown = !judged.is_shop || !judged.findings.is_empty();
        let mut shown = Shown { is_shown, entries: Vec::new() };
        match self.format {
            Format::Text => {
                let silent = judged.is_shop || self.quiet;
                if !(silent && judged.findings.is_empty()) {
                    shown.entries.push(terminal::ledger(judged, self.style).to_string().into_bytes());
                }
                shown.entries.extend(told.map(|told| format!("{told}\n").into_bytes()));
            }
            Format::Json => shown.entry(&json::ledger(judged))?,
            Format::Sarif => sarif::results(judged, &self.root).iter().try_for_each(|result| shown.entry(result))?,
            Format::Github => {
                let mut text = Vec::new();
                github::ledger(&mut text, judged, &self.root)?;
                shown.entries.push(text);
            }
            Format::Gitlab => gitlab::entries(judged, &self.root).iter().try_for_each(|entry| shown.entry(entry))?,
        }
        Ok(shown)
    }
}

impl Shown {
    fn entry(&mut self, entry: &impl serde::Serialize) -> io::Result<()> {
        let mut text = Vec::new();
        json::write(&mut text, entry).map_err(io::Error::other)?;
        self.entries.push(text);
        Ok(())
    }
}

/// Where findings are written, in the format asked for, ledger by ledger.
struct Paper<W> {
    out: W,
    format: Format,
    quiet: bool,
    ledgers: usize,
    /// Entries of an array written so far.
    entries: usize,
}

impl<W: Write> Paper<W> {
    fn begin(&mut self) -> io::Result<()> {
        match self.format {
            Format::Text | Format::Github => Ok(()),
            Format::Json => write!(self.out, "{{\"format\":{:?},\"ledgers\":[", json::FORMAT),
            Format::Sarif => sarif::head(&mut self.out),
            Format::Gitlab => write!(self.out, "["),
        }
    }

    fn ledger(&mut self, shown: &Shown) -> io::Result<()> {
        // One ledger needs no sum.
        self.ledgers += usize::from(shown.is_shown);
        for entry in &shown.entries {
            if matches!(self.format, Format::Json | Format::Sarif | Format::Gitlab) {
                writeln!(self.out, "{}", if self.entries > 0 { "," } else { "" })?;
                self.entries += 1;
            }
            self.out.write_all(entry)?;
        }
        Ok(())
    }

    fn end(&mut self, total: Counts, sums: bool) -> io::Result<()> {
        match self.format {
            Format::Text if sums && self.ledgers > 1 && !(self.quiet && total == Counts::default()) => {
                writeln!(self.out, "in all: {}", total.line())?;
            }
            Format::Text | Format::Github => {}
            Format::Json => writeln!(self.out, "\n]}}")?,
            Format::Sarif => write!(self.out, "{}", sarif::TAIL)?,
            Format::Gitlab => writeln!(self.out, "\n]")?,
        }
        self.out.flush()
    }
}
