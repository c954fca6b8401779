//! What a machine says of the design that it is built to: which revision since when, what its parts are called, and where it
//! departs from it.

use jiff::civil::Date;

use super::lifetime::Lifetime;
use super::spanned::{Name, SourcedNode, Spanned};
use crate::finding::Place;
use crate::quantity::{Length, Moment};

/// A revision of a design that the machine was built to or took over.
#[derive(Clone, Debug)]
pub struct BuiltTo {
    pub place: Place,
    pub design: Spanned<Name>,
    pub revision: Spanned<u32>,
    /// The day it was taken over; nothing for the first.
    pub since: Option<Spanned<Moment>>,
    /// The head of its description; nothing where there is none.
    pub described: Option<Place>,
}

/// What a part of the design is in this machine.
#[derive(Clone, Debug)]
pub struct StatedPart {
    pub place: Place,
    /// The segment.
    pub on: Spanned<Name>,
    pub serial: Option<Spanned<Name>>,
    pub lot: Option<Spanned<Name>>,
    pub near_mark: Option<Spanned<Name>>,
    pub far_mark: Option<Spanned<Name>>,
    /// Since and until when it is that.
    pub(crate) life: Lifetime,
    /// The day on which its whole rail went, where it was on one that a later revision left out.
    pub(crate) went: Option<Date>,
}

/// Where the machine is not as its design says.
#[derive(Clone, Debug)]
pub struct DesignDeviation {
    pub place: Place,
    /// The support or segment.
    pub on: Spanned<Name>,
    /// Where the middle of a support lies.
    pub at: Option<Spanned<Length>>,
    pub length: Option<Spanned<Length>>,
    pub base_bolts: Option<Spanned<u32>>,
    pub near_distance: Option<Spanned<Length>>,
    pub far_distance: Option<Spanned<Length>>,
    pub since: Option<Spanned<Moment>>,
    pub date: Option<Spanned<Moment>>,
    pub by: Option<Spanned<Name>>,
    pub reason: Option<Spanned<Name>>,
    /// What is otherwise, each with what the design says: `at 2900 (designed: 2880)`.
    pub departs: Vec<String>,
    /// The day on which its whole rail went: then it is history, though a later revision has a rail of that name again.
    pub(crate) went: Option<Date>,
}

impl BuiltTo {
    pub(super) fn all(node: SourcedNode) -> Vec<BuiltTo> {
        let read = |row: SourcedNode| {
            Some(BuiltTo {
                place: row.place(),
                design: row.arg_text(0)?,
                revision: row.count("revision")?,
                since: row.moment("since"),
                described: None,
            })
        };
        node.named("built-to").filter_map(read).collect()
    }
}

impl StatedPart {
    pub(super) fn all(node: SourcedNode) -> Vec<StatedPart> {
        let read = |row: SourcedNode| {
            let mark = || row.text("mark");
            Some(StatedPart {
                place: row.place(),
                on: row.arg_text(0)?,
                serial: row.text("serial"),
                lot: row.text("lot"),
                near_mark: row.text("near-mark").or_else(mark),
                far_mark: row.text("far-mark").or_else(mark),
                life: Lifetime::of(row),
                went: None,
            })
        };
        node.named("part").filter_map(read).collect()
    }
}

impl DesignDeviation {
    pub(super) fn all(node: SourcedNode) -> Vec<DesignDeviation> {
        let read = |row: SourcedNode| {
            Some(DesignDeviation {
                place: row.place(),
                on: row.arg_text(0)?,
                at: row.length("at"),
                length: row.size("length"),
                base_bolts: row.count("base-bolts"),
                near_distance: row.size("near-distance"),
                far_distance: row.size("far-distance"),
                since: row.moment("since"),
                date: row.moment("date"),
                by: row.text("by"),
                reason: row.text("reason"),
                departs: Vec::new(),
                went: None,
            })
        };
        node.named("deviation").filter_map(read).collect()
    }
}
