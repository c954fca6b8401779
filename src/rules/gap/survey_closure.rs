//! A survey ends where it began.

use crate::calc::exact::Ratio;
use crate::finding::{Grade, Limit, Measure};
use crate::ledger::{Body, RailId, SurveyKind, Word};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

use super::reading::{Standing, length, minus, subject};

pub static RULE: Rule = Rule {
    name: "survey-closure",
    group: Group::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "A station read again at the end of a survey reads as it did before, within one graduation of the gauge.",
    why: "What changed between the first reading and the last is the gauge or its holder. All readings between have some of it in them.",
    limits: &["survey-closure"],
    source: "from memory, no source",
    wrong: r#"
shop { gauge DI-6 graduation=0.01 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=2 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 -0.03; closure S1 0.02 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=2 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 -0.03; closure S1 0.01 }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, ..) in case.rails() {
        for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
            for record in case.planes(id, kind).iter().flat_map(Standing::all) {
                judge(case, findings, id, record);
            }
        }
    }
}

fn judge(case: &Case, findings: &mut Findings, id: RailId, record: usize) {
    let Body::Survey(survey) = &case.ledger.records[record].body else { return };
    let (Some(closure), Some(readings)) = (&survey.closure, case.readings(record)) else { return };
    let gauge = survey.gauge.as_ref().and_then(|name| case.shop.gauge(name));
    let stated = case.rulebook.most::<Length>("survey-closure");
    let graduation = gauge.and_then(|gauge| gauge.graduation);
    let Some(most) = stated.map(|(most, _)| most).or(graduation.map(|graduation| graduation.value)) else { return };
    let Some((sum, count)) = closure.mean() else { return };
    let Ok(at) = readings.stations.binary_search_by_key(&closure.position, |station| station.row.position) else {
        return;
    };
    let station = &readings.stations[at];
    let Some(again) = Ratio::new(i128::from(sum.nm()) * readings.sign, count as i128) else { return };
    let change = minus(again, station.value);
    if change.abs() <= Ratio::whole(most.nm().into()) {
        return;
    }
    let limit = match stated {
        Some((_, limit)) => limit.words(),
        None => Limit {
            set_at: graduation.map(|graduation| graduation.place),
            ..case.rulebook.computed("survey-closure", format!("at most {most}"))
        },
    };
    let stage = survey.stage.map_or("", |stage| stage.value.word());
    findings.add(
        findings
            .finding(
                case.machine.rail_address(id),
                closure.place,
                format!(
                    "the {stage} {} survey does not close: {} changed by {}",
                    subject(readings.kind()),
                    closure.name,
                    length(change.abs())
                ),
            )
            .here("read again at the end")
            .also(station.row.place, "read before")
            .found(Measure::too_large(length(change.abs())))
            .limit(limit)
            .next("see to the gauge and its holder, then read the whole survey again"),
    );
}
