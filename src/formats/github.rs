//! Findings as the workflow commands that GitHub's runner turns into annotations of a pull request:
//! `::error file=…,line=…::message`.
//!
//! What the runner undoes in a command is escaped: `%`, CR and LF in the message, and `:` and `,` too in a property
//! (the runner's own documentation, "Workflow commands for GitHub Actions"). Harmful characters are written out first.

use std::io::{self, Write};

use super::findings::{FindingsFormat, OutputOptions};
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
        "Workflow commands that GitHub shows as annotations"
    }

    fn ledger(&self, judged: &Judged, look: &OutputOptions) -> io::Result<Vec<Vec<u8>>> {
        let mut text = Vec::new();
        ledger(&mut text, judged, &look.root)?;
        Ok(vec![text])
    }
}

/// One ledger: a line for each finding.
pub(crate) fn ledger(out: &mut impl Write, judged: &Judged, root: &Root) -> io::Result<()> {
    let locator = Locator::new(&judged.ledger.sources);
    for finding in &judged.findings {
        let at = locator.locate(finding.at.place);
        let file = property(&root.path(at.file));
        write!(out, "::{} file={file},line={},endLine={}", level(finding), at.line, at.end_line.max(at.line))?;
        // Columns hold within one line only.
        if at.end_line == at.line {
            write!(out, ",col={},endColumn={}", at.column, at.end_column)?;
        }
        let title = format!("{}: {} {}", finding.grade.name(), finding.rule, finding.address);
        let title = title.trim_end().to_owned() + if finding.stands { " (standing)" } else { "" };
        writeln!(out, ",title={}::{}", property(&title), data(&sentence(finding)))?;
    }
    Ok(())
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
