//! Nobody accepts the faults of their own work.

use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Body;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("concession-self"),
    group: RuleGroup::Keeping,
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
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Concession(_) = &record.body else { return Verdict::NotRequired };
    if case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return Verdict::NotRequired;
    }
    let (Some(target), Some(by)) = (record.target, &record.by) else {
        return Verdict::NotJudged("nothing says who grants it, or on what");
    };
    let work = case.work_of(target.axis(), target.rail(), by);
    if work.is_empty() {
        return Verdict::Conforms(by.place);
    }
    let mut finding = findings
        .finding(record.address(), by.place, format!("`{}` accepts what they worked on", **by))
        .here("granted by")
        .next("let somebody else judge it, and grant the concession under their name");
    for (did, place) in work {
        finding = finding.also(place, did);
    }
    findings.add(finding);
    Verdict::Broken
}
