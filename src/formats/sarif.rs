//! Findings as SARIF 2.1.0 (OASIS standard, "Static Analysis Results Interchange Format"), the format review pages read.
//! A finding under a concession is a suppressed result: it is never left out.

use std::io::{self, Write};

use serde::Serialize;

use super::findings::{FindingsFormat, OutputOptions, OutputTotals, comma};
use super::json::piece;
use super::{Root, clean, fingerprints};
use crate::finding::{BaselineState, Finding, Fix, Grade, Label, Locator, Place, SourceId, sentence};
use crate::judging::lint::Judged;
use crate::rules::{self, Rule, pages};
use crate::text::Edit;

/// Where the standard keeps its schema.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// What the program is. It has no page on a server; what it says of itself comes with it.
const HOME: &str = "wayledger:README.md";
/// The name for the top of the repository, from which every path starts.
const TOP: &str = "%SRCROOT%";

/// The format.
pub(crate) struct Sarif;

impl FindingsFormat for Sarif {
    fn name(&self) -> &'static str {
        "sarif"
    }

    fn help(&self) -> &'static str {
        "SARIF 2.1.0, for review pages"
    }

    fn begin(&self, out: &mut dyn Write) -> io::Result<()> {
        head(out)
    }

    fn separator(&self, is_first: bool) -> &'static str {
        comma(is_first)
    }

    fn ledger(&self, judged: &Judged, look: &OutputOptions) -> io::Result<Vec<Vec<u8>>> {
        let absent = look.absent.iter().flat_map(|absent| results(absent, &look.root));
        results(judged, &look.root).into_iter().chain(absent).map(|result| piece(&result)).collect()
    }

    fn end(&self, out: &mut dyn Write, _sum: &OutputTotals) -> io::Result<()> {
        write!(out, "{TAIL}")
    }
}

/// All before the first result.
pub(crate) fn head(out: &mut dyn Write) -> io::Result<()> {
    let driver = Driver {
        name: "wayledger",
        semantic_version: env!("CARGO_PKG_VERSION"),
        information_uri: HOME,
        rules: rules::all().map(descriptor).collect(),
    };
    let schema = serde_json::to_string(SCHEMA)?;
    let tool = serde_json::to_string(&Tool { driver })?;
    write!(
        out,
        "{{\"$schema\":{schema},\"version\":\"2.1.0\",\"runs\":[{{\"tool\":{tool},\"columnKind\":\"unicodeCodePoints\",\"results\":["
    )
}

/// All after the last result.
pub(crate) const TAIL: &str = "\n]}]}\n";

/// One ledger's findings, in their order.
pub(crate) fn results(judged: &Judged, root: &Root) -> Vec<SarifResult> {
    let locator = Locator::new(&judged.ledger.sources);
    let prints = fingerprints(judged, root);
    let write = Writer { locator, root };
    judged.findings.iter().zip(prints).map(|(finding, print)| write.result(finding, print)).collect()
}

#[derive(Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Driver {
    name: &'static str,
    semantic_version: &'static str,
    information_uri: &'static str,
    rules: Vec<Descriptor>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Descriptor {
    id: &'static str,
    /// The same for people (§3.49.7), where it is another word than the id.
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<String>,
    short_description: Message,
    full_description: Message,
    help_uri: String,
    /// The page of the rule, for review pages that show it beside a finding (§3.49.13).
    help: Help,
    default_configuration: Configuration,
}

#[derive(Serialize)]
struct Help {
    text: String,
    markdown: String,
}

#[derive(Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(Serialize)]
struct Message {
    text: String,
}

/// One finding.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct SarifResult {
    rule_id: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule_index: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    kind: Option<&'static str>,
    level: &'static str,
    /// Against the revision that the ledgers are held against (§3.27.24).
    #[serde(skip_serializing_if = "Option::is_none")]
    baseline_state: Option<&'static str>,
    message: Message,
    locations: Vec<SarifLocation>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<SarifLocation>,
    partial_fingerprints: Prints,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<FixOut>,
    suppressions: Vec<Suppression>,
    properties: Properties,
}

#[derive(Serialize)]
struct Prints {
    #[serde(rename = "wayledger/1")]
    print: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct SarifLocation {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: Physical,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    logical_locations: Vec<Logical>,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Message>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Physical {
    artifact_location: Artifact,
    region: Region,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Artifact {
    uri: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    uri_base_id: Option<&'static str>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: u32,
    start_column: u32,
    end_line: u32,
    end_column: u32,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Logical {
    fully_qualified_name: String,
}

/// A change that a viewer may offer to make (§3.55).
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct FixOut {
    description: Message,
    artifact_changes: Vec<Change>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Change {
    artifact_location: Artifact,
    replacements: Vec<Replacement>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Replacement {
    deleted_region: Region,
    inserted_content: SarifContent,
}

/// As it is to be put into the file: no part of it is cleaned.
#[derive(Serialize)]
struct SarifContent {
    text: String,
}

#[derive(Serialize)]
struct Suppression {
    kind: &'static str,
    status: &'static str,
    justification: String,
    location: SarifLocation,
}

#[derive(Serialize)]
struct Properties {
    grade: &'static str,
    /// It stood at the revision, and does not fail.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    stands: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    found: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<String>,
}

fn descriptor(rule: &'static Rule) -> Descriptor {
    Descriptor {
        id: rule.name.as_str(),
        name: rule.name.as_str().contains('-').then(|| in_capitals(rule.name.as_str())),
        short_description: message(rule.what),
        full_description: message(&format!("{} {} Source: {}", rule.what, rule.why, rule.source)),
        help_uri: format!("wayledger-rule:{}", rule.name),
        help: Help {
            text: lines(&pages::page(rule)),
            markdown: format!("{}\n\n{}\n\nSource: {}\n", rule.what, rule.why, rule.source),
        },
        default_configuration: Configuration { level: level(rule.grade) },
    }
}

/// `joint-step` as `JointStep`.
fn in_capitals(name: &str) -> String {
    let capital = |word: &str| word[..1].to_uppercase() + &word[1..];
    name.split('-').filter(|word| !word.is_empty()).map(capital).collect()
}

/// What is not decided says so (§3.27.9); all else is a failed check, which needs no word.
fn kind(finding: &Finding) -> Option<&'static str> {
    match (finding.grade, &finding.conceded) {
        (Grade::NotJudged, None) => Some("open"),
        (Grade::NotJudged, Some(_)) => Some("notApplicable"),
        _ => None,
    }
}

fn level(grade: Grade) -> &'static str {
    match grade {
        Grade::Nonconformity => "error",
        Grade::Outstanding => "warning",
        Grade::NotJudged => "none",
        Grade::Observation => "note",
    }
}

/// Text that no viewer takes for a link (§3.11.6) or for a place to fill in (§3.11.5).
fn message(text: &str) -> Message {
    let mut text = clean(text).replace('{', "{{").replace('}', "}}");
    if text.contains("](") {
        text = text.replace('[', "\\[").replace(']', "\\]");
    }
    Message { text }
}

/// A text of several lines, each made harmless as a message.
fn lines(text: &str) -> String {
    text.lines().map(|line| message(line).text + "\n").collect()
}

struct Writer<'w> {
    locator: Locator<'w>,
    root: &'w Root,
}

impl Writer<'_> {
    fn result(&self, finding: &Finding, print: String) -> SarifResult {
        let logical = Logical { fully_qualified_name: clean(&finding.address).into_owned() };
        let mut at = self.location(&finding.at, None);
        at.logical_locations = if finding.address.is_empty() { Vec::new() } else { vec![logical] };
        let set_at = finding.limit.as_ref().and_then(|limit| limit.set_at);
        let set_at = set_at.map(|place| Label { place, text: "the limit is set here".into() });
        let related = finding.also.iter().chain(&set_at).enumerate();
        SarifResult {
            rule_id: finding.rule.as_str(),
            rule_index: rules::all().position(|rule| rule.name == finding.rule),
            kind: kind(finding),
            level: level(finding.grade),
            baseline_state: finding.baseline.map(BaselineState::word),
            message: message(&sentence(finding)),
            locations: vec![at],
            related_locations: related.map(|(i, label)| self.location(label, Some(i))).collect(),
            partial_fingerprints: Prints { print },
            fixes: finding.fix.iter().map(|fix| self.fix(fix)).collect(),
            suppressions: finding.conceded.iter().map(|conceded| self.suppression(conceded)).collect(),
            properties: Properties {
                grade: finding.grade.name(),
                stands: finding.stands,
                found: finding.found.map(|found| found.to_string()),
                limit: finding.limit.as_ref().map(|limit| clean(&limit.text).into_owned()),
            },
        }
    }

    fn fix(&self, fix: &Fix) -> FixOut {
        let change = |(source, edit): &(SourceId, Edit)| {
            let Physical { artifact_location, region } = self.physical(Place { source: *source, span: edit.span });
            let inserted_content = SarifContent { text: edit.text.clone() };
            Change { artifact_location, replacements: vec![Replacement { deleted_region: region, inserted_content }] }
        };
        FixOut { description: message(&fix.title), artifact_changes: fix.edits.iter().map(change).collect() }
    }

    fn suppression(&self, conceded: &crate::finding::Conceded) -> Suppression {
        let until = conceded.until.as_ref().map_or(String::new(), |until| format!(" until {until}"));
        Suppression {
            kind: "inSource",
            status: "accepted",
            justification: clean(&format!("concession of {}{until}: {}", conceded.by, conceded.reason)).into_owned(),
            location: self.location(&Label { place: conceded.place, text: String::new() }, None),
        }
    }

    fn location(&self, label: &Label, id: Option<usize>) -> SarifLocation {
        SarifLocation {
            id,
            physical_location: self.physical(label.place),
            logical_locations: Vec::new(),
            message: (!label.text.is_empty()).then(|| message(&label.text)),
        }
    }

    fn physical(&self, place: Place) -> Physical {
        let at = self.locator.locate(place);
        let path = self.root.path(at.file);
        Physical {
            artifact_location: Artifact { uri: uri(&path), uri_base_id: (!path.starts_with('/')).then_some(TOP) },
            region: Region {
                start_line: at.line,
                start_column: at.column,
                end_line: at.end_line,
                end_column: at.end_column,
            },
        }
    }
}

/// A path as a URI reference (RFC 3986): all but unreserved characters and `/` percent-encoded.
fn uri(path: &str) -> String {
    let mut uri = String::with_capacity(path.len());
    if path.starts_with('/') {
        uri.push_str("file://");
    }
    for byte in path.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            uri.push(char::from(byte));
        } else {
            uri.push_str(&format!("%{byte:02X}"));
        }
    }
    uri
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_a_uri_reference() {
        assert_eq!(uri("a b/5%:x.kdl"), "a%20b/5%25%3Ax.kdl");
        assert_eq!(uri("Flußkran.kdl"), "Flu%C3%9Fkran.kdl");
        assert_eq!(uri("/tmp/x"), "file:///tmp/x");
    }

    /// What is shown of a rule has the lines of its page, and nothing in it is written out as a break of them.
    #[test]
    fn the_help_of_a_rule_has_its_lines() {
        for rule in rules::all() {
            let (page, help) = (pages::page(rule), descriptor(rule).help.text);
            assert_eq!(help.lines().count(), page.lines().count(), "{}", rule.name);
            assert_eq!(
                help.replace("{{", "{").replace("}}", "}").replace("\\[", "["),
                page.replace("\\[", "["),
                "{}",
                rule.name
            );
            assert!(!help.contains("\\u{"), "{}", rule.name);
        }
    }

    #[test]
    fn a_message_holds_no_link_and_no_blank_to_fill() {
        assert_eq!(message("[here](https://example.org) {0}").text, "\\[here\\](https://example.org) {{0}}");
        assert_eq!(message("S[1] stays").text, "S[1] stays");
    }
}
