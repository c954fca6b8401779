//! A record that stands in another ledger of the shop too.

use crate::finding::Grade;
use crate::rules::flaws::is_evidence;
use crate::rules::{Case, Findings, Verdict};

pub(super) fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.ledger.records[index];
    if !is_evidence(record) {
        return Verdict::NotRequired;
    }
    let copies = &case.elsewhere.copies;
    let Ok(at) = copies.binary_search_by_key(&index, |(record, _)| *record) else {
        return Verdict::Conforms(record.place);
    };
    let folder = &copies[at].1;
    let mut finding = findings
        .finding(
            record.on.as_ref().map_or("", |on| on.as_str()),
            record.place,
            format!("this `{}` is that of the ledger {folder}, word for word: it does not count here", record.kind),
        )
        .here("a copy")
        .next("take out the copy; where both machines were done alike at once, say in each record at what time");
    finding.grade = Grade::Nonconformity;
    findings.add(finding);
    Verdict::Broken
}
