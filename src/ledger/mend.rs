//! What a text that cannot be read must have meant, where it can have meant one thing only: the edit that says so. In a
//! record no value is touched, since a record is a statement of a person.

use std::collections::BTreeMap;

use crate::finding::{Finding, RuleName};
use crate::language::schema::{EntryShape, NodeShape, Type, language};
use crate::quantity::Moment;
use crate::text::{self, Document, Edit, Fault, FaultKind, NodeRef, Span, quoted};

/// Who has more wrong in one file than this mends the first ones and runs again; a file larger than that nobody writes by
/// hand. Each fix is tried on the whole file.
const MOST_FOUND: usize = 40;
const MOST_BYTES: usize = 256 * 1024;

/// Looks for the fixes of one file's faults.
pub(super) struct Mend<'d> {
    document: &'d Document,
    /// Braces that are missing or too many.
    braces: usize,
}

impl<'d> Mend<'d> {
    pub(crate) fn of(document: &'d Document, faults: &[Fault]) -> Mend<'d> {
        let brace = |fault: &&Fault| matches!(fault.kind, FaultKind::UnclosedBlock(_) | FaultKind::SurplusBrace);
        Mend { document, braces: faults.iter().filter(brace).count() }
    }

    /// What the change does, and the change.
    pub(crate) fn fix(&self, fault: &Fault) -> Option<(String, Edit)> {
        let replace = |text: String| Edit { span: fault.span, text };
        match &fault.kind {
            FaultKind::UnclosedBlock(name) if self.braces == 1 => {
                let title =
                    if name.is_empty() { "close the block".into() } else { format!("close the block of `{name}`") };
                Some((title, self.closing(fault)?))
            }
            FaultKind::BadNumber(raw) => {
                let part = self.described(fault.span)?;
                if matches!(part.ty, Type::Date | Type::Moment) {
                    Moment::read(raw)?;
                    return Some(("put the date in quotes".into(), replace(quoted(raw))));
                }
                Some(("write the decimals behind a point".into(), replace(with_point(raw)?)))
            }
            FaultKind::BadWord(raw) if self.described(fault.span)?.ty == Type::Text => {
                Some(("put the text in quotes".into(), replace(quoted(raw))))
            }
            FaultKind::UnclosedString if self.described(fault.span)?.ty == Type::Text => {
                let end = self.end_of_word(fault.span.range().end)?;
                Some(("close the quotes".into(), Edit { span: Span::new(end, end), text: "\"".into() }))
            }
            _ => None,
        }
    }

    /// The part of the language that a value in a description stands for: every node around it must be known.
    fn described(&self, at: Span) -> Option<&'static EntryShape> {
        let path = self.document.path_to(at.range().start);
        let (node, above) = path.split_last()?;
        let mut shape: Option<&'static NodeShape> = None;
        for node in above.iter().chain([node]) {
            shape = Some(match shape {
                None => language().node(node.name()).filter(|shape| shape.describes())?,
                Some(shape) => shape.child(node.name())?,
            });
        }
        part_of(*node, shape?, at)
    }

    /// A brace where the indentation says that the block ends.
    fn closing(&self, fault: &Fault) -> Option<Edit> {
        let text = self.document.text();
        let line_start = |at: usize| text[..at].rfind(['\n', '\r']).map_or(0, |at| at + 1);
        let indent = |at: usize| {
            let line = &text[line_start(at)..];
            &line[..line.len() - line.trim_start_matches([' ', '\t']).len()]
        };
        let brace = fault.span.range().start;
        let (indent, break_) = (indent(brace), if text.contains("\r\n") { "\r\n" } else { "\n" });
        if let Some((line, _)) = fault.also {
            let at = line_start(line.range().start);
            return Some(Edit { span: Span::new(at, at), text: format!("{indent}}}{break_}") });
        }
        // At the end of the file, where all that follows is deeper than the line it begins on.
        let deeper = |line: &str| {
            line.trim().is_empty() || line.strip_prefix(indent).is_some_and(|rest| rest.starts_with([' ', '\t']))
        };
        let end = text.trim_end().len();
        let below = text[brace..end].split_once(['\n', '\r'])?.1;
        let all = below.split(['\n', '\r']).all(deeper);
        all.then(|| Edit { span: Span::new(end, end), text: format!("{break_}{indent}}}") })
    }

    /// Where a word ends that is all there is up to the end of its line, or up to a brace there.
    fn end_of_word(&self, start: usize) -> Option<usize> {
        let line = self.document.text()[start..].split(['\n', '\r']).next()?;
        let word = line.trim_end().trim_end_matches(['{', '}', ';']).trim_end();
        let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
        (!word.is_empty() && word.chars().all(plain)).then_some(start + word.len())
    }
}

/// The part that the entry at a place stands for.
fn part_of(node: NodeRef, shape: &'static NodeShape, at: Span) -> Option<&'static EntryShape> {
    let holds = |entry: &text::EntryRef| entry.value_span().start <= at.start && at.end <= entry.value_span().end;
    let entry = node.entries().find(holds)?;
    if let Some(name) = entry.name() {
        return shape.prop(name);
    }
    let index = node.args().position(|arg| arg.span() == entry.span())?;
    shape.part(None, index)
}

/// A number with a decimal comma, with a point. Three figures behind a comma may as well be thousands.
fn with_point(raw: &str) -> Option<String> {
    let figures = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let (whole, rest) = raw.trim_start_matches(['+', '-']).split_once(',')?;
    let thousands = rest.len() == 3 && whole.len() <= 3 && !whole.starts_with('0');
    (figures(whole) && figures(rest) && !thousands).then(|| raw.replacen(',', ".", 1))
}

/// Makes each fix in turn and reads the file `again`: it stays where its finding is gone and no other came.
pub(super) fn tried(findings: &mut [Finding], text: &str, again: impl Fn(String) -> Vec<Finding>) {
    let said = |finding: &Finding| (finding.rule, finding.message.clone());
    let counted = |findings: &[Finding]| {
        let mut counted: BTreeMap<(RuleName, String), usize> = BTreeMap::new();
        findings.iter().for_each(|finding| *counted.entry(said(finding)).or_default() += 1);
        counted
    };
    let too_much = findings.len() > MOST_FOUND || text.len() > MOST_BYTES;
    let before = if too_much { BTreeMap::new() } else { counted(findings) };
    for finding in findings {
        let Some(fix) = finding.fix.take().filter(|_| !too_much) else { continue };
        let edits: Vec<Edit> = fix.edits.iter().map(|(_, edit)| edit.clone()).collect();
        let Ok(after) = text::apply(text, &edits) else { continue };
        let after = counted(&again(after));
        let own = said(finding);
        let gone = after.get(&own).copied().unwrap_or(0) + 1 == before.get(&own).copied().unwrap_or(0);
        if gone && after.iter().all(|(said, count)| before.get(said).is_some_and(|was| count <= was)) {
            finding.fix = Some(fix);
        }
    }
}
