//! The one layout of ledger files, for a whole file or for the records of a part of it. The layout proves by itself that it
//! changes nothing of what a text says; a text with mistakes is left as it is.

use gen_lsp_types::{DocumentFormattingParams, DocumentRangeFormattingParams, TextEdit};

use super::desk::Desk;
use super::protocol::RequestError;
use crate::text::{Document, Edit, Span};
use crate::writing::tidy;

/// A whole file.
pub(super) fn whole(desk: &mut Desk, params: &DocumentFormattingParams) -> Result<Vec<TextEdit>, RequestError> {
    let file = desk.opened(&params.text_document.uri)?;
    let document = &file.source.document;
    laid_out(desk, document, Span::new(0, document.text().len()))
}

/// All records, or parts of a description, that a range touches.
pub(super) fn some(desk: &mut Desk, params: &DocumentRangeFormattingParams) -> Result<Vec<TextEdit>, RequestError> {
    let file = desk.opened(&params.text_document.uri)?;
    let document = &file.source.document;
    let asked = desk.span(document, params.range);
    let touched = |span: &Span| span.start <= asked.end && asked.start <= span.end;
    let whole = document.nodes().map(|node| node.span()).filter(touched).reduce(Span::to);
    let Some(whole) = whole else { return Ok(Vec::new()) };
    // Whole lines, where nothing else stands on them.
    let (text, range) = (document.text(), whole.range());
    let start = text[..range.start].rfind('\n').map_or(0, |at| at + 1);
    let end = text[range.end..].find('\n').map_or(text.len(), |at| range.end + at + 1);
    let apart = text[start..range.start].trim().is_empty()
        && !document.nodes().any(|node| node.span().end > whole.end && node.span().range().start < end);
    if !apart {
        return Ok(Vec::new());
    }
    laid_out(desk, document, Span::new(start, end))
}

/// The lines of a stretch that change when it is laid out.
fn laid_out(desk: &Desk, document: &Document, span: Span) -> Result<Vec<TextEdit>, RequestError> {
    let before = &document.text()[span.range()];
    let after = tidy::text(before).map_err(|why| RequestError::invalid(format!("it is left as it is: {why}")))?;
    // A file that ends without a line break gets one; a stretch inside a file is asked with its own.
    Ok(difference(before, &after)
        .map(|(at, text)| {
            let start = span.range().start;
            let edit = Edit { span: Span::new(start + at.start, start + at.end), text };
            desk.text_edit(document, &edit)
        })
        .into_iter()
        .collect())
}

/// The whole lines that differ between two texts: where they stand in the first, and what stands there in the second.
fn difference(before: &str, after: &str) -> Option<(std::ops::Range<usize>, String)> {
    if before == after {
        return None;
    }
    let lines = |text: &'_ str| text.split_inclusive('\n').map(str::len).collect::<Vec<_>>();
    let (was, is) = (lines(before), lines(after));
    let same = |(a, b): &(&str, &str)| a == b;
    let pairs = || before.split_inclusive('\n').zip(after.split_inclusive('\n'));
    let first = pairs().take_while(same).count();
    let most = was.len().min(is.len()) - first;
    let back = before.split_inclusive('\n').rev().zip(after.split_inclusive('\n').rev());
    let last = back.take(most).take_while(same).count();
    let length = |lines: &[usize], from: usize, to: usize| lines[from..to].iter().sum::<usize>();
    let start = length(&was, 0, first);
    let end = start + length(&was, first, was.len() - last);
    let new = length(&is, first, is.len() - last);
    Some((start..end, after[start..start + new].to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_lines_that_differ_are_replaced() {
        let becomes = |before: &str, after: &str| {
            let Some((at, text)) = difference(before, after) else { return before.to_owned() };
            format!("{}{text}{}", &before[..at.start], &before[at.end..])
        };
        for before in ["", "a\n", "a\nb\n", "a\nb\nc", "a\na\na\n", "b\na\n"] {
            for after in ["", "a\n", "a\nx\n", "a\nb\nc\n", "a\na\n", "c\nb\na\n"] {
                assert_eq!(becomes(before, after), after, "{before:?}");
            }
        }
        assert_eq!(difference("a\nb\nc\n", "a\nx\nc\n"), Some((2..4, "x\n".into())));
    }
}
