//! A temperature that a record states is one at which people work.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Spanned};
use crate::quantity::Temperature;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("temperature-span"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "The temperature of the rails that a record states lies within the span of the rulebook.",
    why: "A temperature outside of it is a slipped decimal point or another unit, and what is compared by it is compared for nothing.",
    limits: &[LimitName::RecordTemperature],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 temperature=68 { light none }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 temperature=(degF)68 { light none }
"#,
    never_conceded: true,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let temperature: Option<Spanned<Temperature>> = match &record.body {
        // Nothing is compared by it.
        _ if record.is_aligning() => None,
        Body::Fasten(fasten) => fasten.temperature,
        Body::Inspect(inspect) => inspect.temperature,
        Body::Survey(survey) => survey.temperature,
        _ => None,
    };
    let Some(found) = temperature else { return Verdict::NotRequired };
    let Some((least, most, limit)) = case.rulebook.window::<Temperature>(LimitName::RecordTemperature) else {
        return Verdict::NotJudged("no span of temperatures is in force");
    };
    if *found >= least && *found <= most {
        return Verdict::Conforms(found.place);
    }
    let (way, off, measure) = match *found > most {
        true => ("above", *found - most, Measure::too_large(*found)),
        false => ("below", least - *found, Measure::too_small(*found)),
    };
    let likely = in_fahrenheit(*found).filter(|read| *read >= least && *read <= most);
    let next = match likely {
        Some(read) => format!(
            "{} °F would be {read}: if degrees Fahrenheit were meant, write temperature=(degF){}",
            number(*found),
            number(*found)
        ),
        None => "correct the temperature or its unit".to_string(),
    };
    findings.add(
        findings
            .finding(record.address(), found.place, format!("rails at {}: {off} {way} what is in force", *found))
            .here("outside the span")
            .found(measure)
            .limit(limit)
            .next(next),
    );
    Verdict::Broken
}

/// Whether a temperature lies outside the span that is in force.
pub(in crate::rules) fn is_outside(case: &Case, temperature: Temperature) -> bool {
    let span = case.rulebook.window::<Temperature>(LimitName::RecordTemperature);
    span.is_some_and(|(least, most, _)| temperature < least || temperature > most)
}

fn number(temperature: Temperature) -> String {
    crate::quantity::Amount::number(temperature)
}

/// The same number as degrees Fahrenheit: a temperature counts ninths of a billionth of a degree.
fn in_fahrenheit(found: Temperature) -> Option<Temperature> {
    const FREEZING: i64 = 32 * 9_000_000_000;
    Some(Temperature(found.0.checked_sub(FREEZING)?.checked_mul(5)? / 9))
}
