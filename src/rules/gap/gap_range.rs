//! After shimming the gap is the same everywhere, within the limit.

use crate::calc::exact::Ratio;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

use super::not_surveyed;
use super::reading::{ReadStation, Seat, SurveyReadings, length};
use super::shim_missing::next;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gap-range"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The range of the gap in the last verification survey is within the limit, and in each partial one since. A later survey clears an earlier one where it reads again every station that one read, or is tied to it (station-missing). A later survey that does not count clears nothing, and stations beside a support that was loosened, or first tightened, since are left out.",
    why: "The blocks are squeezed where the rails stand close and run loose where they stand apart. Noise makes a range of many stations larger, never smaller.",
    limits: &[LimitName::GapRange],
    holds: &[LimitName::GapRange],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-18" by=inspector-1 stage=verification { at S1 0; at S2 -0.051; at S3 -0.02 }
"#,
    right: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-18" by=inspector-1 stage=verification { at S1 0; at S2 -0.05; at S3 -0.02 }
"#,
    judges: &[ReadingKind::Gap],
    about_each_place: true,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::GapRange) else { return Verdict::NotRequired };
    let within = |readings: &SurveyReadings| readings.range() <= Ratio::whole(most.nm().into());
    for readings in case.surveys_judged(id, SurveyKind::Gap, |all| all.verifications(case).collect()) {
        // Shims since then are a new attempt: shim-total judges them, and shim-unverified asks for the survey.
        if !within(&readings)
            && readings.verifies
            && !case.shimmed_since_read(id, &readings)
            && let Some(readings) = case.still_standing(id, &readings).filter(|of| !within(of))
        {
            findings.add(uneven(case, findings, id, &readings, most).limit(limit));
        }
    }
    // Where the rail as it was fitted needs no shims, nothing needs to be verified.
    let standing = case.standing(id, SurveyKind::Gap);
    match standing.latest().and_then(|record| case.state(record)) {
        Some(readings) if readings.verifies || within(readings) => case.survey_shown(id, readings).into(),
        Some(_) => Verdict::Awaits("no verification survey of the gap"),
        None => not_surveyed(case, id, "no gap survey"),
    }
}

fn uneven(case: &Case, findings: &Findings, id: RailId, readings: &SurveyReadings, most: Length) -> Finding {
    let most = Ratio::whole(most.nm().into());
    let (least, greatest) = (readings.least, readings.greatest);
    let seat = Seat::for_rail(case, id).filter(|seat| seat.kind == SurveyKind::Gap);
    let cure = match seat.and_then(|seat| seat.effect) {
        Some(effect) => {
            let wanting: Vec<&ReadStation> =
                readings.stations.iter().filter(|station| readings.need(station, effect) > most).collect();
            format!("{}; then full torque and survey again", next(case, id, readings, &wanting, effect))
        }
        None => "bring the rail in where the gap is wide, tighten it and survey again".into(),
    };
    findings
        .finding(
            case.machine.rail_address(id),
            least.row.place,
            format!(
                "the gap varies by {}: {} is the narrowest place, {} the widest",
                length(readings.range()),
                least.row.name,
                greatest.row.name
            ),
        )
        .here("the narrowest place")
        .also(greatest.row.place, "the widest place")
        .found(Measure::too_large(length(readings.range())))
        .next(cure)
}
