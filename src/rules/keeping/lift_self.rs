//! Once an axis was released, nobody lifts a hold on their own work.

use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Record, void_line};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("lift-self"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Once an axis was released, whether its release stands or was withdrawn, a hold on it is lifted, or withdrawn by `void`, by somebody who neither fitted nor read what was held, unless the rulebook allows it. Before the first release anybody may.",
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
    let lifted: Vec<usize> = match &record.body {
        Body::Lift(lift) if lift.leaves_it_there() => case.lifted_by(index).iter().map(|(_, hold)| *hold).collect(),
        // Whoever withdraws a hold lifts it.
        Body::Void(void) => {
            void.withdraws.filter(|of| matches!(case.records[*of].body, Body::Hold(_))).into_iter().collect()
        }
        _ => return Verdict::NotRequired,
    };
    if lifted.is_empty() || case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return Verdict::NotRequired;
    }
    let target = record.target.or(case.records[lifted[0]].target);
    let (Some(target), Some(by), Some(date)) = (target, &record.by, record.date) else {
        return Verdict::NotJudged("nothing says who lifts it, when, or on what");
    };
    if case.first_released(target.axis()).is_none_or(|first| first > date.value) {
        return Verdict::NotRequired;
    }
    let work = case.work_of(target.axis(), target.rail(), by);
    if work.is_empty() {
        return Verdict::Conforms(by.place);
    }
    let how = if matches!(record.body, Body::Void(_)) { "withdraws" } else { "lifts" };
    for hold in lifted {
        // Somebody else withdrew it as well.
        if case.voided_by(hold).iter().any(|(_, by)| case.work_of(target.axis(), target.rail(), by).is_empty()) {
            return Verdict::Conforms(by.place);
        }
        let mut finding = findings
            .finding(record.address(), by.place, format!("`{}` {how} a hold on what they worked on", **by))
            .here("signed by")
            .also(case.records[hold].place, "this hold")
            .next(next(case, record, hold));
        for (did, place) in &work {
            finding = finding.also(*place, *did);
        }
        findings.add(finding);
    }
    Verdict::Broken
}

/// A hold that is lifted is lifted anew by somebody else; one that is withdrawn has nothing left to lift.
fn next(case: &Case, record: &Record, hold: usize) -> String {
    let look = "let somebody else look at it, and";
    if !matches!(record.body, Body::Void(_)) {
        return format!("{look} lift it under their name");
    }
    let of = &case.records[hold];
    let (on, date) = (of.on.as_ref().map_or("…", |on| on.as_str()), of.written.map(|date| date.value));
    format!("{look} withdraw it under their name: {}", void_line(of.kind, on, date))
}
