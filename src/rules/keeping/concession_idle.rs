//! A concession that accepts nothing is taken out of use.

use crate::finding::{Grade, RuleName};
use crate::language::schema::nearest;
use crate::ledger::void_line;
use crate::rules::concede::{ConcessionOutcome, granted};
use crate::rules::{Case, Check, Cure, Findings, Judge, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("concession-idle"),
    group: RuleGroup::Keeping,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Every concession in force accepts something that is found: its rule exists and can be accepted, and finds fault at its address with a number it can be compared with. Judged only where the text about that place is sound.",
    why: "A concession left over from something that was cured would silently accept the same fault when it comes back.",
    limits: &[],
    source: "our own choice",
    wrong: r#"
machine m {
    axis X { run to=2400; rail a { segment 1200; segment 1200 } }
}
concession run-length X.a date="2026-04-18" by=engineer-1 accepts=10 reason="end piece ordered"
"#,
    right: r#"
machine m {
    axis X { run to=2400; rail a { segment 1200; segment 1190 } }
}
concession run-length X.a date="2026-04-18" by=engineer-1 accepts=10 reason="end piece ordered"
"#,
    never_conceded: true,
    checks: &[Check::Again(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings, judge: &Judge) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    for granted in granted(case, &findings.all, judge) {
        let (Some(rule), Some(on)) = (&granted.concession.rule, &granted.record.on) else { continue };
        if verdict == Verdict::NotRequired {
            verdict = Verdict::Conforms(granted.record.place);
        }
        // Over: it accepts nothing more, and that is as it should be.
        let over = granted.concession.until.is_some_and(|until| until.date < case.today);
        let moment = granted.record.date.map(|date| date.value);
        let start =
            |message: String| findings.finding(on.value.clone(), granted.record.place, message).here("this concession");
        let finding = match granted.outcome {
            ConcessionOutcome::Nothing if !over && !case.is_damaged(on) => {
                start(format!("nothing of `{}` is found at {}", **rule, **on))
                    .next(format!("what it accepted is cured: {}", void_line(granted.record.kind, on, moment)))
            }
            ConcessionOutcome::NoValue(at) => {
                let found = &findings.all[at[0]];
                let number = found.found.map_or(String::new(), |found| found.number());
                let said = match granted.concession.accepts {
                    Some(_) => "accepts a value of another unit",
                    None => "does not say up to which value it holds",
                };
                start(format!("the concession for `{}` {said}, and accepts nothing", **rule))
                    .also(found.at.place, "what was found")
                    .next(format!("say accepts={number}"))
            }
            ConcessionOutcome::Missing => {
                start(format!("`{}` asks for what is missing, and no concession stands for a reading", **rule)).next(
                    format!(
                        "do what it asks for; this line accepts nothing: {}",
                        void_line(granted.record.kind, on, moment)
                    ),
                )
            }
            ConcessionOutcome::Never if judge.rule(rule).is_some() => {
                start(format!("a finding of `{}` cannot be accepted by a concession", **rule))
                    .next("put right what it found")
            }
            ConcessionOutcome::Never => {
                let near = nearest(rule, judge.rules().map(|known| known.name.as_str()));
                start(format!("there is no rule `{}`", **rule)).next(match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "`wayledger rules` lists them all".into(),
                })
            }
            _ => continue,
        };
        findings.add(finding);
    }
    verdict
}
