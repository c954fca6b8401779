//! Surveys that are compared were read at about the same temperature.

use crate::facts::survey_state::CurrentSurveys;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, RailId, Spanned, SurveyKind};
use crate::quantity::{Temperature, TemperatureDifference};
use crate::rules::fitting::temperature_span;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

use super::reading::subject;
use super::shim_total::before_last_shims;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("survey-temperature"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "Every survey says at which temperature it was read; the survey that verifies shims and the one they were read off were taken at about the same temperature.",
    why: "Rail and beam grow unequally. Beyond a few degrees, part of what changed between two surveys is expansion and no shim.",
    limits: &[LimitName::SurveyTemperature],
    source: "from memory, no source; lengths are at 20 °C after ISO 1",
    wrong: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=2 } } }
survey gap X.b date="2026-04-16" by=inspector-1 temperature=18 stage=as-fitted { at S1 0; at S2 -0.07 }
shim X.b date="2026-04-17" by=fitter-2 { at S2 0.05 }
fasten X.b date="2026-04-17" by=fitter-2 stage=full setting=10.5 { clicked S2 }
survey gap X.b date="2026-04-18" by=inspector-1 temperature=20.5 stage=verification { at S1 0; at S2 -0.01 }
"#,
    right: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=2 } } }
survey gap X.b date="2026-04-16" by=inspector-1 temperature=18.5 stage=as-fitted { at S1 0; at S2 -0.07 }
shim X.b date="2026-04-17" by=fitter-2 { at S2 0.05 }
fasten X.b date="2026-04-17" by=fitter-2 stage=full setting=10.5 { clicked S2 }
survey gap X.b date="2026-04-18" by=inspector-1 temperature=20.5 stage=verification { at S1 0; at S2 -0.01 }
"#,
    judges: &[ReadingKind::SurveyTemperature],
    about: About::Taking,
    follows_from: &[Ground::Records],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<TemperatureDifference>(LimitName::SurveyTemperature) else {
        return Verdict::NotRequired;
    };
    let mut verdict = stated(case, id, findings);
    for kind in [SurveyKind::Gap, SurveyKind::Height] {
        let Some(before) = before_last_shims(case, id, kind) else { continue };
        let after = case.standing(id, kind).verifications(case).last();
        let Some(after) =
            after.filter(|record| case.after(*record, before.record)).and_then(|record| case.readings(record))
        else {
            continue;
        };
        let (Some(first), Some(second)) = (before.survey.temperature, after.survey.temperature) else {
            continue;
        };
        if [first, second].into_iter().any(|of| temperature_span::is_outside(case, *of)) {
            verdict = verdict.and(Verdict::NotJudged("a temperature that is compared cannot be right"));
            continue;
        }
        if (first.value - second.value).abs() > most {
            findings.add(apart(case, findings, id, kind, first, second).limit(limit));
        }
        verdict = verdict.and(Verdict::Conforms(second.place));
    }
    verdict
}

/// Whether each survey that stands says how warm it was.
fn stated(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
        for record in case.planes(id, kind).iter().flat_map(CurrentSurveys::all) {
            let Body::Survey(survey) = &case.records[record].body else { continue };
            if let Some(temperature) = survey.temperature {
                verdict = verdict.and(Verdict::Conforms(temperature.place));
                continue;
            }
            let message = format!("the survey of the {} does not say at which temperature it was read", subject(kind));
            let mut finding = findings
                .finding(case.machine.rail_address(id), case.records[record].place, message)
                .here("no temperature")
                .next("add temperature=… to the record; where nobody read it, survey again");
            finding.grade = Grade::Outstanding;
            findings.add(finding);
            verdict = Verdict::Outstanding;
        }
    }
    verdict
}

fn apart(
    case: &Case,
    findings: &Findings,
    id: RailId,
    kind: SurveyKind,
    first: Spanned<Temperature>,
    second: Spanned<Temperature>,
) -> Finding {
    let difference = (first.value - second.value).abs();
    let subject = subject(kind);
    findings
        .finding(
            case.machine.rail_address(id),
            second.place,
            format!("the {subject} was verified at {}, {difference} from the survey before the shims", second.value),
        )
        .here(second.value.to_string())
        .also(first.place, first.value.to_string())
        .found(Measure::too_large(difference))
        .next(format!("where the two disagree, survey again at about {}", first.value))
}
