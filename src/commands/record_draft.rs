//! The draft of a record: offered when the same record is begun again, and taken away once it is written.

use std::path::Path;

use super::prompter::StandardPrompter;
use super::{CLEAN, CommandError, output};
use crate::writing::entry::{Likeness, Prompter as _, Unfinished, yes_no};
use crate::writing::files::{DraftFolder, DraftSlot};

/// What became of a record.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum RecordOutcome {
    Written,
    Shown,
}

/// The draft to go on with, where there is one and the person wants it, else a new record: with the place where it is kept.
pub(crate) fn take_up(
    ledger: &Path,
    mut said: Unfinished,
    line: &mut StandardPrompter,
) -> Result<(DraftSlot, Unfinished), CommandError> {
    let shelf = DraftFolder::for_ledger(ledger);
    said.ledger = shelf.ledger.clone();
    for (mut slot, text) in shelf.drafts() {
        let Some(draft) = Unfinished::read(&text) else {
            line.tell(&format!("{} is no draft that this program can read; it stays there", place(&slot)));
            continue;
        };
        match draft.likeness(&said) {
            Likeness::Another => {}
            Likeness::Otherwise => line.tell(&format!(
                "the draft of {} was begun with other options and stays kept; `wayledger record {}` offers it",
                called(&draft),
                again(&draft)
            )),
            Likeness::Same => {
                if yes_no(line, &format!("Go on with the draft of {}?", called(&draft)))? {
                    return Ok((slot, draft));
                }
                if yes_no(line, "Throw that draft away?")? {
                    clear(&mut slot);
                }
            }
        }
    }
    Ok((shelf.room(), said))
}

/// Takes the draft away where its record is written; says where else what was typed is.
pub(crate) fn put_away(
    mut slot: DraftSlot,
    done: Result<RecordOutcome, CommandError>,
    record: &Unfinished,
) -> Result<u8, CommandError> {
    let kept = slot.place().is_some();
    let offers = format!("what was typed is kept, and the next `wayledger record {}` offers it", again(record));
    match done {
        Ok(RecordOutcome::Written) => {
            clear(&mut slot);
            Ok(CLEAN)
        }
        Ok(RecordOutcome::Shown) => {
            if kept {
                StandardPrompter::new().tell(&offers);
            }
            Ok(CLEAN)
        }
        Err(CommandError::Said(why)) if kept => Err(CommandError::Said(format!("{why}; {offers}"))),
        Err(why) => Err(why),
    }
}

fn clear(slot: &mut DraftSlot) {
    let place = place(slot);
    if let Err(why) = slot.clear() {
        output::complain(&format!("the draft {place} is done with and cannot be taken away: {why}; delete it"));
    }
}

fn place(slot: &DraftSlot) -> String {
    slot.place().map_or(String::new(), |place| format!("`{}`", place.display()))
}

/// A draft as people know it: `fasten X.left, begun 2026-10-27T09:10 by fitter-3 (7 answers)`.
fn called(draft: &Unfinished) -> String {
    let by = draft.by.as_ref().map_or(String::new(), |by| format!(" by {by}"));
    let count = draft.answers.len();
    format!("{}, begun {}{by} ({count} answer{})", again(draft), draft.begun, if count == 1 { "" } else { "s" })
}

fn again(draft: &Unfinished) -> String {
    let about = draft.given.on.as_ref().or(draft.about.as_ref());
    format!("{}{}", draft.record, about.map_or(String::new(), |about| format!(" {about}")))
}
