//! The rails do not change their temperature by much from one record to the next.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Record, Spanned};
use crate::quantity::{Moment, Temperature, TemperatureDifference};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

use super::temperature_span;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("temperature-jump"),
    group: RuleGroup::Fitting,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Two records of an axis that follow each other within a day state temperatures that lie no further apart than a hall cools or warms in that time.",
    why: "2.05 °C after 20.5 °C is a slipped decimal point. Where it is true, the rails were moving while they were read.",
    limits: &[LimitName::TemperatureJump],
    source: "our own choice",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15T09:00" by=inspector-1 temperature=20.5 { light none }
inspect X.a.J2 date="2026-04-15T09:30" by=inspector-1 temperature=2.05 { light none }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15T09:00" by=inspector-1 temperature=20.5 { light none }
inspect X.a.J2 date="2026-04-15T09:30" by=inspector-1 temperature=20.5 { light none }
"#,
    follows_from: &[Ground::Records],
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

/// When a temperature was read, and what it was.
type StatedTemperature = (Moment, Spanned<Temperature>);

/// The temperature of the rails that a record states.
fn stated(record: &Record) -> Option<Spanned<Temperature>> {
    match &record.body {
        Body::Fasten(fasten) => fasten.temperature,
        Body::Inspect(inspect) => inspect.temperature,
        Body::Survey(survey) => survey.temperature,
        _ => None,
    }
}

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<TemperatureDifference>(LimitName::TemperatureJump) else {
        return Verdict::NotRequired;
    };
    let mut verdict = Verdict::NotRequired;
    // What the records agreed on last, and the one that differed from it since.
    let (mut agreed, mut odd): (Option<StatedTemperature>, Option<StatedTemperature>) = (None, None);
    for (_, record) in case.in_order() {
        let (Some(found), Some(date)) = (stated(record), record.date) else { continue };
        // One at which nobody works is told of by itself; what is read while a rail is set is no part of its history.
        if record.is_aligning() {
            continue;
        }
        if record.target.is_none_or(|target| target.axis() != axis) || temperature_span::is_outside(case, *found) {
            continue;
        }
        verdict = Verdict::Conforms(found.place);
        let now = (date.value, found);
        let near = |other: &StatedTemperature| !follows(&other.0, &now.0) || (*found - *other.1).abs() <= most;
        let Some((day, last)) = agreed.filter(|agreed| !near(agreed) && !odd.as_ref().is_some_and(near)) else {
            (agreed, odd) = (Some(now), None);
            continue;
        };
        odd = Some(now);
        let off = (*found - *last).abs();
        let address = record.address();
        findings.add(
            findings
                .finding(address, found.place, format!("rails at {}, and at {} on {day}", *found, *last))
                .here(format!("{off} away from the record before"))
                .also(last.place, "a record before")
                .found(Measure::too_large(off))
                .limit(limit)
                .next("correct the temperature that slipped; where both are true, read again once the rails are even"),
        );
    }
    verdict
}

/// Whether a moment lies on the same day as another, or on the next.
fn follows(day: &Moment, next: &Moment) -> bool {
    next.date == day.date || day.date.tomorrow().is_ok_and(|tomorrow| tomorrow == next.date)
}
