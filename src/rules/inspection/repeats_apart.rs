//! Readings of one thing lie no farther apart than its gauge scatters.

use std::ops::Sub;

use crate::calc::exact::ceil_sqrt;
use crate::finding::{Grade, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Gauge, Inspect, Keyword, RunningForce, Spanned, StationReading, Survey};
use crate::quantity::{Amount, Angle, Force, Length};
use crate::rules::quotient::Quotient;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("repeats-apart"),
    group: RuleGroup::Inspection,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "The repeats of a groove, of a station of a survey, or of the running force at a place, lie no farther apart than some times the stated repeatability of their gauge, or its graduation where that is more or no repeatability is stated. For a groove it is the step that repeats, which holds two readings; for a force its size. A record is history once a later one that counts covers the same.",
    why: "A step of 0.04 mm, one of −0.03 mm and one of 0.02 mm have a fine mean, and not one of them is right. What moved in between, the rail, the holder or the gauge, moves the mean as well.",
    limits: &[LimitName::RepeatSpread],
    source: "ISO 5725-6, critical range, from memory",
    wrong: r#"
shop { gauge DI-4 kind=dial-indicator graduation=0.002 }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { UL 0 -> 0.014 0 -> -0.01 0 -> 0.002 }
"#,
    right: r#"
shop { gauge DI-4 kind=dial-indicator graduation=0.002 }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { UL 0 -> 0.004 0 -> 0.002 0 -> 0.002 }
"#,
    about: About::Taking,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

/// What was read more than once at one place.
struct Repeated<A> {
    what: String,
    least: A,
    most: A,
    place: Place,
}

impl<A: Amount + Sub<Output = A>> Repeated<A> {
    fn spread(&self) -> A {
        self.most - self.least
    }
}

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.ledger.records[index];
    match &record.body {
        // What is read while the rail is set moves between two readings, as it should.
        _ if record.is_aligning() => Verdict::NotRequired,
        Body::Inspect(inspect) => {
            judge(case, findings, index, widest_step(inspect), Length::nm, |gauge| lengths(gauge, true))
        }
        Body::Survey(survey) if survey.angles.is_some() => {
            judge(case, findings, index, widest_station(survey, |row| &row.angles), Angle::picoradians, |gauge| {
                wider(gauge.angles.repeatability, gauge.angles.graduation)
            })
        }
        Body::Survey(survey) => {
            judge(case, findings, index, widest_station(survey, |row| &row.readings), Length::nm, |gauge| {
                lengths(gauge, false)
            })
        }
        Body::RunningForce(run) => judge(case, findings, index, widest_place(run), |force| force.0, forces),
        _ => Verdict::NotRequired,
    }
}

/// How far what a gauge reads scatters, and where that is stated.
type StatedScatter<A> = Option<(A, Place)>;

fn judge<A: Amount + Sub<Output = A> + std::fmt::Display, N: Into<i128>>(
    case: &Case,
    findings: &mut Findings,
    index: usize,
    widest: Option<Repeated<A>>,
    small: impl Fn(A) -> N,
    scatter: impl Fn(&Gauge) -> StatedScatter<A>,
) -> Verdict {
    let record = &case.ledger.records[index];
    let Some(widest) = widest else { return Verdict::NotRequired };
    let Some(at) = record.gauge() else { return Verdict::Awaits("no gauge is named") };
    let Some(gauge) = case.ledger.shop.gauge(at) else { return Verdict::Awaits("its gauge is not in the shop") };
    let Some((scatter, stated)) = scatter(gauge) else {
        return Verdict::NotJudged("neither repeatability nor graduation of its gauge is stated");
    };
    let quotient = Quotient { of: small(widest.spread()).into(), per: small(scatter).into() };
    let Some((found, limit)) = quotient.beyond(case.rulebook, LimitName::RepeatSpread) else {
        return Verdict::Conforms(widest.place);
    };
    if case.covered(index) {
        return Verdict::NotRequired;
    }
    findings.add(
        findings
            .finding(
                record.address(),
                widest.place,
                format!(
                    "the readings of {} lie {} apart, from {} to {}: their mean says nothing",
                    widest.what,
                    widest.spread(),
                    widest.least,
                    widest.most
                ),
            )
            .here("read several times")
            .also(stated, format!("{} scatters by {scatter}", *gauge.name))
            .found(found)
            .limit(limit)
            .next("see to the gauge, its holder and what may have moved, and read all of this record again; where a reading is miswritten, correct it; where the gauge scatters so, state its repeatability"),
    );
    Verdict::Outstanding
}

/// By the stated figures of a gauge; a step holds two readings.
fn lengths(gauge: &Gauge, steps: bool) -> StatedScatter<Length> {
    let of_reading = |stated: Spanned<Length>| {
        let nm = u128::from(stated.nm().unsigned_abs());
        let value = Length(if steps { i64::try_from(ceil_sqrt(nm * nm * 2)).unwrap_or(i64::MAX) } else { stated.nm() });
        Spanned { value, ..stated }
    };
    wider(gauge.repeatability.map(of_reading), gauge.graduation)
}

/// The same of forces.
fn forces(gauge: &Gauge) -> StatedScatter<Force> {
    wider(gauge.forces.repeatability, gauge.forces.graduation)
}

/// The larger of the two figures where it is stated; of two that are alike the repeatability.
fn wider<A: Copy + Ord>(repeatability: Option<Spanned<A>>, graduation: Option<Spanned<A>>) -> StatedScatter<A> {
    let figures = graduation.into_iter().chain(repeatability);
    figures.max_by_key(|it| it.value).map(|it| (it.value, it.place))
}

/// Of sizes: a repeat may be pushed the other way.
fn widest_place(run: &RunningForce) -> Option<Repeated<Force>> {
    let spreads = run.rows.iter().filter(|row| row.forces.len() > 1).filter_map(|row| {
        let sizes = || row.forces.iter().map(|force| force.abs());
        let what = format!("the force at {}", *row.position);
        Some(Repeated { what, least: sizes().min()?, most: sizes().max()?, place: row.place })
    });
    first_widest(spreads)
}

fn widest_step(inspect: &Inspect) -> Option<Repeated<Length>> {
    let repeated = inspect.grooves.iter().filter(|groove| groove.pairs.len() > 1);
    let spreads = repeated.filter_map(|groove| {
        let steps = || groove.pairs.iter().map(|(before, after)| after.value - before.value);
        let (least, most) = (steps().min()?, steps().max()?);
        Some(Repeated { what: format!("groove {}", groove.groove.word()), least, most, place: groove.place })
    });
    first_widest(spreads)
}

fn widest_station<A: Amount + Sub<Output = A>>(
    survey: &Survey,
    read: impl Fn(&StationReading) -> &[Spanned<A>],
) -> Option<Repeated<A>> {
    // Mostly each station is read once, in one row.
    let once = survey.stations.iter().all(|row| read(row).len() < 2);
    if once && survey.stations.is_sorted_by(|row, next| row.position < next.position) {
        return None;
    }
    let mut rows: Vec<_> = survey.stations.iter().collect();
    rows.sort_by_key(|row| row.position);
    // A station in two rows was read again.
    let spreads = rows.chunk_by(|row, next| row.position == next.position).filter_map(|rows| {
        let readings = || rows.iter().flat_map(|row| read(row)).map(|reading| reading.value);
        let (least, most) = (readings().min()?, readings().max()?);
        let row = rows.last().filter(|_| readings().nth(1).is_some())?;
        Some(Repeated { what: row.name.to_string(), least, most, place: row.place })
    });
    first_widest(spreads)
}

/// Of those that are as wide the first.
fn first_widest<A: Amount + Sub<Output = A> + Ord>(all: impl Iterator<Item = Repeated<A>>) -> Option<Repeated<A>> {
    all.reduce(|widest, it| if it.spread() > widest.spread() { it } else { widest })
}
