//! What people wrote beside the numbers, for people: notes, reasons and delivery notes.

use super::record::{Body, Record};
use super::spanned::{Name, Spanned};

/// What a remark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RemarkKind {
    Note,
    Reason,
    /// The number on a delivery note.
    Delivery,
}

impl RemarkKind {
    /// As it is written in the ledger.
    pub fn word(self) -> &'static str {
        match self {
            RemarkKind::Note => "note",
            RemarkKind::Reason => "reason",
            RemarkKind::Delivery => "delivery",
        }
    }
}

impl Record {
    /// The remarks of a record in the order in which they are read. The reason of a hold or a concession is part of what
    /// is said of it anyway.
    pub fn remarks(&self) -> impl Iterator<Item = (RemarkKind, &Spanned<Name>)> {
        let (kind, own) = match &self.body {
            Body::Loosen(loosen) => (RemarkKind::Reason, loosen.reason.as_ref()),
            Body::Void(void) => (RemarkKind::Reason, void.reason.as_ref()),
            Body::Lift(lift) => (RemarkKind::Reason, lift.reason.as_ref()),
            Body::Receive(receive) => (RemarkKind::Delivery, receive.delivery.as_ref()),
            _ => (RemarkKind::Reason, None),
        };
        own.map(|own| (kind, own)).into_iter().chain(self.notes.iter().map(|note| (RemarkKind::Note, note)))
    }
}
