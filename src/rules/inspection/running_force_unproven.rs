//! The running force lies inside its limit by enough to be sure.

use super::running_force::{mean, shown};
use crate::facts::proof::{self, ForceCertainty, ProvenQuantity};
use crate::facts::running_force::{ForceAtPosition, latest};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Gauge, Name, Spanned};
use crate::quantity::Force;
use crate::rules::unproven::{ProofError, grade, verdict as in_the_end};
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("running-force-unproven"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The force that it takes to push the carriage lies inside its limit by at least the guard band at every place. Where the rulebook requires proof, it is a nonconformity if it does not, and outstanding where nothing says how sure the gauge is.",
    why: "A force close to its limit may be beyond it: the gauge is not exact, and the hand that pulls it is not steady.",
    limits: &[LimitName::RunningForce, LimitName::GuardBand, LimitName::Proof, LimitName::ProofOfRunningForce],
    source: "ILAC-G8:09/2019 for w = U; U = k u with u from the gauge's permissible error, and its repeatability, which repeats narrow, or its graduation, whichever is more (GUM 4.3.7, F.2.2.1, G.4)",
    wrong: r#"
shop { gauge FG-1 kind=force-gauge graduation=0.1 permissible-error=0.5 }
machine m {
    rulebook { running-force most=20 reason="drive sized for 20 N" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 } }
}
running-force X date="2026-04-16" by=inspector-1 gauge=FG-1 { at 300 14; at 600 19.8 }
"#,
    right: r#"
shop { gauge FG-1 kind=force-gauge graduation=0.1 permissible-error=0.5 }
machine m {
    rulebook { running-force most=20 reason="drive sized for 20 N" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 } }
}
running-force X date="2026-04-16" by=inspector-1 gauge=FG-1 { at 300 14; at 600 19 }
"#,
    judges: &[ReadingKind::RunningForce],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Force>(LimitName::RunningForce) else { return Verdict::NotRequired };
    let required = case.must_prove(ProvenQuantity::RunningForce);
    let mut verdict = Verdict::NotRequired;
    let (mut worst, mut open, mut silent): (Option<HeaviestReading>, usize, Option<(usize, ProofError)>) =
        (None, 0, None);
    let places = latest(case, axis);
    for reading in &places {
        if reading.size > most {
            verdict = verdict.and(Verdict::Awaits("the running force is not within its limit"));
            continue;
        }
        let Body::RunningForce(run) = &case.ledger.records[reading.record].body else { continue };
        match certainty(case, run.gauge.as_ref()) {
            Ok((gauge, certainty)) => {
                let uncertainty = certainty.of_mean(reading.row.forces.len());
                let width = Force::of_micronewtons(proof::band(case.rulebook, uncertainty).width());
                if reading.size > most - width {
                    open += 1;
                    verdict = verdict.and(Verdict::Awaits("no reading is sure enough to prove it"));
                    let reach = |of: &HeaviestReading| of.reading.size + of.width;
                    let own = HeaviestReading { reading: *reading, gauge, certainty, width };
                    if worst.as_ref().is_none_or(|worst| reach(&own) > reach(worst)) {
                        worst = Some(own);
                    }
                } else if required && !certainty.is_known() {
                    let untold = ProofError::Repeatability(&gauge.name);
                    verdict = verdict.and(Verdict::NotJudged(untold.lacking()));
                    silent = silent.or(Some((reading.record, untold)));
                } else {
                    verdict = verdict.and(Verdict::from(shown(case, axis, reading.record)));
                }
            }
            Err(untold) => {
                verdict = verdict.and(Verdict::NotJudged(untold.lacking()));
                silent = silent.or(Some((reading.record, untold)));
            }
        }
    }
    if let (Some((record, untold)), true) = (silent, required) {
        let address = case.machine.axes[axis].name.to_string();
        let what = format!("the running force of {address} is proven");
        findings.add(untold.finding(case, findings, address, record, &what).limit(limit));
    }
    if let Some(worst) = worst {
        let proven = (most - worst.width).max(Force::default());
        let mut finding = unproven(case, findings, axis, &worst, open)
            .limit(Limit { text: format!("{}; proven up to {proven}", limit.text()), ..limit.words() });
        finding.grade = grade(required);
        findings.add(finding);
    }
    match places.is_empty() {
        true => in_the_end(required, Verdict::Awaits("the running force is not read")),
        false => in_the_end(required, verdict),
    }
}

/// The reading that comes nearest to the limit with its guard band.
struct HeaviestReading<'l> {
    reading: ForceAtPosition<'l>,
    gauge: &'l Gauge,
    certainty: ForceCertainty,
    width: Force,
}

/// How sure the gauge of a record is.
fn certainty<'l>(
    case: &Case<'l>,
    named: Option<&'l Spanned<Name>>,
) -> Result<(&'l Gauge, ForceCertainty), ProofError<'l>> {
    let named = named.ok_or(ProofError::Unnamed)?;
    let gauge = case.ledger.shop.gauge(named).ok_or(ProofError::Errors(named))?;
    let certainty = ForceCertainty::new(case.ledger, gauge).ok_or(ProofError::Errors(named))?;
    Ok((gauge, certainty))
}

fn unproven(case: &Case, findings: &Findings, axis: usize, worst: &HeaviestReading, open: usize) -> Finding {
    let HeaviestReading { reading, gauge, certainty, width } = worst;
    let (found, at) = (reading.row.told(), *reading.row.position);
    let factor = proof::factor(certainty.of_mean(reading.row.forces.len()));
    let more = match open {
        1 => String::new(),
        2 => ", nor at 1 other place".to_string(),
        n => format!(", nor at {} others", n - 1),
    };
    findings
        .finding(
            case.machine.axes[axis].name.to_string(),
            reading.row.forces[0].place,
            format!("the running force of {found}{} at {at} is not proven to be inside its limit{more} (w = {width})", mean(reading)),
        )
        .here("read here")
        .also(gauge.name.place, format!("U = {factor}u from its permissible error and {}", certainty.scatter_words()))
        .found(Measure::too_large(found))
        .next(format!("see what squeezes the blocks about {at}, or read the force again, several times at each place or with a finer gauge"))
}
