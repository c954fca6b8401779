//! What rests on a name, as a paper and on the terminal.

use std::fmt::Write as _;

use jiff::civil::Date;
use serde::Serialize;

use super::clean;
use super::paper::{Cell, Paper};
use super::report::{folder, signed};
use crate::report::{Traced, Tracing};

/// The shape of the JSON, counted up when it changes.
pub const FORMAT: &str = "wayledger-trace-1";

/// What `--format json` prints.
#[derive(Serialize)]
pub struct Json<'t> {
    format: &'static str,
    name: &'t str,
    since: Option<String>,
    machines: &'t [Traced],
}

pub fn json<'t>(tracing: &'t Tracing, machines: &'t [Traced]) -> Json<'t> {
    Json { format: FORMAT, name: &tracing.name, since: tracing.since.map(|since| since.to_string()), machines }
}

/// The first sentence: how much rests on it.
fn summary(tracing: &Tracing, machines: &[Traced]) -> String {
    let records: usize = machines.iter().map(|machine| machine.records.len()).sum();
    let counting =
        machines.iter().flat_map(|machine| &machine.records).filter(|it| it.standing == "counts now").count();
    let parts: usize = machines.iter().map(|machine| machine.parts.len()).sum();
    let since = tracing.since.map_or(String::new(), |since: Date| format!(" since {since}"));
    if machines.is_empty() {
        return format!("Nothing rests on {}{since}.", tracing.name);
    }
    format!(
        "On {} rest {} in {}: {} of them {} now{since}; and {}.",
        tracing.name,
        count(records, "record", "records"),
        count(machines.len(), "machine", "machines"),
        counting,
        if counting == 1 { "counts" } else { "count" },
        count(parts, "part", "parts"),
    )
}

fn count(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// As a paper.
pub fn paper(tracing: &Tracing, machines: &[Traced]) -> Paper {
    let mut paper = Paper::new(format!("What rests on {}", tracing.name));
    paper.say(summary(tracing, machines));
    for machine in machines {
        paper.heading(2, folder(&machine.path));
        let released = match &machine.released[..] {
            [] => "no axis".to_string(),
            axes => axes.join(", "),
        };
        paper.facts(vec![("Machine", Cell::given(machine.title.clone())), ("Released", released.into())]);
        let parts = machine.parts.iter().map(|part| vec![part.address.as_str().into(), part.why.as_str().into()]);
        paper.table("Parts", &["Address", "What"], parts.collect());
        let records = machine.records.iter().map(|record| {
            vec![
                record.kind.into(),
                Cell::given(record.on.clone()),
                signed(&record.signed).into(),
                record.why.as_str().into(),
                record.standing.into(),
                format!("{}:{}", record.file, record.line).into(),
            ]
        });
        paper.table("Records", &["Record", "Address", "Made", "Why", "Standing", "Place"], records.collect());
    }
    paper
}

/// On the terminal.
pub fn text(tracing: &Tracing, machines: &[Traced]) -> String {
    let mut out = format!("{}\n", clean(&summary(tracing, machines)));
    for machine in machines {
        let title = machine.title.as_ref().map_or(String::new(), |title| format!(" ({})", clean(title)));
        let released = match &machine.released[..] {
            [] => String::new(),
            axes => format!(", released: {}", clean(&axes.join(", "))),
        };
        // Writing to a string cannot fail.
        let _ = writeln!(out, "\n{}{title}{released}", clean(folder(&machine.path)));
        for part in &machine.parts {
            let _ = writeln!(out, "  {}: {}", clean(&part.address), clean(&part.why));
        }
        for record in &machine.records {
            let on = record.on.as_ref().map_or(String::new(), |on| format!(" {}", clean(on)));
            let _ = writeln!(
                out,
                "  {}{on} {}: {}; {} ({}:{})",
                record.kind,
                clean(&signed(&record.signed)),
                clean(&record.why),
                record.standing,
                clean(&record.file),
                record.line
            );
        }
    }
    out
}
