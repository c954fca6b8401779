//! Concessions: which findings somebody with the right to do so has accepted.
//!
//! A concession names a rule, an address and, where the finding has a number, the value up to which it holds. A finding
//! it covers is marked and stays visible everywhere. A worse value is not covered.

use std::collections::BTreeMap;

use super::Case;
use super::rule::Judge;
use crate::finding::{Conceded, Finding, Grade};
use crate::ledger::{Body, Concession, Record};

/// What a concession does to the findings of today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum ConcessionOutcome {
    /// It covers these findings.
    Covers(Vec<usize>),
    /// It would, but its last day is over.
    Expired(Vec<usize>),
    /// What was found there is worse than what it accepts.
    Worse(Vec<usize>),
    /// What was found has a number, and it does not say up to which it holds, or in another unit.
    NoValue(Vec<usize>),
    /// Nothing of that rule is found at that address.
    Nothing,
    /// What it names is not read, or does not count: that is done, and not accepted.
    Missing,
    /// No finding of that rule can be accepted.
    Never,
}

/// A concession that counts, with its record.
pub(super) struct Granted<'l> {
    pub record: &'l Record,
    pub concession: &'l Concession,
    pub outcome: ConcessionOutcome,
}

/// What each concession of a ledger does.
pub(super) fn granted<'l>(case: &Case<'l>, findings: &[Finding], judge: &Judge) -> Vec<Granted<'l>> {
    let concessions: Vec<(&Record, &Concession)> = case
        .in_order()
        .filter_map(|(_, record)| match &record.body {
            // What it accepts went with the part.
            Body::Concession(concession) if !record.history => Some((record, concession)),
            _ => None,
        })
        .collect();
    if concessions.is_empty() {
        return Vec::new();
    }
    let mut found: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    for (at, finding) in findings.iter().enumerate() {
        found.entry((finding.rule.as_str(), &finding.address)).or_default().push(at);
    }
    concessions
        .into_iter()
        .map(|(record, concession)| {
            let of = concession.rule.as_ref().map_or("", |rule| rule.as_str());
            let on = record.address();
            let at = found.get(&(of, on)).map_or(&[][..], |at| at);
            Granted { record, concession, outcome: outcome(case, concession, findings, at, judge) }
        })
        .collect()
}

fn outcome(
    case: &Case,
    concession: &Concession,
    findings: &[Finding],
    at: &[usize],
    judge: &Judge,
) -> ConcessionOutcome {
    // Those about the text and about keeping the record itself cannot be accepted.
    let rule = concession.rule.as_ref().and_then(|name| judge.rule(name));
    if rule.is_none_or(|rule| rule.never_conceded) {
        return ConcessionOutcome::Never;
    }
    let (mut covered, mut worse, mut unclear) = (Vec::new(), Vec::new(), Vec::new());
    // What nobody can tell is declared not applicable, and not accepted; what nobody has read is read, but for a doubt
    // about an instrument.
    let missing_too = rule.is_some_and(|rule| rule.conceded_though_missing);
    let may_be = |at: &&usize| match findings[**at].grade {
        Grade::NotJudged => false,
        Grade::Outstanding => missing_too,
        Grade::Nonconformity | Grade::Observation => true,
    };
    if !at.is_empty()
        && !at.iter().any(|at| may_be(&at))
        && at.iter().any(|at| findings[*at].grade == Grade::Outstanding)
    {
        return ConcessionOutcome::Missing;
    }
    for &at in at.iter().filter(may_be) {
        match (&findings[at].found, &concession.accepts) {
            (None, _) => covered.push(at),
            (Some(found), Some(accepts)) => match found.within(&accepts.value.0, accepts.value.1.as_deref()) {
                Ok(true) => covered.push(at),
                Ok(false) => worse.push(at),
                Err(_) => unclear.push(at),
            },
            (Some(_), None) => unclear.push(at),
        }
    }
    let expired = concession.until.is_some_and(|until| until.date < case.today);
    match (covered.is_empty(), worse.is_empty(), unclear.is_empty()) {
        (false, ..) if expired => ConcessionOutcome::Expired(covered),
        (false, ..) => ConcessionOutcome::Covers(covered),
        (true, false, _) => ConcessionOutcome::Worse(worse),
        (true, true, false) => ConcessionOutcome::NoValue(unclear),
        (true, true, true) => ConcessionOutcome::Nothing,
    }
}

/// Marks the findings that concessions cover, and says at those they do not what is accepted there.
pub(super) fn concede(case: &Case, findings: &mut [Finding], judge: &Judge) {
    for Granted { record, concession, outcome } in granted(case, findings, judge) {
        match outcome {
            ConcessionOutcome::Covers(at) => {
                for at in at {
                    findings[at].by_date |= concession.until.is_some();
                    findings[at].conceded = Some(Conceded {
                        place: record.place,
                        by: record.by.as_ref().map_or(String::new(), |by| by.to_string()),
                        reason: concession.reason.as_ref().map_or(String::new(), |reason| reason.to_string()),
                        until: concession.until.map(|until| until.to_string()),
                    });
                }
            }
            // What it accepted comes back with the calendar, not with a record.
            ConcessionOutcome::Expired(at) => {
                for at in at {
                    findings[at].by_date = true;
                    findings[at].ran_out = true;
                }
            }
            ConcessionOutcome::Worse(at) => {
                let (raw, unit) = concession.accepts.as_ref().map_or((String::new(), None), |it| it.value.clone());
                let accepted = unit.map_or(raw.clone(), |unit| format!("({unit}){raw}"));
                for at in at {
                    let label = format!("accepted up to {accepted} only");
                    findings[at].also.push(crate::finding::Label { place: record.place, text: label });
                }
            }
            _ => {}
        }
    }
}
