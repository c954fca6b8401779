//! Surveys that are compared were read at about the same temperature.

use crate::finding::{Grade, Measure};
use crate::ledger::SurveyKind;
use crate::quantity::Temperature;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

use super::reading::subject;
use super::shim_total::before_last_shims;

pub static RULE: Rule = Rule {
    name: "survey-temperature",
    group: Group::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The survey that verifies shims and the one they were read off were taken at about the same temperature.",
    why: "Rail and beam grow unequally. Beyond a few degrees, part of what changed between two surveys is expansion and no shim.",
    limits: &["survey-temperature"],
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
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Temperature>("survey-temperature") else { return };
    for (id, ..) in case.rails() {
        for kind in [SurveyKind::Gap, SurveyKind::Height] {
            let Some(before) = before_last_shims(case, id, kind) else { continue };
            let after = case.standing(id, kind).verifications(case).last();
            let Some(after) =
                after.filter(|record| case.after(*record, before.record)).and_then(|record| case.readings(record))
            else {
                continue;
            };
            let (Some(first), Some(second)) = (before.survey.temperature, after.survey.temperature) else { continue };
            let difference = (first.value - second.value).abs();
            if difference <= most {
                continue;
            }
            findings.add(
                findings
                    .finding(
                        case.machine.rail_address(id),
                        second.place,
                        format!(
                            "the {} was verified at {}, {difference} from the survey before the shims",
                            subject(kind),
                            second.value
                        ),
                    )
                    .here(second.value.to_string())
                    .also(first.place, first.value.to_string())
                    .found(Measure::too_large(difference))
                    .limit(limit)
                    .next(format!("where the two disagree, survey again at about {}", first.value)),
            );
        }
    }
}
