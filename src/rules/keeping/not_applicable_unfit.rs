//! What is declared not to apply can be declared so, and is not shown to be broken.

use super::concession_unreasoned::words;
use crate::finding::{Finding, Grade, RuleName, within};
use crate::language::rulebook::LimitName;
use crate::language::schema::nearest;
use crate::ledger::{NotApplicable, Target};
use crate::rules::coverage::is_expected;
use crate::rules::{Case, Check, Cure, Findings, Judge, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("not-applicable-unfit"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "What is declared not applicable is a rule of the layout, the fitting, the inspection or the gap, at an address that there is, with a reason in words, by somebody who did not work there; and the rule finds nothing broken there.",
    why: "A declaration is the one way past `not judged`. What can be judged and is broken is no matter of applying.",
    limits: &[LimitName::SelfRelease],
    source: "common practice, no source",
    wrong: r#"
machine m {
    not-applicable run-length X date="2026-04-02" by=engineer-1 reason="the run was never agreed"
    axis X { run to=2400; rail a { segment 1200; segment 1190 } }
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
    let ledger = case.ledger;
    let all: Vec<&NotApplicable> = ledger.machine.not_applicable.iter().chain(&ledger.shop.not_applicable).collect();
    let Some(first) = all.first() else { return Verdict::NotRequired };
    for declared in &all {
        if let Some(finding) = unfit(case, findings, judge, declared) {
            findings.add(finding);
        }
    }
    Verdict::Conforms(first.place)
}

/// What is wrong with a declaration, the plainest first.
fn unfit(case: &Case, findings: &Findings, judge: &Judge, declared: &NotApplicable) -> Option<Finding> {
    let name = declared.rule.as_str();
    let on = declared.on.as_ref().map_or("", |on| on.as_str());
    let at = |place, message: String| findings.finding(on, place, message);
    let Some(rule) = judge.rule(name) else {
        let finding = at(declared.rule.place, format!("there is no rule `{name}`")).here("no rule");
        return Some(match nearest(name, judge.rules().map(|rule| rule.name.as_str())) {
            Some(near) => finding.next(format!("did you mean `{near}`?")),
            None => finding.next("`wayledger rules` lists them"),
        });
    };
    if !is_expected(rule) {
        let message = format!("`{name}` judges the text or the record itself, which always applies");
        return Some(
            at(declared.rule.place, message)
                .here("cannot be declared so")
                .next("take the line out, and mend what it finds"),
        );
    }
    if let Some(address) = &declared.on
        && Target::find(&case.machine, address).is_err()
    {
        let message = format!("there is nothing at `{}`", **address);
        let finding = at(address.place, message).here("not described");
        let mut known: Vec<String> = case.machine.axes.iter().map(|axis| axis.name.to_string()).collect();
        known.extend(case.rails().map(|(id, ..)| case.machine.rail_address(id)));
        return Some(match nearest(address, known.iter().map(String::as_str)) {
            Some(near) => finding.next(format!("did you mean `{near}`?")),
            None => finding.next("name the axis or the part, as X or X.port"),
        });
    }
    if let Some(reason) = &declared.reason
        && words(reason) < 2
    {
        let message = format!("nothing says why `{name}` does not apply");
        return Some(at(reason.place, message).here("says nothing").next("say it in a few words: reason=\"…\""));
    }
    let broken = findings.all.iter().find(|finding| {
        finding.rule == rule.name
            && finding.grade == Grade::Nonconformity
            && (on.is_empty() || within(&finding.address, on))
    });
    if let Some(broken) = broken {
        let message = format!("`{name}` is declared not applicable, and it is broken at {}", broken.address);
        return Some(
            at(declared.place, message)
                .here("declared so")
                .also(broken.at.place, broken.message.clone())
                .next("take the line out; what was found stands, and is mended or accepted by a concession"),
        );
    }
    own_work(case, findings, declared)
}

/// Who worked on an axis does not declare what need not be judged there.
fn own_work(case: &Case, findings: &Findings, declared: &NotApplicable) -> Option<Finding> {
    let by = declared.by.as_ref()?;
    if case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return None;
    }
    let axes = case.machine.axes.iter().enumerate();
    let mut about =
        axes.filter(|(_, axis)| declared.on.as_ref().is_none_or(|on| on.split('.').next() == Some(axis.name.as_str())));
    let (did, place) = about.find_map(|(axis, _)| case.work_of(axis, None, by).first().copied())?;
    let on = declared.on.as_ref().map_or("", |on| on.as_str());
    let message = format!("`{}` declares `{}` not applicable to their own work", **by, *declared.rule);
    let finding = findings.finding(on, by.place, message).here("declared by").also(place, did);
    Some(finding.next("let somebody else look at it, and declare it under their name"))
}
