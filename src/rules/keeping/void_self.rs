//! Who read it does not take a bad reading back, nor who loosened a support that it was loose.

use std::collections::BTreeMap;

use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::{Body, Record, same_person};
use crate::rules::{About, Case, Check, Cure, Findings, Ground, Judge, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("void-self"),
    group: RuleGroup::Keeping,
    grade: Grade::Outstanding,
    cure: Cure::Writing,
    what: "Where who made a reading that broke a limit withdraws or corrects it, no other reading of that time counts in its place: what was read is open until it is read again, or until somebody else withdraws the reading. So it is where who loosened or shimmed a support, or found a bolt turned, withdraws that: what was read before is open.",
    why: "Otherwise the bad reading is struck out, an older good one comes back, and nobody looked again.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J1 date="2026-04-16" by=inspector-1 { light none; UL 0 -> 0.05; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
void inspect X.a.J1 of="2026-04-16" date="2026-04-17" by=inspector-1 reason="read on the wrong joint"
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J1 date="2026-04-16" by=inspector-1 { light none; UL 0 -> 0.05; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
void inspect X.a.J1 of="2026-04-16" date="2026-04-17" by=engineer-1 reason="read on the wrong joint"
"#,
    follows_from: &[Ground::Records],
    never_conceded: true,
    checks: &[Check::Again(check)],
    ..Rule::PLAIN
};

/// Of one subject so many withdrawn readings are judged one by one; with more, all are taken to have broken something.
const MOST_JUDGED: usize = 8;

fn check(case: &Case, findings: &mut Findings, judge: &Judge) -> Verdict {
    let mut of_subject: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    let withdrawn = withdrawn_by_their_author(case);
    let Some(first) = withdrawn.first() else { return Verdict::NotRequired };
    for &index in &withdrawn {
        let record = &case.ledger.records[index];
        of_subject.entry((record.kind, on(record))).or_default().push(index);
    }
    // Each is put back alone among those of its subject: a later one must not hide what it showed.
    let rounds = of_subject.values().map(Vec::len).max().unwrap_or(0).min(MOST_JUDGED);
    for round in 0..rounds {
        let back: Vec<usize> = of_subject.values().filter_map(|all| all.get(round).copied()).collect();
        let ledger = case.ledger.with_put_back(&back);
        let judged = (judge.found)(&Case::new(&ledger, case.today));
        for index in back {
            let whole = ledger.records[index].whole;
            let undid = undid(&ledger.records[index]);
            let mut showed = judged.iter().filter(|finding| {
                let broke = finding.at.place.lies_in(whole) && finding.grade == Grade::Nonconformity;
                let left_open = || {
                    let open = matches!(finding.grade, Grade::Nonconformity | Grade::Outstanding);
                    undid && open && finding.places().any(|place| place.lies_in(whole))
                };
                (broke || left_open()) && finding.conceded.is_none() && is_of_what_was_read(judge, finding)
            });
            // What is open there anyway is said already.
            let told = |showed: &&Finding| is_open(findings, judge, &showed.address, Some(showed));
            if let Some(showed) = showed.find(|showed| !told(showed)) {
                report(case, findings, index, &showed.address, Some(showed));
            }
        }
    }
    for index in of_subject.values().flat_map(|all| all.iter().skip(MOST_JUDGED)) {
        let record = &case.ledger.records[*index];
        if !is_open(findings, judge, on(record), None) {
            report(case, findings, *index, on(record), None);
        }
    }
    Verdict::Conforms(case.records[*first].place)
}

fn on(record: &Record) -> &str {
    record.address()
}

/// Whether a record says that something was loose, so that what was read there before is to be read again.
fn undid(record: &Record) -> bool {
    match &record.body {
        Body::Loosen(_) | Body::Shim(_) => true,
        Body::Fasten(fasten) => !fasten.turned.is_empty() || !fasten.missed.is_empty(),
        _ => false,
    }
}

/// The readings, and the work that undid some, that only their own author withdrew or corrected.
fn withdrawn_by_their_author(case: &Case) -> Vec<usize> {
    let records = &case.ledger.records;
    let mut authors: BTreeMap<usize, Vec<&str>> = BTreeMap::new();
    for void in records.iter().filter(|record| record.counts()) {
        if let Body::Void(of) = &void.body
            && let Some(withdrawn) = of.withdraws
        {
            authors.entry(withdrawn).or_default().push(void.by.as_ref().map_or("", |by| by.as_str()));
        }
    }
    for index in 0..records.len() {
        if let Some(correction) = case.ledger.corrected_by(index) {
            authors.entry(index).or_default().push(records[correction].by.as_ref().map_or("", |by| by.as_str()));
        }
    }
    let own = |(index, by): (usize, Vec<&str>)| {
        let record = &records[index];
        let read = matches!(record.body, Body::Fasten(_) | Body::Inspect(_) | Body::Survey(_) | Body::RunningForce(_));
        let read = read || undid(record);
        let author = record.by.as_ref().map_or("", |by| by.as_str());
        (read && by.iter().all(|by| same_person(by, author))).then_some(index)
    };
    authors.into_iter().filter_map(own).collect()
}

/// Whether a finding is about what a reading says, not about how it was taken.
fn is_of_what_was_read(judge: &Judge, finding: &Finding) -> bool {
    let rule = judge.rule(finding.rule.as_str());
    rule.is_some_and(|rule| {
        matches!(rule.group, RuleGroup::Fitting | RuleGroup::Inspection | RuleGroup::Gap) && rule.about != About::Taking
    })
}

/// Whether something of that kind is open at an address anyway.
fn is_open(findings: &Findings, judge: &Judge, address: &str, showed: Option<&Finding>) -> bool {
    let group = |finding: &Finding| judge.rule(finding.rule.as_str()).map(|rule| rule.group);
    let open = |finding: &&Finding| finding.address == address && finding.grade != Grade::Observation;
    // How another reading was taken says nothing of what this one showed.
    let taking = |finding: &&Finding| judge.rule(finding.rule.as_str()).is_some_and(|it| it.about == About::Taking);
    let mut open = findings.all.iter().filter(open).filter(|it| it.conceded.is_none() && !taking(it));
    open.any(|finding| showed.is_none_or(|showed| group(showed) == group(finding)))
}

fn report(case: &Case, findings: &mut Findings, index: usize, address: &str, showed: Option<&Finding>) {
    let records = &case.ledger.records;
    let record = &records[index];
    let Some(void) = record.void.map(|void| &records[void]) else { return };
    // Tightening again cures no bolt that was over its torque.
    let cure = match (&record.body, showed) {
        (Body::Fasten(_), Some(showed)) => showed.next.clone(),
        _ => "read it again".into(),
    };
    let showed = showed.map_or("what it showed is not judged among so many", |showed| &showed.message);
    let by = record.by.as_ref().map_or("", |by| by.as_str());
    let day = record.date.map_or(String::new(), |date| format!(" of {}", *date));
    let kind = record.kind;
    let which = if undid(record) { "by which" } else { "which showed" };
    let (did, here) = match case.ledger.corrected_by(index) {
        None if undid(record) => ("withdrew", "withdrawn by who did it"),
        None => ("withdrew", "withdrawn by who read it"),
        Some(_) => ("corrected", "does not read it again"),
    };
    findings.add(
        Finding::new(
            RULE.name,
            RULE.grade,
            address,
            void.place,
            format!("`{by}` {did} their own `{kind}`{day}, {which}: {showed}"),
        )
        .here(here)
        .also(record.place, if undid(record) { "the work" } else { "the reading" })
        .next(format!("{cure}; or let somebody else judge the record and withdraw it under their name")),
    );
}
