//! `wayledger rules`: all rules, or the page of one.

use std::io::Write as _;

use super::{CLEAN, Failure, output};
use crate::rules::{Group, RULES, pages, rule};
use crate::schema::nearest;

/// Lists the rules, or prints the page of one: why, limit, source, a wrong and a right example.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// The rule whose page is wanted.
    name: Option<String>,
    /// Prints all pages as Markdown, as in schema/rules.md.
    #[arg(long, conflicts_with = "name")]
    catalogue: bool,
}

pub fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let mut out = output::standard();
    if arguments.catalogue {
        write!(out, "{}", pages::catalogue())?;
    } else if let Some(name) = &arguments.name {
        let Some(rule) = rule(name) else {
            let near = nearest(name, RULES.iter().map(|rule| rule.name));
            let next =
                near.map_or("`wayledger rules` lists them".to_string(), |near| format!("did you mean `{near}`?"));
            return Err(Failure::Said(format!("there is no rule `{name}`; {next}")));
        };
        write!(out, "{}", pages::page(rule))?;
    } else {
        for group in Group::ALL {
            writeln!(out, "{}", group.title())?;
            for rule in RULES.iter().filter(|rule| rule.group == group) {
                writeln!(out, "  {:<22} {:<14} {}", rule.name, rule.grade.name(), rule.what)?;
            }
        }
    }
    out.flush()?;
    Ok(CLEAN)
}
