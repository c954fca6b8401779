//! Findings on the terminal, drawn by miette. It is used here and nowhere else.

use std::collections::BTreeMap;
use std::fmt::{self, Write as _};
use std::io;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, Severity,
    SourceCode, SourceSpan, SpanContents,
};

use super::findings::{FindingsFormat, OutputOptions, OutputTotals};
use super::style::Style;
use super::{Counts, clean, same_length};
use crate::finding::{Finding, Grade, Label, Locator, SourceId};
use crate::judging::lint::Judged;

/// The format.
pub(crate) struct Terminal;

impl FindingsFormat for Terminal {
    fn name(&self) -> &'static str {
        "text"
    }

    fn help(&self) -> &'static str {
        "For people, with the text at fault"
    }

    fn has_paths_from_top(&self) -> bool {
        false
    }

    fn is_for_people(&self) -> bool {
        true
    }

    fn ledger(&self, judged: &Judged, look: &OutputOptions) -> io::Result<Vec<Vec<u8>>> {
        let silent = judged.is_shop || look.is_quiet;
        let drawn = (!(silent && judged.findings.is_empty())).then(|| ledger(judged, look.style));
        let told = look.told.as_ref().map(|told| format!("{told}\n"));
        Ok(drawn.into_iter().chain(told).map(String::into_bytes).collect())
    }

    fn end(&self, out: &mut dyn io::Write, sum: &OutputTotals) -> io::Result<()> {
        // One ledger needs no sum.
        if sum.is_wanted && sum.ledgers > 1 && !(sum.is_quiet && sum.counts == Counts::default()) {
            writeln!(out, "in all: {}", sum.counts.line())?;
        }
        Ok(())
    }
}

/// A line longer than this is shown as a window about the place.
const LONGEST_LINE: usize = 160;

/// One ledger: its findings, then its summary line.
pub(crate) fn ledger(judged: &Judged, style: Style) -> String {
    let mut out = String::new();
    let files = Files::new(judged);
    let theme = if style.colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(style.width)
        .with_links(false)
        .with_context_lines(1)
        .without_cause_chain();
    for finding in judged.findings.iter().filter(|finding| finding.grade != Grade::NotJudged) {
        let shown = FindingDiagnostic::new(finding, &files);
        draw(&mut out, &handler, &shown);
        for there in &shown.elsewhere {
            draw(&mut out, &handler, there);
        }
        for line in foot(finding) {
            wrap(&mut out, &line, style.width);
        }
        out.push('\n');
    }
    not_judged(&mut out, &judged.findings, style.width);
    out.push_str(&summary(judged));
    out
}

/// What nobody can tell, a line for all rules of an axis that lack the same, or to which somebody says that they do not
/// apply for the same reason: there is no text at fault to be shown.
fn not_judged(out: &mut String, findings: &[Finding], width: usize) {
    type Lacking<'f> = BTreeMap<(Option<&'f str>, &'f str, &'f str), Vec<&'f Finding>>;
    let mut lacking: Lacking = BTreeMap::new();
    for finding in findings.iter().filter(|finding| finding.grade == Grade::NotJudged) {
        let (says, why) = match &finding.conceded {
            None => (None, &finding.message),
            Some(declared) => (Some(declared.by.as_str()), &declared.reason),
        };
        lacking.entry((says, finding.address.as_str(), why)).or_default().push(finding);
    }
    for ((says, address, why), all) in &lacking {
        let rules = all.iter().map(|finding| finding.rule.as_str()).collect::<Vec<&str>>().join(", ");
        let on = if address.is_empty() { String::new() } else { format!(" on {}", clean(address)) };
        let head = match says {
            None => format!("not judged{on}"),
            Some(by) => format!("not applicable{on}, says {}", clean(by)),
        };
        wrap(out, &format!("{head}: {rules}: {}", clean(why)), width);
    }
    // What lies on no axis can only be described; what lies on one tells both ways.
    let mut open = lacking.iter().filter(|((says, ..), _)| says.is_none()).map(|(_, all)| all[0]);
    if let Some(finding) = open.clone().find(|finding| !finding.address.is_empty()).or_else(|| open.next()) {
        wrap(out, &format!("next: {}", clean(&finding.next)), width);
    }
    if !lacking.is_empty() {
        out.push('\n');
    }
}

/// Writing to a string cannot fail; should the drawing itself fail, the finding's words are still there.
fn draw(out: &mut String, handler: &GraphicalReportHandler, shown: &dyn Diagnostic) {
    if handler.render_report(out, shown).is_err() {
        let _ = writeln!(out, "  {shown}");
    }
}

/// One line of the foot, broken between words where it is wider than the page.
fn wrap(out: &mut String, line: &str, width: usize) {
    let mut column = 0;
    for word in line.split(' ') {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > width {
            out.push('\n');
            column = 0;
        }
        out.push_str(match column {
            0 => "  ",
            _ => " ",
        });
        column += length + if column == 0 { 2 } else { 1 };
        out.push_str(word);
    }
    out.push('\n');
}

/// `boatyard/hull-gantry: 2 nonconformities, 1 outstanding`.
pub(crate) fn summary(judged: &Judged) -> String {
    let counts = Counts::from_findings(&judged.findings);
    let path = if judged.path.0.is_empty() { "." } else { &judged.path.0 };
    format!("{}: {}\n", clean(path), counts.line())
}

/// The files of a ledger, made harmless and indexed when a finding first needs them.
struct Files<'j> {
    locator: Locator<'j>,
    judged: &'j Judged,
    clean: Vec<std::sync::OnceLock<std::borrow::Cow<'j, str>>>,
}

impl<'j> Files<'j> {
    fn new(judged: &'j Judged) -> Self {
        let sources = &judged.ledger.sources;
        Files {
            locator: Locator::new(sources),
            judged,
            clean: sources.iter().map(|_| std::sync::OnceLock::new()).collect(),
        }
    }

    fn text(&self, id: SourceId) -> &str {
        self.clean[id.0 as usize].get_or_init(|| same_length(self.judged.ledger.sources.get(id).document.text()))
    }
}

/// One file as miette asks for it.
struct File<'f, 'j> {
    files: &'f Files<'j>,
    id: SourceId,
    name: String,
}

impl SourceCode for File<'_, '_> {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        _after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let text = self.files.text(self.id);
        let lines = self.files.locator.lines(self.id);
        let (from, to) = (span.offset().min(text.len()), (span.offset() + span.len()).min(text.len()));
        let (first, last) = (lines.line(from), lines.line(to));
        let (mut start, mut end) = (lines.span(first).start as usize, lines.span(last).end as usize);
        if from - start > LONGEST_LINE {
            start = floor(text, from - LONGEST_LINE / 2);
        }
        if end - to > LONGEST_LINE {
            end = floor(text, to + LONGEST_LINE / 2);
        }
        let data = text.get(start..end).unwrap_or("").trim_end_matches(['\r', '\n']);
        // Without lines before it is asked for the place itself, which the head of the picture names.
        let place = lines.place(text, if before == 0 { from } else { start });
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            data.as_bytes(),
            (start, data.len()).into(),
            (place.line - 1) as usize,
            (place.column - 1) as usize,
            (last - first + 1) as usize,
        )))
    }
}

/// The nearest place at or before an offset where a character begins.
fn floor(text: &str, offset: usize) -> usize {
    let mut at = offset.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A finding as miette draws it.
struct FindingDiagnostic<'f, 'j> {
    code: String,
    title: String,
    severity: Severity,
    file: File<'f, 'j>,
    labels: Vec<LabeledSpan>,
    elsewhere: Vec<OtherFileLabels<'f, 'j>>,
}

impl<'f, 'j> FindingDiagnostic<'f, 'j> {
    fn new(finding: &'f Finding, files: &'f Files<'j>) -> Self {
        let home = finding.at.place.source;
        let name = |id: SourceId| clean(&files.judged.ledger.sources.get(id).path.0).into_owned();
        let file = |id: SourceId| File { files, id, name: name(id) };
        let mut labels = vec![label(files, &finding.at, true)];
        let mut elsewhere: Vec<OtherFileLabels> = Vec::new();
        let set_at = finding.limit.as_ref().and_then(|limit| limit.set_at);
        let set_at = set_at
            .filter(|place| *place != finding.at.place && finding.also.iter().all(|label| label.place != *place))
            .map(|place| Label { place, text: "the limit is set here".into() });
        for other in finding.also.iter().chain(&set_at) {
            let id = other.place.source;
            if id == home {
                labels.push(label(files, other, false));
                continue;
            }
            let shown = label(files, other, true);
            match elsewhere.iter_mut().find(|there| there.file.id == id) {
                Some(there) => there.labels.push(shown),
                None => elsewhere.push(OtherFileLabels { file: file(id), labels: vec![shown] }),
            }
        }
        FindingDiagnostic {
            code: format!("{}: {} {}", finding.grade.name(), finding.rule, clean(&finding.address))
                .trim_end()
                .to_string()
                + if finding.held.is_some() { " (held)" } else { "" }
                + if finding.stands { " (standing)" } else { "" },
            title: clean(&finding.message).into_owned(),
            severity: match (finding.grade, &finding.conceded) {
                (Grade::Nonconformity, None) if finding.stands => Severity::Warning,
                (Grade::Nonconformity, None) => Severity::Error,
                (Grade::Outstanding, None) => Severity::Warning,
                _ => Severity::Advice,
            },
            file: file(home),
            labels,
            elsewhere,
        }
    }
}

/// The lines under the picture: limit, next step, concession.
fn foot(finding: &Finding) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(limit) = &finding.limit {
        let found = finding.found.map_or(String::new(), |found| format!("found {found}; "));
        let entry = limit.entry.map_or(String::new(), |entry| format!("{entry}: "));
        lines.push(format!("{found}limit {} ({entry}{})", clean(&limit.text), clean(&limit.source)));
    }
    if !finding.next.is_empty() {
        lines.push(format!("next: {}", clean(&finding.next)));
    }
    if let Some(hold) = &finding.to_hold {
        lines.push(format!("or, if it is so: {}", clean(hold)));
    }
    if let Some(held) = &finding.held {
        lines.push(format!("held since {} by {}: {}", clean(&held.since), clean(&held.by), clean(&held.reason)));
    }
    if finding.stands {
        lines.push("it stood at the revision it is held against".to_string());
    }
    if finding.by_date {
        lines.push("this depends on today's date".to_string());
    }
    if let Some(conceded) = &finding.conceded {
        let until = conceded.until.as_ref().map_or(String::new(), |until| format!(" until {until}"));
        lines.push(format!("accepted by concession of {}{until}: {}", clean(&conceded.by), clean(&conceded.reason)));
    }
    lines
}

/// A label for miette: one line, and no longer than is shown.
fn label(files: &Files, label: &Label, main: bool) -> LabeledSpan {
    let span = label.place.span;
    let lines = files.locator.lines(label.place.source);
    let end_of_line = lines.span(lines.line(span.start as usize)).end;
    let text = files.text(label.place.source);
    let start = span.start as usize;
    let mut end = (span.end.min(end_of_line) as usize).min(start + LONGEST_LINE / 2).max(start);
    end = floor(text, end).max(start);
    let shown = text.get(start..end).unwrap_or("").trim_end_matches(['\r', '\n']).len();
    let words = (!label.text.is_empty()).then(|| clean(&label.text).into_owned());
    if main {
        LabeledSpan::new_primary_with_span(words, (start, shown))
    } else {
        LabeledSpan::new_with_span(words, (start, shown))
    }
}

impl fmt::Debug for FindingDiagnostic<'_, '_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.title)
    }
}

impl fmt::Display for FindingDiagnostic<'_, '_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.title)
    }
}

impl std::error::Error for FindingDiagnostic<'_, '_> {}

impl Diagnostic for FindingDiagnostic<'_, '_> {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(&self.code))
    }

    fn severity(&self) -> Option<Severity> {
        Some(self.severity)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.file)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// Labels of a finding in another file.
struct OtherFileLabels<'f, 'j> {
    file: File<'f, 'j>,
    labels: Vec<LabeledSpan>,
}

impl fmt::Debug for OtherFileLabels<'_, '_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file.name)
    }
}

impl fmt::Display for OtherFileLabels<'_, '_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "and in {}", self.file.name)
    }
}

impl std::error::Error for OtherFileLabels<'_, '_> {}

impl Diagnostic for OtherFileLabels<'_, '_> {
    fn severity(&self) -> Option<Severity> {
        Some(Severity::Advice)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.file)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}
