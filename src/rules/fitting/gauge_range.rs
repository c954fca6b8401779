//! A gauge shows what was read from it.

use crate::finding::{Grade, Limit, Measure, MeasuredValue, Place, RuleName};
use crate::ledger::{Body, Gauge, Record, RunningForce, Spanned};
use crate::quantity::Length;
use crate::rules::flaws::{Flaw, needs_instrument};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gauge-range"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No reading of a length or a force is larger than the range of its gauge, either way from zero, and no two of a groove, or of a survey, lie farther apart than that.",
    why: "A number that the gauge cannot show was not read from it: a slipped decimal point, another unit, or another gauge.",
    limits: &[],
    source: "the range stated in the shop file",
    wrong: r#"
shop { gauge DI-4 kind=dial-indicator range=0.8 { calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 4.000 -> 4.010 }
"#,
    right: r#"
shop { gauge DI-4 kind=dial-indicator range=0.8 { calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 0.400 -> 0.410 }
"#,
    follows_from: &[Ground::Instrument],
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

/// What a gauge cannot show.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Beyond {
    /// The reading, or how far two lie apart.
    found: MeasuredValue,
    /// The same without its sign.
    size: MeasuredValue,
    place: Place,
    /// The other one, where two lie too far apart.
    other: Option<Place>,
    /// How many readings are too large.
    count: usize,
}

/// What of a record its gauge cannot show: the largest reading beyond its range, or else the two farthest apart.
pub(in crate::rules) fn beyond(record: &Record, gauge: &Gauge) -> Option<Beyond> {
    if let Body::RunningForce(run) = &record.body {
        return force_beyond(run, gauge);
    }
    let range = gauge.range?.value;
    let mut reach = GaugeReach { range, large: None, apart: None, count: 0 };
    match &record.body {
        Body::Inspect(inspect) => {
            for groove in &inspect.grooves {
                groove.pairs.iter().for_each(|(before, after)| reach.take([before, after].into_iter()));
            }
        }
        Body::Survey(survey) => {
            let rows = survey.stations.iter().chain(&survey.closure);
            reach.take(rows.flat_map(|row| &row.readings));
        }
        _ => {}
    }
    let large = reach.large.map(|it| Beyond {
        found: it.value.into(),
        size: it.value.abs().into(),
        place: it.place,
        other: None,
        count: reach.count,
    });
    let apart = |(a, b): (Spanned<Length>, Spanned<Length>)| Beyond {
        found: (b.value - a.value).into(),
        size: (b.value - a.value).into(),
        place: b.place,
        other: Some(a.place),
        count: 0,
    };
    large.or(reach.apart.map(apart))
}

/// The places of a run are read one by one: only the largest matters.
fn force_beyond(run: &RunningForce, gauge: &Gauge) -> Option<Beyond> {
    let range = gauge.forces.range?.value;
    let beyond = || run.forces().filter(|force| force.abs() > range);
    let largest = beyond().map(|force| force.abs()).max()?;
    let first = beyond().find(|force| force.abs() == largest)?;
    Some(Beyond {
        found: first.value.into(),
        size: largest.into(),
        place: first.place,
        other: None,
        count: beyond().count(),
    })
}

struct GaugeReach {
    range: Length,
    large: Option<Spanned<Length>>,
    apart: Option<(Spanned<Length>, Spanned<Length>)>,
    count: usize,
}

impl GaugeReach {
    /// Readings that were taken without setting the gauge anew.
    fn take<'r>(&mut self, readings: impl Iterator<Item = &'r Spanned<Length>> + Clone) {
        // Mostly it can show them all.
        let (mut least, mut most) = (Length::ZERO, Length::ZERO);
        readings.clone().for_each(|reading| (least, most) = (least.min(reading.value), most.max(reading.value)));
        if most - least <= self.range {
            return;
        }
        let mut ends: Option<(Spanned<Length>, Spanned<Length>)> = None;
        for reading in readings {
            if reading.value.abs() > self.range {
                self.count += 1;
                if self.large.is_none_or(|large| reading.value.abs() > large.value.abs()) {
                    self.large = Some(*reading);
                }
            }
            let (least, most) = ends.get_or_insert((*reading, *reading));
            if reading.value < least.value {
                *least = *reading;
            } else if reading.value > most.value {
                *most = *reading;
            }
        }
        let span = |(least, most): (Spanned<Length>, Spanned<Length>)| most.value - least.value;
        if let Some(ends) = ends.filter(|ends| span(*ends) > self.range)
            && self.apart.is_none_or(|apart| span(ends) > span(apart))
        {
            self.apart = Some(ends);
        }
    }
}

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.ledger.records[index];
    if !matches!(record.body, Body::Inspect(_) | Body::Survey(_) | Body::RunningForce(_)) || !needs_instrument(record) {
        return Verdict::NotRequired;
    }
    let Some(at) = record.gauge() else { return Verdict::Awaits("no gauge is named") };
    let Some(gauge) = case.shop.gauge(at) else { return Verdict::Awaits("its gauge is not in the shop") };
    let Some(range) = range(record, gauge) else { return Verdict::NotJudged("the range of its gauge is not stated") };
    if !case.flawed(index, Flaw::BeyondGauge) {
        return Verdict::Conforms(at.place);
    }
    match beyond(record, gauge) {
        Some(beyond) if !case.covered(index) => report(findings, record, gauge, range, beyond),
        // It is history.
        _ => return Verdict::NotRequired,
    }
    Verdict::Broken
}

/// The range of a gauge in what the record read.
fn range(record: &Record, gauge: &Gauge) -> Option<Spanned<MeasuredValue>> {
    match record.body {
        Body::RunningForce(_) => gauge.forces.range.map(|it| Spanned { value: it.value.into(), place: it.place }),
        _ => gauge.range.map(|it| Spanned { value: it.value.into(), place: it.place }),
    }
}

fn report(findings: &mut Findings, record: &Record, gauge: &Gauge, range: Spanned<MeasuredValue>, beyond: Beyond) {
    let (name, found) = (gauge.name.as_str(), beyond.found);
    let message = match (beyond.other, beyond.count) {
        (Some(_), _) => format!("two readings lie {found} apart, which {name} cannot show"),
        (None, 1) => format!("{name} cannot show {found}"),
        (None, 2) => format!("{name} cannot show {found}, nor 1 other reading of this record"),
        (None, n) => format!("{name} cannot show {found}, nor {} other readings of this record", n - 1),
    };
    let address = record.address();
    let mut finding = findings
        .finding(address, beyond.place, message)
        .here(if beyond.other.is_some() { "one of the two" } else { "beyond its range" })
        .found(Measure::too_large(beyond.size))
        .limit(Limit {
            entry: None,
            text: format!("at most {}", *range),
            source: format!("range of gauge `{name}`"),
            set_at: Some(range.place),
        })
        .next("correct the reading, its unit or the gauge's name; where that is not known any more, read it again");
    if let Some(other) = beyond.other {
        finding = finding.also(other, "the other one");
    }
    findings.add(finding);
}
