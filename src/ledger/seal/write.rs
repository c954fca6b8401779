//! The release record with its seal.

use super::digest::{digest, seal};
use super::limits;
use super::rests::{Until, groups};
use crate::ledger::{Ledger, NodeDraft};
use crate::quantity::Moment;

/// The release record of an axis, sealed over all that the ledger holds of it at that moment. Whether the axis may be
/// released is for the caller to judge first.
pub fn release(ledger: &Ledger, axis: usize, moment: Moment, by: &str) -> NodeDraft {
    let name = ledger.machine.axes[axis].name.as_str();
    let mut all = groups(ledger, axis, Until { moment, record: None });
    all.push(limits::group(&ledger.rulebook));
    let digests: Vec<String> = all
        .iter()
        .map(|group| {
            let facts = group.facts.iter().map(|fact| (fact.address.as_str(), fact.value.as_str()));
            digest(&group.name, group.ordered, facts)
        })
        .collect();
    let pairs = all.iter().zip(&digests).map(|(group, digest)| (group.name.as_str(), digest.as_str()));
    let seal = seal(name, &moment.to_string(), by, pairs);
    let mut record = NodeDraft::new("release").value(name).signed(moment, by).property("seal", &seal);
    for (group, digest) in all.iter().zip(&digests) {
        let mut sealed = NodeDraft::new("sealed").value(&group.name).property("digest", digest);
        for fact in &group.facts {
            sealed.push(NodeDraft::new("fact").value(&fact.address).value(&fact.value));
        }
        record.push(sealed);
    }
    record
}
