//! The release record with its seal.

use jiff::civil::Date;

use super::EDITION;
use super::digest::{digest, seal};
use super::group::FactGroup;
use super::limits;
use super::order;
use super::rests::{SIGNATURE, Until, facts_of_release, groups};
use crate::finding::SourceId;
use crate::ledger::{Ledger, NodeDraft, SpeltValue};
use crate::quantity::Moment;
use crate::text::{NodeRef, ReadLimits, read};

/// What somebody says with a release.
#[derive(Clone, Debug)]
pub struct Sealing {
    /// When it is released.
    pub moment: Moment,
    /// Who releases.
    pub by: String,
    /// The day that it was judged by, where that was stated.
    pub judged_on: Option<Date>,
    /// The release that it replaces, and why.
    pub supersedes: Option<(Moment, String)>,
    /// The records that came since that one, each by its name.
    pub added: Vec<String>,
    /// Remarks for people.
    pub notes: Vec<String>,
    /// The lines of the signature, where it is signed.
    pub signature: Option<Vec<String>>,
    /// What each rule judged.
    pub judged: Vec<RuleTally>,
    /// The rules that had nothing to judge.
    pub idle: Vec<String>,
}

/// What one rule judged of an axis.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RuleTally {
    /// The rule.
    pub rule: String,
    /// So many subjects conform.
    pub conforms: usize,
    /// So many are covered by a concession.
    pub conceded: usize,
    /// Of so many nothing is required.
    pub not_required: usize,
    /// So many cannot be judged and are declared not applicable.
    pub not_applicable: usize,
}

impl Sealing {
    /// A release at a moment, with nothing else said.
    pub fn new(moment: Moment, by: &str) -> Sealing {
        Sealing {
            moment,
            by: by.to_owned(),
            judged_on: None,
            supersedes: None,
            added: Vec::new(),
            notes: Vec::new(),
            signature: None,
            judged: Vec::new(),
            idle: Vec::new(),
        }
    }
}

/// The release record of an axis, sealed over all that the ledger holds of it at that moment. Whether the axis may be
/// released is for the caller to judge first.
pub fn release(ledger: &Ledger, axis: usize, of: &Sealing) -> NodeDraft {
    let mut all = groups(ledger, axis, Until { moment: of.moment, record: None });
    all.extend(order::groups(ledger, &all));
    all.push(limits::group(&ledger.rulebook));
    let digests: Vec<String> = all.iter().map(of_group).collect();
    let unsealed = head(ledger, axis, of, None);
    let own = of_draft(&unsealed, |node| facts_of_release(node, SourceId::default())).unwrap_or_default();
    let own = own.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
    let pairs = all.iter().zip(&digests).map(|(group, digest)| (group.name.as_str(), digest.as_str()));
    let mut record = head(ledger, axis, of, Some(&seal(own, pairs)));
    for (group, digest) in all.iter().zip(&digests) {
        let mut sealed = NodeDraft::new("sealed").value(&group.name).property("digest", digest);
        for fact in &group.facts {
            sealed.push(NodeDraft::new("fact").value(&fact.address).value(&fact.value));
        }
        record.push(sealed);
    }
    record
}

/// What is found out of a node that is not written yet.
pub(super) fn of_draft<T>(draft: &NodeDraft, asked: impl FnOnce(NodeRef) -> T) -> Option<T> {
    read(draft.text(), &ReadLimits::default()).document.nodes().next().map(asked)
}

fn of_group(group: &FactGroup) -> String {
    let facts = group.facts.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
    digest(&group.name, group.ordered, facts)
}

/// What the release says itself.
fn head(ledger: &Ledger, axis: usize, of: &Sealing, seal: Option<&str>) -> NodeDraft {
    let mut head = NodeDraft::new("release").value(ledger.machine.axes[axis].name.as_str()).signed(of.moment, &of.by);
    if let Some(day) = of.judged_on {
        head.set("judged-on", Moment { date: day, minute: None });
    }
    if let Some((moment, reason)) = &of.supersedes {
        head.set("supersedes", *moment);
        head.set("reason", reason);
    }
    head.set("edition", SpeltValue::count(EDITION));
    if let Some(seal) = seal {
        head.set("seal", seal);
    }
    of.notes.iter().for_each(|note| head.push(NodeDraft::new("note").value(note)));
    if let Some(lines) = &of.signature {
        let row = |line: &String| NodeDraft::new("line").value(line);
        head.push(lines.iter().map(row).fold(NodeDraft::new(SIGNATURE), NodeDraft::row));
    }
    of.added.iter().for_each(|record| head.push(NodeDraft::new("added").value(record)));
    for tally in &of.judged {
        let counts = [
            ("conforms", tally.conforms),
            ("conceded", tally.conceded),
            ("not-required", tally.not_required),
            ("not-applicable", tally.not_applicable),
        ];
        let counts = counts.into_iter().filter(|(_, count)| *count > 0);
        let row = counts.fold(NodeDraft::new("judged").value(&tally.rule), |row, (name, count)| {
            row.property(name, SpeltValue::count(count))
        });
        head.push(row);
    }
    let mut left = &of.idle[..];
    while !left.is_empty() {
        let (line, rest) = left.split_at(of_one_line(left));
        head.push(NodeDraft::new("idle").values(line));
        left = rest;
    }
    head
}

/// How many of some names a person still reads on one line; one at least.
fn of_one_line(names: &[String]) -> usize {
    let mut length = 0;
    let fits = |name: &&String| {
        length += name.len() + 1;
        length < 100
    };
    names.iter().take_while(fits).count().max(1)
}
