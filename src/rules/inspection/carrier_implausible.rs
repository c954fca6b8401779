//! Reach and travel of the gauge's carrier are such that a groove can be read with them.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Instrument, Spanned};
use crate::quantity::Length;
use crate::rules::{About, Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("carrier-implausible"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "The carrier of a gauge travels far enough to bring the stylus from one rail end to the other past their edges, and its stylus reaches no further ahead than an arm can without bending.",
    why: "Within a few millimetres of the joint both readings are of one rail end, or of its broken edge. The step that is on record was then never read.",
    limits: &[LimitName::CarrierTravel, LimitName::CarrierReach],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { carrier reach=40 travel=1.5; UL 0 -> 0.01 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { carrier reach=40 travel=15; UL 0 -> 0.01 }
"#,
    about: About::Taking,
    checks: &[Check::Records(of_record), Check::Instruments(of_gauge)],
    ..Rule::PLAIN
};

fn of_record(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Inspect(inspect) = &record.body else { return Verdict::NotRequired };
    if record.is_aligning() {
        return Verdict::NotRequired;
    }
    let address = record.address();
    // What the gauge is always carried by is told of at the gauge.
    let of_gauge = record.gauge().and_then(|name| case.shop.gauge(name)?.carrier);
    let own = |value: &Spanned<Length>| {
        of_gauge.is_none_or(|(reach, travel)| ![reach.place, travel.place].contains(&value.place))
    };
    let (reach, travel) = (inspect.reach.filter(own), inspect.travel.filter(own));
    judge(case, findings, address, reach, travel)
}

fn of_gauge(case: &Case, instrument: Instrument, findings: &mut Findings) -> Verdict {
    let Instrument::Gauge(gauge) = instrument else { return Verdict::NotRequired };
    let Some((reach, travel)) = gauge.carrier else { return Verdict::NotRequired };
    judge(case, findings, "", Some(reach), Some(travel))
}

fn judge(
    case: &Case,
    findings: &mut Findings,
    address: &str,
    reach: Option<Spanned<Length>>,
    travel: Option<Spanned<Length>>,
) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    let next = "correct the number or its unit; where it is right, read again with a carrier that suits";
    if let Some(travel) = travel {
        verdict = Verdict::Conforms(travel.place);
        if let Some((least, limit)) = case.rulebook.least::<Length>(LimitName::CarrierTravel)
            && travel.abs() < least
        {
            let message = format!("the gauge travelled {} over the joint, too little to pass both edges", *travel);
            findings.add(
                findings
                    .finding(address, travel.place, message)
                    .here("travel")
                    .found(Measure::too_small(travel.abs()))
                    .limit(limit)
                    .next(next),
            );
        }
    }
    if let Some(reach) = reach {
        verdict = Verdict::Conforms(reach.place);
        if let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::CarrierReach)
            && *reach > most
        {
            let message = format!("the stylus reaches {} ahead of the block, on an arm that bends", *reach);
            findings.add(
                findings
                    .finding(address, reach.place, message)
                    .here("reach")
                    .found(Measure::too_large(*reach))
                    .limit(limit)
                    .next(next),
            );
        }
    }
    verdict
}
