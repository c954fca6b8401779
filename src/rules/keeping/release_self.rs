//! Nobody releases their own work.

use super::work_of;
use crate::finding::{Finding, Grade, Label, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::seal::release_of;
use crate::ledger::{Body, Given, Name, Record, Target};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("release-self"),
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "An axis is released by somebody who neither fitted nor inspected it, and a release is withdrawn by such a one, unless the rulebook allows it.",
    why: "A second pair of eyes is the last check before the machine runs.",
    limits: &[LimitName::SelfRelease],
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
    never_conceded: true,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some((release, _)) = release_of(case.ledger, index) else { continue };
        let Some(by) = &case.ledger.records[release].by else { continue };
        let Some(mut finding) = own_work(case, index, by) else { continue };
        // The signature is what is at fault; the work stays beside it.
        let work = std::mem::replace(&mut finding.at, Label { place: by.place, text: "released by".into() });
        finding.also.insert(0, work);
        finding.message = format!("`{}` released what they worked on", **by);
        finding.address = axis.name.to_string();
        findings.add(finding);
    }
    for index in 0..case.machine.axes.len() {
        withdrawn_by_workers(case, index).into_iter().for_each(|finding| findings.add(finding));
    }
}

/// Releases of an axis that nobody withdrew but who worked on it.
pub(in crate::rules) fn withdrawn_by_workers(case: &Case, axis: usize) -> Vec<Finding> {
    let records = &case.ledger.records;
    let released = |index: &usize| {
        let record = &records[*index];
        record.target == Some(Target::Axis(axis)) && matches!(record.body, Body::Release(_)) && !record.counts()
    };
    let withdrawn: Vec<usize> = (0..records.len()).filter(released).collect();
    let one = |release: usize| {
        let means = |void: &&Record| match &void.body {
            Body::Void(of) => void.counts() && of.withdraws == Some(release),
            _ => false,
        };
        let by: Vec<&Given<Name>> = records.iter().filter(means).filter_map(|void| void.by.as_ref()).collect();
        let mut own = by.iter().filter_map(|by| Some((*by, own_work(case, axis, by)?)));
        let (first, mut finding) = own.next()?;
        if own.count() + 1 < by.len() {
            return None;
        }
        let work = std::mem::replace(&mut finding.at, Label { place: first.place, text: "withdrawn by".into() });
        finding.also.insert(0, work);
        finding.message = format!("`{}` withdrew the release of what they worked on", **first);
        finding.next =
            "let somebody who neither fitted nor inspected withdraw it as well, by a `void` of their own".into();
        Some(finding)
    };
    withdrawn.into_iter().filter_map(one).collect()
}

/// That somebody worked on an axis, so that another one must release it.
pub(in crate::rules) fn own_work(case: &Case, axis: usize, by: &str) -> Option<Finding> {
    if case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return None;
    }
    let mut work = work_of(case, axis, None, by).into_iter();
    let (did, place) = work.next()?;
    let name = case.machine.axes[axis].name.value.clone();
    let mut finding =
        Finding::new(RULE.name, RULE.grade, name, place, format!("`{by}` worked on what is to be released"))
            .here(did)
            .next("let somebody else check and release it");
    for (did, place) in work {
        finding = finding.also(place, did);
    }
    Some(finding)
}
