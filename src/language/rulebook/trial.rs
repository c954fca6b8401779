//! A limit that is tried out: `joint-step=0.015`, `full-torque=10.2..10.8`, `gap-local=0.01/300`, `proof=required`. Nothing is
//! written anywhere.

use super::entries::{ENTRIES, LimitEntry, LimitType};
use super::in_force::{LimitChange, SpeltNumber, is_readable};
use crate::finding::Place;

/// Who sets a limit that is only tried.
const TRIAL: &str = "command line";

/// Reads a limit as somebody tries it; why not, where it is none.
pub(crate) fn tried(text: &str) -> Result<LimitChange, String> {
    let (name, value) =
        text.split_once('=').ok_or_else(|| format!("`{text}` is no limit with a value: write joint-step=0.015"))?;
    let entry = ENTRIES.iter().find(|entry| entry.name == name).ok_or_else(|| format!("there is no limit `{name}`"))?;
    let mut change = LimitChange {
        entry,
        least: None,
        most: None,
        over: None,
        choice: None,
        reason: "tried".into(),
        place: Place::default(),
        by: TRIAL,
        farther: None,
    };
    if let LimitType::Choice(words) = entry.holds {
        if !words.contains(&value) {
            return Err(format!("`{name}` is one of {}", words.join(", ")));
        }
        change.choice = Some(value.to_string());
        return Ok(change);
    }
    match (entry.takes("least"), entry.takes("most")) {
        (true, true) => {
            let (least, most) =
                value.split_once("..").ok_or_else(|| format!("`{name}` has two ends: write {name}=LEAST..MOST"))?;
            (change.least, change.most) = (Some(number(entry, least)?), Some(number(entry, most)?));
        }
        (false, true) if entry.is_local() => {
            let (most, over) = value
                .split_once('/')
                .ok_or_else(|| format!("`{name}` holds over a length: write {name}=MOST/LENGTH, as {name}=0.01/300"))?;
            (change.most, change.over) = (Some(number(entry, most)?), Some(number(entry, over)?));
        }
        (true, false) => change.least = Some(number(entry, value)?),
        _ => change.most = Some(number(entry, value)?),
    }
    Ok(change)
}

/// A number with its unit in front, as in a ledger: `0.015`, `(um)15`.
fn number(entry: &LimitEntry, text: &str) -> Result<SpeltNumber, String> {
    let (unit, raw) = match text.strip_prefix('(').and_then(|rest| rest.split_once(')')) {
        Some((unit, raw)) => (Some(unit.to_string()), raw),
        None => (None, text),
    };
    let spelt = SpeltNumber { raw: raw.to_string(), unit };
    match is_readable(entry, &spelt) {
        true => Ok(spelt),
        false => {
            let unit = entry.unit();
            let of = if unit.is_empty() { String::new() } else { format!(" in {unit}, or with its unit in front") };
            Err(format!("`{text}` is no value of `{}`, which is {}: write a number{of}", entry.name, entry.what))
        }
    }
}
