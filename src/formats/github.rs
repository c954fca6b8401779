//! Findings as the workflow commands that GitHub's runner turns into annotations of a pull request:
//! `::error file=…,line=…::message`.
//!
//! What the runner undoes in a command is escaped: `%`, CR and LF in the message, and `:` and `,` too in a property
//! (the runner's own documentation, "Workflow commands for GitHub Actions"). Harmful characters are written out first.

use std::collections::BTreeSet;
use std::io::{self, Write};

use super::findings::{CappedKind, FindingsFormat, OutputOptions, OutputTotals};
use super::{Root, clean};
use crate::finding::{Finding, Grade, Locator, sentence};
use crate::judging::lint::Judged;

/// The format.
pub(crate) struct Github;

impl FindingsFormat for Github {
    fn name(&self) -> &'static str {
        "github"
    }

    fn help(&self) -> &'static str {
        "Workflow commands that GitHub shows as annotations, ten of a kind"
    }

    fn ledger(&self, judged: &Judged, look: &OutputOptions) -> io::Result<Vec<Vec<u8>>> {
        ledger(judged, &look.root)
    }

    fn kind_of_piece(&self, piece: &[u8]) -> Option<CappedKind> {
        let kind =
            LEVELS.iter().position(|level| piece.get(2..).is_some_and(|rest| rest.starts_with(level.as_bytes())));
        // The last notice says how many more there are.
        kind.map(|kind| CappedKind { kind, most: MOST_SHOWN - usize::from(LEVELS[kind] == "notice") })
    }

    fn end(&self, out: &mut dyn Write, sum: &OutputTotals) -> io::Result<()> {
        if sum.pieces_left_out == 0 {
            return Ok(());
        }
        let all = if sum.pieces_left_out == 1 { "annotation is" } else { "annotations are" };
        writeln!(
            out,
            "::notice title=more annotations::{} more {all} not shown, since a step shows {MOST_SHOWN} of a kind; `--format text --all` and `--format sarif` have all of them",
            sum.pieces_left_out
        )
    }
}

/// The commands for an annotation.
const LEVELS: [&str; 3] = ["error", "warning", "notice"];

/// So many annotations of each kind a step shows; the runner drops what is beyond (GitHub's documentation, limits of
/// annotations).
const MOST_SHOWN: usize = 10;

/// One ledger: a line for each finding that breaks a rule, and one for all that is outstanding, not judged or observed by one
/// rule, at the first of them.
fn ledger(judged: &Judged, root: &Root) -> io::Result<Vec<Vec<u8>>> {
    let locator = Locator::new(&judged.ledger.sources);
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in &judged.findings {
        let alike = |it: &&Finding| it.rule == finding.rule && level(it) == level(finding) && level(it) != LEVELS[0];
        match groups.iter_mut().find(|group| group.first().is_some_and(alike)) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
        .iter()
        .filter_map(|group| group.split_first())
        .map(|(first, more)| line(&locator, root, first, more))
        .collect()
}

/// One command, with the addresses of what else is of its kind.
fn line(locator: &Locator, root: &Root, finding: &Finding, more: &[&Finding]) -> io::Result<Vec<u8>> {
    let mut out = Vec::new();
    let at = locator.locate(finding.at.place);
    let file = property(&root.path(at.file));
    write!(out, "::{} file={file},line={},endLine={}", level(finding), at.line, at.end_line.max(at.line))?;
    // Columns hold within one line only.
    if at.end_line == at.line {
        write!(out, ",col={},endColumn={}", at.column, at.end_column)?;
    }
    let title = format!("{}: {} {}", finding.grade.name(), finding.rule, finding.address);
    let title = title.trim_end().to_owned() + if finding.stands { " (standing)" } else { "" };
    let mut text = sentence(finding);
    if !more.is_empty() {
        let addresses: BTreeSet<&str> = more.iter().map(|it| it.address.as_str()).filter(|it| !it.is_empty()).collect();
        let addresses: Vec<&str> = addresses.into_iter().collect();
        let head = if addresses.is_empty() { "" } else { ": " };
        text += &format!("\nand {} more of this rule here{head}{}", more.len(), addresses.join(", "));
    }
    writeln!(out, ",title={}::{}", property(&title), data(&text))?;
    Ok(out)
}

fn level(finding: &Finding) -> &'static str {
    match (finding.grade, &finding.conceded) {
        (Grade::Nonconformity, None) if finding.stands => "warning",
        (Grade::Nonconformity, None) => "error",
        (Grade::Outstanding | Grade::NotJudged, None) => "warning",
        _ => "notice",
    }
}

fn data(text: &str) -> String {
    clean(text).replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
