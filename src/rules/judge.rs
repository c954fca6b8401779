//! The judge: asks every rule about every subject that there is.

use std::collections::BTreeSet;

use super::catalogue::{GROUPS, all, rule};
use super::follows::follows_from_damage;
use super::{
    Case, Check, Coverage, Findings, Judge, Rule, RuleGroup, Subject, Verdict, concede, fitting, keeping, sealing,
};
use crate::finding::{Finding, Grade, Place, names, within};
use crate::ledger::seal::sealed_limits;
use crate::ledger::{RailId, too_many_findings};

/// The judge itself, for rules that ask it.
static JUDGE: Judge = Judge { rules: &GROUPS, found, anew };

/// Runs every rule over a ledger. Findings about its text come first; the caller orders them.
pub(crate) fn judge(case: &Case) -> (Vec<Finding>, Coverage) {
    let (mut found, mut coverage) = covered(case, Coverage::default());
    sealing::only_observed(case, &mut found);
    let mut findings = Findings { all: found, ..Findings::default() };
    for (number, rule) in all().enumerate() {
        let mut tally = coverage.tally(number, rule);
        afterwards(case, rule, &mut findings, |axis, subject, verdict| tally.take(axis, subject, verdict));
    }
    sealing::only_observed(case, &mut findings.all);
    (findings.all, coverage)
}

/// What every rule says of every subject, by the limits of today: its verdicts, faults found in the text left out.
#[cfg(test)]
pub(crate) fn verdicts(case: &Case) -> Vec<(crate::finding::RuleName, Subject, Verdict)> {
    let mut told = Vec::new();
    let mut findings = Findings::default();
    for rule in all() {
        ask(case, rule, &mut findings, |_, subject, verdict| told.push((rule.name, subject, verdict)));
    }
    concede::concede(case, &mut findings.all, &JUDGE);
    for rule in all() {
        afterwards(case, rule, &mut findings, |_, subject, verdict| told.push((rule.name, subject, verdict)));
    }
    told
}

/// What the rules that are judged over the ledger find, each axis by its limits, concessions taken into account.
fn found(case: &Case) -> Vec<Finding> {
    covered(case, Coverage::default()).0
}

/// What is found by the limits of today, whatever a release holds, and how many subjects each rule judges so.
pub(crate) fn anew(case: &Case) -> (Vec<Finding>, Coverage) {
    let case = as_released_anew(case);
    let (findings, coverage) = run(&case, Coverage::default());
    (settled(&case, findings, &coverage), coverage)
}

/// What each rule said of how many subjects, with the facts that it rests on.
pub(crate) fn coverage(case: &Case) -> Coverage {
    covered(case, Coverage::with_facts()).1
}

/// How many subjects each rule judges by the limits of today, as a new release would rest on them.
pub(crate) fn coverage_anew(case: &Case) -> Coverage {
    run(&as_released_anew(case), Coverage::default()).1
}

fn as_released_anew<'l>(case: &Case<'l>) -> Case<'l> {
    Case { anew: true, ..Case::new(case.ledger, case.day()) }
}

/// The same, with what each rule said of how many subjects.
fn covered(case: &Case, empty: Coverage) -> (Vec<Finding>, Coverage) {
    let (mut findings, mut coverage) = run(case, empty.clone());
    // A released axis is judged by the limits of its seal, whatever they are today.
    for (index, axis) in case.ledger.machine.axes.iter().enumerate() {
        if sealed_limits(case.ledger, index).is_some() {
            let own = |finding: &Finding| within(&finding.address, &axis.name);
            findings.retain(|finding| !own(finding));
            let (sealed, by_seal) = run(&Case::of_axis(case.ledger, case.day(), index), empty.clone());
            findings.extend(sealed.into_iter().filter(own));
            coverage.replace_axis(index, by_seal);
        }
    }
    (settled(case, findings, &coverage), coverage)
}

/// What is found, with the concessions, and with what waits for evidence that nothing found asks for.
fn settled(case: &Case, mut findings: Vec<Finding>, coverage: &Coverage) -> Vec<Finding> {
    concede::concede(case, &mut findings, &JUDGE);
    if case.is_sound() {
        let mut unasked = coverage.unasked(case, &findings, rule);
        unasked.retain(|finding| !follows_from_damage(case, finding));
        concede::concede(case, &mut unasked, &JUDGE);
        findings.append(&mut unasked);
    }
    findings
}

/// What the rules that are judged over the ledger find by one rulebook.
fn run(case: &Case, mut coverage: Coverage) -> (Vec<Finding>, Coverage) {
    let mut findings = Findings::default();
    coverage.reserve(all().count() * (case.machine.axes.len() + 1));
    for (number, rule) in all().enumerate() {
        let mut tally = coverage.tally(number, rule);
        ask(case, rule, &mut findings, |axis, subject, verdict| tally.take(axis, subject, verdict));
    }
    // Text that is at fault is mended first: what only follows from it is not told.
    let sound = case.is_sound();
    if sound {
        findings.all.extend(coverage.not_judged(case));
    }
    // What is wrong with a value as it is written is said already; that it differs from what was sealed is not.
    let said: BTreeSet<Place> = case.text_findings.iter().map(|finding| finding.at.place).collect();
    let keeping = |finding: &Finding| rule(finding.rule).is_some_and(|rule| rule.group == RuleGroup::Keeping);
    let again = |finding: &Finding| said.contains(&finding.at.place) && !keeping(finding);
    let last = findings.all.last().map(|finding| finding.at.place).filter(|_| findings.capped);
    let follows =
        |finding: &Finding| follows_from_damage(case, finding) || fitting::unit_mistaken::follows(case, finding);
    findings.all.retain(|finding| !again(finding) && !follows(finding));
    findings.all.extend(last.map(too_many_findings));
    (findings.all, coverage)
}

/// Asks a rule about each subject of the kinds that it judges. What it says is taken with the axis that the subject is on.
fn ask(
    case: &Case,
    rule: &'static Rule,
    findings: &mut Findings,
    mut take: impl FnMut(Option<usize>, Subject, Verdict),
) {
    findings.rule = Some((rule.name, rule.grade));
    for check in rule.checks {
        let rails = || case.rails().map(|(id, _, rail)| (id, Some(id.axis), rail));
        match *check {
            Check::Machine(check) => take(None, Subject::Machine, said(findings, |findings| check(case, findings))),
            Check::Axes(check) => {
                for axis in 0..case.machine.axes.len() {
                    take(Some(axis), Subject::Axis(axis), said(findings, |findings| check(case, axis, findings)));
                }
            }
            Check::Pairs(check) => {
                for (axis, of) in case.machine.axes.iter().enumerate() {
                    for second in 1..of.rails.len() {
                        for first in 0..second {
                            let pair = [RailId { axis, rail: first }, RailId { axis, rail: second }];
                            let said = said(findings, |findings| check(case, pair, findings));
                            take(Some(axis), Subject::Pair(pair), said);
                        }
                    }
                }
            }
            Check::Rails(check) => {
                for (id, axis, _) in rails() {
                    take(axis, Subject::Rail(id), said(findings, |findings| check(case, id, findings)));
                }
            }
            Check::Segments(check) => {
                for (id, axis, rail) in rails() {
                    for segment in 0..rail.segments.len() {
                        let said = said(findings, |findings| check(case, id, segment, findings));
                        take(axis, Subject::Segment(id, segment), said);
                    }
                }
            }
            Check::Joints(check) => {
                for (id, axis, rail) in rails() {
                    for joint in 0..rail.joints.len() {
                        let said = said(findings, |findings| check(case, id, joint, findings));
                        take(axis, Subject::Joint(id, joint), said);
                    }
                }
            }
            Check::Supports(check) => {
                for (id, axis, rail) in rails() {
                    for support in 0..rail.supports.len() {
                        let said = said(findings, |findings| check(case, id, support, findings));
                        take(axis, Subject::Support(id, support), said);
                    }
                }
            }
            Check::Records(check) => {
                for (index, record) in case.in_order() {
                    let axis = record.target.map(|target| target.axis());
                    take(axis, Subject::Record(index), said(findings, |findings| check(case, index, findings)));
                }
            }
            Check::Instruments(check) => {
                for (number, instrument) in case.shop.instruments().enumerate() {
                    let said = said(findings, |findings| check(case, instrument, findings));
                    take(None, Subject::Instrument(number), said);
                }
            }
            Check::Afterwards(_) | Check::Again(_) => {}
        }
    }
}

/// Asks a rule that judges what the others found.
fn afterwards(
    case: &Case,
    rule: &'static Rule,
    findings: &mut Findings,
    mut take: impl FnMut(Option<usize>, Subject, Verdict),
) {
    findings.rule = Some((rule.name, rule.grade));
    for check in rule.checks {
        let said = match check {
            Check::Afterwards(check) => said(findings, |findings| check(case, findings)),
            Check::Again(check) => said(findings, |findings| check(case, findings, &JUDGE)),
            _ => continue,
        };
        take(None, Subject::Machine, said);
    }
}

/// What a check says of one subject, with the worst that it finds there taken into account.
#[inline]
fn said(findings: &mut Findings, check: impl FnOnce(&mut Findings) -> Verdict) -> Verdict {
    findings.worst = None;
    let said = check(findings);
    said.with(findings.worst)
}

/// What stands in the way of releasing an axis under somebody's name: all that is broken or outstanding by the limits of
/// today, concessions taken into account, their own work where the rulebook forbids to release it, and whatever was altered
/// under the seal of an earlier release. Other findings about an earlier release are what a new one cures.
pub fn before_release(case: &Case, axis: usize, by: &str) -> Vec<Finding> {
    let case = &as_released_anew(case);
    let (found, coverage) = run(case, Coverage::default());
    let mut findings = Findings { all: settled(case, found, &coverage), ..Findings::default() };
    for rule in [&keeping::concession_expired::RULE, &keeping::concession_idle::RULE, &keeping::void_self::RULE] {
        afterwards(case, rule, &mut findings, |_, _, _| {});
    }
    let name = case.ledger.machine.axes[axis].name.as_str();
    // What is wrong with the release in force ends with it.
    let earlier = [
        &keeping::release_altered::RULE,
        &keeping::release_incomplete::RULE,
        &keeping::release_self::RULE,
        &keeping::release_unsigned::RULE,
    ];
    findings.all.retain(|finding| {
        let stands = finding.grade != Grade::Observation && finding.conceded.is_none();
        // What lies on no axis is asked of each: an instrument that cannot be judged, limits and reasons of shop and machine.
        let of_keeping = || rule(finding.rule).is_some_and(|it| it.group == RuleGroup::Keeping);
        let of_all = finding.address.is_empty() && (finding.grade == Grade::NotJudged || of_keeping());
        let of_text = [names::TOO_MUCH, names::DUPLICATE_NAME].contains(&finding.rule);
        let of_it = within(&finding.address, name) || of_all || of_text;
        stands && of_it && !earlier.iter().any(|rule| rule.name == finding.rule)
    });
    findings.all.extend(keeping::release_self::own_work(case, axis, by));
    // What was altered under a seal is no cure's business: it is put back, or that release is withdrawn first.
    findings.all.extend(keeping::release_altered::against(case, axis));
    findings.all.extend(keeping::release_self::withdrawn(case, axis));
    findings.all.sort_by(|a, b| a.order().cmp(&b.order()));
    findings.all
}
