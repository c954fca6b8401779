//! The shims put in are the shims that the survey asks for.

use crate::calc::exact::Ratio;
use crate::calc::shims::risen;
use crate::calc::survey::ShimEffect;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

use super::needs;
use super::reading::{ReadStation, Seat, SurveyReadings, length, minus, subject, target_words};
use super::shim_missing::shimmed_at;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("shim-total"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "With the shims that were put in after a survey, its readings come within the limit of each other.",
    why: "A leaf too few, too many or too thin shows in the numbers before anybody tightens a bolt over it.",
    limits: &[LimitName::GapRange, LimitName::HeightRange],
    source: "geometry: reading before plus shim",
    wrong: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.09 }
shim X.b date="2026-04-17" by=fitter-2 { at S3 0.02 }
"#,
    right: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.09 }
shim X.b date="2026-04-17" by=fitter-2 { at S3 0.05 0.02 0.02 }
"#,
    judges: &[ReadingKind::Shims],
    reasons_from: &["loosen", "shim", "survey"],
    follows_from: &[Ground::Records],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let seat = Seat::for_rail(case, id);
    let (Some(Seat { kind, limit, effect }), Some(last)) = (seat, case.last_shimmed(id)) else {
        return Verdict::NotRequired;
    };
    let Some((most, limit)) = case.rulebook.most::<Length>(limit) else { return Verdict::NotRequired };
    let Some(effect) = effect else { return Verdict::NotJudged("nothing says what a shim under it does") };
    let Some(readings) = before_last_shims(case, id, kind) else {
        return nothing_before(case, id, kind, last);
    };
    let Some(stations) = case.predicted(id) else {
        return Verdict::Awaits("what the shims should have done cannot be computed");
    };
    // A place still to be shimmed is outstanding, not wrong, until the shims are said to be verified.
    let mut verifications = case.standing(id, kind).verifications(case);
    let verified = verifications.any(|record| case.after(record, readings.record));
    match judge(case, findings, &Predicted { id, readings, effect, stations, verified }, most, limit) {
        true => Verdict::Conforms(case.records[last].place),
        false => Verdict::Awaits("a place is still to be shimmed"),
    }
}

/// Without a survey from before the shims nothing tells what they should have done. That can no more be read once they
/// are in; where a survey since shows what came of them, nobody waits for it.
pub(super) fn nothing_before(case: &Case, id: RailId, kind: SurveyKind, last: usize) -> Verdict {
    let since = |record: usize| case.counts(record) && case.after(record, last);
    match case.standing(id, kind).verifications(case).any(since) {
        true => Verdict::NotJudged("no survey from before the shims is on record"),
        false => Verdict::Awaits("no survey before the shims"),
    }
}

/// The survey that stood when shims were put in last.
pub(in crate::rules) fn before_last_shims<'c, 'l>(
    case: &'c Case<'l>,
    id: RailId,
    kind: SurveyKind,
) -> Option<&'c SurveyReadings<'l>> {
    case.before_shims(id, kind)
}

/// The stations of a survey with their readings after the shims.
struct Predicted<'l> {
    id: RailId,
    readings: &'l SurveyReadings<'l>,
    effect: ShimEffect,
    /// How far each then stands above (minus: short of) the target as it was; counted in the direction of the shims.
    stations: &'l [Ratio],
    verified: bool,
}

/// For each station of the survey before the last shims how far it stands from the target with the shims put in since;
/// [`Case::predicted`] keeps it.
pub(in crate::rules) fn predicted(case: &Case, id: RailId) -> Option<Vec<Ratio>> {
    let Seat { kind, effect, .. } = Seat::for_rail(case, id)?;
    let (readings, effect) = (before_last_shims(case, id, kind)?, effect?);
    let supports: Vec<i64> = case.machine.rail(id).supports.iter().map(|it| it.at.nm()).collect();
    if supports.is_empty() || supports.windows(2).any(|pair| pair[0] == pair[1]) {
        return None;
    }
    let since = |record: usize| {
        let changes = (0..supports.len()).map(|support| added(case, id, support, record).nm());
        (record, changes.collect::<Vec<i64>>())
    };
    // Of surveys that are tied to each other each station has its own day.
    let all: Vec<_> = readings.records().into_iter().map(since).collect();
    let since = |record: usize| all.iter().find(|(of, _)| *of == record).map(|(_, changes)| changes);
    readings
        .stations
        .iter()
        .map(|station| {
            let changes = since(station.record)?;
            let position = case.machine.rail(id).carried_at(station.row).nm();
            let change = match station.row.support.filter(|support| supports.get(*support) == Some(&position)) {
                Some(support) => Ratio::whole(changes[support].into()),
                None => risen(position, &supports, changes)?,
            };
            change.minus(readings.need(station, effect))
        })
        .collect()
}

/// The shims that were put in under a support after a record, less those that were taken out.
fn added(case: &Case, id: RailId, support: usize, since: usize) -> Length {
    match case.shims(id, support, None) {
        Some((event, row)) if case.after(event.record, since) => {
            row.total() - case.shim_total(id, support, Some(since))
        }
        _ => Length::ZERO,
    }
}

/// Finds what lies beyond the limit; whether nothing is still to come that may bring it in.
fn judge(case: &Case, findings: &mut Findings, it: &Predicted, most: Length, limit: InForce) -> bool {
    let most = Ratio::whole(most.nm().into());
    let (Some(low), Some(high)) = (it.stations.iter().min(), it.stations.iter().max()) else { return false };
    if minus(*high, *low) <= most {
        return true;
    }
    let stations = || it.readings.stations.iter().zip(it.stations);
    let beyond: Vec<(&ReadStation, Ratio)> =
        stations().filter(|(_, off)| off.abs() > most).map(|(station, off)| (station, *off)).collect();
    for (station, off) in &beyond {
        if it.verified || shimmed_at(case, it.id, station, station.record) {
            findings.add(off_target(case, findings, it, station, *off).limit(limit));
        }
    }
    // No place is too far from the target, but two are too far from each other.
    let at = |value: &Ratio| stations().find(|(_, off)| *off == value).map(|(station, _)| station);
    if beyond.is_empty()
        && let (Some(lowest), Some(highest)) = (at(low), at(high))
    {
        let range = length(minus(*high, *low));
        findings.add(apart(case, findings, it, (highest, lowest), range).limit(limit));
    }
    false
}

fn apart(
    case: &Case,
    findings: &Findings,
    it: &Predicted,
    (highest, lowest): (&ReadStation, &ReadStation),
    range: Length,
) -> Finding {
    let next = match [highest, lowest].iter().find(|station| station.row.support.is_none()) {
        Some(station) => between(case, it.id, station),
        None => {
            let needs = [highest, lowest].map(|station| (station.row.name.to_string(), needed(case, it, station)));
            format!("shim both to {}: {}", target_words(it.effect), needs::list(case, &needs, case.today))
        }
    };
    findings
        .finding(
            address(case, it.id, highest),
            row(case, it, highest),
            format!("with these shims {} and {} come to lie {range} apart", highest.row.name, lowest.row.name),
        )
        .here("one end of the range")
        .also(row(case, it, lowest), "the other end")
        .found(Measure::too_large(range))
        .next(next)
}

fn off_target(case: &Case, findings: &Findings, it: &Predicted, station: &ReadStation, off: Ratio) -> Finding {
    let distance = length(off.abs());
    let target = target_words(it.effect);
    let way = if off < Ratio::whole(0) { "short of" } else { "beyond" };
    let recorded = match station.row.support {
        Some(support) => case.shim_total(it.id, support, None),
        None => Length::ZERO,
    };
    let kind = it.readings.survey.kind.map_or("gap", |kind| subject(kind.value));
    findings
        .finding(
            address(case, it.id, station),
            row(case, it, station),
            format!("with its shims the {kind} at {} comes to {distance} {way} {target}", station.row.name),
        )
        .here(match station.row.support {
            Some(_) if recorded > Length::ZERO => format!("{recorded} in all"),
            Some(_) => "no shim here".into(),
            None => "between supports".into(),
        })
        .also(station.row.place, "the reading before")
        .found(Measure::too_large(distance))
        .next(match station.row.support {
            Some(_) => format!("{}: {}", station.row.name, needs::one(case, needed(case, it, station), case.today)),
            None => between(case, it.id, station),
        })
}

/// Where no support is, no shim can go.
fn between(case: &Case, id: RailId, station: &ReadStation) -> String {
    let supports = &case.machine.rail(id).supports[case.adjoining(id, station.row.position)];
    let names: Vec<&str> = supports.iter().map(|support| support.name.as_str()).collect();
    format!(
        "{} is no support: what lies under {} moves it; survey again and plan the shims anew",
        station.row.name,
        names.join(" and ")
    )
}

/// The total that brings a station to the target: what lay there and what the survey asks for.
fn needed(case: &Case, it: &Predicted, station: &ReadStation) -> Ratio {
    let before = match station.row.support {
        Some(support) => case.shim_total(it.id, support, Some(station.record)),
        None => Length::ZERO,
    };
    minus(it.readings.need(station, it.effect), Ratio::whole(-i128::from(before.nm())))
}

/// The row of the shims at a station, or its reading where there are none.
fn row(case: &Case, it: &Predicted, station: &ReadStation) -> crate::finding::Place {
    let shims = station.row.support.and_then(|support| case.shims(it.id, support, None));
    shims.map_or(station.row.place, |(_, row)| row.place)
}

fn address(case: &Case, id: RailId, station: &ReadStation) -> String {
    match station.row.support {
        Some(support) => case.machine.support_address(id, support),
        None => case.machine.rail_address(id),
    }
}
