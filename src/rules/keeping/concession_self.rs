//! Nobody accepts the faults of their own work.

use super::work_of;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Body;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("concession-self"),
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A concession is granted by somebody who neither fitted nor read what it is about, unless the rulebook allows it.",
    why: "Who did the work is the last one to see what is wrong with it.",
    limits: &[LimitName::SelfRelease],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { run to=2400; rail a { segment 1200; segment 1190; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
concession run-length X.a date="2026-04-18" by=fitter-2 accepts=10 reason="end piece ordered"
"#,
    right: r#"
machine m { axis X { run to=2400; rail a { segment 1200; segment 1190; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
concession run-length X.a date="2026-04-18" by=engineer-1 accepts=10 reason="end piece ordered"
"#,
    never_conceded: true,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    if case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return;
    }
    for (_, record) in case.in_order() {
        let (Body::Concession(_), Some(target), Some(by)) = (&record.body, record.target, &record.by) else { continue };
        let work = work_of(case, target.axis(), target.rail(), by);
        if work.is_empty() {
            continue;
        }
        let mut finding = findings
            .finding(
                record.on.as_ref().map_or(String::new(), |on| on.to_string()),
                by.place,
                format!("`{}` accepts what they worked on", **by),
            )
            .here("granted by")
            .next("let somebody else judge it, and grant the concession under their name");
        for (did, place) in work {
            finding = finding.also(place, did);
        }
        findings.add(finding);
    }
}
