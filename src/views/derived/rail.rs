//! The numbers of a rail: what its surveys say, how it expands, and what its bolts may have.

use super::quantity::{DerivedQuantity, PlacedDerivation, limit_origin, mm, quantity};
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::calc::straightness::minimum_zone;
use crate::calc::tie::Free;
use crate::facts::bolt;
use crate::facts::expansion;
use crate::facts::local_limit::{UnseenStretch, look_within};
use crate::facts::survey::{ReadStation, SurveyReadings, curvature, length, read_steps, subject, survey_at};
use crate::facts::survey_doubt;
use crate::facts::survey_limits::local_limit;
use crate::facts::survey_state::CurrentSurveys;
use crate::facts::torque_window::{INTERFACES, fastener};
use crate::finding::Place;
use crate::language::rulebook::LimitName;
use crate::ledger::{Interface, RailId, StationReading, Survey, SurveyKind};
use crate::quantity::{Amount, Length, Ratio};
use crate::rules::Case;

pub(super) fn quantities(case: &Case, id: RailId) -> Vec<DerivedQuantity> {
    let mut all = Vec::new();
    for (word, kind) in [("gap-range", SurveyKind::Gap), ("height-range", SurveyKind::Height)] {
        all.extend(range(case, id, kind).map(|how| quantity(word, how)));
    }
    all.extend(straightness(case, id).map(|how| quantity("straightness", how)));
    for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
        all.extend(local(case, id, kind).map(|how| quantity(local_limit(kind).word(), how)));
    }
    all.extend(expansion(case, id).map(|how| quantity("expansion", how)));
    for interface in INTERFACES {
        let word = if interface == Interface::Rail { "torque-allowed" } else { "base-torque-allowed" };
        all.extend(torque(case, id, interface).map(|how| quantity(word, how)));
    }
    all
}

fn readings<'l>(case: &Case<'l>, id: RailId, kind: SurveyKind) -> Option<SurveyReadings<'l>> {
    // As the report tells it: the last verification, a partial one too.
    let standing = CurrentSurveys::for_rail(case.ledger, id, kind);
    let record = standing.verifications(case).next().or(standing.latest())?;
    Some(standing.readings(case.ledger, record)?.into_owned())
}

/// A station's reading as it stands in the text; repeats each by itself.
fn station(case: &Case, mut how: PlacedDerivation, name: &str, station: &ReadStation) -> PlacedDerivation {
    let repeats = station.row.readings.len();
    for (number, reading) in station.row.readings.iter().enumerate() {
        let name = if repeats > 1 { format!("{name}, reading {}", number + 1) } else { name.to_string() };
        how = how.input(name, mm(reading.value), "mm", Origin::Place(reading.place));
    }
    match height(case, station) {
        Some(height) => how.derived(name, height),
        None => how,
    }
}

/// The height that the steps of its own survey up to a station add up to; nothing of a survey of lengths.
fn height(case: &Case, station: &ReadStation) -> Option<PlacedDerivation> {
    let survey = survey_at(case.ledger, station.record)?;
    let base = &survey.angles.as_ref()?.base;
    let own = SurveyReadings::for_record(case.ledger, station.record)?;
    let value = mm(length(own.at(station.row.position)?.value));
    let what = format!("height of {} in its survey", station.row.name);
    let how = Derivation::new(what, "sum of angle · base up to it", "geometry of a slope", value, "mm");
    let up_to = |row: &StationReading| row.position <= station.row.position;
    Some(with_steps(how, survey, (**base, base.place), up_to, curvature(case.ledger, survey)))
}

/// The steps of a survey of angles that a number rests on, and what its gauge brings in by following gravity.
fn with_steps(
    mut how: PlacedDerivation,
    survey: &Survey,
    (base, place): (Length, Place),
    rests_on: impl Fn(&StationReading) -> bool,
    curvature: Option<Length>,
) -> PlacedDerivation {
    how = how.input("base of a step", mm(base), "mm", Origin::Place(place));
    for step in read_steps(survey).iter().filter(|step| rests_on(step.row)) {
        for angle in &step.row.angles {
            let name = format!("step to {}", step.row.name);
            how = how.input(name, angle.number(), "µm/m", Origin::Place(angle.place));
        }
    }
    match curvature {
        Some(sag) => how
            .step("curvature of the earth taken off, L²/(8R) at the middle of the span", mm(sag), "mm")
            .note("a level follows gravity: x(L − x)/(2R) is added to its heights, with R = 6371 km"),
        None => how,
    }
}

/// The stations that a number rests on, by what each is called. Of a survey of angles: the steps between the first and the last
/// of them, since a line changes nothing.
fn all_told(
    case: &Case,
    mut how: PlacedDerivation,
    readings: &SurveyReadings,
    named: &[(String, &ReadStation)],
) -> PlacedDerivation {
    let survey = readings.survey;
    let Some(steps) = survey.angles.as_ref().filter(|_| readings.ties.is_empty()) else {
        return named.iter().fold(how, |how, (name, station)| told(case, how, name, readings, station));
    };
    let ends = || named.iter().map(|(_, station)| station.row.position);
    let (Some(first), Some(last)) = (ends().min(), ends().max()) else { return how };
    for (name, station) in named {
        how = how.step(format!("{name}: height, the sum of angle · base up to it"), mm(length(station.value)), "mm");
    }
    let between = |row: &StationReading| row.position > first && row.position <= last;
    with_steps(how, survey, (*steps.base, steps.base.place), between, curvature(case.ledger, survey))
}

/// A station's reading; where its survey was tied to an earlier one, how it came to be counted with the others.
pub(super) fn told(
    case: &Case,
    how: PlacedDerivation,
    name: &str,
    readings: &SurveyReadings,
    at: &ReadStation,
) -> PlacedDerivation {
    let Some(tie) = readings.tie(at) else { return station(case, how, name, at) };
    let fitted = tie.fit.at(at.row.position.nm()).map_or(String::new(), |fitted| mm(length(fitted)));
    let (formula, free) = match tie.fit.free() {
        Free::Offset => ("reading − mean of (after − before) where nothing moved", "an offset is free"),
        Free::Line => ("reading − line through (after − before) where nothing moved", "an offset and a slope are free"),
    };
    let what = format!("{} as tied to the survey before", at.row.name);
    let mut own = Derivation::new(what, formula, "least squares", mm(length(at.value)), "mm");
    own = station(case, own, "reading", at);
    for (was, now) in &tie.at {
        for (when, row) in [("before", was), ("after", now)] {
            for reading in &row.readings {
                own = own.input(format!("{} {when}", row.name), mm(reading.value), "mm", Origin::Place(reading.place));
            }
            for angle in &row.angles {
                let name = format!("{} {when}, step to it", row.name);
                own = own.input(name, angle.number(), "µm/m", Origin::Place(angle.place));
            }
        }
    }
    own = own.step("taken off here", fitted, "mm").note(free);
    how.derived(name, own.note("readings whose plus points to narrower, down or right are turned round first"))
}

fn range(case: &Case, id: RailId, kind: SurveyKind) -> Option<PlacedDerivation> {
    let readings = readings(case, id, kind)?;
    let result = mm(length(readings.range()));
    let how =
        Derivation::new("range of the survey", "greatest − least reading", "definition of the range", result, "mm");
    let how = told(case, how, &format!("greatest, at {}", readings.greatest.row.name), &readings, &readings.greatest);
    let how = told(case, how, &format!("least, at {}", readings.least.row.name), &readings, &readings.least);
    let mut how = how.step("stations read", readings.stations.len().to_string(), "");
    if let Some(uncertainty) = survey_doubt::of_range(case, case.limits(id.axis), &readings) {
        how = how.step("U, with half of what the closure may be", mm(Length(uncertainty.expanded())), "mm");
    }
    Some(how.note("noise makes the range of many stations larger, never smaller"))
}

/// Of the plane in which the rail is straight the least.
fn straightness(case: &Case, id: RailId) -> Option<PlacedDerivation> {
    let planes = CurrentSurveys::planes(case.ledger, id, SurveyKind::Straightness).into_iter();
    let zones = planes.filter_map(|plane| {
        let readings = plane.readings(case.ledger, plane.latest()?)?.into_owned();
        let (survey, _) = readings.survey()?;
        let zone = minimum_zone(&survey)?;
        Some((readings.zone()?, readings, zone))
    });
    let (width, readings, zone) = zones.reduce(|a, b| if b.0 > a.0 { b } else { a })?;
    let formula = "least distance of two parallel lines that hold every station between them";
    let how = Derivation::new("straightness", formula, "ISO 12780-1, minimum zone", mm(length(width)), "mm");
    let [from, to, far] = [zone.line.0, zone.line.1, zone.across].map(|it| &readings.stations[it.number]);
    let named = [
        (format!("one line runs through {}", from.row.name), from),
        (format!("and through {}", to.row.name), to),
        (format!("the other through {}", far.row.name), far),
    ];
    let how = all_told(case, how, &readings, &named);
    let mut how = how.step("stations read", readings.stations.len().to_string(), "");
    if let (Some(lever), Some(uncertainty)) =
        (zone.lever(), survey_doubt::of_zone(case, case.limits(id.axis), &readings, &zone))
    {
        let summed = |record: &usize| survey_at(case.ledger, *record).is_some_and(|survey| survey.angles.is_some());
        let formula = match (readings.records().iter().any(summed), readings.ties.is_empty()) {
            (true, true) => {
                "U = k √(u² n/4 + e² n²/4) as in the middle of all n steps, where it is the greatest, and half of the closure"
            }
            (true, false) => {
                "U of the least sure station against both ends: k √(u² (1 + a² + (1 − a)²)), u as in the middle of the n steps of each survey, with its tie"
            }
            (false, _) => "U = k √(u² (1 + a² + (1 − a)²))",
        };
        how = how.step(format!("lever a of {} between the two", far.row.name), figures(lever.to_f64(), 4), "").step(
            formula,
            mm(Length(uncertainty.expanded())),
            "mm",
        );
    }
    Some(how)
}

/// The worst stretch by a local limit, where one is stated.
fn local(case: &Case, id: RailId, kind: SurveyKind) -> Option<PlacedDerivation> {
    let limit = local_limit(kind);
    let over = case.limits(id.axis).most::<Length>(limit)?.1.over()?;
    let readings = match kind {
        SurveyKind::Gap | SurveyKind::Height => vec![readings(case, id, kind)?],
        SurveyKind::Straightness => {
            let planes = CurrentSurveys::planes(case.ledger, id, kind).into_iter();
            planes.filter_map(|plane| Some(plane.readings(case.ledger, plane.latest()?)?.into_owned())).collect()
        }
    };
    let all: Vec<_> = readings.iter().map(|of| (of, look_within(of, over))).collect();
    let worst = all.iter().filter_map(|(of, seen)| Some((of, seen.worst?)));
    let (readings, worst) = worst.reduce(|a, b| if b.1.width > a.1.width { b } else { a })?;
    // Of several planes any may hold what was passed over.
    let passed_over = all.iter().find_map(|(_, seen)| seen.passed_over);
    let (formula, source, ends) = match kind {
        SurveyKind::Straightness => (
            "greatest minimum zone of the stations within L",
            "ISO 12780-1, minimum zone",
            ["the stretch begins at", "and ends at"],
        ),
        SurveyKind::Gap | SurveyKind::Height => (
            "greatest |difference| of two stations no farther apart than L",
            "definition of the limit",
            ["one station,", "the other,"],
        ),
    };
    let width = mm(length(worst.width));
    let mut how = Derivation::new(format!("{} within L", subject(kind)), formula, source, width, "mm").input(
        "L",
        mm(over),
        "mm",
        limit_origin(case, limit),
    );
    let named: Vec<_> =
        worst.ends.iter().zip(ends).map(|(station, end)| (format!("{end} {}", station.row.name), station)).collect();
    how = all_told(case, how, readings, &named);
    Some(how.note(match passed_over {
        None => "only stations are looked at, which lie no farther apart than half of L",
        Some(UnseenStretch::BetweenStations) => {
            "not judged unless it breaks its limit: stations lie farther apart than half of L"
        }
        Some(UnseenStretch::Stretches) => "not judged unless it breaks its limit: not every stretch can be looked at",
    }))
}

fn expansion(case: &Case, id: RailId) -> Option<PlacedDerivation> {
    let axis = &case.ledger.machine.axes[id.axis];
    let rail = case.ledger.machine.rail(id);
    let span = axis.temperature.as_ref()?;
    let beam = expansion::beam(axis, rail)?;
    let (of_beam, of_rail) = (expansion::coefficient(beam)?, expansion::of_rail(case.ledger, rail));
    let (parted, at) = expansion::worst(rail.to() - rail.from, of_rail, of_beam, span)?;
    let profile = rail.profile.as_ref().and_then(|name| case.ledger.shop.profile(name));
    let rail_origin = match profile.and_then(|profile| profile.expansion) {
        Some(stated) => Origin::Place(stated.place),
        None => Origin::Standard("steel, common handbook value"),
    };
    let beam_origin = beam.expansion.map_or(beam.material.map(|material| material.place), |stated| Some(stated.place));
    let end = if at == span.least.value { span.least.place } else { span.most.place };
    let fitted = span.fitted.map_or_else(
        || ("20".to_string(), Origin::Standard("ISO 1")),
        |fitted| (fitted.value.number(), Origin::Place(fitted.place)),
    );
    let how = Derivation::new(
        "by how much rail and beam part",
        "Δ = L · |α_rail − α_beam| · |T − T_fitted|",
        "thermal expansion, lengths at 20 °C by ISO 1",
        mm(parted),
        "mm",
    )
    .input("L", mm(rail.to() - rail.from), "mm", Origin::Place(rail.place))
    .input("α_rail", expansion::micro(of_rail), "µm/m/K", rail_origin)
    .input("α_beam", expansion::micro(of_beam), "µm/m/K", Origin::Place(beam_origin.unwrap_or(beam.place)))
    .input("T", at.number(), "°C", Origin::Place(end))
    .input("T_fitted", fitted.0, "°C", fitted.1);
    Some(how.note("free to slide they part by this; bolted together it becomes force"))
}

/// The places of a fastener's facts.
pub(super) fn bolt_origins(fastener: &crate::ledger::Fastener) -> Option<crate::calc::bolts::BoltOrigins<Place>> {
    Some(crate::calc::bolts::BoltOrigins {
        thread: fastener.thread.as_ref()?.place,
        class: fastener.class.as_ref()?.place,
        head: fastener.head.as_ref()?.place,
        seat: fastener.seat_diameter.map(|seat| seat.place),
        friction: Origin::Place(fastener.friction?.0.place),
    })
}

/// What the bolt itself may have; a stated `most-torque` of the threaded part is no computed number.
fn torque(case: &Case, id: RailId, interface: Interface) -> Option<PlacedDerivation> {
    let fastener = fastener(case.ledger, id, interface)?;
    let (bolt, friction) = bolt::bolt(fastener).ok()??;
    let (share, _) = case.rulebook.most::<Ratio>(LimitName::ProofLoadShare)?;
    let allowed = bolt::allowed(&bolt, friction, share.to_f64());
    let full = crate::calc::bolts::derive_allowed_torque(&bolt, friction, &bolt_origins(fastener)?);
    let usual = crate::calc::bolts::YIELD_SHARE;
    let how = Derivation::new("torque the bolt may have", "M = M_A · share / 0.9", "VDI 2230", allowed.number(), "N·m");
    let how = how.derived("M_A", full).input(
        "share",
        figures(share.to_f64(), 4),
        "",
        limit_origin(case, LimitName::ProofLoadShare),
    );
    Some(how.step("share / 0.9", figures(share.to_f64() / usual, 4), "").note("rounded down to a thousandth"))
}
