//! Values that make sense in another unit only.

use crate::facts::torque_window::{shown, window};
use crate::finding::{Finding, Grade, Measure, MeasuredValue, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Fasten, Inspect, Record, Spanned, Stage, Survey, SurveyKind, TorqueReading};
use crate::quantity::{Amount, Dimension, Length, Ratio, Torque, units_of};
use crate::rules::quotient::WHOLE;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("unit-mistaken"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No record holds values that make sense in another unit only. Steps and surveys: every reading is a whole number of millimetres, and they differ by many times the limit, though as micrometres they would not. Full torques: all lie above their window, and in a smaller unit the middle one of them lies in it. One finding a record; what else its values would break, or its gauge cannot show, is not told beside it.",
    why: "An instrument that shows micrometres or inch-pounds is copied as it is, and everything worked out of it is wrong by the same factor.",
    limits: &[
        LimitName::LimitLoosening,
        LimitName::JointStep,
        LimitName::GapRange,
        LimitName::Straightness,
        LimitName::HeightRange,
        LimitName::FullTorque,
    ],
    source: "judgement",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL -40 -> -30; UR 10 -> 20; LL 0 -> -10; LR 20 -> 10 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL (um)-40 -> (um)-30; UR (um)10 -> (um)20; LL 0 -> (um)-10; LR (um)20 -> (um)10 }
"#,
    never_conceded: true,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

/// What a record shows that was meant in another unit.
enum Meant {
    /// The largest step or the span of a survey, and where it was read.
    Micrometres(Length, Place),
    /// The middle torque, where it stands, the unit, and what it is in newton metres.
    Torque(Torque, Place, &'static str, Torque),
}

/// The records whose values were meant in another unit, in their order: what else their values break, or their gauge
/// cannot show, only follows. [`Case::in_another_unit`] keeps them.
pub(in crate::rules) fn mistaken(case: &Case) -> Vec<usize> {
    let mut all: Vec<usize> = case
        .in_order()
        .filter(|(index, record)| meant(case, *index, record).is_some())
        .map(|(index, _)| index)
        .collect();
    all.sort_unstable();
    all
}

fn meant(case: &Case, index: usize, record: &Record) -> Option<Meant> {
    match &record.body {
        // What is read while a rail is set may lie anywhere.
        _ if record.is_aligning() => None,
        Body::Fasten(fasten) => torque(case, index, record, fasten),
        Body::Inspect(inspect) => step(case, inspect),
        Body::Survey(survey) => span(case, survey),
        _ => None,
    }
}

fn is_whole(reading: &Spanned<Length>) -> bool {
    reading.value.nm() % Length::mm(1).nm() == 0
}

/// Whether a length is far beyond a limit in millimetres, and not in micrometres.
fn is_thousandfold(case: &Case, found: Length, limit: LimitName) -> bool {
    let most = case.rulebook.most::<Length>(limit).or_else(|| case.rulebook.most::<Length>(LimitName::GapRange));
    let (Some((most, _)), Some((factor, _))) = (most, case.rulebook.most::<Ratio>(LimitName::LimitLoosening)) else {
        return false;
    };
    let wide = i128::from(most.nm()) * i128::from(factor.0);
    let found = i128::from(found.abs().nm()) * WHOLE;
    found > wide && found <= wide * 1000
}

fn step(case: &Case, inspect: &Inspect) -> Option<Meant> {
    let pairs = || inspect.grooves.iter().flat_map(|groove| &groove.pairs);
    if !pairs().all(|(before, after)| is_whole(before) && is_whole(after)) {
        return None;
    }
    let steps = pairs().map(|(before, after)| ((after.value - before.value).abs(), after.place));
    let (most, place) = steps.max_by_key(|(step, place)| (*step, std::cmp::Reverse(*place)))?;
    is_thousandfold(case, most, LimitName::JointStep).then_some(Meant::Micrometres(most, place))
}

fn span(case: &Case, survey: &Survey) -> Option<Meant> {
    let limit = match **survey.kind.as_ref()? {
        SurveyKind::Gap => LimitName::GapRange,
        SurveyKind::Straightness => LimitName::Straightness,
        SurveyKind::Height => LimitName::HeightRange,
    };
    let readings = || survey.stations.iter().flat_map(|station| &station.readings);
    if !readings().all(is_whole) {
        return None;
    }
    let least = readings().map(|reading| reading.value).min()?;
    let most = readings().max_by_key(|reading| (reading.value, std::cmp::Reverse(reading.place)))?;
    let span = most.value - least;
    is_thousandfold(case, span, limit).then_some(Meant::Micrometres(span, most.place))
}

fn torque(case: &Case, index: usize, record: &Record, fasten: &Fasten) -> Option<Meant> {
    let id = record.rail().filter(|_| fasten.stage.is_some_and(|stage| *stage == Stage::Full))?;
    let (least, most, _) = window(case.ledger, case.rulebook, id, fasten.interface, Stage::Full)?;
    if !case.torques(index)?.all_beyond(most) {
        return None;
    }
    let clicked = fasten.rows.iter().any(|row| row.what == TorqueReading::Clicked);
    let mut torques: Vec<Spanned<Torque>> = fasten.torques.iter().flatten().copied().collect();
    torques.extend(fasten.setting.filter(|_| clicked));
    torques.sort_unstable_by_key(|torque| (torque.value, torque.place));
    let middle = torques[torques.len() / 2];
    units_of(Dimension::Torque).find_map(|unit| {
        let read = Torque::read(&middle.number(), Some(unit.name)).ok()?;
        (read < *middle && read >= least && read <= most).then_some(Meant::Torque(
            *middle,
            middle.place,
            unit.name,
            read,
        ))
    })
}

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.ledger.records[index];
    let read = match &record.body {
        _ if record.is_aligning() => false,
        Body::Fasten(fasten) => !fasten.rows.is_empty(),
        Body::Inspect(inspect) => !inspect.grooves.is_empty(),
        Body::Survey(survey) => !survey.stations.is_empty(),
        _ => false,
    };
    if !read {
        return Verdict::NotRequired;
    }
    if case.in_another_unit().binary_search(&index).is_err() {
        return Verdict::Conforms(record.place);
    }
    if let Some(meant) = meant(case, index, record) {
        findings.add(report(findings, record, &meant));
    }
    Verdict::Broken
}

fn report(findings: &Findings, record: &Record, meant: &Meant) -> Finding {
    let address = record.on.as_ref().map_or("", |on| on.as_str());
    match meant {
        Meant::Micrometres(found, place) => {
            let what = if matches!(record.body, Body::Survey(_)) { "stations differ by" } else { "a step of" };
            let micrometres = Length(found.nm() / 1000);
            findings
                .finding(address, *place, format!("{what} {found}, and all readings are whole: they look like micrometres"))
                .here("read here")
                .found(Measure::too_large(*found))
                .next(format!("if they are micrometres, of which this is {micrometres}, write (um) before each; otherwise read them again"))
        }
        Meant::Torque(middle, place, unit, read) => findings
            .finding(
                address,
                *place,
                format!("all torques are far above their window; {} {unit} would be {}", middle.number(), shown(*read)),
            )
            .here("the middle one")
            .found(Measure::too_large(*middle))
            .next(format!(
                "if they are {unit}, write ({unit}) before each; if they are newton metres, the bolts were overstretched: use none of them again, and follow the maker's instructions"
            )),
    }
}

/// Whether a finding only follows from the values of a record that were meant in another unit.
pub(in crate::rules) fn follows(case: &Case, finding: &Finding) -> bool {
    let mistaken = case.in_another_unit();
    let amount =
        finding.found.is_some_and(|found| matches!(found.value, MeasuredValue::Length(_) | MeasuredValue::Torque(_)));
    !mistaken.is_empty()
        && amount
        && finding.rule != RULE.name
        && finding.grade != Grade::Observation
        && mistaken.iter().any(|index| {
            let whole = case.records[*index].whole;
            finding.places().any(|place| place.lies_in(whole))
        })
}
