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
use crate::finding::{Finding, Grade, Label, Locator, SourceId, counted};
use crate::judging::lint::Judged;
use crate::views::folded::{Beneath, Fold, Tie, folded, heaviest};

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
        let drawn = (!(silent && judged.findings.is_empty())).then(|| ledger(judged, look.style, look.is_all));
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

/// So many findings of a ledger are shown in full before a line says how many more there are.
const MOST_IN_FULL: usize = 10;

/// One ledger: its findings, what follows from one folded beneath it unless all are wanted, then its summary line.
pub(crate) fn ledger(judged: &Judged, style: Style, is_all: bool) -> String {
    let mut out = String::new();
    let files = Files::new(judged);
    let theme = if style.colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(style.width)
        .with_links(false)
        .with_context_lines(1)
        .without_cause_chain();
    let told = judged.findings.iter().filter(|finding| finding.grade != Grade::NotJudged);
    let in_full = |out: &mut String, finding: &Finding| {
        let shown = FindingDiagnostic::new(finding, &files);
        draw(out, &handler, &shown);
        for there in &shown.elsewhere {
            draw(out, &handler, there);
        }
        for line in foot(finding) {
            wrap(out, &line, style.width);
        }
    };
    if is_all {
        told.for_each(|finding| {
            in_full(&mut out, finding);
            out.push('\n');
        });
    } else {
        let folds = folded(&judged.ledger, told);
        let (shown, rest) = folds.split_at(folds.len().min(MOST_IN_FULL));
        let (full, lines) = shown.split_at(heaviest(shown));
        for fold in full {
            in_full(&mut out, fold.first);
            fold.beneath
                .iter()
                .for_each(|beneath| wrap(&mut out, &folded_line(fold.first, beneath, &files), style.width));
            out.push('\n');
        }
        for fold in lines {
            wrap(&mut out, &one_line(fold.first, &files), style.width);
            fold.beneath
                .iter()
                .for_each(|beneath| wrap(&mut out, &folded_line(fold.first, beneath, &files), style.width));
        }
        let rest: Vec<&Finding> = rest.iter().flat_map(Fold::findings).collect();
        if !rest.is_empty() {
            wrap(
                &mut out,
                &format!("and {}: {}", counted(rest.len(), "more finding", "more findings"), counted_by_rule(&rest)),
                style.width,
            );
        }
        if !rest.is_empty() || !lines.is_empty() || full.iter().any(|fold| !fold.beneath.is_empty()) {
            wrap(&mut out, "`--all` shows every finding in full", style.width);
            out.push('\n');
        }
    }
    not_judged(&mut out, &judged.findings, style.width);
    out.push_str(&summary(judged));
    out
}

/// A finding in a line: `outstanding: snug-window X.left: … (saw/machine.kdl:4)`.
fn one_line(finding: &Finding, files: &Files) -> String {
    let at = files.locator.locate(finding.at.place);
    format!("{}: {} ({}:{})", head(finding), clean(&finding.message), clean(at.file), at.line)
}

/// So many characters of a cause are shown.
const LONGEST_CAUSE: usize = 70;

/// What lies beneath a finding: `and 83 more follow from this: 80 joint-support (X.left.J2, X.left.J3, …), …`.
fn folded_line(first: &Finding, beneath: &Beneath, files: &Files) -> String {
    let count = beneath.findings.len();
    let one = count == 1;
    let head = match beneath.tie {
        Tie::Follows if one => "and 1 more follows from this".to_string(),
        Tie::Follows => format!("and {count} more follow from this"),
        Tie::Cause(place) => {
            let at = files.locator.locate(place);
            let text = files.text(place.source).get(place.span.range()).unwrap_or("");
            let text = match text.char_indices().nth(LONGEST_CAUSE) {
                Some((end, _)) => format!("{}…", &text[..end]),
                None => text.to_owned(),
            };
            let hang = if one { "hangs" } else { "hang" };
            format!("and {count} more {hang} on the same `{}` ({}:{})", clean(&text), clean(at.file), at.line)
        }
        Tie::Record => format!("and {count} more in the same record"),
        Tie::Rule if beneath.findings.iter().all(|finding| finding.rule == first.rule) => {
            let named = addresses(beneath.findings.iter().map(|finding| finding.address.as_str()));
            let named = if named.is_empty() { named } else { format!(": {named}") };
            return format!("and {count} more of this rule{named}");
        }
        Tie::Rule => format!("and {count} more of this rule and of what follows from them"),
    };
    format!("{head}: {}", counted_by_rule(&beneath.findings))
}

/// So many addresses of a rule are named.
const MOST_NAMED: usize = 3;

/// The first of some addresses, each once.
fn addresses<'a>(all: impl Iterator<Item = &'a str>) -> String {
    let mut named: Vec<&str> = Vec::new();
    for address in all.filter(|address| !address.is_empty()) {
        if !named.contains(&address) {
            named.push(address);
        }
        if named.len() > MOST_NAMED {
            named[MOST_NAMED] = "…";
            break;
        }
    }
    clean(&named.join(", ")).into_owned()
}

/// Findings counted by their rule, each with its first addresses.
fn counted_by_rule(findings: &[&Finding]) -> String {
    let mut rules: Vec<(&str, Vec<&str>)> = Vec::new();
    for finding in findings {
        let rule = finding.rule.as_str();
        match rules.iter_mut().find(|(name, _)| *name == rule) {
            Some((_, addresses)) => addresses.push(&finding.address),
            None => rules.push((rule, vec![&finding.address])),
        }
    }
    rules.sort_by_key(|(_, addresses)| std::cmp::Reverse(addresses.len()));
    let told = rules.iter().map(|(rule, all)| {
        let count = all.len();
        let named = addresses(all.iter().copied());
        if named.is_empty() { format!("{count} {rule}") } else { format!("{count} {rule} ({named})") }
    });
    told.collect::<Vec<String>>().join(", ")
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
    format!("{}: {}\n", clean(judged.path.shown()), counts.line())
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
            code: head(finding),
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

/// Its weight, rule and address, and what is known of it.
fn head(finding: &Finding) -> String {
    format!("{}: {} {}", finding.grade.name(), finding.rule, clean(&finding.address)).trim_end().to_string()
        + if finding.held.is_some() { " (held)" } else { "" }
        + if finding.stands { " (standing)" } else { "" }
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
