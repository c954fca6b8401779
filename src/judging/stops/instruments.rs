//! What was stated of instruments is held as records are: a doubt or a calibration that goes, or says less, lets count again
//! what did not, and so does another first or last day in the shop. What is added later takes nothing back, but for words that make a doubt or a finding of fault smaller.

use std::collections::BTreeSet;

use super::shops::own_shops;
use crate::finding::{Cure, Finding, Grade, Place, names};
use crate::judging::lint::Judged;
use crate::ledger::{InstrumentStatement, THERE};
use crate::text::Span;

/// What became of a statement.
enum StatementFate<'s> {
    /// It says all that it said, and nothing that takes it back.
    Kept,
    Gone,
    /// A word of it says something else, nothing, or something new that takes it back: what it was, and what it is.
    Altered {
        word: &'s str,
        was: Option<&'s str>,
        is: Option<&'s str>,
        place: Place,
    },
    /// A calibration says now by how much it found the instrument off: what that cannot turn counts again.
    Measured {
        error: &'s str,
        place: Place,
    },
}

fn declared(judged: &Judged) -> Vec<InstrumentStatement> {
    own_shops(judged).flat_map(|(source, file)| InstrumentStatement::all(&file.document, source)).collect()
}

/// All that a ledger or shop file knows of them, in whatever file it stands.
fn known(judged: &Judged) -> Vec<InstrumentStatement> {
    let files = judged.ledger.sources.iter();
    files.flat_map(|(source, file)| InstrumentStatement::all(&file.document, source)).collect()
}

/// What was stated and is not any more: of all instruments, or of what speaks against one only.
pub(super) fn instruments(now: &Judged, before: &Judged, called: &str, against_only: bool) -> Vec<Finding> {
    let mut was = declared(before);
    was.retain(|of| of.kind != THERE || !of.facts.is_empty());
    if was.is_empty() {
        return Vec::new();
    }
    let is = known(now);
    let described: BTreeSet<String> =
        now.ledger.sources.iter().flat_map(|(_, file)| InstrumentStatement::instruments(&file.document)).collect();
    // Of an instrument that went only what speaks against it is held.
    let held = was.iter().filter(|of| of.is_against() || !against_only && described.contains(&of.instrument));
    held.filter_map(|was| told(was, fate(was, &is, now, before), now, before, called)).collect()
}

fn fate<'s>(
    was: &'s InstrumentStatement,
    is: &'s [InstrumentStatement],
    now: &Judged,
    before: &Judged,
) -> StatementFate<'s> {
    let file = |judged: &Judged, of: &InstrumentStatement| judged.ledger.sources.get(of.place.source).path.clone();
    let same =
        |of: &&InstrumentStatement| of.instrument == was.instrument && of.kind == was.kind && of.date == was.date;
    let mut same: Vec<&InstrumentStatement> = is.iter().filter(same).collect();
    // The days of an entry are its own, whatever another file says of them: the nearest counts.
    let there = |of: &&InstrumentStatement| file(now, of) == file(before, was);
    if was.kind == THERE && same.iter().any(there) {
        same.retain(there);
    }
    let fates: Vec<StatementFate> = same.into_iter().map(|is| changed(was, is)).collect();
    let weight = |fate: &StatementFate| match fate {
        StatementFate::Kept => 0,
        StatementFate::Measured { .. } => 1,
        StatementFate::Altered { .. } => 2,
        StatementFate::Gone => 3,
    };
    fates.into_iter().min_by_key(weight).unwrap_or(StatementFate::Gone)
}

fn changed<'s>(was: &'s InstrumentStatement, is: &'s InstrumentStatement) -> StatementFate<'s> {
    for (word, value, _) in &was.facts {
        let mut same = is.facts.iter().filter(|(other, ..)| other == word);
        if same.clone().any(|(_, other, _)| other == value) {
            continue;
        }
        let now = same.next();
        let place = now.map_or(is.place, |(.., place)| *place);
        return StatementFate::Altered { word, was: Some(value), is: now.map(|(_, value, _)| value.as_str()), place };
    }
    let added = |word: &str| is.facts.iter().find(|(other, ..)| other == word).filter(|_| was.says(word).is_none());
    let takes_back: &[&str] = match was.kind {
        "doubt" => &["error", "to"],
        _ if was.says("result") == Some("failed") => &["as-found"],
        _ if was.says("as-found") == Some("outside") => &["result"],
        _ => &[],
    };
    if let Some((word, value, place)) = takes_back.iter().find_map(|word| added(word)) {
        return StatementFate::Altered { word, was: None, is: Some(value), place: *place };
    }
    match added("error").filter(|_| was.is_against()) {
        Some((_, error, place)) => StatementFate::Measured { error, place: *place },
        None => StatementFate::Kept,
    }
}

fn told(
    was: &InstrumentStatement,
    fate: StatementFate,
    now: &Judged,
    before: &Judged,
    called: &str,
) -> Option<Finding> {
    let file = &before.ledger.sources.get(was.place.source).path;
    let name = match was.kind {
        "doubt" => format!("the doubt about {} of {}", was.instrument, was.date),
        THERE => format!("the time of {} in the shop", was.instrument),
        "cycles" => format!("the count of cycles of {} of {}", was.instrument, was.date),
        _ => format!("the calibration of {} of {}", was.instrument, was.date),
    };
    let (grade, place, message) = match fate {
        StatementFate::Kept => return None,
        StatementFate::Gone => {
            let source = now.ledger.sources.iter().find(|(_, source)| source.path == *file);
            let place = Place { source: source.map(|(id, _)| id).unwrap_or_default(), span: Span::default() };
            (Grade::Nonconformity, place, format!("{name} in {called} is gone"))
        }
        StatementFate::Altered { word, was, is, place } => {
            let message = match (was, is) {
                (Some(was), Some(is)) => format!("`{word}` of {name} was `{was}` in {called} and is `{is}`"),
                (Some(was), None) => format!("`{word}` of {name} was `{was}` in {called} and is gone"),
                (None, is) => {
                    format!("{name} said nothing of `{word}` in {called}, and says `{}` now", is.unwrap_or_default())
                }
            };
            (Grade::Nonconformity, place, message)
        }
        StatementFate::Measured { error, place } => {
            let message = format!("{name} says now that it was off by at most {error}; in {called} it did not");
            (Grade::Observation, place, message)
        }
    };
    let next = match (grade, was.kind) {
        (Grade::Observation, _) => "look at the certificate: what that error could not turn counts again".to_owned(),
        (_, "doubt") => format!(
            "put it back as {called} has it, in {file}; where it was wrong, take it back by `void` inside it, with date, name and reason, and state another one"
        ),
        (_, THERE) => format!(
            "put it back as {called} has it, in {file}: by it is judged which readings count; a day that was not said may be added"
        ),
        _ => format!("put it back as {called} has it, in {file}; what came later is a line of its own, with its day"),
    };
    let mut finding = Finding::new(names::INSTRUMENT_ALTERED, grade, was.instrument.as_str(), place, message);
    finding = finding.here("not as it was").next(next);
    finding.cure = Some(Cure::Writing);
    Some(finding)
}
