//! A released axis has nothing outstanding.

use crate::finding::{Finding, Grade, Measure};
use crate::rules::case::within;
use crate::rules::{Case, Check, Findings, Group, Rule};
use crate::seal::release_of;

pub static RULE: Rule = Rule {
    name: "release-incomplete",
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    what: "Once an axis is released, nothing about it is outstanding: neither left open then nor come open since.",
    why: "Who runs a released machine takes it that everything was done and shown.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 600; support S1 at=240; support S2 at=480 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
release X date="2026-04-20" by=engineer-1
"#,
    right: r#"
shop { wrench TW-2 kind=clicking least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { rail a { segment 600; support S1 at=240; support S2 at=480 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 S2 }
release X date="2026-04-20" by=engineer-1
"#,
    check: Check::Afterwards(check),
};

/// More places than this are counted and not shown.
const MOST_SHOWN: usize = 6;

fn check(case: &Case, findings: &mut Findings) {
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some((release, _)) = release_of(case.ledger, index) else { continue };
        let open: Vec<&Finding> = findings
            .all
            .iter()
            .filter(|finding| finding.grade == Grade::Outstanding && finding.conceded.is_none())
            .filter(|finding| within(&finding.address, &axis.name))
            .collect();
        if open.is_empty() {
            continue;
        }
        let items = if open.len() == 1 { "1 item is".to_string() } else { format!("{} items are", open.len()) };
        let mut finding = findings
            .finding(
                axis.name.value.clone(),
                case.ledger.records[release].place,
                format!("{} is released, and {items} outstanding", *axis.name),
            )
            .here("released")
            .found(Measure::too_large(open.len()))
            .next(format!("do and record what is outstanding; until then {} must not be used as released", *axis.name));
        for other in open.iter().take(MOST_SHOWN) {
            finding = finding.also(other.at.place, format!("{} {}", other.rule, other.address));
        }
        finding.by_date = open.iter().any(|other| other.by_date);
        findings.add(finding);
    }
}
