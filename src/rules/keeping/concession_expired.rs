//! A concession that has run out covers nothing any more.

use crate::finding::{Grade, MeasuredValue, RuleName};
use crate::language::rulebook::LimitName;
use crate::rules::concede::{ConcessionOutcome, granted};
use crate::rules::{Case, Check, Cure, Findings, Ground, Judge, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("concession-expired"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "No finding is accepted by a concession whose last day is over. One that runs out soon is an observation.",
    why: "What was accepted until a day was accepted because it would be put right by then.",
    limits: &[LimitName::DueSoon],
    source: "ISO 9000: a concession is generally limited in time",
    wrong: r#"
machine m {
    axis X { run to=2400; rail a { segment 1200; segment 1190 } }
}
concession run-length X.a date="2026-04-18" by=engineer-1 accepts=10 until="2026-06-30" reason="end piece ordered"
"#,
    right: r#"
machine m {
    axis X { run to=2400; rail a { segment 1200; segment 1190 } }
}
concession run-length X.a date="2026-04-18" by=engineer-1 accepts=10 until="2027-06-30" reason="end piece ordered"
"#,
    follows_from: &[Ground::Records],
    never_conceded: true,
    checks: &[Check::Again(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings, judge: &Judge) -> Verdict {
    let soon = case.rulebook.most_count(LimitName::DueSoon);
    let mut verdict = Verdict::NotRequired;
    for granted in granted(case, &findings.all, judge) {
        let Some(until) = granted.concession.until else { continue };
        if verdict == Verdict::NotRequired {
            verdict = Verdict::Conforms(until.place);
        }
        let address = granted.record.address();
        match granted.outcome {
            ConcessionOutcome::Expired(covered) => {
                verdict = Verdict::Broken;
                let first = &findings.all[covered[0]];
                findings.add(
                    findings
                        .finding(
                            address,
                            until.place,
                            format!("the concession for `{}` ran out on {}", first.rule, until.date),
                        )
                        .here("its last day")
                        .also(first.at.place, "no longer accepted")
                        .next("put it right, or have it accepted anew with a new date and reason")
                        .by_date(),
                );
            }
            ConcessionOutcome::Covers(covered) => {
                let days = (until.date - case.today).get_days();
                let Some((most, limit)) = soon.filter(|(most, _)| i64::from(days) <= *most) else { continue };
                let first = &findings.all[covered[0]];
                let mut finding = findings
                    .finding(
                        address,
                        until.place,
                        format!(
                            "the concession for `{}` runs out on {}, in {}",
                            first.rule,
                            until.date,
                            MeasuredValue::Days(days.into())
                        ),
                    )
                    .here("its last day")
                    .also(first.at.place, "accepted until then")
                    .limit(crate::finding::Limit { text: format!("said {most} days ahead"), ..limit.words() })
                    .next("put it right by then, or ask for another concession")
                    .by_date();
                finding.grade = Grade::Observation;
                findings.add(finding);
            }
            _ => {}
        }
    }
    verdict
}
