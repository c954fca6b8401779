//! What somebody says against an instrument: that it was wrong for a time.
//!
//! A doubt stands in the file that describes its instrument, and holds wherever that entry does. It is attached to the
//! instrument when the file is read; one that was taken back is not.

use super::faults::Faults;
use super::shop::{CalibrationError, Said, Shop, StatedDoubt};
use super::shop_entries::{CountedIn, error};
use super::spanned::{SourcedNode, Spanned};
use crate::finding::{Finding, Grade, names};
use crate::language::schema::Refers;

/// The doubts of the shops of one file, each with the entry of its instrument where the file has one.
fn stated<'d>(
    shops: &[SourcedNode<'d>],
) -> impl Iterator<Item = (Spanned<&'d str>, SourcedNode<'d>, Option<SourcedNode<'d>>)> {
    shops.iter().flat_map(|shop| shop.named("doubt")).filter_map(move |row| {
        let name = row.arg_text::<&str>(0)?;
        Some((name, row, instruments(shops).find(|(other, _)| *other == name.value).map(|(_, entry)| entry)))
    })
}

/// The gauges and wrenches of the shops of one file.
fn instruments<'d>(shops: &[SourcedNode<'d>]) -> impl Iterator<Item = (&'d str, SourcedNode<'d>)> {
    let rows = shops.iter().flat_map(|shop| shop.children());
    let described = rows.filter(|row| CountedIn::of_instrument(*row).is_some());
    described.filter_map(|row| Some((row.arg_text::<&str>(0)?.value, row)))
}

/// The error that a doubt states, as its instrument counts.
fn error_of(doubt: SourcedNode, entry: SourcedNode) -> Option<Spanned<CalibrationError>> {
    let (cell, counted) = (doubt.prop("error")?, CountedIn::of_instrument(entry)?);
    // An entry that leaves its kind to the file above may be that of a force gauge.
    let force = || (counted == CountedIn::Lengths && entry.prop("kind").is_none()).then_some(CountedIn::Forces);
    error(cell, counted).or_else(|| error(cell, force()?))
}

/// Says which doubts of a file are about nothing that it describes, or state an error that their instrument cannot have.
pub(super) fn at_fault(shops: &[SourcedNode], faults: &mut Faults) {
    for (name, row, entry) in stated(shops) {
        let Some(entry) = entry else {
            faults.unknown_among(Refers::Instrument, name, || instruments(shops).map(|(name, _)| name).collect(), "");
            continue;
        };
        let (Some(cell), Some(counted)) = (row.prop("error"), CountedIn::of_instrument(entry)) else { continue };
        if error_of(row, entry).is_none() && !faults.damage.hits(cell.place()) {
            let (message, wanted) = (format!("this cannot be the error of {}", *name), counted.example());
            let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, "", cell.place(), message);
            faults.found.push(finding.here("of another sort").next(format!("write {wanted}, and more than zero")));
        }
    }
}

fn said(row: SourcedNode) -> Said {
    Said { on: row.moment("date"), by: row.text("by"), reason: row.text("reason") }
}

impl Shop {
    /// Attaches the doubts of one file to the instruments it describes.
    pub(super) fn doubt(&mut self, shops: &[SourcedNode]) {
        for (name, row, entry) in stated(shops) {
            let (Some(entry), Some(from)) = (entry, row.moment("from")) else { continue };
            let doubt = StatedDoubt {
                place: row.place(),
                from,
                to: row.moment("to"),
                said: said(row),
                error: error_of(row, entry),
                void: row.child("void").map(said),
            };
            let doubts = match entry.name() {
                "wrench" => self.wrenches.get_mut(name.value).map(|wrench| &mut wrench.doubts),
                _ => self.gauges.get_mut(name.value).map(|gauge| &mut gauge.doubts),
            };
            doubts.into_iter().for_each(|doubts| doubts.push(doubt.clone()));
        }
    }
}
