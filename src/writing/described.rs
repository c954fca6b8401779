//! Changes to the description of a machine: made so that a file in the one layout stays in it, and one that is not keeps
//! every byte around them.

use super::files::{self, WriteError};
use super::tidy;
use crate::text::{self, Edit, ReadLimits, Span};

/// Makes edits to a file whose text is `before`.
pub(crate) fn change(file: &std::path::Path, before: &str, edits: &[Edit]) -> Result<(), WriteError> {
    match laid_out(before, edits) {
        Some(edit) => files::change(file, before, &[edit]),
        None => files::change(file, before, edits),
    }
}

/// The same change with its surroundings in the one layout, as one edit of whole lines: rows beside a new one may have to
/// stand in line with it. Nothing where the file is in no layout, or the edits cannot be proven; whoever makes those says
/// why.
fn laid_out(before: &str, edits: &[Edit]) -> Option<Edit> {
    if tidy::text(before).ok()? != before {
        return None;
    }
    let changed = text::prove(before, edits, &ReadLimits::default()).ok()?;
    let after = tidy::text(changed.document.text()).ok()?;
    let was: Vec<&str> = before.split_inclusive('\n').collect();
    let is: Vec<&str> = after.split_inclusive('\n').collect();
    let head = was.iter().zip(&is).take_while(|(was, is)| was == is).count();
    let most = was.len().min(is.len()) - head;
    let tail = was.iter().rev().zip(is.iter().rev()).take(most).take_while(|(was, is)| was == is).count();
    let start: usize = was[..head].iter().map(|line| line.len()).sum();
    let old: usize = was[head..was.len() - tail].iter().map(|line| line.len()).sum();
    let text = is[head..is.len() - tail].concat();
    let span = Span::new(start, start + old);
    Some(Edit { span, text })
}
