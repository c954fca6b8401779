//! The rules beside a seal: what each of them judged of an axis when it was released, and what a rule that came later may say
//! of it.

use super::catalogue::{all, rule};
use super::{Case, Coverage, Rule, RuleCoverage, RuleGroup};
use crate::facts::service::services;
use crate::finding::{Finding, Grade, Label, Place, within};
use crate::ledger::seal::{RuleTally, release_of};

/// What each rule judged of an axis that can be released, and the rules that had nothing to judge there. What belongs to no
/// axis, as instruments and what the machine has as a whole, is under each axis.
pub(crate) fn tallies(judged: &Coverage, axis: usize) -> (Vec<RuleTally>, Vec<String>) {
    let (mut told, mut idle) = (Vec::new(), Vec::new());
    for rule in all().filter(|rule| is_asked(rule)) {
        let nothing = RuleTally { rule: rule.name.as_str().to_owned(), ..RuleTally::default() };
        let mut tally = nothing.clone();
        let rows = judged.rows().filter(|(of, row)| row.rule.name == rule.name && of.is_none_or(|of| of == axis));
        // What rules say of a release is no part of what it rests on.
        rows.filter(|_| !rule.name.as_str().starts_with("release-")).for_each(|(_, row)| add(&mut tally, row));
        if tally == nothing { idle.push(tally.rule) } else { told.push(tally) }
    }
    (told, idle)
}

/// Rules about the text are asked whenever it is read.
fn is_asked(rule: &Rule) -> bool {
    rule.group != RuleGroup::Text
}

fn add(tally: &mut RuleTally, row: &RuleCoverage) {
    tally.conforms += row.conforms;
    // Nothing else is broken or outstanding on an axis that can be released, and nothing else is not judged.
    tally.conceded += row.broken + row.outstanding;
    tally.not_required += row.not_required;
    tally.not_applicable += row.not_judged.len();
}

/// Makes observations of what rules find on released axes that came after the release: its seal did not ask for it.
pub(super) fn only_observed(case: &Case, findings: &mut [Finding]) {
    for (index, axis) in case.ledger.machine.axes.iter().enumerate() {
        let Some((record, release)) = release_of(case.ledger, index).filter(|(_, it)| !it.asked.is_empty()) else {
            continue;
        };
        for finding in findings.iter_mut().filter(|finding| within(&finding.address, &axis.name)) {
            // What is wrong with the release itself is no matter of what its seal asked for.
            let judges = rule(finding.rule).is_some_and(|rule| is_asked(rule) && !rule.never_stands);
            if judges && finding.grade != Grade::Observation && release.asked(finding.rule.as_str()).is_none() {
                finding.grade = Grade::Observation;
                let place = case.ledger.records[record].place;
                finding.also.push(Label { place, text: "released before there was this rule".into() });
            }
        }
    }
}

/// What stands against replacing a release where records were only added: that evidence under it was slackened since, or a
/// hold put on, and no service of the axis followed. Such an axis is released anew once that release is withdrawn.
pub(crate) fn reopened(case: &Case, axis: usize, release: usize) -> Option<(Place, String)> {
    let ledger = case.ledger;
    let services = services(ledger, axis, release);
    let day = |record: usize| ledger.records[record].date.map(|date| date.date);
    let under_service = |record: usize| services.iter().any(|(service, _)| day(*service) >= day(record));
    let rails = ledger.machine.rails().filter(|(id, ..)| id.axis == axis);
    let events = rails.flat_map(|(id, _, rail)| {
        let history = &ledger.history(id).supports;
        (0..rail.supports.len()).flat_map(move |at| history[at].iter().map(move |event| (id, at, event)))
    });
    let slackened =
        events.filter(|(.., event)| event.undoes() && ledger.after(event.record, release)).map(|(id, at, event)| {
            (event.record, event.place, format!("{} was {}", ledger.machine.support_address(id, at), event.what.done()))
        });
    let holds = ledger.holds.iter().map(|on| on.record).filter(|record| ledger.after(*record, release));
    let held = holds.filter_map(|index| {
        let record = &ledger.records[index];
        let on = record.target.filter(|target| target.axis() == axis).and(record.on.as_ref())?;
        Some((index, record.place, format!("a hold was put on {}", **on)))
    });
    let mut open: Vec<_> = slackened.chain(held).filter(|(record, ..)| !under_service(*record)).collect();
    open.sort_by_key(|(record, ..)| ledger.timeline.place[*record]);
    open.into_iter().next().map(|(_, place, what)| (place, what))
}
