//! Findings as GitLab's code-quality report: an array of objects with description, name of the check, fingerprint,
//! severity and place (GitLab's documentation, "Code Quality", the table of required keys).

use std::io::{self, Write};

use serde::Serialize;

use super::findings::{FindingsFormat, OutputOptions, OutputTotals, comma};
use super::json::piece;
use super::{Root, clean, fingerprints};
use crate::finding::{Finding, Grade, Locator, sentence};
use crate::judging::lint::Judged;

/// The format.
pub(crate) struct Gitlab;

impl FindingsFormat for Gitlab {
    fn name(&self) -> &'static str {
        "gitlab"
    }

    fn help(&self) -> &'static str {
        "A code-quality report for GitLab"
    }

    fn begin(&self, out: &mut dyn Write) -> io::Result<()> {
        write!(out, "[")
    }

    fn separator(&self, is_first: bool) -> &'static str {
        comma(is_first)
    }

    fn ledger(&self, judged: &Judged, look: &OutputOptions) -> io::Result<Vec<Vec<u8>>> {
        entries(judged, &look.root).iter().map(piece).collect()
    }

    fn end(&self, out: &mut dyn Write, _sum: &OutputTotals) -> io::Result<()> {
        writeln!(out, "\n]")
    }
}

#[derive(Serialize)]
pub(crate) struct GitlabIssue {
    description: String,
    check_name: &'static str,
    fingerprint: String,
    severity: &'static str,
    location: GitlabLocation,
}

#[derive(Serialize)]
struct GitlabLocation {
    path: String,
    lines: GitlabLines,
}

#[derive(Serialize)]
struct GitlabLines {
    begin: u32,
    end: u32,
}

/// One ledger's findings.
pub(crate) fn entries(judged: &Judged, root: &Root) -> Vec<GitlabIssue> {
    let locator = Locator::new(&judged.ledger.sources);
    let prints = fingerprints(judged, root);
    judged.findings.iter().zip(prints).map(|(finding, print)| entry(finding, print, &locator, root)).collect()
}

fn entry(finding: &Finding, fingerprint: String, locator: &Locator, root: &Root) -> GitlabIssue {
    let at = locator.locate(finding.at.place);
    let address = if finding.address.is_empty() { String::new() } else { format!("{}: ", finding.address) };
    GitlabIssue {
        description: clean(&format!("{}{address}{}", standing(finding), sentence(finding))).into_owned(),
        check_name: finding.rule.as_str(),
        fingerprint,
        severity: severity(finding),
        location: GitlabLocation {
            path: root.path(at.file),
            lines: GitlabLines { begin: at.line, end: at.end_line.max(at.line) },
        },
    }
}

/// The report has no field for it.
fn standing(finding: &Finding) -> &'static str {
    if finding.stands { "standing: " } else { "" }
}

fn severity(finding: &Finding) -> &'static str {
    match (finding.grade, &finding.conceded) {
        (Grade::Nonconformity, None) if finding.stands => "minor",
        (Grade::Nonconformity, None) => "major",
        (Grade::Outstanding | Grade::NotJudged, None) => "minor",
        _ => "info",
    }
}
