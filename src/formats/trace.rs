//! What rests on a name, as a paper and as JSON.

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use super::report::signed;
use crate::finding::counted;
use crate::views::paper::{Paper, TableCell};
use crate::views::report::{Traced, TracedRank, Tracing};
use crate::world::shown_path;

/// The shape of the JSON, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-trace-3";

/// What rests on a name.
#[derive(Serialize, JsonSchema)]
pub struct TraceJson<'t> {
    #[schemars(extend("const" = FORMAT))]
    format: &'static str,
    name: &'t str,
    since: Option<String>,
    machines: &'t [Traced],
}

/// A trace as it is written in JSON.
pub fn json<'t>(tracing: &'t Tracing, machines: &'t [Traced]) -> TraceJson<'t> {
    TraceJson { format: FORMAT, name: &tracing.name, since: tracing.since.map(|since| since.to_string()), machines }
}

/// The first sentences: how much rests on it, what of it counts, and whether a release does.
fn summary(tracing: &Tracing, machines: &[Traced]) -> String {
    let name = &tracing.name;
    let since = tracing.since.map_or(String::new(), |since: Date| format!(" since {since}"));
    let all = || machines.iter().flat_map(|machine| &machine.records);
    let records = all().count();
    let parts: usize = machines.iter().map(|machine| machine.parts.len()).sum();
    if records + parts == 0 {
        return format!("Nothing rests on {name}{since}.");
    }
    let mut what = Vec::new();
    if records > 0 {
        what.push(format!("{}{since}", counted(records, "record", "records")));
    }
    if parts > 0 {
        what.push(counted(parts, "part", "parts"));
    }
    let rest = if records + parts == 1 { "rests" } else { "rest" };
    let mut text =
        format!("On {name} {rest} {}, in {}.", what.join(" and "), counted(machines.len(), "machine", "machines"));
    let of = |rank| all().filter(|record| record.rank == rank).count();
    let [released, counts, history] = TracedRank::ALL.map(of);
    let releases = match machines.iter().map(|machine| machine.resting.len()).sum::<usize>() {
        0 => "No release rests on it.".to_string(),
        1 => format!("1 release rests on it, by {}.", counted(released, "record", "records")),
        releases => format!(
            "{releases} releases rest on it, in {}, by {}.",
            counted(machines.iter().filter(|it| !it.resting.is_empty()).count(), "machine", "machines"),
            counted(released, "record", "records")
        ),
    };
    if records > 0 {
        let counts = (counts > 0).then(|| format!("{} now", counted(counts, "record counts", "records count")));
        let history = (history > 0).then(|| counted(history, "is history", "are history"));
        let others: Vec<String> = counts.into_iter().chain(history).collect();
        let beside = if released > 0 { "Beside them " } else { "" };
        text += &format!(" {releases}");
        if !others.is_empty() {
            text += &format!(" {beside}{}.", others.join(", "));
        }
    }
    text
}

/// As a body.
pub fn paper(tracing: &Tracing, machines: &[Traced]) -> Paper {
    let mut paper = Paper::new(format!("What rests on {}", tracing.name));
    let body = &mut paper.body;
    body.say(summary(tracing, machines));
    for machine in machines {
        body.heading(2, shown_path(&machine.path));
        let released = match &machine.released[..] {
            [] => "no axis".to_string(),
            axes => axes.join(", "),
        };
        body.facts(vec![("Machine", TableCell::given(machine.title.clone())), ("Released", released.into())]);
        let parts = machine.parts.iter().map(|part| vec![part.address.as_str().into(), part.why.as_str().into()]);
        body.table("Parts", &["Address", "What"], parts.collect());
        for rank in TracedRank::ALL {
            let title = match rank {
                TracedRank::Released => "A release rests on these",
                TracedRank::Counts => "These count now",
                TracedRank::History => "History",
            };
            let records = machine.records.iter().filter(|record| record.rank == rank).map(|record| {
                vec![
                    record.kind.into(),
                    TableCell::given(record.on.clone()),
                    signed(&record.signed).into(),
                    record.why.as_str().into(),
                    record.standing.into(),
                    TableCell::given(record.margin.clone()),
                    format!("{}:{}", record.file, record.line).into(),
                ]
            });
            let columns = ["Record", "Address", "Made", "Why", "Standing", "Nearest its limit", "Place"];
            body.table(title, &columns, records.collect());
        }
    }
    paper
}
