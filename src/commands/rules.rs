//! `wayledger rules`: all rules, the page of one, or the limits in force for a ledger.

use std::io::Write as _;
use std::path::PathBuf;

use super::source::{self, SourceArguments, asked};
use super::{CLEAN, CommandError, FAILED, output};
use crate::formats::paper::plain;
use crate::formats::rulebook::{self, LimitsOverFolder};
use crate::judging::lint;
use crate::language::schema::nearest;
use crate::rules::{self, RuleGroup, pages};

/// Lists the rules, prints the page of one, or the limits in force for a ledger.
#[derive(Debug, clap::Args)]
pub(crate) struct RulesArguments {
    /// The rule whose page is wanted: why, limit, source, a wrong and a right example.
    name: Option<String>,
    /// Prints every limit in force for the ledger at PATH: value, default, reason, source and where it was set, and by
    /// what a released axis is judged where that is another one. Over many ledgers it is a short table: which limit that
    /// anybody changed holds where.
    #[arg(long, value_name = "PATH", conflicts_with_all = ["name", "catalogue"])]
    in_force: Option<PathBuf>,
    /// Prints all pages as Markdown, as in schema/rules.md.
    #[arg(long, conflicts_with = "name")]
    catalogue: bool,
    #[command(flatten)]
    source: SourceArguments,
}

pub(crate) fn run(arguments: &RulesArguments) -> Result<u8, CommandError> {
    let mut out = output::standard();
    if let Some(path) = &arguments.in_force {
        let world = arguments.source.open()?;
        let asked = asked(&*world, std::slice::from_ref(path))?;
        let mut hindered = asked.hindered;
        let shops = lint::read_shops(&*world, &asked.found);
        let mut read = |one| {
            let (ledger, unread) = lint::read(&*world, one, &shops);
            hindered |= source::unread_files(&unread.files);
            ledger
        };
        if let [one] = &asked.found[..] {
            writeln!(out, "{}", rulebook::in_force(&read(one)))?;
        } else {
            let mut over = LimitsOverFolder::default();
            asked.found.iter().for_each(|one| over.add(&read(one)));
            write!(out, "{}", plain::plain(&over.paper()))?;
        }
        // A file that is not read may state other limits than these.
        if hindered {
            out.flush()?;
            return Ok(FAILED);
        }
    } else if arguments.catalogue {
        write!(out, "{}", pages::catalogue())?;
    } else if let Some(name) = &arguments.name {
        let Some(rule) = rules::named(name) else {
            let near = nearest(name, rules::all().map(|rule| rule.name.as_str()));
            let next =
                near.map_or("`wayledger rules` lists them".to_string(), |near| format!("did you mean `{near}`?"));
            return Err(CommandError::Said(format!("there is no rule `{name}`; {next}")));
        };
        write!(out, "{}", pages::page(rule))?;
    } else {
        let widest = rules::all().map(|rule| rule.name.as_str().len()).max().unwrap_or(0);
        for group in RuleGroup::ALL {
            writeln!(out, "{}", group.title())?;
            for rule in group.rules() {
                let gist = rule.what.split(". ").next().unwrap_or(rule.what).trim_end_matches('.');
                writeln!(out, "  {:<widest$}  {:<13}  {gist}", rule.name.as_str(), rule.grade.name())?;
            }
        }
        writeln!(
            out,
            "\n`wayledger rules NAME` prints the page of one; `wayledger rules --in-force PATH` the limits of a ledger."
        )?;
    }
    out.flush()?;
    Ok(CLEAN)
}
