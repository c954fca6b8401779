//! Findings as JSON, for programs. The shape is described in `schema/findings.schema.json`.

use std::io;

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Serializer;
use serde_json::ser::Formatter;

use super::Counts;
use super::clean::harmful;
use super::findings::{FindingsFormat, OutputOptions, OutputTotals, comma};
use crate::finding::{BaselineState, Finding, Label, Locator, Place, SourceId, WorseDirection};
use crate::judging::lint::Judged;
use crate::text::Edit;

/// The name of the shape, first in the output.
pub(crate) const FORMAT: &str = "wayledger-findings-5";

/// The format.
pub(crate) struct Json;

impl FindingsFormat for Json {
    fn name(&self) -> &'static str {
        "json"
    }

    fn help(&self) -> &'static str {
        "For programs; the shape is in schema/findings.schema.json"
    }

    fn has_paths_from_top(&self) -> bool {
        false
    }

    fn begin(&self, out: &mut dyn io::Write) -> io::Result<()> {
        write!(out, "{{\"format\":{FORMAT:?},\"ledgers\":[")
    }

    fn separator(&self, is_first: bool) -> &'static str {
        comma(is_first)
    }

    fn ledger(&self, judged: &Judged, _look: &OutputOptions) -> io::Result<Vec<Vec<u8>>> {
        Ok(vec![piece(&ledger(judged))?])
    }

    fn end(&self, out: &mut dyn io::Write, _sum: &OutputTotals) -> io::Result<()> {
        writeln!(out, "\n]}}")
    }
}

/// Writes JSON in which no character can steer a terminal: those are written as escapes, which mean the same.
pub(crate) fn write(out: impl io::Write, value: &impl Serialize) -> serde_json::Result<()> {
    value.serialize(&mut Serializer::with_formatter(out, Harmless))
}

/// A value as one piece of JSON.
pub(super) fn piece(value: &impl Serialize) -> io::Result<Vec<u8>> {
    let mut text = Vec::new();
    write(&mut text, value).map_err(io::Error::other)?;
    Ok(text)
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

/// What the lint writes. It is written ledger by ledger, so this only says its shape.
#[derive(Serialize, JsonSchema)]
pub(crate) struct FindingsJson<'j> {
    #[schemars(extend("const" = FORMAT))]
    pub format: &'static str,
    /// In the order of their paths; a shop file stands before the first ledger that it applies to.
    pub ledgers: Vec<LedgerJson<'j>>,
}

#[derive(Serialize, JsonSchema)]
pub(crate) struct LedgerJson<'j> {
    /// Its folder, relative to where the program ran; a shop file's own path.
    path: &'j str,
    /// How many break a rule, and nobody has accepted it.
    nonconformities: usize,
    outstanding: usize,
    /// Rules that cannot judge, by rule and axis: what they need is not described.
    rules_not_judged: usize,
    /// Those of them that are declared not applicable, in no other count.
    rules_not_applicable: usize,
    observations: usize,
    /// How many findings a concession covers; they are in the list, and in no other count.
    #[serde(rename = "by_concession")]
    conceded: usize,
    /// How many of the nonconformities are put right by writing.
    by_writing: usize,
    /// How many of the nonconformities only work and a later reading put right.
    at_machine: usize,
    /// How many of the nonconformities a hold lets in.
    #[serde(rename = "on_hold")]
    held: usize,
    /// How many of the nonconformities stood at the revision named by `--standing`.
    #[serde(rename = "stood_before")]
    standing: usize,
    /// In the order of their places.
    findings: Vec<FindingJson<'j>>,
}

#[derive(Serialize, JsonSchema)]
struct FindingJson<'j> {
    /// Its name, as `wayledger rules` lists it.
    rule: &'j str,
    /// `nonconformity`, `outstanding` or `observation`.
    grade: &'j str,
    /// What it is about, as `X.port.J1`; empty where the text itself is at fault.
    address: &'j str,
    /// What is wrong, and how much.
    message: &'j str,
    /// The number found.
    found: Option<FoundJson>,
    /// The limit that it is held against.
    limit: Option<LimitJson<'j>>,
    /// The place.
    at: PlaceJson<'j>,
    /// Other places that belong to it.
    also: Vec<PlaceJson<'j>>,
    /// The places of other facts that it follows from: a change there can change it or make it go.
    causes: Vec<PlaceJson<'j>>,
    /// What to do next.
    next: &'j str,
    /// Another day may give another verdict.
    depends_on_today: bool,
    /// The concession that covers it.
    conceded: Option<ConcededJson<'j>>,
    /// `by-writing` or `at-machine`.
    put_right: &'static str,
    /// The hold that lets it in.
    held: Option<HeldJson<'j>>,
    /// The record that would hold it, to be put below the reading.
    to_hold: Option<&'j str>,
    /// How it compares with the revision named by `--standing`: `new`, `unchanged`, or `updated` to a better number.
    baseline: Option<&'static str>,
    /// It stood there, and does not make the exit code 1.
    #[serde(rename = "is_standing")]
    stands: bool,
    /// What would put it right, where only text that cannot be read has to change and it can mean one thing.
    #[serde(skip_serializing_if = "Option::is_none")]
    fix: Option<FixJson<'j>>,
}

#[derive(Serialize, JsonSchema)]
struct FixJson<'j> {
    title: &'j str,
    edits: Vec<EditJson<'j>>,
}

#[derive(Serialize, JsonSchema)]
struct EditJson<'j> {
    file: &'j str,
    /// Bytes from the beginning of the file.
    start: u32,
    end: u32,
    new_text: &'j str,
}

#[derive(Serialize, JsonSchema)]
struct FoundJson {
    /// Exact decimal text.
    number: String,
    unit: &'static str,
    /// Which way is worse: `larger` or `smaller`.
    worse: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct LimitJson<'j> {
    /// Of the rulebook.
    entry: Option<&'j str>,
    text: &'j str,
    source: &'j str,
    /// Where a shop or machine set it.
    set_at: Option<PlaceJson<'j>>,
}

#[derive(Serialize, JsonSchema)]
struct ConcededJson<'j> {
    by: &'j str,
    reason: &'j str,
    until: Option<&'j str>,
    at: PlaceJson<'j>,
}

#[derive(Serialize, JsonSchema)]
struct HeldJson<'j> {
    since: &'j str,
    by: &'j str,
    reason: &'j str,
    at: PlaceJson<'j>,
}

#[derive(Serialize, JsonSchema)]
struct PlaceJson<'j> {
    file: &'j str,
    /// From 1.
    line: u32,
    /// From 1, in characters.
    column: u32,
    end_line: u32,
    end_column: u32,
    /// In bytes from the file's beginning.
    start: u32,
    end: u32,
    #[serde(skip_serializing_if = "str::is_empty")]
    text: &'j str,
}

/// One ledger with its findings.
pub(crate) fn ledger(judged: &Judged) -> LedgerJson<'_> {
    let counts = Counts::from_findings(&judged.findings);
    let locator = Locator::new(&judged.ledger.sources);
    LedgerJson {
        path: judged.path.shown(),
        nonconformities: counts.nonconformities,
        outstanding: counts.outstanding,
        rules_not_judged: counts.not_judged,
        rules_not_applicable: counts.not_applicable,
        observations: counts.observations,
        conceded: counts.conceded,
        by_writing: counts.by_writing,
        at_machine: counts.at_machine(),
        held: counts.held,
        standing: counts.standing,
        findings: judged.findings.iter().map(|finding| one(finding, &locator)).collect(),
    }
}

fn one<'j>(finding: &'j Finding, locator: &Locator<'j>) -> FindingJson<'j> {
    let label = |label: &'j Label| at(locator, label.place, &label.text);
    FindingJson {
        rule: finding.rule.as_str(),
        grade: finding.grade.name(),
        address: &finding.address,
        message: &finding.message,
        found: finding.found.map(|found| FoundJson {
            number: found.number(),
            unit: found.unit(),
            worse: if found.worse == WorseDirection::Larger { "larger" } else { "smaller" },
        }),
        limit: finding.limit.as_ref().map(|limit| LimitJson {
            entry: limit.entry,
            text: &limit.text,
            source: &limit.source,
            set_at: limit.set_at.map(|place| at(locator, place, "")),
        }),
        at: label(&finding.at),
        also: finding.also.iter().map(label).collect(),
        causes: finding.causes.iter().map(|cause| at(locator, *cause, "")).collect(),
        next: &finding.next,
        depends_on_today: finding.by_date,
        conceded: finding.conceded.as_ref().map(|conceded| ConcededJson {
            by: &conceded.by,
            reason: &conceded.reason,
            until: conceded.until.as_deref(),
            at: at(locator, conceded.place, ""),
        }),
        put_right: if finding.is_at_machine() { "at-machine" } else { "by-writing" },
        held: finding.held.as_ref().map(|held| HeldJson {
            since: &held.since,
            by: &held.by,
            reason: &held.reason,
            at: at(locator, held.place, ""),
        }),
        to_hold: finding.to_hold.as_deref(),
        baseline: finding.baseline.map(BaselineState::word),
        stands: finding.stands,
        fix: finding.fix.as_ref().map(|fix| FixJson {
            title: &fix.title,
            edits: fix.edits.iter().map(|(source, edit)| edit_json(locator, *source, edit)).collect(),
        }),
    }
}

fn edit_json<'j>(locator: &Locator<'j>, source: SourceId, edit: &'j Edit) -> EditJson<'j> {
    let at = locator.locate(Place { source, span: edit.span });
    EditJson { file: at.file, start: edit.span.start, end: edit.span.end, new_text: &edit.text }
}

fn at<'j>(locator: &Locator<'j>, place: Place, text: &'j str) -> PlaceJson<'j> {
    let found = locator.locate(place);
    PlaceJson {
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
