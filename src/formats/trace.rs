//! What rests on a name, as a paper and as JSON.

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use super::report::{folder, signed};
use crate::finding::counted;
use crate::views::paper::{Paper, TableCell};
use crate::views::report::{Traced, TracedRecord, Tracing};

/// The shape of the JSON, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-trace-2";

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
    let counting = all().filter(|record| record.standing == "counts now").count();
    let releases = match machines.iter().map(|machine| machine.resting.len()).sum::<usize>() {
        0 => "no release rests".to_string(),
        1 => "1 release rests".to_string(),
        releases => format!("{releases} releases rest"),
    };
    text += &match (records, counting) {
        (0, _) => String::new(),
        (1, 0) => format!(" The record does not count now; {releases} on it."),
        (1, _) => format!(" The record counts now; {releases} on it."),
        (_, 0) => format!(" None of the records counts now; {releases} on them."),
        (_, 1) => format!(" Of the records 1 counts now; {releases} on them."),
        (_, many) => format!(" Of the records {many} count now; {releases} on them."),
    };
    text
}

/// How a record stands, for the machine as it is now and for its release.
fn standing(record: &TracedRecord) -> String {
    match record.release_rests_on_it {
        None => record.standing.to_string(),
        Some(true) => format!("the release rests on it, {}", record.standing),
        Some(false) => format!("{}, the release does not rest on it", record.standing),
    }
}

/// As a body.
pub fn paper(tracing: &Tracing, machines: &[Traced]) -> Paper {
    let mut paper = Paper::new(format!("What rests on {}", tracing.name));
    let body = &mut paper.body;
    body.say(summary(tracing, machines));
    for machine in machines {
        body.heading(2, folder(&machine.path));
        let released = match &machine.released[..] {
            [] => "no axis".to_string(),
            axes => axes.join(", "),
        };
        body.facts(vec![("Machine", TableCell::given(machine.title.clone())), ("Released", released.into())]);
        let parts = machine.parts.iter().map(|part| vec![part.address.as_str().into(), part.why.as_str().into()]);
        body.table("Parts", &["Address", "What"], parts.collect());
        let records = machine.records.iter().map(|record| {
            vec![
                record.kind.into(),
                TableCell::given(record.on.clone()),
                signed(&record.signed).into(),
                record.why.as_str().into(),
                standing(record).into(),
                format!("{}:{}", record.file, record.line).into(),
            ]
        });
        body.table("Records", &["Record", "Address", "Made", "Why", "Standing", "Place"], records.collect());
    }
    paper
}
