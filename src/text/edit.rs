//! Changing a text without touching any other byte of it, and proving that the change is the one that was meant.

use super::meaning::{self, Difference};
use super::{Document, Fault, Piece, ReadLimits, Span, Trivia, WholeText, read};

/// Puts `text` in the place of `span`. To change a name, value or node, cover it whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; empty where text is put in.
    pub span: Span,
    /// What stands there then.
    pub text: String,
}

/// Why a text was not changed. Nothing is changed by halves.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// A span does not lie in the text.
    #[error("the place to change, {0:?}, lies outside the text")]
    OutOfBounds(Span),
    /// A span begins or ends inside a character.
    #[error("the place to change, {0:?}, cuts a character in two")]
    InsideCharacter(Span),
    /// Two spans overlap.
    #[error("two changes, at {0:?} and {1:?}, overlap")]
    Overlap(Span, Span),
    /// The text had mistakes before the edit.
    #[error("the file has mistakes that must be mended first: {}", first_message(.0))]
    BeforeFaulty(Vec<Fault>),
    /// The edited text would have mistakes.
    #[error("the changed file could not be read: {}", first_message(.0))]
    AfterFaulty(Vec<Fault>),
    /// What is left out lies too deep.
    #[error("`/-` is used inside `/-` more than {most} deep: delete what is left out, or take it in")]
    LeftOutTooDeep {
        /// The deepest that is proven.
        most: u16,
    },
    /// There is too much for the second reader, which takes some kilobytes for each part.
    #[error("it would hold {parts} nodes and values, and a change is proven for at most {most}: begin another file")]
    TooMuch {
        /// Its nodes and values.
        parts: usize,
        /// The most that a change is proven for.
        most: usize,
    },
    /// The second reader does not read the edited text: where, and its words.
    #[error("a second reader could not read the changed file: {0}")]
    SecondReader(SecondRefusal),
    /// The two readers do not read the same in the edited text.
    #[error("two readers understand the changed file differently: {}", .0.what)]
    ReadersDisagree(Difference),
    /// More would change than was asked for.
    #[error("the change would also have altered {}", .0.what)]
    AlsoChanged(Difference),
}

/// What the second reader has against a text. It refuses some that KDL allows, as `{ a; /- b; }`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SecondRefusal {
    /// What it says, each with the line that it says it of.
    said: Vec<(String, String)>,
    /// Where the first of it lies, counted from 1.
    place: Option<(usize, usize)>,
}

impl std::fmt::Display for SecondRefusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some((line, column)) = self.place {
            write!(f, "line {line}, column {column}: ")?;
        }
        f.write_str(self.said.first().map_or("it stopped", |(message, _)| message))
    }
}

impl SecondRefusal {
    fn new(text: &str, error: &kdl::KdlError) -> SecondRefusal {
        let at = |diagnostic: &kdl::KdlDiagnostic| {
            let mut at = diagnostic.span.offset().min(text.len());
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let line_of = |at: usize| {
            let start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
            (start, text[start..].lines().next().unwrap_or_default())
        };
        let said = error.diagnostics.iter().map(|it| (it.to_string(), line_of(at(it)).1.to_string())).collect();
        let place = error.diagnostics.first().map(|first| {
            let start = line_of(at(first)).0;
            (text[..start].matches('\n').count() + 1, text[start..at(first)].chars().count() + 1)
        });
        SecondRefusal { said, place }
    }
}

fn first_message(faults: &[Fault]) -> String {
    faults.first().map(Fault::message).unwrap_or_default()
}

/// A changed text that was read again and found to be right.
#[derive(Debug)]
pub struct Proved {
    /// Holds the new text.
    pub document: Document,
    /// Where the new stretches lie in it, in the order of the text.
    pub edited: Vec<Span>,
}

/// Makes the changes. Those at one place are made in the order given.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, EditError> {
    Ok(splice(text, edits)?.0)
}

/// The new text, the stretches that were replaced, and the stretches that replace them.
fn splice(text: &str, edits: &[Edit]) -> Result<(String, Vec<Span>, Vec<Span>), EditError> {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|edit| (edit.span.start, edit.span.end));
    let mut out = String::with_capacity(text.len() + edits.iter().map(|edit| edit.text.len()).sum::<usize>());
    let mut edited = Vec::with_capacity(edits.len());
    let mut done = Span::default();
    for edit in &sorted {
        let range = edit.span.range();
        if range.start > range.end || range.end > text.len() {
            return Err(EditError::OutOfBounds(edit.span));
        }
        if !text.is_char_boundary(range.start) || !text.is_char_boundary(range.end) {
            return Err(EditError::InsideCharacter(edit.span));
        }
        if edit.span.start < done.end {
            return Err(EditError::Overlap(done, edit.span));
        }
        out.push_str(&text[done.range().end..range.start]);
        let start = out.len();
        out.push_str(&edit.text);
        edited.push(Span::new(start, out.len()));
        done = edit.span;
    }
    out.push_str(&text[done.range().end..]);
    Ok((out, sorted.iter().map(|edit| edit.span).collect(), edited))
}

/// Makes the changes and proves them: text before and after has no fault; the `kdl` crate, which shares no code with our
/// reader, accepts the new text and understands it alike, or has against it what it had against the old one and nothing against what
/// is put in; and whatever no edit covers says what it said before, to
/// programs and, in its comments, to people.
pub fn prove(before: &str, edits: &[Edit], limits: &ReadLimits) -> Result<Proved, EditError> {
    let old = read(before.to_owned(), limits);
    if !old.faults.is_empty() {
        return Err(EditError::BeforeFaulty(old.faults));
    }
    let (text, replaced, edited) = splice(before, edits)?;
    let new = read(text, limits);
    if !new.faults.is_empty() {
        return Err(EditError::AfterFaulty(new.faults));
    }
    let document = new.document;
    match second_opinion(&document) {
        Err(EditError::SecondReader(why)) if refused_alike(&old.document, edits, &why, limits) => {}
        other => other?,
    }
    let said = |old: &Document, new: &Document| {
        meaning::first_difference(&meaning::facts(old, &replaced), &meaning::facts(new, &edited))
    };
    let (was, is) = (WholeText::from_document(&old.document), WholeText::from_document(&document));
    let difference = said(&old.document, &document)
        .or_else(|| said(was.document(), is.document()))
        .or_else(|| first_remark_changed(&remarks(&was, &replaced), &remarks(&is, &edited)));
    match difference {
        Some(difference) => Err(EditError::AlsoChanged(difference)),
        None => Ok(Proved { document, edited }),
    }
}

/// Whether the second reader refused the text before the edit for the same, word for word of the same lines, and reads what
/// the edits put in where that stands on its own.
fn refused_alike(old: &Document, edits: &[Edit], why: &SecondRefusal, limits: &ReadLimits) -> bool {
    let before = matches!(second_opinion(old), Err(EditError::SecondReader(was)) if was.said == why.said);
    before
        && !why.said.is_empty()
        && edits.iter().all(|edit| {
            let own = read(edit.text.clone(), limits);
            !own.faults.is_empty() || second_opinion(&own.document).is_ok()
        })
}

/// What a text says to people alone, outside of the `edited` stretches: comments, and the `/-` before what it leaves out.
fn remarks<'w>(whole: &'w WholeText, edited: &[Span]) -> Vec<(&'w str, Span)> {
    let touched = |span: Span| edited.iter().any(|edit| edit.start < span.end && span.start < edit.end);
    let remark = |piece| match piece {
        Piece::Between(Trivia::LineComment | Trivia::BlockComment | Trivia::LeftOut, span) => Some(span),
        _ => None,
    };
    let spans = whole.pieces().filter_map(remark).filter(|span| !touched(*span));
    spans.filter_map(|span| Some((whole.text().get(span.range())?, span))).collect()
}

fn first_remark_changed(before: &[(&str, Span)], after: &[(&str, Span)]) -> Option<Difference> {
    let at = before.iter().zip(after).position(|(was, is)| was.0 != is.0);
    let at = at.or((before.len() != after.len()).then_some(before.len().min(after.len())))?;
    let span = |remarks: &[(&str, Span)]| remarks.get(at).or(remarks.last()).map(|remark| remark.1).unwrap_or_default();
    let text = before.get(at).or(after.get(at)).map_or("", |remark| remark.0);
    let what = if text == "/-" { "what `/-` leaves out".into() } else { format!("the comment `{text}`") };
    Some(Difference { what, before: span(before), after: span(after) })
}

/// How deep `/-` may lie inside `/-` before a text is given to the `kdl` crate, which takes twice the time for each.
const MOST_LEFT_OUT: u16 = 4;

/// How many nodes and values the `kdl` crate is given: it takes about 2 kB for each.
const MOST_PARTS: usize = 400_000;

/// Its stack: it calls itself for each block, and reads blocks as deep as our own reader allows.
const STACK: usize = 64 << 20;

/// Does the `kdl` crate understand the text as we do?
pub(crate) fn second_opinion(document: &Document) -> Result<(), EditError> {
    if document.left_out > MOST_LEFT_OUT {
        return Err(EditError::LeftOutTooDeep { most: MOST_LEFT_OUT });
    }
    // What is left out is read too. No text has more parts than bytes.
    if document.text().len() > MOST_PARTS {
        let parts = WholeText::from_document(document).document().parts();
        if parts > MOST_PARTS {
            return Err(EditError::TooMuch { parts, most: MOST_PARTS });
        }
    }
    let judge = || {
        let other = kdl::KdlDocument::parse_v2(document.text())
            .map_err(|error| EditError::SecondReader(SecondRefusal::new(document.text(), &error)))?;
        match meaning::first_difference(&meaning::facts(document, &[]), &meaning::facts_of_kdl(&other)) {
            Some(difference) => Err(EditError::ReadersDisagree(difference)),
            None => Ok(()),
        }
    };
    let lost = |_| EditError::SecondReader(SecondRefusal::default());
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(STACK).spawn_scoped(scope, judge);
        let thread = thread.map_err(|error| {
            EditError::SecondReader(SecondRefusal { said: vec![(error.to_string(), String::new())], place: None })
        })?;
        thread.join().map_err(lost)?
    })
}

/// The line break that a text uses.
pub(crate) fn newline(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// Adds whole lines at the end of a text, with the line breaks it uses, whether or not its last line is finished.
pub fn append(text: &str, addition: &str) -> Edit {
    let newline = newline(text);
    let mut lines = String::new();
    if !text.is_empty() && !text.ends_with(['\n', '\r']) && text != "\u{FEFF}" {
        lines.push_str(newline);
    }
    for line in addition.lines() {
        lines.push_str(line);
        lines.push_str(newline);
    }
    Edit { span: Span::new(text.len(), text.len()), text: lines }
}
