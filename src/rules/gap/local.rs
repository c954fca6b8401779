//! What the rules about local limits share: which surveys are judged, what is said of one, and when a rail has been surveyed.

use super::not_surveyed;
use super::reading::{SurveyReadings, length, subject};
use crate::calc::exact::Ratio;
use crate::facts::local_limit::{LocalWorst, look_within};
use crate::facts::survey_limits::range_limit;
use crate::finding::{Finding, Measure};
use crate::language::rulebook::InForce;
use crate::ledger::{RailId, ShimSense, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Findings, Verdict};

/// Surveys of a kind along a rail, and what shims have to do with them.
pub(super) struct Surveyed {
    kind: SurveyKind,
    /// Shims move what was read.
    pub shims_move_it: bool,
    /// Shims may still be to come, so that only how it lies behind them is judged.
    shims_follow: bool,
}

impl Surveyed {
    pub(super) fn new(case: &Case, id: RailId, kind: SurveyKind) -> Surveyed {
        let lifts = case.machine.rail(id).shims.is_some_and(|sense| *sense == ShimSense::Lift);
        let shims_follow = kind == SurveyKind::Gap || kind == SurveyKind::Height && lifts;
        Surveyed { kind, shims_move_it: kind != SurveyKind::Height || lifts, shims_follow }
    }

    /// Whether a survey shows how it is to stay: one as it was fitted only where no shim follows, or none is needed.
    pub(super) fn is_final(&self, case: &Case, readings: &SurveyReadings) -> bool {
        let range = || case.rulebook.most::<Length>(range_limit(self.kind));
        !self.shims_follow || readings.verifies || range().is_none_or(|(most, _)| length(readings.range()) <= most)
    }
}

/// Judges the surveys of a kind; not required where no limit is stated.
pub(super) fn judged(
    case: &Case,
    id: RailId,
    kind: SurveyKind,
    stated: Option<(Length, InForce)>,
    findings: &mut Findings,
) -> Verdict {
    let Some((most, limit)) = stated else { return Verdict::NotRequired };
    let Some(over) = limit.over() else {
        return Verdict::NotJudged("its limit does not say over which length it holds");
    };
    let allowed = Ratio::whole(most.nm().into());
    let of = Surveyed::new(case, id, kind);
    let shims_follow = of.shims_follow;
    let records = case.surveys_judged(id, kind, |all| {
        if shims_follow { all.verifications(case).collect() } else { all.now().collect() }
    });
    let mut verdict = Verdict::NotRequired;
    for readings in &records {
        if shims_follow && (!readings.verifies || case.shimmed_since_read(id, readings)) {
            continue;
        }
        let Some(standing) = case.still_standing(id, readings) else { continue };
        let seen = look_within(&standing, over);
        if let Some(worst) = seen.worst.filter(|worst| worst.width > allowed) {
            findings.add(found(case, findings, id, &standing, &worst).limit(limit));
        } else if let Some(passed_over) = seen.passed_over
            && standing.stations.len() == readings.stations.len()
        {
            verdict = verdict.and(Verdict::NotJudged(passed_over.words()));
        }
    }
    let within = |readings: &SurveyReadings| look_within(readings, over).is_within(allowed);
    verdict.and(shown(case, id, &of, within))
}

/// What the latest surveys of a kind show, as far as each counts; and what is lacking where there is none.
pub(super) fn shown(case: &Case, id: RailId, of: &Surveyed, within: impl Fn(&SurveyReadings) -> bool) -> Verdict {
    let planes = case.planes(id, of.kind).iter().filter_map(|plane| plane.latest());
    let shown = planes.filter_map(|record| case.state(record)).map(|readings| {
        if !of.is_final(case, readings) || of.shims_follow && !readings.verifies && !within(readings) {
            return Verdict::Awaits("no verification survey");
        }
        // Through two stations there is always a line.
        if of.kind == SurveyKind::Straightness && readings.stations.len() < 3 {
            return Verdict::Awaits("fewer than three stations are read");
        }
        case.survey_shown(id, readings).into()
    });
    shown.reduce(Verdict::and).unwrap_or_else(|| match of.kind {
        SurveyKind::Gap => not_surveyed(case, id, "no gap survey"),
        SurveyKind::Height => not_surveyed(case, id, "no height survey"),
        SurveyKind::Straightness if case.is_followed(id) || case.followed(id.axis).is_empty() => {
            Verdict::Awaits("no straightness survey")
        }
        // What follows another rail is held to it by the gap.
        SurveyKind::Straightness => Verdict::NotRequired,
    })
}

fn found(case: &Case, findings: &Findings, id: RailId, readings: &SurveyReadings, worst: &LocalWorst) -> Finding {
    let [from, to] = worst.ends.map(|station| station.row);
    let width = length(worst.width);
    let apart = to.told_at() - from.told_at();
    let kind = readings.kind();
    let (what, begins, ends) = match kind {
        SurveyKind::Straightness => (
            format!("the rail is straight within {width} from {} to {}, {apart} along", from.name, to.name),
            "the stretch begins here",
            "and ends here",
        ),
        SurveyKind::Gap | SurveyKind::Height => {
            let subject = subject(kind);
            let message =
                format!("the {subject} differs by {width} between {} and {}, {apart} apart", from.name, to.name);
            (message, "one of the two", "the other")
        }
    };
    findings
        .finding(case.machine.rail_address(id), from.place, what)
        .here(begins)
        .also(to.place, ends)
        .found(Measure::too_large(width))
        .next(format!(
            "loosen the rail from {} to {}, set it to its neighbours there, tighten it and survey it again",
            from.name, to.name
        ))
}
