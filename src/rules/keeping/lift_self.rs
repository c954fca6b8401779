//! Once an axis was released, nobody lifts a hold on their own work.

use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Body;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("lift-self"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Once an axis was released, whether its release stands or was withdrawn, a hold on it is lifted by somebody who neither fitted nor read what was held, unless the rulebook allows it. Before the first release anybody may.",
    why: "Before the first release somebody else looks at the whole. After it, the lift is the last look.",
    limits: &[LimitName::SelfRelease],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { support S1 at=240 } } }
release X date="2026-04-20" by=engineer-1
hold X.a date="2026-05-02" by=fitter-2 reason="S1 was found loose"
fasten X.a date="2026-05-03" by=fitter-2 stage=full setting=10.5 { clicked S1 }
lift X.a date="2026-05-03" by=fitter-2 disposition=rework reason="tightened anew"
"#,
    right: r#"
machine m { axis X { rail a { support S1 at=240 } } }
release X date="2026-04-20" by=engineer-1
hold X.a date="2026-05-02" by=fitter-2 reason="S1 was found loose"
fasten X.a date="2026-05-03" by=fitter-2 stage=full setting=10.5 { clicked S1 }
lift X.a date="2026-05-03" by=inspector-1 disposition=rework reason="tightened anew"
"#,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Lift(_) = &record.body else { return Verdict::NotRequired };
    let lifted = case.lifted_by(index);
    if lifted.is_empty() || case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return Verdict::NotRequired;
    }
    let (Some(target), Some(by), Some(date)) = (record.target, &record.by, record.date) else {
        return Verdict::NotJudged("nothing says who lifts it, when, or on what");
    };
    if case.first_released(target.axis()).is_none_or(|first| first > date.value) {
        return Verdict::NotRequired;
    }
    let work = case.work_of(target.axis(), target.rail(), by);
    if work.is_empty() {
        return Verdict::Conforms(by.place);
    }
    for (_, hold) in lifted {
        let mut finding = findings
            .finding(
                record.on.as_ref().map_or(String::new(), |on| on.to_string()),
                by.place,
                format!("`{}` lifts a hold on what they worked on", **by),
            )
            .here("lifted by")
            .also(case.records[*hold].place, "this hold")
            .next("let somebody else look at it, and lift it under their name");
        for (did, place) in &work {
            finding = finding.also(*place, *did);
        }
        findings.add(finding);
    }
    Verdict::Broken
}
