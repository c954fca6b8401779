//! A word for each finding by which review pages know it again: the same after lines were moved or reformatted, and
//! never the same for two findings of one run.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use super::Root;
use crate::judging::lint::Judged;

/// The fingerprints of a ledger's findings, in their order. Each is made of the ledger's path, the rule, the address
/// and the words at the place; equal ones are told apart by counting.
pub(crate) fn fingerprints(judged: &Judged, root: &Root) -> Vec<String> {
    let ledger = root.path(&judged.path.0);
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let one = |finding: &crate::finding::Finding| {
        let words = judged.ledger.sources.text(finding.at.place).split_whitespace();
        // Every part is followed by a byte that no part can hold, so that no two lists of parts read alike.
        let mut parts = vec![ledger.as_str(), finding.rule.as_str(), &finding.address];
        parts.extend(words);
        let key = parts.join("\0");
        let count = seen.entry(key.clone()).or_default();
        *count += 1;
        hex(&Sha256::digest(format!("{key}\0\0{count}")))
    };
    judged.findings.iter().map(one).collect()
}

/// Half of a digest: as much as is ever needed to tell findings apart.
fn hex(digest: &[u8]) -> String {
    digest[..16].iter().map(|byte| format!("{byte:02x}")).collect()
}
