//! Nobody releases their own work.

use crate::finding::{Finding, Grade, Label, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::seal::release_of;
use crate::ledger::{Body, Name, Spanned, Target};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("release-self"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "An axis is released by somebody who neither fitted nor inspected it, and a release is withdrawn, or put back by the void of its void, by such a one, unless the rulebook allows it.",
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
    never_stands: true,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    if case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return Verdict::NotRequired;
    }
    let mut verdict = match release_of(case.ledger, axis) {
        Some((release, _)) => match &case.records[release].by {
            Some(by) => released_by(case, axis, by, findings),
            None => Verdict::NotJudged("nothing says who released it"),
        },
        None => Verdict::NotRequired,
    };
    for signatures in withdrawals(case, axis) {
        if let (Verdict::NotRequired, [first, ..]) = (verdict, &signatures[..]) {
            verdict = Verdict::Conforms(first.place);
        }
        if let Some(finding) = withdrawn_by_workers(case, axis, &signatures) {
            findings.add(finding);
        }
    }
    for signatures in put_back(case, axis) {
        if let Some(mut finding) = workers_alone(case, axis, &signatures, "put back by") {
            finding.message = format!("`{}` put back the withdrawn release of what they worked on", **signatures[0]);
            finding.next = "let somebody who neither fitted nor inspected put it back as well, by a `void` of their own; or release the axis anew".into();
            findings.add(finding);
        }
    }
    verdict
}

fn released_by(case: &Case, axis: usize, by: &Spanned<Name>, findings: &mut Findings) -> Verdict {
    let Some(mut finding) = own_work(case, axis, by) else { return Verdict::Conforms(by.place) };
    // The signature is what is at fault; the work stays beside it.
    let work = std::mem::replace(&mut finding.at, Label { place: by.place, text: "released by".into() });
    finding.also.insert(0, work);
    finding.message = format!("`{}` released what they worked on", **by);
    findings.add(finding);
    Verdict::Broken
}

/// What stands in the way of releasing an axis anew: that only who worked on it withdrew an earlier release.
pub(in crate::rules) fn withdrawn(case: &Case, axis: usize) -> Vec<Finding> {
    withdrawals(case, axis).iter().filter_map(|signatures| withdrawn_by_workers(case, axis, signatures)).collect()
}

/// For each release of an axis that was withdrawn, who withdrew it.
fn withdrawals<'l>(case: &Case<'l>, axis: usize) -> Vec<Vec<&'l Spanned<Name>>> {
    let records = &case.ledger.records;
    let released = |index: &usize| {
        let record = &records[*index];
        record.target == Some(Target::Axis(axis)) && matches!(record.body, Body::Release(_)) && !record.counts()
    };
    (0..records.len()).filter(released).map(|release| signatures(case, release)).collect()
}

/// For each void of a release of an axis that was withdrawn itself, so that the release counts again, who did that.
fn put_back<'l>(case: &Case<'l>, axis: usize) -> Vec<Vec<&'l Spanned<Name>>> {
    let records = &case.ledger.records;
    let means = |void: &usize| match &records[*void].body {
        Body::Void(of) => of.withdraws.is_some_and(|of| {
            let release = &records[of];
            release.target == Some(Target::Axis(axis)) && matches!(release.body, Body::Release(_)) && release.counts()
        }),
        _ => false,
    };
    let by: Vec<Vec<_>> = (0..records.len()).filter(means).map(|void| signatures(case, void)).collect();
    by.into_iter().filter(|by| !by.is_empty()).collect()
}

/// Who withdrew a record.
fn signatures<'l>(case: &Case<'l>, record: usize) -> Vec<&'l Spanned<Name>> {
    case.voided_by(record).iter().map(|(_, by)| *by).collect()
}

/// Nobody withdrew a release but who worked on the axis.
fn withdrawn_by_workers(case: &Case, axis: usize, signatures: &[&Spanned<Name>]) -> Option<Finding> {
    let mut finding = workers_alone(case, axis, signatures, "withdrawn by")?;
    finding.message = format!("`{}` withdrew the release of what they worked on", **signatures[0]);
    finding.next = "let somebody who neither fitted nor inspected withdraw it as well, by a `void` of their own".into();
    Some(finding)
}

/// All who signed worked on the axis: what the first did there, shown beside the signature.
fn workers_alone(case: &Case, axis: usize, signatures: &[&Spanned<Name>], signed: &'static str) -> Option<Finding> {
    let mut own = signatures.iter().filter_map(|by| Some((*by, own_work(case, axis, by)?)));
    let (first, mut finding) = own.next()?;
    if own.count() + 1 < signatures.len() {
        return None;
    }
    let work = std::mem::replace(&mut finding.at, Label { place: first.place, text: signed.into() });
    finding.also.insert(0, work);
    Some(finding)
}

/// That somebody worked on an axis, so that another one must release it.
pub(in crate::rules) fn own_work(case: &Case, axis: usize, by: &str) -> Option<Finding> {
    if case.rulebook.choice(LimitName::SelfRelease) == "allowed" {
        return None;
    }
    let mut work = case.work_of(axis, None, by).into_iter();
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
