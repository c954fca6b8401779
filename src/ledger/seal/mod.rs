//! What a release rests on, as facts under a seal: so that any later change is found and named, old value and new.
//!
//! A seal holds groups of facts. A group is a record, or a part of the description: the axis, a beam, a rail, the
//! carriage, a profile, a block, a fastener, a gauge or a wrench with the calibrations it had then, and the limits that
//! were in force. A fact is one line of the ledger in one spelling, so that comments, spacing and units may change
//! freely. The old values are kept in the release record in full: the text alone says what changed, without Git.
//!
//! The limits of a seal are not compared with those of today. They are what a released axis is judged by, so that a
//! default that changes later, or a later calibration, alters nothing. How many days ahead something is mentioned is no
//! limit of the machine and is not sealed.
//!
//! A record counts in its place among the others, which is not always told by its date: for each pair of records that touch
//! the same thing the seal holds which came first, and of each void and correction which record it means.
//!
//! A seal says of which edition it is and what each rule had judged then. That table is evidence: it is never worked out
//! again, and a rule that is not in it makes an observation at most on what was released.
//!
//! * `facts`: one node of the ledger as facts; `rests`: which nodes an axis rests on
//! * `group`: the facts of one node under one name; `digest`: their SHA-256, and that of all groups
//! * `subjects`: what a record touches; `order`: which of two came first
//! * `signed_text`: what a person signs who releases; `signature`: whether a signature is over it and theirs
//! * `under`: the records that a release names
//! * `write`: the text of a release record; `compare`: what changed since

mod change;
mod compare;
mod digest;
mod facts;
mod group;
mod in_force;
mod limits;
mod order;
mod releases;
mod rests;
mod signature;
mod signed_text;
mod subjects;
mod under;
mod write;

pub(crate) use change::SealChange;
pub(crate) use compare::{changes, differences};
pub(crate) use facts::{Fact, facts};
pub(crate) use group::{FactGroup, MACHINE, is_record};
pub(crate) use in_force::{last_withdrawn, release_of, serviced_from};
pub(crate) use limits::{limits_applying, sealed_limits};
pub(crate) use releases::Releases;
pub(crate) use rests::{about, description};
pub(crate) use signature::{SignatureError, SoundSignature, armour, checked, lines_of, signer};
pub(crate) use signed_text::{NAMESPACE, signed_text, text_to_sign};
pub(crate) use under::{added_since, records_under};
pub use write::{RuleTally, Sealing, release};

/// The edition of the seals that are written, and the only one that there is. Another one is read beside it, never instead.
pub(crate) const EDITION: u32 = 1;
