//! What the lint would say of a plan: the ledger as it would be with the plan carried out, judged by the same rules. A
//! planner's own idea of a limit is never what a plan is told by.

use jiff::civil::Date;

use crate::calc::exact::Ratio;
use crate::calc::shims::Stack;
use crate::facts::local_limit::{HeldLocally, held_locally};
use crate::facts::shim_plan::ShimPlan;
use crate::facts::shim_write::record;
use crate::facts::survey::{SurveyReadings, length, minus};
use crate::facts::survey_limits::{local_limit, range_limit};
use crate::facts::survey_state::as_of;
use crate::finding::RuleName;
use crate::finding::{Finding, Grade, SourceId, within};
use crate::judging::lint::Judged;
use crate::judging::what_if::{with_edits, with_text};
use crate::ledger::Ledger;
use crate::ledger::seal::limits_applying;
use crate::quantity::{Amount, Moment};
use crate::rules::gap;
use crate::rules::{self, Case, RuleGroup};
use crate::text::Edit;
use crate::world::Day;

/// The rules that judge which shims lie where.
const ABOUT_SHIMS: [RuleName; 2] = [gap::shim_stock::RULE.name, gap::shim_total::RULE.name];

/// What the lint would find broken once a shim plan is carried out: each rule with what it would say. Nothing where
/// the plan is kept; leaves that are too many or unknown today are no fault of the plan.
pub(crate) fn of_shims(ledger: &Ledger, plan: &ShimPlan, stacks: &[Stack], today: Date) -> Vec<String> {
    let survey = ledger.records[plan.survey].date.map_or(today, |date| date.date);
    // On a later day than the survey, so that their order is certain.
    let date = today.max(survey.tomorrow().unwrap_or(survey));
    let Some(record) = record(ledger, plan, stacks, Moment { date, minute: None }, Some("fitter")) else {
        return beyond_limits(ledger, plan);
    };
    let judged = with_record(ledger, plan, &record.text(), date);
    let own = ledger.machine.rail_address(plan.rail);
    let about = |finding: &&Finding| {
        ABOUT_SHIMS.contains(&finding.rule) && finding.grade == Grade::Nonconformity && within(&finding.address, &own)
    };
    let mut found: Vec<&Finding> = judged.findings.iter().filter(about).collect();
    if found.iter().any(|finding| finding.rule == gap::shim_stock::RULE.name) {
        let today = with_record(ledger, plan, "", date);
        // Totals are judged by the shims put in last, so each finding of theirs is about the plan.
        let stood = today.findings.iter().filter(|was| was.rule == gap::shim_stock::RULE.name);
        for was in stood {
            let at = found
                .iter()
                .position(|now| (now.rule, &now.address) == (was.rule, &was.address) && now.no_worse_than(was));
            at.map(|at| found.remove(at));
        }
    }
    let mut broken: Vec<String> = found.into_iter().map(line).collect();
    // Places between supports that no rule asks a shim for count as well: the verification survey will show them.
    if broken.is_empty() {
        broken.extend(beyond_limits(&judged.ledger, plan));
    }
    broken
}

/// The ledger with one record more, behind the survey in its file, judged on a day.
fn with_record(ledger: &Ledger, plan: &ShimPlan, record: &str, today: Date) -> Judged {
    let source = ledger.sources.get(ledger.records[plan.survey].place.source);
    let text = format!("{}\n{record}", source.document.text());
    with_text(ledger, &source.path, text, today)
}

/// What the stations of the survey come to read, held against the range planned for and the local limit: by the numbers that the
/// rule about shim totals judges.
fn beyond_limits(ledger: &Ledger, plan: &ShimPlan) -> Vec<String> {
    let case = Case::new(ledger, Date::default());
    let Some(readings) = as_of(ledger, plan.survey) else { return Vec::new() };
    let stands: Vec<_> = match case.predicted(plan.rail) {
        Some(predicted) if case.shimmed_since(plan.rail, plan.survey) => predicted.to_vec(),
        _ => readings.stations.iter().map(|it| minus(it.value, readings.target(plan.effect).value)).collect(),
    };
    let Some(stands) = readings.with_values(&stands) else { return Vec::new() };
    let range = length(stands.range());
    let limit = range_limit(stands.kind());
    let whole = (range > plan.range).then(|| {
        format!(
            "{limit}: {} and {} come to lie {} mm apart, at most {} is planned for",
            stands.least.row.name,
            stands.greatest.row.name,
            range.number(),
            plan.range
        )
    });
    whole.into_iter().chain(beyond_local(&case, plan, &stands)).collect()
}

/// Why the survey that shims were planned by cannot show every stretch that the local limit holds over; nothing where it can, or
/// none is stated.
pub(crate) fn unseen_locally(ledger: &Ledger, plan: &ShimPlan) -> Option<String> {
    let readings = as_of(ledger, plan.survey)?;
    let HeldLocally { most, over, seen } = held_locally(limits_applying(ledger, plan.rail.axis), &readings)?;
    let why = seen.passed_over?.words();
    let name = local_limit(readings.kind());
    Some(format!("{name}, at most {most} over {over}, cannot be judged by this survey: {why}"))
}

/// The planner knows no local limit: what it leaves is held against it here.
fn beyond_local(case: &Case, plan: &ShimPlan, stands: &SurveyReadings) -> Option<String> {
    let HeldLocally { most, over, seen } = held_locally(case.limits(plan.rail.axis), stands)?;
    let worst = seen.worst.filter(|worst| worst.width > Ratio::whole(most.nm().into()))?;
    let [from, to] = worst.ends.map(|station| &station.row.name);
    let width = length(worst.width).number();
    let name = local_limit(stands.kind());
    Some(format!("{name}: {from} and {to} come to lie {width} mm apart, at most {most} over {over} is the limit"))
}

/// What the layout rules would say of an axis with some changes to the file that describes it; nothing where the text
/// cannot be changed so.
pub(crate) fn of_layout(
    ledger: &Ledger,
    axis: usize,
    source: SourceId,
    edits: &[Edit],
    day: impl Into<Day>,
) -> Option<Vec<Finding>> {
    let judged = with_edits(ledger, source, edits, day).ok()?;
    let name = ledger.machine.axes[axis].name.as_str();
    let about = |finding: &Finding| {
        let rule =
            rules::rule(finding.rule).is_some_and(|rule| matches!(rule.group, RuleGroup::Layout | RuleGroup::Text));
        // What cannot be judged for want of a description is no matter of the plan.
        rule && finding.grade != Grade::NotJudged && (finding.address.is_empty() || within(&finding.address, name))
    };
    Some(judged.findings.into_iter().filter(about).collect())
}

/// `shim-stock X.b.S3: 2 leaves of 0.05 mm lie in this machine, 1 was in stock`.
fn line(finding: &Finding) -> String {
    format!("{} {}: {}", finding.rule, finding.address, finding.message)
}
