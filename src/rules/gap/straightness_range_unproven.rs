//! A rail is straight within its limit by enough to be sure.

use crate::calc::exact::Ratio;
use crate::calc::straightness::{Zone, minimum_zone};
use crate::facts::proof::{GaugeCertainty, ProvenQuantity};
use crate::facts::survey_doubt;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::unproven::verdict as in_the_end;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

use super::CurrentSurveys;
use super::proven::ProofAsked;
use super::reading::{ReadStation, SurveyReadings, length};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("straightness-range-unproven"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "A rail is straight within its limit by at least the guard band, in each plane that was read. Where the rulebook requires proof, it is a nonconformity if it is not, and outstanding where nothing says how sure the gauge is.",
    why: "Straightness hangs on three readings: the two that the line lies on, and the one farthest from it. Each may be off; where angles are added up, each step between them.",
    limits: &[LimitName::Straightness, LimitName::GuardBand, LimitName::Proof, LimitName::ProofOfStraightness],
    source: "ILAC-G8:09/2019 for w = U; u² (1 + a² + (1 − a)²) by GUM 5.1.2 for the three contacts of the minimum zone of ISO 12780-1; of sums of angles u² Σc² by GUM 5.2.2 for what each of their steps has of its own, and e (Σ|c|) for what a permissible error e may do in all of them, where c is 1 − a for each step before the contact across and a behind it; k by GUM G.4 and table G.2",
    wrong: r#"
shop { gauge LA-1 graduation=0.001 permissible-error=0.005 plus=right }
machine m {
    rulebook { straightness most=0.03 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=3 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=as-fitted { at S1 0; at S2 0.025; at S3 0 }
"#,
    right: r#"
shop { gauge LA-1 graduation=0.001 permissible-error=0.005 plus=right }
machine m {
    rulebook { straightness most=0.03 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=3 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=as-fitted { at S1 0; at S2 0.02; at S3 0 }
"#,
    judges: &[ReadingKind::Straightness],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::Straightness) else {
        return Verdict::NotRequired;
    };
    let required = case.must_prove(ProvenQuantity::Straightness);
    let proof = ProofAsked {
        id,
        kind: SurveyKind::Straightness,
        most,
        limit,
        required,
        of: "the",
        basis: GaugeCertainty::basis_of_zone,
        untold: None,
    };
    let latest = case.planes(id, SurveyKind::Straightness).iter().filter_map(CurrentSurveys::latest);
    let shown = latest.filter_map(|record| case.state(record)).map(|of| case.survey_shown(id, of).into());
    let mut verdict = shown.reduce(Verdict::and).unwrap_or(Verdict::Awaits("no straightness survey"));
    for record in case.planes(id, SurveyKind::Straightness).iter().flat_map(CurrentSurveys::now) {
        let standing = case.state(record).and_then(|readings| case.still_standing(id, readings));
        let Some(readings) = standing.filter(|of| !case.shimmed_since_read(id, of)) else { continue };
        let Some(zone) = ReadZone::new(&readings) else {
            verdict = verdict.and(Verdict::Awaits("fewer than three stations are read"));
            continue;
        };
        if zone.width > Ratio::whole(most.nm().into()) {
            verdict = verdict.and(Verdict::Awaits("the rail is not straight within its limit"));
            continue;
        }
        let least_sure = || Some((zone.width, survey_doubt::of_zone(case, case.rulebook, &readings, &zone.zone)?, ()));
        let tell = |findings: &Findings, (), guard: &str| unproven(case, findings, id, &readings, &zone, guard);
        let judged = proof.judge(case, findings, (record, &readings), least_sure, tell);
        verdict = judged.into_iter().fold(verdict, Verdict::and);
    }
    in_the_end(required, verdict)
}

/// A minimum zone with the stations that carry it, the one farthest from its line first.
struct ReadZone<'l> {
    width: Ratio,
    zone: Zone,
    contacts: [ReadStation<'l>; 3],
}

impl<'l> ReadZone<'l> {
    fn new(readings: &SurveyReadings<'l>) -> Option<ReadZone<'l>> {
        let (survey, scale) = readings.survey().filter(|_| readings.stations.len() > 2)?;
        let zone = minimum_zone(&survey)?;
        let width = zone.width.over(scale)?;
        let contacts = [zone.across, zone.line.0, zone.line.1].map(|it| readings.stations[it.number]);
        Some(ReadZone { width, zone, contacts })
    }
}

fn unproven(
    case: &Case,
    findings: &Findings,
    id: RailId,
    readings: &SurveyReadings,
    zone: &ReadZone,
    guard: &str,
) -> Finding {
    let [far, from, to] = zone.contacts.map(|station| station.row);
    let straight = length(zone.width);
    findings
        .finding(
            case.machine.rail_address(id),
            far.place,
            format!("the rail is straight within {straight}: inside its limit, and not proven so ({guard})"),
        )
        .here("farthest from the line")
        .also(from.place, "the line runs through this place")
        .also(to.place, "and through this one")
        .found(Measure::too_large(straight))
        .next(match readings.survey.angles {
            Some(_) => format!(
                "read the steps from {} to {} again, a few times each, or with a finer gauge",
                from.name, to.name
            ),
            None => format!(
                "read {}, {} and {} again, a few times each, or with a finer gauge",
                from.name, far.name, to.name
            ),
        })
}
