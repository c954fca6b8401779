//! What the rules judged: for each axis and rule the verdict, of how many subjects, and what it rests on.

use std::collections::{BTreeMap, BTreeSet};

use super::gather::ReportBuilder;
use super::model::JudgedRule;
use crate::finding::{Grade, Place};
use crate::rules::{Case, RuleCoverage, coverage, is_expected};

impl ReportBuilder<'_> {
    /// Every rule that judges facts, axis by axis in the order of the catalogue.
    pub(super) fn judged(&self) -> Vec<JudgedRule> {
        let coverage = coverage(&self.case);
        let mut rows: Vec<(Option<usize>, JudgedRule)> = coverage
            .rows()
            .filter(|(_, row)| is_expected(row.rule) && row.subjects() > 0)
            .map(|(axis, row)| (axis, self.judged_rule(axis, row)))
            .collect();
        rows.sort_by_key(|(axis, _)| axis.unwrap_or(usize::MAX));
        rows.into_iter().map(|(_, row)| row).collect()
    }

    fn judged_rule(&self, axis: Option<usize>, row: &RuleCoverage) -> JudgedRule {
        let axis = axis.map(|axis| self.case.machine.axes[axis].name.to_string());
        let on = axis.as_deref().unwrap_or("");
        let of_it = self.findings.iter().find(|finding| {
            finding.grade == Grade::NotJudged && finding.rule == row.rule.name && finding.address == on
        });
        let declared = of_it.is_some_and(|finding| finding.conceded.is_some());
        let verdict = match row {
            _ if row.broken > 0 => "broken",
            _ if row.outstanding > 0 => "outstanding",
            _ if !row.not_judged.is_empty() && declared => "not applicable",
            _ if !row.not_judged.is_empty() => "not judged",
            _ if row.conforms > 0 => "conforms",
            _ => "not required",
        };
        JudgedRule {
            axis,
            rule: row.rule.name.as_str(),
            verdict,
            subjects: row.subjects(),
            conforms: row.conforms,
            broken: row.broken,
            outstanding: row.outstanding,
            not_judged: row.not_judged.len(),
            not_required: row.not_required,
            rests_on: rests_on(&self.case, &row.rests),
            lacking: of_it.map(|finding| finding.message.clone()),
        }
    }
}

/// Places in the words of a report: the description, then the records by their kind.
fn rests_on(case: &Case, places: &[Place]) -> Vec<String> {
    let records: BTreeSet<usize> = places.iter().filter_map(|place| case.ledger.record_at(*place)).collect();
    let mut kinds: BTreeMap<&str, (usize, Option<String>)> = BTreeMap::new();
    for &index in &records {
        let record = &case.ledger.records[index];
        let (count, last) = kinds.entry(record.kind).or_default();
        *count += 1;
        *last = record.date.map(|date| date.date.to_string()).max(last.take());
    }
    let described = places.iter().any(|place| case.ledger.record_at(*place).is_none());
    let mut words: Vec<String> = described.then(|| "description".to_string()).into_iter().collect();
    words.extend(kinds.into_iter().map(|(kind, (count, last))| match (count, last) {
        (1, Some(day)) => format!("1 {kind} of {day}"),
        (_, Some(day)) => format!("{count} {kind}, the last of {day}"),
        (_, None) => format!("{count} {kind}"),
    }));
    words
}
