//! A row as it comes: what readings of one ledger, of one record, at one place and under one limit have in common is worked out
//! once, and whoever writes rows can spell it once.

use std::hash::{Hash, Hasher};

use smol_str::SmolStr;

use super::place::ReadingPlace;
use super::reading::{ExactNumber, FORMAT, Reading};
use super::verdict::ReadingVerdict;

/// Something that many rows share, with a number of its own among all of them.
pub(crate) struct Common<T> {
    pub number: u32,
    pub of: T,
}

/// What all rows of a ledger share.
pub(crate) struct LedgerCells {
    pub ledger: SmolStr,
    pub machine: SmolStr,
}

/// What all rows of a record share.
pub(crate) struct RecordCells {
    /// What an id begins with.
    pub id: String,
    pub record: &'static str,
    pub stage: &'static str,
    pub day: SmolStr,
    pub time: SmolStr,
    pub by: SmolStr,
    pub instrument: SmolStr,
    pub calibration: SmolStr,
}

/// The limit of a reading and its source; empty where none judges it by itself.
#[derive(Default)]
pub(crate) struct LimitCells {
    pub least: Option<SmolStr>,
    pub most: Option<SmolStr>,
    pub text: SmolStr,
    pub source: SmolStr,
}

/// What was read.
#[derive(Clone, Copy, Debug, Default, Eq)]
pub(crate) struct ReadQuantity {
    pub quantity: &'static str,
    pub interface: &'static str,
    pub bolt: Option<u32>,
    pub groove: &'static str,
    pub side: &'static str,
}

/// Most words are the same ones, or empty, and then their letters are not looked at.
impl PartialEq for ReadQuantity {
    fn eq(&self, other: &ReadQuantity) -> bool {
        let same = |a: &str, b: &str| std::ptr::eq(a, b) || a.len() == b.len() && (a.is_empty() || a == b);
        self.bolt == other.bolt
            && same(self.quantity, other.quantity)
            && same(self.interface, other.interface)
            && same(self.groove, other.groove)
            && same(self.side, other.side)
    }
}

/// A few words, told from each other well enough by their lengths and their ends: one is looked up for each row.
impl Hash for ReadQuantity {
    fn hash<H: Hasher>(&self, state: &mut H) {
        let end = |word: &str| word.len() as u64 * 31 + u64::from(word.as_bytes().last().copied().unwrap_or(0));
        let words = [self.quantity, self.interface, self.groove, self.side];
        let words = words.into_iter().fold(u64::from(self.bolt.unwrap_or(0)), |all, word| all << 12 ^ end(word));
        state.write_u64(words);
    }
}

/// One reading as it comes. [`Reading`] says what each column holds.
pub(crate) struct ReadingRow<'r> {
    pub ledger: &'r Common<LedgerCells>,
    pub place: &'r Common<ReadingPlace>,
    pub record: &'r Common<RecordCells>,
    pub what: ReadQuantity,
    pub repeat: u32,
    pub written: &'r str,
    pub value: Option<&'r str>,
    pub unit: &'static str,
    pub limit: &'r Common<LimitCells>,
    pub uncertainty: Option<&'r str>,
    pub verdict: ReadingVerdict,
    pub in_force: bool,
    pub rules: &'r [&'static str],
    pub file: &'r Common<SmolStr>,
    pub line: u32,
}

impl ReadQuantity {
    pub(crate) fn plain(quantity: &'static str) -> ReadQuantity {
        ReadQuantity { quantity, ..ReadQuantity::default() }
    }
}

impl ReadingRow<'_> {
    /// What an id holds behind record and place: words of our own and numbers.
    pub(crate) fn end_of_id(&self, push: &mut impl FnMut(&str)) {
        let what = &self.what;
        push(what.quantity);
        for part in [what.interface, what.groove, what.side].into_iter().filter(|part| !part.is_empty()) {
            push(" ");
            push(part);
        }
        if let Some(bolt) = what.bolt {
            push(" ");
            push_count(bolt, push);
        }
        push("|");
        push_count(self.repeat, push);
    }

    pub(crate) fn id(&self) -> String {
        let mut id = format!("{}|{}|", self.record.of.id, self.place.of.address);
        self.end_of_id(&mut |part| id.push_str(part));
        id
    }
}

/// Nearly all counts have one digit.
fn push_count(count: u32, push: &mut impl FnMut(&str)) {
    const DIGITS: &str = "0123456789";
    match DIGITS.get(count as usize..=count as usize) {
        Some(digit) => push(digit),
        None => push(&count.to_string()),
    }
}

impl From<&ReadingRow<'_>> for Reading {
    fn from(row: &ReadingRow) -> Reading {
        let (place, record, limit) = (&row.place.of, &row.record.of, &row.limit.of);
        let number = |text: Option<&str>| text.map(|text| ExactNumber(text.to_owned()));
        Reading {
            format: FORMAT,
            id: row.id(),
            ledger: row.ledger.of.ledger.to_string(),
            machine: row.ledger.of.machine.to_string(),
            axis: place.axis_name.to_string(),
            rail: place.rail_name.to_string(),
            joint: place.joint.to_string(),
            support: place.support.to_string(),
            position_mm: number(place.position_mm.as_deref()),
            address: place.address.to_string(),
            record: record.record,
            stage: record.stage,
            quantity: row.what.quantity.to_owned(),
            interface: row.what.interface,
            bolt: row.what.bolt,
            groove: row.what.groove,
            side: row.what.side,
            repeat: row.repeat,
            written: row.written.to_owned(),
            value: number(row.value),
            unit: row.unit,
            least: number(limit.least.as_deref()),
            most: number(limit.most.as_deref()),
            uncertainty: number(row.uncertainty),
            limit_text: limit.text.to_string(),
            limit_source: limit.source.to_string(),
            day: record.day.to_string(),
            time: record.time.to_string(),
            by: record.by.to_string(),
            instrument: record.instrument.to_string(),
            calibration: record.calibration.to_string(),
            serial: place.serial.to_string(),
            lot: place.lot.to_string(),
            verdict: row.verdict,
            in_force: row.in_force,
            rules: row.rules.to_vec(),
            file: row.file.of.to_string(),
            line: row.line,
        }
    }
}
