//! The text of a release record with its seal.

use std::fmt::Write;

use super::rests::{Until, groups};
use super::{digest, limits, seal};
use crate::ledger::Ledger;
use crate::quantity::Moment;
use crate::text::{quote, quoted};

/// The release record of an axis, sealed over all that the ledger holds of it at that moment. It ends in a line break.
/// Whether the axis may be released is for the caller to judge first.
pub fn release(ledger: &Ledger, axis: usize, moment: Moment, by: &str) -> String {
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
    let mut out = format!(
        "release {} date={} by={} seal={} {{\n",
        quote(name),
        quoted(&moment.to_string()),
        quote(by),
        quoted(&seal)
    );
    // Writing to a string cannot fail.
    for (group, digest) in all.iter().zip(&digests) {
        let _ = writeln!(out, "    sealed {} digest={} {{", quoted(&group.name), quoted(digest));
        for fact in &group.facts {
            let _ = writeln!(out, "        fact {} {}", quoted(&fact.address), quoted(&fact.value));
        }
        let _ = writeln!(out, "    }}");
    }
    out.push_str("}\n");
    out
}
