//! What somebody says against an instrument: that it was wrong for a time.
//!
//! A doubt stands in the file that describes its instrument, and holds wherever that entry does. It is attached to the
//! instrument when the file is read; one that was taken back is not.

use std::collections::BTreeMap;

use super::faults::Faults;
use super::shop::{CalibrationError, Said, Shop, StatedDoubt};
use super::shop_entries::{CountedIn, InstrumentCounting, error, unfit};
use super::spanned::{SourcedNode, Spanned};
use crate::language::schema::Refers;

/// A doubt with its instrument's name, and the entries of that name which its file has: a gauge, a wrench, or one of each.
type DoubtRow<'d> = (Spanned<&'d str>, SourcedNode<'d>, Vec<SourcedNode<'d>>);

/// The doubts of the shops of one file.
fn stated<'d>(shops: &[SourcedNode<'d>]) -> Vec<DoubtRow<'d>> {
    let rows: Vec<SourcedNode> = shops.iter().flat_map(|shop| shop.named("doubt")).collect();
    let described = if rows.is_empty() { BTreeMap::new() } else { instruments(shops) };
    let with_entries = |row: SourcedNode<'d>| {
        let name = row.arg_text::<&str>(0)?;
        Some((name, row, described.get(name.value).cloned().unwrap_or_default()))
    };
    rows.into_iter().filter_map(with_entries).collect()
}

/// The gauges and wrenches of the shops of one file, of each sort the first of its name.
fn instruments<'d>(shops: &[SourcedNode<'d>]) -> BTreeMap<&'d str, Vec<SourcedNode<'d>>> {
    let mut all: BTreeMap<&str, Vec<SourcedNode>> = BTreeMap::new();
    for row in shops.iter().flat_map(|shop| shop.children()).filter(|row| matches!(row.name(), "gauge" | "wrench")) {
        let Some(name) = row.arg_text::<&str>(0) else { continue };
        let of_name = all.entry(name.value).or_default();
        if of_name.iter().all(|other| other.name() != row.name()) {
            of_name.push(row);
        }
    }
    all
}

/// The error that a doubt states, as its instrument counts.
fn error_of(doubt: SourcedNode, counted: Option<CountedIn>) -> Option<Spanned<CalibrationError>> {
    error(doubt.prop("error")?, counted?)
}

/// Says which doubts of a file are about nothing that it describes, or state an error that no instrument of their name can
/// have.
pub(super) fn at_fault(shops: &[SourcedNode], counting: &InstrumentCounting, faults: &mut Faults) {
    for (name, row, entries) in stated(shops) {
        let mut counted = entries.iter().filter_map(|entry| counting.of_instrument(*entry)).peekable();
        let Some(first) = counted.peek().copied() else {
            faults.unknown_among(Refers::Instrument, name, || instruments(shops).into_keys().collect(), "");
            continue;
        };
        if let Some(cell) = row.prop("error")
            && counted.all(|counted| error(cell, counted).is_none())
        {
            unfit(cell, format!("this cannot be the error of {}", *name), first.next(), faults);
        }
    }
}

fn said(row: SourcedNode) -> Said {
    Said { on: row.moment("date"), by: row.text("by"), reason: row.text("reason") }
}

impl Shop {
    /// Attaches the doubts of one file to the instruments it describes: where a gauge and a wrench have one name, to both.
    pub(super) fn doubt(&mut self, shops: &[SourcedNode], counting: &InstrumentCounting) {
        for (name, row, entries) in stated(shops) {
            let Some(from) = row.moment("from") else { continue };
            for entry in entries {
                let doubts = match entry.name() {
                    "wrench" => self.wrenches.get_mut(name.value).map(|wrench| &mut wrench.doubts),
                    _ => self.gauges.get_mut(name.value).map(|gauge| &mut gauge.doubts),
                };
                doubts.into_iter().for_each(|doubts| {
                    doubts.push(StatedDoubt {
                        place: row.place(),
                        from,
                        to: row.moment("to"),
                        said: said(row),
                        error: error_of(row, counting.of_instrument(entry)),
                        void: row.child("void").map(said),
                    });
                });
            }
        }
    }
}
