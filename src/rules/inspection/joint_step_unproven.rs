//! A step near its limit is not proven to be inside it.
//!
//! The guard band w is a share of U = k u. A step is a short travel, so the gauge's local error enters once, its scatter
//! and its resolution twice (`facts::proof`). Repeats narrow the scatter only.

use crate::calc::step::MeanStep;
use crate::calc::uncertainty::Uncertainty;
use crate::facts::proof::{GaugeCertainty, ProvenQuantity, band};
use crate::facts::steps::{Latest, mean_step};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName, Rulebook};
use crate::ledger::{Gauge, GrooveReading, Keyword, RailId, RepeatedQuantity};
use crate::quantity::{Amount, Length, Ratio};
use crate::rules::unproven::{ProofError, Sure, certainty, grade, unscattered, verdict};
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-step-unproven"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "Each step that conforms does so by at least the guard band, so that the measuring uncertainty cannot hide one beyond the limit. Each reading has a scatter, a single one too: that stated for the gauge, or that of its repeats in the ledger. A nonconformity where the rulebook requires proof; outstanding where nothing says how sure the gauge is.",
    why: "A gauge that may be off by 4 µm cannot tell 19 µm from 21. Who must prove conformity needs a step that much smaller, or a better gauge.",
    limits: &[LimitName::JointStep, LimitName::GuardBand, LimitName::Proof, LimitName::ProofOfStep],
    source: "ILAC-G8:09/2019 for w = U; GUM F.2.2.1 for the graduation, G.4 and table G.2 for k; JIS B 7503:2011 for a dial indicator that states no error",
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
    of: Uncertainty,
    gauge: &'l Gauge,
    certainty: GaugeCertainty,
    share: Ratio,
}

impl Guard<'_> {
    /// What it rests on, in words.
    fn basis(&self) -> String {
        let of_u = if self.share == Ratio::ONE { String::new() } else { format!("{} × ", self.share.number()) };
        format!("{of_u}{} ({})", self.certainty.basis(self.of), *self.gauge.name)
    }
}

struct StepLimit<'a> {
    most: Length,
    limit: InForce<'a>,
    share: Ratio,
    required: bool,
}

type Asked<'l> = Result<Sure<'l>, ProofError<'l>>;

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::JointStep) else { return Verdict::NotRequired };
    let Some((share, _)) = case.rulebook.most::<Ratio>(LimitName::GuardBand) else { return Verdict::NotRequired };
    let ask = StepLimit { most, limit, share, required: case.must_prove(ProvenQuantity::Step) };
    // Mostly one gauge reads all grooves of a joint, so the last one is kept.
    let mut last: Option<(Option<&str>, Asked)> = None;
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
        let named = reading.inspect.gauge.as_ref();
        let name = named.map(|name| name.as_str());
        let asked = match last {
            Some((of, asked)) if of == name => asked,
            _ => certainty(case, named, RepeatedQuantity::Step),
        };
        last = Some((name, asked));
        match asked {
            Ok(sure) => {
                let guard = guard(sure, step, &ask, case.rulebook);
                if step.over((ask.most - guard.width).nm()) {
                    open.push((reading, step, guard));
                } else if let Some(untold) = unscattered(sure, ask.required) {
                    silent = silent.or(Some((reading, untold)));
                }
            }
            Err(untold) => silent = silent.or(Some((reading, untold))),
        }
    }
    if let (Some((reading, untold)), true) = (silent, ask.required) {
        let what = format!("the steps of {} are proven", case.machine.rail(id).joints[joint].name);
        let address = case.machine.joint_address(id, joint);
        findings.add(untold.finding(case, findings, address, reading.record, &what).limit(ask.limit));
    }
    if let Some(finding) = unproven(case, findings, id, joint, &open, &ask) {
        findings.add(finding);
    }
    let shown = match case.steps_shown(id, joint) {
        Err(lacking) => Verdict::Awaits(lacking),
        _ if beyond => Verdict::Awaits("the steps are not within their limit"),
        _ if let Some((_, untold)) = silent => Verdict::NotJudged(untold.lacking()),
        _ if !open.is_empty() => Verdict::Awaits("no reading is sure enough to prove it"),
        Ok(place) => Verdict::Conforms(place),
    };
    verdict(ask.required, shown)
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
            format!("bring the step to {inside} or less, read it a few times, or read it with a gauge of smaller error")
        } else {
            "no step can be proven so: read it more often, or with a gauge of smaller error and scatter".to_string()
        });
    finding.grade = grade(ask.required);
    for (other, step, _) in open.iter().filter(|(other, ..)| other.what.place != worst.what.place) {
        finding =
            finding.also(other.what.place, format!("{}: {}", other.what.groove.word(), Length(step.magnitude_nm())));
    }
    Some(finding)
}

/// What a gauge makes of the mean of some steps.
fn guard<'l>((gauge, certainty): Sure<'l>, step: MeanStep, ask: &StepLimit, rulebook: &Rulebook) -> Guard<'l> {
    let of = certainty.of_step(step.count);
    // A slanted stylus reads more than the step, and so its error weighs less.
    let read = MeanStep { sum_nm: band(rulebook, of).width(), count: 1, slanted: step.slanted };
    Guard { width: Length(read.magnitude_nm()), of, gauge, certainty, share: ask.share }
}
