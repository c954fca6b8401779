//! A record names the instrument it was made with.

use std::collections::BTreeMap;

use crate::finding::{Grade, RuleName};
use crate::ledger::{Body, Name, RailId, Record, Spanned};
use crate::rules::flaws::Flaw;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("instrument-missing"),
    group: RuleGroup::Fitting,
    grade: Grade::Outstanding,
    cure: Cure::Writing,
    what: "Each record names what it was made with: a wrench where bolts were tightened, a gauge where grooves, stations or forces were read. Light needs none. A record without it does not count: it makes nothing conform, a break it shows stays one, and it is history once a later record that counts covers the same.",
    why: "Without its instrument nobody can say whether it was calibrated, fine enough and used in its range, nor which readings are in doubt when it turns out wrong.",
    limits: &[],
    source: "ISO 9001, 7.1.5: results rest on instruments that are identified and traceable",
    wrong: r#"
shop { wrench TW-2 kind=setting least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { rail a { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
"#,
    right: r#"
shop { wrench TW-2 kind=setting least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { rail a { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 }
"#,
    checks: &[Check::Axes(axis), Check::Rails(rail)],
    ..Rule::PLAIN
};

/// A record that should name an instrument and does not. One whose text is at fault may have named it.
pub(in crate::rules) fn unnamed(record: &Record) -> bool {
    named(record).is_none() && !record.damaged
}

/// The instrument that a record names.
fn named(record: &Record) -> Option<&Spanned<Name>> {
    match &record.body {
        Body::Fasten(fasten) => fasten.wrench.as_ref(),
        _ => record.gauge(),
    }
}

fn axis(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let address = || case.machine.axes[axis].name.to_string();
    judge(case, findings, case.measured(axis, None), address)
}

fn rail(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    judge(case, findings, case.measured(id.axis, Some(id)), || case.machine.rail_address(id))
}

/// The records of one axis or rail.
fn judge(
    case: &Case,
    findings: &mut Findings,
    records: impl Iterator<Item = usize>,
    address: impl Fn() -> String,
) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    // One finding for the records of a kind.
    let mut unnamed: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for index in records {
        let record = &case.ledger.records[index];
        if case.wanting(index, Flaw::Unnamed) {
            unnamed.entry(record.kind).or_default().push(index);
        } else if let Some(name) = named(record) {
            verdict = Verdict::Conforms(name.place);
        }
    }
    for (kind, records) in unnamed {
        report(case, findings, address(), kind, &records);
    }
    verdict
}

fn report(case: &Case, findings: &mut Findings, address: String, kind: &str, records: &[usize]) {
    let (Some(&first), Some(&last)) = (records.first(), records.last()) else { return };
    let (what, example) = match kind {
        "fasten" => ("wrench", "wrench=… for what the bolts were tightened with"),
        _ => ("gauge", "gauge=… for what it was read with"),
    };
    let (many, names) = match records.len() {
        1 => (format!("1 {kind} record"), "names"),
        n => (format!("{n} {kind} records"), "name"),
    };
    let message = format!("{many} of {address} {names} no {what}, and so cannot count");
    let mut finding = findings
        .finding(address, case.ledger.records[first].place, message)
        .here(format!("no {what}"))
        .next(format!("add {example}; where nobody knows it any more, {} again and name it", again(kind)));
    if last != first {
        finding = finding.also(case.ledger.records[last].place, "the last such record");
    }
    findings.add(finding);
}

fn again(kind: &str) -> &'static str {
    if kind == "fasten" { "tighten" } else { "read" }
}
