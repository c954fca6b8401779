//! A record that stands in another ledger of the shop too, or whose readings do.

use super::telling::{MOST_SHOWN, telling};
use crate::finding::{Grade, Measure};
use crate::rules::flaws::is_evidence;
use crate::rules::{Case, Findings, Verdict};

/// Records whose readings another ledger has on another day: a copy whose dates were changed.
pub(super) fn of_other_days(case: &Case, findings: &mut Findings) {
    let same = &case.elsewhere.same_readings;
    for of_one in same.chunk_by(|(_, a), (_, b)| a == b) {
        let records = || of_one.iter().map(|(index, _)| &case.records[*index]);
        let Some(many) = telling(records()) else { continue };
        let (first, folder) = (&case.records[of_one[0].0], &of_one[0].1);
        let mut finding = findings
            .finding(
                first.address(),
                first.place,
                format!("{many} readings are those of the ledger {folder} at the same places on other days, to the last digit"),
            )
            .here("the same readings")
            .found(Measure::too_large(many))
            .next("look at the paper they were taken from; where a copy was given other dates, withdraw its records and read again");
        for other in records().skip(1).take(MOST_SHOWN) {
            finding = finding.also(other.place, "here too");
        }
        findings.add(finding);
    }
}

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
            record.address(),
            record.place,
            format!("this `{}` is that of the ledger {folder}, word for word: it does not count here", record.kind),
        )
        .here("a copy")
        .next("take out the copy; where both machines were done alike at once, say in each record at what time");
    finding.grade = Grade::Nonconformity;
    findings.add(finding);
    Verdict::Broken
}
