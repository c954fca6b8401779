//! The verification shows what the shims should have done.

use crate::calc::exact::Ratio;
use crate::calc::shims::{Deviation, off_prediction};
use crate::calc::survey::ShimEffect;
use crate::calc::uncertainty::Uncertainty;
use crate::facts::joined_doubt::JoinedDoubt;
use crate::facts::proof::GaugeCertainty;
use crate::facts::survey_doubt;
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

use super::reading::{ReadStation, Seat, SurveyReadings, length, mean_of, subject};
use super::shim_total::{before_last_shims, nothing_before};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("shim-not-seated"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Each station of the verification survey reads what it read before plus its shim, within the uncertainty of both surveys. A place that shim-total finds fault with is not judged twice.",
    why: "A leaf that folded, dirt under a shim, or one that was put in elsewhere shows as a difference at one place.",
    limits: &[],
    source: "reading before plus shim; uncertainty U = 2u of a difference of two readings in each survey (GUM 4.3.7, F.2.2.1), half of what a closure may be included",
    wrong: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 -0.02; at S3 -0.06; at S4 -0.01 }
shim X.b date="2026-04-17" by=fitter-2 { at S3 0.05 }
fasten X.b date="2026-04-17" by=fitter-2 stage=full setting=10.5 { clicked S3 }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.02; at S3 -0.05; at S4 -0.01 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 -0.02; at S3 -0.06; at S4 -0.01 }
shim X.b date="2026-04-17" by=fitter-2 { at S3 0.05 }
fasten X.b date="2026-04-17" by=fitter-2 stage=full setting=10.5 { clicked S3 }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.02; at S3 -0.02; at S4 -0.01 }
"#,
    reasons_from: &["shim", "survey"],
    follows_from: &[Ground::Records],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let (Some(Seat { kind, limit, effect }), Some(last)) = (Seat::for_rail(case, id), case.last_shimmed(id)) else {
        return Verdict::NotRequired;
    };
    let Some(effect) = effect else { return Verdict::NotJudged("nothing says what a shim under it does") };
    let Some(before) = before_last_shims(case, id, kind) else {
        return nothing_before(case, id, kind, last);
    };
    let after = case.standing(id, kind).verifications(case).last();
    let after = after.filter(|record| case.after(*record, before.record) && !case.shimmed_since(id, *record));
    let after = after.and_then(|record| case.state(record)).filter(|of| !case.shimmed_since_read(id, of));
    let Some(after) = after else {
        return Verdict::Awaits("no verification survey since it was shimmed");
    };
    let (old_times, new_times) = (times_read(before), times_read(after));
    let surest = [(before, [old_times.most; 2]), (after, [new_times.most; 2])];
    let Some(least_tolerance) = tolerance(case, surest[0], surest[1]) else {
        return Verdict::NotJudged("no graduation and error of the gauge are stated");
    };
    let Some(predicted) = case.predicted(id) else { return Verdict::Awaits(UNKNOWN) };
    let most = case.rulebook.most::<Length>(limit).map(|(most, _)| most);
    let mut verdict = Verdict::from(case.survey_shown(id, after));
    let again: Vec<_> = before.stations.iter().map(|station| after.again(case.machine.rail(id), station.row)).collect();
    if again.iter().any(Option::is_none) {
        verdict = verdict.and(Verdict::Awaits("a station is not read again since it was shimmed"));
    }
    // Counted in the direction of the shims, the target at zero.
    let by =
        |found: [&ReadStation; 2], off: Ratio| mean_of(found)?.minus(off.times(Ratio::whole(effect.sign().into()))?);
    let differences = again.iter().zip(predicted).enumerate();
    let differences = differences.filter_map(|(number, (found, off))| Some((number, (*found)?, *off)));
    let differences: Option<Vec<Deviation>> =
        differences.map(|(number, found, off)| Some(Deviation { number, by: by(found, off)? })).collect();
    let Some(differences) = differences else { return Verdict::Awaits(UNKNOWN) };
    for Deviation { number, by } in off_prediction(differences, least_tolerance.nm()) {
        let (old, Some([new, other])) = (&before.stations[number], again[number]) else { continue };
        if most.is_some_and(|most| length(predicted[number].abs()) > most) {
            verdict = verdict.and(Verdict::Awaits("a place has not the shim that it needs"));
            continue;
        }
        let read_before = (before, [old.times, old_times.least]);
        let read_after = (after, [new.times.min(other.times), new_times.least]);
        let Some(tolerance) = tolerance(case, read_before, read_after) else { continue };
        if length(by.abs()) <= tolerance {
            continue;
        }
        findings.add(unseated(case, findings, id, (kind, effect), (old, new), (length(by), tolerance)));
    }
    verdict
}

const UNKNOWN: &str = "what the shims should have done cannot be computed";

fn unseated(
    case: &Case,
    findings: &Findings,
    id: RailId,
    (kind, effect): (SurveyKind, ShimEffect),
    (before, after): (&ReadStation, &ReadStation),
    (by, tolerance): (Length, Length),
) -> Finding {
    let shims = after.row.support.and_then(|support| case.shims(id, support, None));
    let address = match after.row.support {
        Some(support) => case.machine.support_address(id, support),
        None => case.machine.rail_address(id),
    };
    let short = (by < Length::ZERO) == (effect.sign() > 0);
    let next = match (short, &shims) {
        (true, Some(_)) => "loosen it and look at the leaves: one may be missing, folded, or under another support",
        (false, Some(_)) => "loosen it and look at the leaves: dirt, a hollow leaf, or one too many",
        (_, None) => "look at the seat and the bolts here: no shim was put in, and it moved",
    };
    let finding = findings
        .finding(
            address,
            after.row.place,
            format!(
                "the {} at {} lies {} from what the survey before and its shim lead to expect",
                subject(kind),
                before.row.name,
                by.abs()
            ),
        )
        .here("read after shimming")
        .also(before.row.place, "read before")
        .found(Measure::too_large(by.abs()))
        .limit(Limit {
            entry: None,
            text: format!("at most {tolerance}"),
            source: "the uncertainty of both surveys together".into(),
            set_at: None,
        })
        .next(next);
    match shims {
        Some((_, row)) => finding.also(row.place, format!("{} in all", row.total())),
        None => finding,
    }
}

/// How often the stations of a survey were read.
struct TimesRead {
    least: usize,
    most: usize,
}

fn times_read(readings: &SurveyReadings) -> TimesRead {
    let all = || readings.stations.iter().map(|station| station.times);
    TimesRead { least: all().min().unwrap_or(1), most: all().max().unwrap_or(1) }
}

/// The expanded uncertainty of the change from one survey to the other at one station, which was read so often in each;
/// nothing where a gauge's data are not known. The place that the others are shimmed to may have been read less often.
fn tolerance<'l>(
    case: &Case<'l>,
    (before, old): (&SurveyReadings<'l>, [usize; 2]),
    (after, new): (&SurveyReadings<'l>, [usize; 2]),
) -> Option<Length> {
    let uncertainty = |readings: &SurveyReadings<'l>, [own, other]: [usize; 2]| {
        let gauge = case.ledger.shop.gauge(readings.survey.gauge.as_ref()?)?;
        let ties = readings.stations.iter().map(|station| readings.tie_doubt(station));
        let ties = ties.reduce(JoinedDoubt::or_less_sure).unwrap_or_default();
        let closure = Uncertainty::known(survey_doubt::of_closure(case, case.rulebook, readings.survey));
        let certainty = GaugeCertainty::new(case.ledger, gauge, readings.kind().into())?;
        let read = certainty.of_difference(own, other).and_alike(closure);
        Some(JoinedDoubt::of_gauge(gauge, read).and(&ties))
    };
    let (first, second) = (uncertainty(before, old)?, uncertainty(after, new)?);
    Some(Length(first.and(&second).total().expanded()))
}
