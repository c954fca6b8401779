//! Nobody releases their own work.

use super::work_of;
use crate::finding::Grade;
use crate::rules::{Case, Check, Findings, Group, Rule};
use crate::seal::release_of;

pub static RULE: Rule = Rule {
    name: "release-self",
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    what: "An axis is released by somebody who neither fitted nor inspected it, unless the rulebook allows it.",
    why: "A second pair of eyes is the last check before the machine runs.",
    limits: &["self-release"],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
release X date="2026-04-20" by=fitter-2
"#,
    right: r#"
machine m { axis X { rail a { support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
release X date="2026-04-20" by=engineer-1
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    if case.rulebook.choice("self-release") == "allowed" {
        return;
    }
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some((release, _)) = release_of(case.ledger, index) else { continue };
        let Some(by) = &case.ledger.records[release].by else { continue };
        let work = work_of(case, index, None, by);
        if work.is_empty() {
            continue;
        }
        let mut finding = findings
            .finding(axis.name.value.clone(), by.place, format!("`{}` released what they worked on", **by))
            .here("released by")
            .next("let somebody else check and release it");
        for (did, place) in work {
            finding = finding.also(place, did);
        }
        findings.add(finding);
    }
}
