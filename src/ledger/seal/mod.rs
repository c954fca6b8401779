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
//! * `facts`: one node of the ledger as facts; `rests`: which nodes an axis rests on
//! * `under`: the records that a release names
//! * `write`: the text of a release record; `compare`: what changed since

mod compare;
mod facts;
mod limits;
mod releases;
mod rests;
mod under;
mod write;

pub use compare::{Change, changes, differences};
pub use facts::facts;
pub use limits::{limits_applying, sealed_limits};
pub use releases::{Releases, is_record};
pub(crate) use rests::{about, description};
pub use under::records_under;
pub use write::release;

use sha2::{Digest, Sha256};

use crate::finding::{Place, SourceId};
use crate::language::schema::NodeShape;
use crate::ledger::{Body, Ledger, Release, Target};
use crate::text::NodeRef;

/// One fact: what it is about inside its group, and what it was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    pub address: String,
    pub value: String,
    pub place: Place,
}

/// The facts of one record or one part of the description.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// What it is: `rail X.port`, `inspect X.port.J1 2026-04-15`.
    pub name: String,
    pub facts: Vec<Fact>,
    /// The head of its node.
    pub place: Place,
    /// The order of its rows means something.
    pub ordered: bool,
    /// Whether it surely stood there when the release was written.
    pub surely: bool,
}

impl Group {
    /// A node, with all that is kept of what stands below it.
    pub(crate) fn of(
        name: String,
        shape: Option<&NodeShape>,
        node: NodeRef,
        source: SourceId,
        keep: impl Fn(NodeRef) -> bool,
    ) -> Group {
        Group {
            facts: facts(shape, node, source, keep),
            place: Place { source, span: node.head() },
            ordered: is_ordered(node.name()),
            surely: true,
            name,
        }
    }

    /// Whether a fact of it stands at a place.
    pub fn holds(&self, place: Place) -> bool {
        self.facts.iter().any(|fact| fact.place == place)
    }
}

/// The group of the limits in force.
const LIMITS: &str = "limits";

/// The release that counts for an axis: the last one.
pub fn release_of(ledger: &Ledger, axis: usize) -> Option<(usize, &Release)> {
    ledger.timeline.order.iter().rev().find_map(|index| match &ledger.records[*index] {
        record if record.target != Some(Target::Axis(axis)) => None,
        record => match &record.body {
            Body::Release(release) => Some((*index, release)),
            _ => None,
        },
    })
}

/// SHA-256 of the facts of a group, order and spelling of the text left out where they mean nothing.
fn digest<'f>(name: &str, ordered: bool, facts: impl Iterator<Item = (&'f str, &'f str)>) -> String {
    let mut facts: Vec<_> = facts.collect();
    if !ordered {
        facts.sort_unstable();
    }
    let mut hash = Sha256::new();
    part(&mut hash, name);
    for (address, value) in facts {
        part(&mut hash, address);
        part(&mut hash, value);
    }
    hex(hash)
}

/// SHA-256 over all groups and over who released when.
fn seal<'g>(axis: &str, date: &str, by: &str, groups: impl Iterator<Item = (&'g str, &'g str)>) -> String {
    let mut hash = Sha256::new();
    for text in [axis, date, by] {
        part(&mut hash, text);
    }
    for (name, digest) in groups {
        part(&mut hash, name);
        part(&mut hash, digest);
    }
    hex(hash)
}

/// Each text with its length in front, so that no two lists of texts run together.
fn part(hash: &mut Sha256, text: &str) {
    hash.update((text.len() as u64).to_be_bytes());
    hash.update(text.as_bytes());
}

fn hex(hash: Sha256) -> String {
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Whether the order of a group's rows means something: the order of tightening and of reading does.
fn is_ordered(name: &str) -> bool {
    matches!(name.split(' ').next(), Some("fasten" | "survey"))
}
