//! A gauge shows what was read from it.

use std::ops::Sub;

use crate::finding::{Grade, Limit, Measure, MeasuredValue, Place, RuleName};
use crate::ledger::{Body, Gauge, Record, RunningForce, Spanned, Survey};
use crate::quantity::{Amount, Angle};
use crate::rules::flaws::{Flaw, needs_instrument};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gauge-range"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No reading of a length, a force or an angle is larger than the range of its gauge, either way from zero, and no two of a groove, or of a survey, lie farther apart than that.",
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
pub(in crate::rules) fn beyond<'r>(record: &'r Record, gauge: &Gauge) -> Option<Beyond> {
    if let Body::RunningForce(run) = &record.body {
        return force_beyond(run, gauge);
    }
    let rows = |survey: &'r Survey| survey.stations.iter().chain(&survey.closure);
    match &record.body {
        Body::Inspect(inspect) => {
            let mut reach = GaugeReach::new(gauge.range?.value);
            for groove in &inspect.grooves {
                groove.pairs.iter().for_each(|(before, after)| reach.take([before, after].into_iter()));
            }
            reach.beyond()
        }
        Body::Survey(survey) if survey.angles.is_some() => {
            // Two angles that were rounded each by itself lie apart by up to as much more.
            let mut reach = GaugeReach { slack: Angle(2), ..GaugeReach::new(gauge.angles.range?.value) };
            reach.take(rows(survey).flat_map(|row| &row.angles));
            reach.beyond()
        }
        Body::Survey(survey) => {
            let mut reach = GaugeReach::new(gauge.range?.value);
            reach.take(rows(survey).flat_map(|row| &row.readings));
            reach.beyond()
        }
        _ => None,
    }
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

struct GaugeReach<A> {
    range: A,
    /// How much farther than the range two readings may lie apart.
    slack: A,
    large: Option<Spanned<A>>,
    apart: Option<(Spanned<A>, Spanned<A>)>,
    count: usize,
}

impl<A: Amount + Default + Sub<Output = A> + Into<MeasuredValue>> GaugeReach<A> {
    fn new(range: A) -> GaugeReach<A> {
        GaugeReach { range, slack: A::default(), large: None, apart: None, count: 0 }
    }

    /// Readings that were taken without setting the gauge anew.
    fn take<'r>(&mut self, readings: impl Iterator<Item = &'r Spanned<A>> + Clone)
    where
        A: 'r,
    {
        let zero = A::default();
        // Mostly it can show them all.
        let (mut least, mut most) = (zero, zero);
        readings.clone().for_each(|reading| (least, most) = (least.min(reading.value), most.max(reading.value)));
        if most - least <= self.range {
            return;
        }
        let mut ends: Option<(Spanned<A>, Spanned<A>)> = None;
        for reading in readings {
            if size(reading.value) > self.range {
                self.count += 1;
                if self.large.is_none_or(|large| size(reading.value) > size(large.value)) {
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
        let span = |(least, most): (Spanned<A>, Spanned<A>)| most.value - least.value;
        if let Some(ends) = ends.filter(|ends| span(*ends) - self.slack > self.range)
            && self.apart.is_none_or(|apart| span(ends) > span(apart))
        {
            self.apart = Some(ends);
        }
    }

    fn beyond(self) -> Option<Beyond> {
        let large = self.large.map(|it| Beyond {
            found: it.value.into(),
            size: size(it.value).into(),
            place: it.place,
            other: None,
            count: self.count,
        });
        let apart = |(a, b): (Spanned<A>, Spanned<A>)| Beyond {
            found: (b.value - a.value).into(),
            size: (b.value - a.value).into(),
            place: b.place,
            other: Some(a.place),
            count: 0,
        };
        large.or(self.apart.map(apart))
    }
}

/// Without its sign.
fn size<A: Amount + Default + Sub<Output = A>>(value: A) -> A {
    value.max(A::default() - value)
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
        Body::Survey(ref survey) if survey.angles.is_some() => {
            gauge.angles.range.map(|it| Spanned { value: it.value.into(), place: it.place })
        }
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
