//! Findings as JSON, for programs. The shape is described in `schema/findings.md`; it grows, and never changes.

use std::io;

use serde::Serialize;
use serde_json::Serializer;
use serde_json::ser::Formatter;

use super::Counts;
use super::clean::harmful;
use crate::finding::{Finding, Label, Locator, Place, SourceId, Worse};
use crate::judging::lint::Judged;
use crate::text::Edit;

/// The name of the shape, first in the output.
pub const FORMAT: &str = "wayledger findings 1";

/// Writes JSON in which no character can steer a terminal: those are written as escapes, which mean the same.
pub fn write(out: impl io::Write, value: &impl Serialize) -> serde_json::Result<()> {
    value.serialize(&mut Serializer::with_formatter(out, Harmless))
}

/// The same, one fact a line, so that two papers can be compared line by line.
pub fn pretty(value: &impl Serialize) -> serde_json::Result<String> {
    // Such a character stands in no other place of JSON than in a string.
    let text = serde_json::to_string_pretty(value)?;
    let mut out = String::with_capacity(text.len() + 1);
    for c in text.chars() {
        if harmful(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out.push('\n');
    Ok(out)
}

struct Harmless;

impl Formatter for Harmless {
    fn write_string_fragment<W: ?Sized + io::Write>(&mut self, out: &mut W, fragment: &str) -> io::Result<()> {
        let mut rest = fragment;
        while let Some(at) = rest.find(harmful) {
            let (before, from) = rest.split_at(at);
            out.write_all(before.as_bytes())?;
            let mut chars = from.chars();
            for unit in chars.next().into_iter().flat_map(|c| c.encode_utf16(&mut [0; 2]).to_vec()) {
                write!(out, "\\u{unit:04x}")?;
            }
            rest = chars.as_str();
        }
        out.write_all(rest.as_bytes())
    }
}

#[derive(Serialize)]
pub struct Ledger<'j> {
    path: &'j str,
    nonconformities: usize,
    outstanding: usize,
    observations: usize,
    conceded: usize,
    by_writing: usize,
    at_machine: usize,
    held: usize,
    findings: Vec<One<'j>>,
}

#[derive(Serialize)]
struct One<'j> {
    rule: &'j str,
    grade: &'j str,
    address: &'j str,
    message: &'j str,
    found: Option<Found>,
    limit: Option<LimitOut<'j>>,
    at: At<'j>,
    also: Vec<At<'j>>,
    next: &'j str,
    depends_on_today: bool,
    conceded: Option<Conceded<'j>>,
    put_right: &'static str,
    held: Option<HeldOut<'j>>,
    to_hold: Option<&'j str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fix: Option<FixOut<'j>>,
}

#[derive(Serialize)]
struct FixOut<'j> {
    title: &'j str,
    edits: Vec<EditOut<'j>>,
}

#[derive(Serialize)]
struct EditOut<'j> {
    file: &'j str,
    start: u32,
    end: u32,
    new_text: &'j str,
}

#[derive(Serialize)]
struct Found {
    number: String,
    unit: &'static str,
    worse: &'static str,
}

#[derive(Serialize)]
struct LimitOut<'j> {
    entry: Option<&'j str>,
    text: &'j str,
    source: &'j str,
    set_at: Option<At<'j>>,
}

#[derive(Serialize)]
struct Conceded<'j> {
    by: &'j str,
    reason: &'j str,
    until: Option<&'j str>,
    at: At<'j>,
}

#[derive(Serialize)]
struct HeldOut<'j> {
    since: &'j str,
    by: &'j str,
    reason: &'j str,
    at: At<'j>,
}

#[derive(Serialize)]
struct At<'j> {
    file: &'j str,
    line: u32,
    column: u32,
    end_line: u32,
    end_column: u32,
    start: u32,
    end: u32,
    #[serde(skip_serializing_if = "str::is_empty")]
    text: &'j str,
}

/// One ledger with its findings.
pub fn ledger(judged: &Judged) -> Ledger<'_> {
    let counts = Counts::of(&judged.findings);
    let locator = Locator::new(&judged.ledger.sources);
    Ledger {
        path: if judged.path.0.is_empty() { "." } else { &judged.path.0 },
        nonconformities: counts.nonconformities,
        outstanding: counts.outstanding,
        observations: counts.observations,
        conceded: counts.conceded,
        by_writing: counts.by_writing,
        at_machine: counts.at_machine(),
        held: counts.held,
        findings: judged.findings.iter().map(|finding| one(finding, &locator)).collect(),
    }
}

fn one<'j>(finding: &'j Finding, locator: &Locator<'j>) -> One<'j> {
    let label = |label: &'j Label| at(locator, label.place, &label.text);
    One {
        rule: finding.rule,
        grade: finding.grade.name(),
        address: &finding.address,
        message: &finding.message,
        found: finding.found.map(|found| Found {
            number: found.number(),
            unit: found.unit(),
            worse: if found.worse == Worse::Larger { "larger" } else { "smaller" },
        }),
        limit: finding.limit.as_ref().map(|limit| LimitOut {
            entry: limit.entry,
            text: &limit.text,
            source: &limit.source,
            set_at: limit.set_at.map(|place| at(locator, place, "")),
        }),
        at: label(&finding.at),
        also: finding.also.iter().map(label).collect(),
        next: &finding.next,
        depends_on_today: finding.by_date,
        conceded: finding.conceded.as_ref().map(|conceded| Conceded {
            by: &conceded.by,
            reason: &conceded.reason,
            until: conceded.until.as_deref(),
            at: at(locator, conceded.place, ""),
        }),
        put_right: if finding.is_at_machine() { "at-machine" } else { "by-writing" },
        held: finding.held.as_ref().map(|held| HeldOut {
            since: &held.since,
            by: &held.by,
            reason: &held.reason,
            at: at(locator, held.place, ""),
        }),
        to_hold: finding.to_hold.as_deref(),
        fix: finding.fix.as_ref().map(|fix| FixOut {
            title: &fix.title,
            edits: fix.edits.iter().map(|(source, edit)| edit_out(locator, *source, edit)).collect(),
        }),
    }
}

fn edit_out<'j>(locator: &Locator<'j>, source: SourceId, edit: &'j Edit) -> EditOut<'j> {
    let at = locator.locate(Place { source, span: edit.span });
    EditOut { file: at.file, start: edit.span.start, end: edit.span.end, new_text: &edit.text }
}

fn at<'j>(locator: &Locator<'j>, place: Place, text: &'j str) -> At<'j> {
    let found = locator.locate(place);
    At {
        file: found.file,
        line: found.line,
        column: found.column,
        end_line: found.end_line,
        end_column: found.end_column,
        start: place.span.start,
        end: place.span.end,
        text,
    }
}
