//! A declaration that answers nothing.

use crate::finding::{Finding, Grade, RuleName};
use crate::rules::coverage::is_expected;
use crate::rules::{Case, Check, Cure, Findings, Judge, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("not-applicable-idle"),
    group: RuleGroup::Keeping,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "What a machine declares not applicable is a rule that could not judge there.",
    why: "Once it can judge, the line only hides that somebody once could not tell.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m {
    not-applicable joint-meeting X date="2026-04-02" by=engineer-1 reason="no carriage: the rails carry a fence"
    axis X { run to=2400; rail a { segment 2400 } }
}
"#,
    right: r#"
machine m {
    not-applicable joint-meeting X date="2026-04-02" by=engineer-1 reason="no carriage: the rails carry a fence"
    axis X { run to=2400; rail a { segment 1200; segment 1200 } }
}
"#,
    never_conceded: true,
    checks: &[Check::Again(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings, judge: &Judge) -> Verdict {
    // A line of the shop stands for every machine below it, so it may answer nothing in one of them.
    let Some(first) = case.machine.not_applicable.first() else { return Verdict::NotRequired };
    if !case.is_sound() {
        return Verdict::Conforms(first.place);
    }
    let known = |name: &str| judge.rule(name).is_some_and(is_expected);
    for declared in case.machine.not_applicable.iter().filter(|declared| known(&declared.rule)) {
        let of_it = |finding: &&Finding| finding.rule.as_str() == declared.rule.as_str();
        let answers = |finding: &Finding| {
            finding.conceded.as_ref().is_some_and(|conceded| conceded.place == declared.place)
                || finding.also.iter().any(|label| label.place == declared.place)
        };
        // What is wrong with the line itself is said already.
        let unfit = |finding: &Finding| {
            let (at, whole) = (finding.at.place, declared.place);
            finding.rule == super::not_applicable_unfit::RULE.name
                && at.source == whole.source
                && (whole.span.start..whole.span.end).contains(&at.span.start)
        };
        if !findings.all.iter().any(unfit) && !findings.all.iter().filter(of_it).any(answers) {
            let on = declared.on.as_ref().map_or("", |on| on.as_str());
            let message = format!("`{}` can judge all of {on}, so the declaration answers nothing", *declared.rule);
            let finding = findings.finding(on, declared.place, message).here("declared so");
            findings.add(finding.next("take the line out"));
        }
    }
    Verdict::Conforms(first.place)
}
