//! A concession says why.

use crate::finding::{Grade, RuleName};
use crate::ledger::Body;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("concession-unreasoned"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every concession gives its reason in words.",
    why: "Who meets the fault again must be able to tell whether the reason still holds.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { run to=2400; rail a { segment 1200; segment 1190 } }
}
concession run-length X.a date="2026-04-18" by=engineer-1 accepts=10 reason="ok"
"#,
    right: r#"
machine m {
    axis X { run to=2400; rail a { segment 1200; segment 1190 } }
}
concession run-length X.a date="2026-04-18" by=engineer-1 accepts=10 reason="end piece ordered"
"#,
    never_conceded: true,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Concession(concession) = &record.body else { return Verdict::NotRequired };
    let (place, here) = match &concession.reason {
        Some(reason) if words(reason) >= 2 => return Verdict::Conforms(reason.place),
        Some(reason) => (reason.place, "says nothing"),
        None => (record.place, "no reason"),
    };
    findings.add(
        findings
            .finding(record.address(), place, "the concession does not say why")
            .here(here)
            .next("say in a few words why it is acceptable: reason=\"…\""),
    );
    Verdict::Broken
}

/// How many words a reason has.
pub(super) fn words(reason: &str) -> usize {
    reason.split_whitespace().filter(|word| word.chars().any(char::is_alphabetic)).count()
}
