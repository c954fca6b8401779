//! A record names the instrument it was made with.

use std::collections::BTreeMap;

use crate::finding::Grade;
use crate::ledger::{Body, RailId, Record, Target};
use crate::rules::evidence::Flaw;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "instrument-missing",
    group: Group::Fitting,
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
    check: Check::Ledger(check),
};

/// A record that should name an instrument and does not. One whose text is at fault may have named it.
pub(in crate::rules) fn unnamed(record: &Record) -> bool {
    let named = match &record.body {
        Body::Fasten(fasten) => fasten.wrench.is_some(),
        _ => record.gauge().is_some(),
    };
    !named && !record.damaged
}

fn check(case: &Case, findings: &mut Findings) {
    // One finding for the records of a kind on a rail, or on an axis.
    let mut groups: BTreeMap<(usize, Option<RailId>, &str), Vec<usize>> = BTreeMap::new();
    for index in case.wanting(Flaw::Unnamed) {
        let record = &case.ledger.records[index];
        let axis = match (record.target, record.rail()) {
            (_, Some(id)) => id.axis,
            (Some(Target::Axis(axis)), None) => axis,
            _ => continue,
        };
        groups.entry((axis, record.rail(), record.kind)).or_default().push(index);
    }
    for ((axis, rail, kind), records) in groups {
        let (Some(&first), Some(&last)) = (records.first(), records.last()) else { continue };
        let address = match rail {
            Some(id) => case.machine.rail_address(id),
            None => case.machine.axes[axis].name.to_string(),
        };
        let (what, example) = match kind {
            "fasten" => ("wrench", "wrench=… for what the bolts were tightened with"),
            _ => ("gauge", "gauge=… for what it was read with"),
        };
        let (many, names) = match records.len() {
            1 => (format!("1 {kind} record"), "names"),
            n => (format!("{n} {kind} records"), "name"),
        };
        let mut finding = findings
            .finding(
                address.clone(),
                case.ledger.records[first].place,
                format!("{many} of {address} {names} no {what}, and so cannot count"),
            )
            .here(format!("no {what}"))
            .next(format!("add {example}; where nobody knows it any more, {} again and name it", again(kind)));
        if last != first {
            finding = finding.also(case.ledger.records[last].place, "the last such record");
        }
        findings.add(finding);
    }
}

fn again(kind: &str) -> &'static str {
    if kind == "fasten" { "tighten" } else { "read" }
}
