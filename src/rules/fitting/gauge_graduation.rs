//! A gauge shows what is read from it, and is fine enough for its limit.

use super::shown;
use crate::calc::exact::is_multiple;
use crate::facts::proof::rise_of;
use crate::facts::survey_limits::{self, narrowest};
use crate::finding::{Grade, Limit, Measure, MeasuredValue, Place, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{Body, Gauge, Instrument, Record, Spanned, Survey, SurveyKind};
use crate::quantity::{Amount, Angle, Force, Length, Ratio, Torque};
use crate::rules::flaws::{Flaw, needs_instrument};
use crate::rules::quotient::WHOLE;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gauge-graduation"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The graduation of a gauge is small enough for the limit it is used for, of a survey the narrower one of that over the whole rail and the local one; of angles it is held against how far a mark lets a step rise; a record for which it is not is history once a later one that counts covers the same. A reading finer than the graduation is an observation.",
    why: "With marks as far apart as the limit is wide, inside and outside look alike. A reading between the marks is an estimate, or a slip.",
    limits: &[
        LimitName::GaugeGraduation,
        LimitName::JointStep,
        LimitName::GapRange,
        LimitName::Straightness,
        LimitName::HeightRange,
        LimitName::GapLocal,
        LimitName::StraightnessLocal,
        LimitName::HeightLocal,
        LimitName::RunningForce,
    ],
    holds: &[LimitName::GaugeGraduation],
    source: "from memory of the 10:1 rule; half the limit is the least that tells anything",
    wrong: r#"
shop { gauge DI-6 graduation=0.02 }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-6 { UL 0 -> 0.02 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-6 { UL 0 -> 0.01 }
"#,
    about: About::Taking,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

/// What gauges are read against, and how fine they must be for it.
pub(crate) struct GraduationLimits<'l> {
    /// The limit of steps, with its entry.
    step: Option<(Length, LimitName)>,
    /// The narrowest limits of gap, straightness and height, each with its entry.
    surveys: [Option<(Length, LimitName)>; 3],
    force: Option<Force>,
    share: Option<(Ratio, InForce<'l>)>,
}

impl<'l> GraduationLimits<'l> {
    pub(crate) fn new(case: &Case<'l>) -> GraduationLimits<'l> {
        GraduationLimits {
            step: case.rulebook.most(LimitName::JointStep).map(|(most, _)| (most, LimitName::JointStep)),
            surveys: [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height]
                .map(|kind| narrowest(case.rulebook, kind).map(|it| (it.most, it.name))),
            force: case.rulebook.most::<Force>(LimitName::RunningForce).map(|(most, _)| most),
            share: case.rulebook.most(LimitName::GaugeGraduation),
        }
    }

    /// Whether a gauge is too coarse for what it read.
    pub(crate) fn too_coarse(&self, body: &Body, gauge: &Gauge) -> bool {
        if let Body::RunningForce(_) = body {
            let force = gauge.forces.graduation.zip(self.force);
            return force.is_some_and(|(marks, limit)| self.coarse(marks.0, limit.0));
        }
        let lengths = marks(body, gauge).zip(self.used_for(body));
        lengths.is_some_and(|(marks, (limit, _))| self.coarse(marks.value.nm().into(), limit.nm().into()))
    }

    /// Whether marks are too coarse for a limit, both in the smallest unit.
    pub(crate) fn coarse(&self, graduation: i128, limit: i128) -> bool {
        let beyond = |share: Ratio| graduation.saturating_mul(WHOLE) > limit.saturating_mul(share.0.into());
        graduation > 0 && self.share.is_some_and(|(share, _)| beyond(share))
    }

    /// The limit that the lengths of a record are held against.
    fn used_for(&self, body: &Body) -> Option<(Length, LimitName)> {
        match body {
            Body::Inspect(inspect) if !inspect.grooves.is_empty() => self.step,
            Body::Survey(survey) => self.of_survey(survey.kind?.value),
            _ => None,
        }
    }

    /// The narrowest limit of what a kind of survey reads.
    fn of_survey(&self, kind: SurveyKind) -> Option<(Length, LimitName)> {
        let [gap, straightness, height] = self.surveys;
        match kind {
            SurveyKind::Gap => gap,
            SurveyKind::Straightness => straightness,
            SurveyKind::Height => height,
        }
    }

    /// What a gauge has to be fine enough for: steps, or what a kind of survey reads. A reading without a limit of its own is a
    /// reference: the gap's limit says how fine it must be.
    pub(crate) fn to_show(&self, kind: Option<SurveyKind>) -> Option<Length> {
        let own = kind.map_or(self.step, |kind| self.of_survey(kind));
        own.or(self.of_survey(SurveyKind::Gap)).map(|(most, _)| most)
    }
}

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.ledger.records[index];
    if record.is_aligning() {
        return Verdict::NotRequired;
    }
    // What clicks shows nothing.
    let shows = || match &record.body {
        Body::Fasten(fasten) => fasten.torques.iter().any(Option::is_some),
        Body::Inspect(_) | Body::Survey(_) | Body::RunningForce(_) => needs_instrument(record),
        _ => false,
    };
    let stated = match Instrument::for_record(case.ledger, record) {
        Some((Instrument::Gauge(gauge), at)) => by_gauge(case, findings, index, gauge, at).map(|()| at),
        Some((Instrument::Wrench(wrench), at)) => {
            let graduation = wrench.graduation.filter(|it| it.0 > 0);
            if let Some(graduation) = graduation {
                by_wrench(case, findings, index, graduation);
            }
            graduation.map(|_| at)
        }
        None => None,
    };
    match stated {
        // One that is too coarse is history, unless it is told of just now.
        // Marks are fine enough for nothing where nothing is limited.
        _ if case.flawed(index, Flaw::Coarse) || !shows() || !is_limited(case, record) => Verdict::NotRequired,
        Some(at) => Verdict::Conforms(at),
        None if Instrument::for_record(case.ledger, record).is_none() => Verdict::Awaits("no instrument is named"),
        None => Verdict::NotJudged("the graduation of its instrument is not stated"),
    }
}

/// The graduation of a gauge as lengths; of angles how far a step of the survey rises by it.
fn marks(body: &Body, gauge: &Gauge) -> Option<Spanned<Length>> {
    match body {
        Body::Survey(Survey { angles: Some(steps), .. }) => {
            let graduation = gauge.angles.graduation?;
            Some(Spanned { value: rise_of(*graduation, *steps.base), place: graduation.place })
        }
        _ => gauge.graduation,
    }
}

/// Whether a limit says how fine the marks must be for what a record read. A wrench's are held against its readings alone.
fn is_limited(case: &Case, record: &Record) -> bool {
    match &record.body {
        Body::Inspect(_) => case.rulebook.most::<Length>(LimitName::JointStep).is_some(),
        Body::Survey(survey) => survey.kind.is_none_or(|kind| survey_limits::is_limited(case.rulebook, kind.value)),
        Body::RunningForce(_) => case.rulebook.most::<Force>(LimitName::RunningForce).is_some(),
        _ => true,
    }
}

/// Judges a record by the marks of its gauge, where they are stated in what it read.
fn by_gauge(case: &Case, findings: &mut Findings, index: usize, gauge: &Gauge, at: Place) -> Option<()> {
    let record = &case.ledger.records[index];
    let limits = || case.wanting(index, Flaw::Coarse).then(|| GraduationLimits::new(case));
    if let Body::RunningForce(run) = &record.body {
        let graduation = gauge.forces.graduation?;
        if let Some(limits) = limits()
            && let (Some(limit), Some((share, _))) = (limits.force, limits.share)
        {
            // Multiplied where it can be, and rounded down.
            let share = i128::from(share.0);
            let most =
                limit.0.checked_mul(share).map_or_else(|| (limit.0 / WHOLE).saturating_mul(share), |it| it / WHOLE);
            coarse(case, &limits, findings, record, (graduation, at), (limit, LimitName::RunningForce), Force(most));
        }
        let mut finer = Finer { first: None, count: 0 };
        run.forces().for_each(|force| finer.take(*force, !is_multiple(force.0, graduation.0)));
        too_fine(findings, record, &finer, graduation, |force| force.to_string());
        return Some(());
    }
    let graduation = marks(&record.body, gauge).filter(|it| it.nm() > 0)?;
    if let Some(limits) = limits()
        && let (Some(used_for), Some((share, _))) = (limits.used_for(&record.body), limits.share)
    {
        let most = i128::from(share.0) * i128::from(used_for.0.nm()) / WHOLE;
        let most = Length(i64::try_from(most).unwrap_or(i64::MAX));
        coarse(case, &limits, findings, record, (graduation, at), used_for, most);
    }
    if let (Body::Survey(Survey { angles: Some(_), .. }), Some(graduation)) = (&record.body, gauge.angles.graduation) {
        let mut finer = Finer { first: None, count: 0 };
        angles(&record.body, |angle| finer.take(angle, !is_on_mark(*angle, *graduation)));
        too_fine(findings, record, &finer, graduation, |angle| angle.to_string());
        return Some(());
    }
    let mut finer = Finer { first: None, count: 0 };
    lengths(&record.body, |reading| finer.take(reading, reading.nm() % graduation.nm() != 0));
    too_fine(findings, record, &finer, graduation, |length| length.to_string());
    Some(())
}

fn by_wrench(case: &Case, findings: &mut Findings, index: usize, graduation: Spanned<Torque>) {
    if case.torques(index).is_some_and(|torques| torques.on_marks(*graduation)) {
        return;
    }
    let record = &case.ledger.records[index];
    let mut finer = Finer { first: None, count: 0 };
    torques(&record.body, |reading| finer.take(reading, !is_multiple(reading.0, graduation.0)));
    too_fine(findings, record, &finer, graduation, shown);
}

/// Readings between two marks.
struct Finer<T> {
    first: Option<Spanned<T>>,
    count: usize,
}

impl<T> Finer<T> {
    fn take(&mut self, reading: Spanned<T>, between: bool) {
        if between {
            self.first.get_or_insert(reading);
            self.count += 1;
        }
    }
}

fn lengths(body: &Body, mut take: impl FnMut(Spanned<Length>)) {
    match body {
        Body::Inspect(inspect) => {
            for (before, after) in inspect.grooves.iter().flat_map(|groove| &groove.pairs) {
                take(*before);
                take(*after);
            }
        }
        Body::Survey(survey) => {
            for station in survey.stations.iter().chain(&survey.closure) {
                station.readings.iter().copied().for_each(&mut take);
            }
        }
        _ => {}
    }
}

fn angles(body: &Body, take: impl FnMut(Spanned<Angle>)) {
    let Body::Survey(survey) = body else { return };
    survey.stations.iter().chain(&survey.closure).flat_map(|station| &station.angles).copied().for_each(take);
}

/// Whether an angle lies on a mark, but for what rounding arc seconds makes of each.
fn is_on_mark(angle: Angle, graduation: Angle) -> bool {
    let (angle, graduation) = (i128::from(angle.picoradians()).abs(), i128::from(graduation.picoradians()).max(1));
    let marks = (angle + graduation / 2) / graduation;
    // Half a picoradian in the angle, and in each graduation.
    2 * (angle - marks * graduation).abs() <= marks + 1
}

fn torques(body: &Body, mut take: impl FnMut(Spanned<Torque>)) {
    let Body::Fasten(fasten) = body else { return };
    fasten.torques.iter().flatten().copied().for_each(&mut take);
}

/// `most` is the coarsest graduation that would do.
fn coarse<A: Amount + Into<MeasuredValue>>(
    case: &Case,
    limits: &GraduationLimits,
    findings: &mut Findings,
    record: &Record,
    (graduation, at): (Spanned<A>, Place),
    (limit, entry): (A, LimitName),
    most: A,
) {
    let Some((share, stated)) = limits.share else { return };
    let set_at = case.rulebook.most::<A>(entry).and_then(|(_, stated)| stated.words().set_at);
    let finding = findings
        .finding(
            record.address(),
            at,
            match over_step(record) {
                Some(base) => format!(
                    "a gauge whose graduation lets a step of {base} rise by {} is too coarse for a limit of {limit}",
                    *graduation
                ),
                None => format!("a gauge with a graduation of {} is too coarse for a limit of {limit}", *graduation),
            },
        )
        .here("this gauge")
        .also(graduation.place, "its graduation")
        .found(Measure::too_large(graduation.value))
        .limit(Limit {
            text: format!("at most {most}, {} of the {entry} limit {limit}", share.number()),
            ..stated.words()
        })
        .next(match over_step(record) {
            Some(base) => {
                format!("read again with a gauge that shows {most} over {base} or finer, or with shorter steps")
            }
            None => format!("read again with a gauge that shows {most} or finer"),
        });
    findings.add(match set_at {
        Some(place) => finding.also(place, format!("the limit of {limit}")),
        None => finding,
    });
}

/// How long the steps are whose angles a record reads.
fn over_step(record: &Record) -> Option<Length> {
    match &record.body {
        Body::Survey(survey) => survey.angles.as_ref().map(|steps| *steps.base),
        _ => None,
    }
}

/// One finding for the readings of a record that lie between two marks.
fn too_fine<T: Copy>(
    findings: &mut Findings,
    record: &Record,
    finer: &Finer<T>,
    graduation: Spanned<T>,
    shown: fn(T) -> String,
) {
    let Some(first) = finer.first else { return };
    let (reading, graduation, at) = (shown(first.value), shown(graduation.value), graduation.place);
    let count = finer.count;
    let more = match count {
        1 => String::new(),
        2 => ", and so is 1 more".to_string(),
        _ => format!(", and so are {} more", count - 1),
    };
    let mut finding = findings
        .finding(
            record.address(),
            first.place,
            format!("{reading} is finer than the {graduation} the instrument shows{more}"),
        )
        .here("between two marks")
        .also(at, "its graduation")
        .found(Measure::too_large(count))
        .next("correct the reading or the instrument's name; an estimate between two marks adds nothing");
    finding.grade = Grade::Observation;
    findings.add(finding);
}
