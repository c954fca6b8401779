//! Values that make sense in another unit only.

use crate::facts::survey_limits::{local_limit, range_limit};
use crate::facts::torque_window::{shown, window};
use crate::finding::{Finding, Grade, Measure, MeasuredValue, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Fasten, Inspect, Record, Shim, Spanned, Stage, Survey, TorqueReading};
use crate::quantity::{Amount, Dimension, Length, Ratio, Torque, Unit, units_of};
use crate::rules::quotient::WHOLE;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("unit-mistaken"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No record holds values that make sense in another unit only. Steps and surveys: every reading is a whole number of millimetres, and they differ by many times a limit, over all or local, though as micrometres they would not. Shims: every leaf is a whole number of millimetres, and as micrometres they are in stock. Full torques: all lie above their window, and in a smaller unit the middle one of them lies in it. Where all lie below it, and in a larger unit all lie in it, that is observed. One finding a record; what else its values would break, or its gauge cannot show, is not told beside it.",
    why: "An instrument that shows micrometres or inch-pounds is copied as it is, or the maker's table of another country is, and everything worked out of it is wrong by the same factor.",
    limits: &[
        LimitName::LimitLoosening,
        LimitName::JointStep,
        LimitName::GapRange,
        LimitName::Straightness,
        LimitName::HeightRange,
        LimitName::GapLocal,
        LimitName::StraightnessLocal,
        LimitName::HeightLocal,
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
    /// The thickest leaf, and where it was put.
    Leaf(Length, Place),
    /// The middle torque, where it stands, whether it is too large, and the units with what it is in newton metres by them.
    Torque(Torque, Place, bool, Vec<(&'static str, Torque)>),
}

impl Meant {
    /// Too small a torque may also be one: it is told beside what it breaks, and hides nothing.
    fn is_certain(&self) -> bool {
        !matches!(self, Meant::Torque(_, _, false, _))
    }
}

/// The records whose values were meant in another unit, in their order: what else their values break, or their gauge
/// cannot show, only follows. [`Case::in_another_unit`] keeps them.
pub(in crate::rules) fn mistaken(case: &Case) -> Vec<usize> {
    let mut all: Vec<usize> = case
        .in_order()
        .filter(|(index, record)| meant(case, *index, record).is_some_and(|meant| meant.is_certain()))
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
        Body::Shim(shim) => leaf(case, shim),
        _ => None,
    }
}

fn is_whole(reading: &Spanned<Length>) -> bool {
    reading.value.nm() % Length::mm(1).nm() == 0
}

/// Whether a length is far beyond a limit in millimetres, and not in micrometres.
fn is_thousandfold(case: &Case, found: Length, most: Length) -> bool {
    let Some((factor, _)) = case.rulebook.most::<Ratio>(LimitName::LimitLoosening) else { return false };
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
    let limit = [LimitName::JointStep, LimitName::GapRange].into_iter().find_map(|it| case.rulebook.most::<Length>(it));
    let is_far = limit.is_some_and(|(limit, _)| is_thousandfold(case, most, limit));
    is_far.then_some(Meant::Micrometres(most, place))
}

fn span(case: &Case, survey: &Survey) -> Option<Meant> {
    let kind = **survey.kind.as_ref()?;
    let readings = || survey.stations.iter().flat_map(|station| &station.readings);
    if !readings().all(is_whole) {
        return None;
    }
    let least = readings().map(|reading| reading.value).min()?;
    let most = readings().max_by_key(|reading| (reading.value, std::cmp::Reverse(reading.place)))?;
    let span = most.value - least;
    // Where nothing limits the whole rail, the gap's range stands for it.
    let whole = [range_limit(kind), LimitName::GapRange].into_iter().find_map(|it| case.rulebook.most::<Length>(it));
    let local = case.rulebook.most::<Length>(local_limit(kind));
    let is_far = whole.into_iter().chain(local).any(|(limit, _)| is_thousandfold(case, span, limit));
    is_far.then_some(Meant::Micrometres(span, most.place))
}

/// Leaves that are whole millimetres, and as micrometres are just those in stock.
fn leaf(case: &Case, shim: &Shim) -> Option<Meant> {
    let leaves = || shim.rows.iter().flat_map(|row| &row.leaves);
    let stock = &case.shop.shim_stock.as_ref()?.leaves;
    let has = |length: Length| stock.iter().any(|leaf| *leaf.thickness == length);
    let meant = |leaf: &Spanned<Length>| is_whole(leaf) && !has(leaf.value) && has(Length(leaf.nm() / 1000));
    let most = leaves().max_by_key(|leaf| (leaf.value, std::cmp::Reverse(leaf.place)))?;
    leaves().all(meant).then_some(Meant::Leaf(most.value, most.place))
}

fn torque(case: &Case, index: usize, record: &Record, fasten: &Fasten) -> Option<Meant> {
    let id = record.rail().filter(|_| fasten.stage.is_some_and(|stage| *stage == Stage::Full))?;
    let (least, most, _) = window(case.ledger, case.rulebook, id, fasten.interface, Stage::Full)?;
    let torques = case.torques(index)?;
    let above = torques.all_beyond(most);
    if !above && !torques.all_short(least) {
        return None;
    }
    let clicked = fasten.rows.iter().any(|row| row.what == TorqueReading::Clicked);
    let mut torques: Vec<Spanned<Torque>> = fasten.torques.iter().flatten().copied().collect();
    torques.extend(fasten.setting.filter(|_| clicked));
    torques.sort_unstable_by_key(|torque| (torque.value, torque.place));
    let middle = torques[torques.len() / 2];
    let fits = |torque: &Spanned<Torque>, unit: &Unit| {
        Torque::read(&torque.number(), Some(unit.name)).ok().filter(|read| (least..=most).contains(read))
    };
    let meant = units_of(Dimension::Torque).filter_map(|unit| {
        let read = fits(&middle, unit)?;
        // Too small a torque is a mistake of its own: what one bolt looks like by chance, all of them hardly do.
        let looks_so = if above { read < *middle } else { torques.iter().all(|torque| fits(torque, unit).is_some()) };
        looks_so.then_some((unit.name, read))
    });
    let meant: Vec<_> = meant.collect();
    (!meant.is_empty()).then_some(Meant::Torque(*middle, middle.place, above, meant))
}

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.ledger.records[index];
    let read = match &record.body {
        _ if record.is_aligning() => false,
        Body::Fasten(fasten) => !fasten.rows.is_empty(),
        Body::Inspect(inspect) => !inspect.grooves.is_empty(),
        Body::Survey(survey) => !survey.stations.is_empty(),
        Body::Shim(shim) => !shim.rows.is_empty(),
        _ => false,
    };
    if !read {
        return Verdict::NotRequired;
    }
    let certain = case.in_another_unit().binary_search(&index).is_ok();
    let may_be_small = matches!(record.body, Body::Fasten(_));
    if let Some(meant) = (certain || may_be_small).then(|| meant(case, index, record)).flatten() {
        let mut finding = report(findings, record, &meant);
        if !certain {
            finding.grade = Grade::Observation;
        }
        findings.add(finding);
    }
    if certain { Verdict::Broken } else { Verdict::Conforms(record.place) }
}

fn report(findings: &Findings, record: &Record, meant: &Meant) -> Finding {
    let address = record.address();
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
        Meant::Leaf(found, place) => findings
            .finding(
                address,
                *place,
                format!("a shim leaf of {found}, and all leaves are whole: they look like micrometres"),
            )
            .here("put in here")
            .found(Measure::too_large(*found))
            .next(format!(
                "if they are micrometres, of which this is {}, write (um) before each; otherwise look what lies there",
                Length(found.nm() / 1000)
            )),
        Meant::Torque(middle, place, above, meant) => {
            let each = meant.iter().map(|(unit, read)| format!("{} {unit} would be {}", middle.number(), shown(*read)));
            let units: Vec<&str> = meant.iter().map(|(unit, _)| *unit).collect();
            let written: Vec<String> = units.iter().map(|unit| format!("({unit})")).collect();
            let (way, otherwise) = match above {
                true => (
                    "above",
                    "the bolts were overstretched: use none of them again, and follow the maker's instructions",
                ),
                false => ("below", "the bolts are too loose: tighten them to their window"),
            };
            let found = if *above { Measure::too_large(*middle) } else { Measure::too_small(*middle) };
            findings
                .finding(
                    address,
                    *place,
                    format!("all torques are far {way} their window; {}", each.collect::<Vec<_>>().join(", ")),
                )
                .here("the middle one")
                .found(found)
                .next(format!(
                    "if they are {}, write {} before each; if they are newton metres, {otherwise}",
                    units.join(" or "),
                    written.join(" or ")
                ))
        }
    }
}

/// Whether a finding only follows from the values of a record that were meant in another unit.
pub(in crate::rules) fn follows(case: &Case, finding: &Finding) -> bool {
    let mistaken = case.in_another_unit();
    let amount =
        finding.found.is_some_and(|found| matches!(found.value, MeasuredValue::Length(_) | MeasuredValue::Torque(_)));
    let leaf = |index: usize| match &case.records[index].body {
        Body::Shim(shim) => shim.rows.iter().flat_map(|row| &row.leaves).any(|leaf| leaf.place == finding.at.place),
        _ => false,
    };
    !mistaken.is_empty()
        && (amount || mistaken.iter().any(|index| leaf(*index)))
        && finding.rule != RULE.name
        && finding.grade != Grade::Observation
        && mistaken.iter().any(|index| {
            let whole = case.records[*index].whole;
            finding.places().any(|place| place.lies_in(whole))
        })
}
