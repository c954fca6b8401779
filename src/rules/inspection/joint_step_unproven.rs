//! A step near its limit is not proven to be inside it.
//!
//! The guard band w is a share of U = 2u. A step is a short travel, so the gauge's local error enters once and its
//! resolution twice (`calc::uncertainty`). Repeats are taken as one reading: they narrow the resolution only.

use crate::calc::step::MeanStep;
use crate::calc::uncertainty::Variance;
use crate::facts::steps::{Latest, mean_step};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{Gauge, GrooveReading, Keyword, RailId};
use crate::quantity::{Amount, Length, Ratio};
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict, proof};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-step-unproven"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "Each step that conforms does so by at least the guard band, so that the measuring uncertainty cannot hide one beyond the limit. A nonconformity where the rulebook requires proof.",
    why: "A gauge that may be off by 4 µm cannot tell 19 µm from 21. Who must prove conformity needs a step that much smaller, or a better gauge.",
    limits: &[LimitName::JointStep, LimitName::GuardBand, LimitName::Proof],
    source: "ISO 14253-1, ILAC-G8:09/2019; GUM F.2.2.1 for the graduation; JIS B 7503:2011 for a dial indicator that states no error",
    wrong: r#"
shop { gauge DI-4 graduation=0.002 local-error=0.003 }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { UL -0.04 -> -0.022 }
"#,
    right: r#"
shop { gauge DI-4 graduation=0.002 local-error=0.003 }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { UL -0.04 -> -0.024 }
"#,
    judges: &[ReadingKind::Step],
    about: About::Certainty,
    about_each_place: true,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

/// The guard band of a step, and what it rests on.
#[derive(Clone, Copy)]
struct Guard<'l> {
    width: Length,
    gauge: &'l Gauge,
    error: Length,
    /// Which error it is, in words.
    what: &'static str,
    graduation: Length,
    share: Ratio,
}

impl Guard<'_> {
    /// What it rests on, in words.
    fn basis(&self) -> String {
        let Guard { gauge, error, what, graduation, share, .. } = self;
        let of_u = if share.0 == WHOLE as i64 { String::new() } else { format!("{} × ", share.number()) };
        format!("{of_u}U = 2u from the {what} {error} once and the graduation {graduation} twice ({})", *gauge.name)
    }
}

const WHOLE: i128 = 1_000_000_000;

struct StepLimit<'a> {
    most: Length,
    limit: InForce<'a>,
    required: bool,
}

/// The guard bands of gauges. Mostly one gauge reads all grooves of a joint, so the last one is kept.
struct GuardBands<'l> {
    share: Ratio,
    last: Option<(&'l Gauge, bool, Option<Guard<'l>>)>,
}

impl<'l> GuardBands<'l> {
    fn for_gauge(&mut self, gauge: &'l Gauge, slanted: bool) -> Option<Guard<'l>> {
        match self.last {
            Some((last, how, guard)) if std::ptr::eq(last, gauge) && how == slanted => guard,
            _ => {
                let guard = guard(gauge, slanted, self.share);
                self.last = Some((gauge, slanted, guard));
                guard
            }
        }
    }
}

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::JointStep) else { return Verdict::NotRequired };
    let Some((share, _)) = case.rulebook.most::<Ratio>(LimitName::GuardBand) else { return Verdict::NotRequired };
    let ask = StepLimit { most, limit, required: proof::required(case.rulebook) };
    let mut guards = GuardBands { share, last: None };
    // Each step that conforms and is not proven to: the groove, its step, its place, the guard band.
    let mut open = Vec::new();
    let mut silent = None;
    let mut beyond = false;
    for reading in case.joint_state(id, joint).grooves.into_iter().flatten() {
        let Some(step) = mean_step(&reading) else { continue };
        if step.over(ask.most.nm()) {
            beyond = true;
            continue;
        }
        // What holds no more is to be read again; whether it was proven is no question then.
        if !case.latest_stands(id, joint, reading.record) {
            continue;
        }
        let gauge = reading.inspect.gauge.as_ref().and_then(|name| case.ledger.shop.gauge(name));
        match gauge.and_then(|gauge| guards.for_gauge(gauge, step.slanted)) {
            Some(guard) if step.over((ask.most - guard.width).nm()) => open.push((reading, step, guard)),
            Some(_) => {}
            None => silent = silent.or(Some(reading)),
        }
    }
    if let (Some(reading), true) = (silent, ask.required) {
        findings.add(untold(case, findings, id, joint, reading, &ask));
    }
    if let Some(finding) = unproven(case, findings, id, joint, &open, &ask) {
        findings.add(finding);
    }
    match case.steps_shown(id, joint) {
        Err(lacking) => Verdict::Awaits(lacking),
        _ if beyond => Verdict::Awaits("the steps are not within their limit"),
        _ if silent.is_some() => Verdict::NotJudged("no graduation and error of the gauge are stated"),
        // An observation, since nobody asks for proof.
        _ if !open.is_empty() => Verdict::NotRequired,
        Ok(place) => Verdict::Conforms(place),
    }
}

/// It must be proven, and nothing says how sure the gauge is.
fn untold(
    case: &Case,
    findings: &Findings,
    id: RailId,
    joint: usize,
    reading: Latest<&GrooveReading>,
    ask: &StepLimit,
) -> Finding {
    let name = &case.machine.rail(id).joints[joint].name;
    let gauge = reading.inspect.gauge.as_ref();
    let at = gauge.map_or(case.records[reading.record].place, |gauge| gauge.place);
    let which = gauge
        .map_or("a gauge that is not named".to_string(), |gauge| format!("{}, whose errors are not stated", **gauge));
    let mut finding = findings
        .finding(
            case.machine.joint_address(id, joint),
            at,
            format!("whether the steps of {name} are proven cannot be told: read with {which}"),
        )
        .here("read with it")
        .limit(ask.limit)
        .next("name the gauge, and give it graduation and local-error in the shop file");
    finding.grade = Grade::Outstanding;
    finding
}

/// The largest of the steps that conform and are not proven to.
fn unproven(
    case: &Case,
    findings: &Findings,
    id: RailId,
    joint: usize,
    open: &[(Latest<&GrooveReading>, MeanStep, Guard)],
    ask: &StepLimit,
) -> Option<Finding> {
    let name = &case.machine.rail(id).joints[joint].name;
    let (worst, step, guard) = open.iter().rev().max_by_key(|(_, step, _)| step.magnitude_nm())?;
    let (found, groove) = (Length(step.magnitude_nm()), worst.what.groove.word());
    let inside = ask.most - guard.width;
    let more = match open.len() {
        1 => String::new(),
        2 => ", nor is 1 other".to_string(),
        n => format!(", nor are {} others", n - 1),
    };
    let mut finding = findings
        .finding(
            case.machine.joint_address(id, joint),
            worst.what.place,
            format!("the step of {found} at groove {groove} of {name} is not proven to be inside the limit{more}"),
        )
        .here(format!("w = {}: {}", guard.width, guard.basis()))
        .found(Measure::too_large(found))
        .limit(Limit {
            text: format!("at most {} to be proven: {} less w", inside.max(Length::ZERO), ask.most),
            ..ask.limit.words()
        })
        .next(if inside > Length::ZERO {
            format!("bring the step to {inside} or less, or read it with a gauge of smaller local error")
        } else {
            "no step can be proven with this gauge: read it with one of smaller local error".to_string()
        });
    if ask.required {
        finding.grade = Grade::Nonconformity;
    }
    for (other, step, _) in open.iter().filter(|(other, ..)| other.what.place != worst.what.place) {
        finding =
            finding.also(other.what.place, format!("{}: {}", other.what.groove.word(), Length(step.magnitude_nm())));
    }
    Some(finding)
}

/// What the gauge's figures make of a step read straight or slanted; nothing where they are not stated.
fn guard(gauge: &Gauge, slanted: bool, share: Ratio) -> Option<Guard<'_>> {
    let graduation = gauge.graduation?.value;
    let (error, what) = proof::short_travel_error(gauge)?;
    let expanded = Variance::step(error.nm(), graduation.nm()).expanded();
    let scaled = (i128::from(expanded) * i128::from(share.0) + WHOLE - 1).div_euclid(WHOLE);
    // A slanted stylus reads more than the step, and so its error weighs less.
    let read = MeanStep { sum_nm: i64::try_from(scaled).ok()?, count: 1, slanted };
    Some(Guard { width: Length(read.magnitude_nm()), gauge, error, what, graduation, share })
}
