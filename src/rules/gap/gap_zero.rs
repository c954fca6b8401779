//! A survey that shims are read off has its zero at the place the others are shimmed to.

use crate::calc::exact::Ratio;
use crate::calc::survey::ShimEffect;
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

use super::reading::{Seat, SurveyReadings, length, subject, target_words};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gap-zero"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "A survey that shims are read off has its zero at the place the others are shimmed to: the widest, the narrowest or the highest.",
    why: "Zeroed elsewhere, the readings are not the shims. Who takes them as such shims every support too little or too much.",
    limits: &[LimitName::GapRange],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.04; at S3 -0.05 }
"#,
    right: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 -0.04; at S2 0; at S3 -0.09 }
"#,
    judges: &[ReadingKind::Gap],
    reasons_from: &["shim", "survey"],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some(Seat { kind, limit, effect }) = Seat::for_rail(case, id) else { return Verdict::NotRequired };
    let Some((most, _)) = case.rulebook.most::<Length>(limit) else { return Verdict::NotRequired };
    let standing = case.standing(id, kind);
    let (Some(record), None) = (standing.as_fitted, standing.verified) else {
        // Once it is verified, nobody reads shims off the first survey any more.
        let lacking = Verdict::Awaits("no as-fitted survey");
        return if standing.verified.is_some() { Verdict::NotRequired } else { lacking };
    };
    let Some(readings) = case.state(record) else { return Verdict::Awaits("no as-fitted survey") };
    // Without shims to come the zero changes nothing that anybody does.
    if readings.range() <= Ratio::whole(most.nm().into()) || case.shimmed_since_read(id, readings) {
        return Verdict::NotRequired;
    }
    let Some(effect) = effect else { return Verdict::NotJudged("nothing says what a shim under it does") };
    let target = readings.target(effect);
    if target.value != Ratio::whole(0) {
        findings.add(off_zero(case, findings, id, readings, effect));
    }
    Verdict::Conforms(target.row.place)
}

fn off_zero(case: &Case, findings: &Findings, id: RailId, readings: &SurveyReadings, effect: ShimEffect) -> Finding {
    let target = readings.target(effect);
    let off = length(target.value);
    let zero = readings.stations.iter().find(|station| station.value == Ratio::whole(0));
    let place = target_words(effect);
    let shift = if off > Length::ZERO { "less" } else { "more" };
    let finding = findings
        .finding(
            case.machine.rail_address(id),
            target.row.place,
            format!("the survey is not zero at {place}: {} reads {off}", target.row.name),
        )
        .here(format!("{place}, {off}"))
        .found(Measure::too_large(off.abs()))
        .limit(Limit { entry: None, text: format!("zero at {place}"), source: RULE.source.into(), set_at: None })
        .next(format!(
            "take every reading as {} {shift}; the next {} survey starts at {}",
            off.abs(),
            subject(readings.kind()),
            target.row.name
        ));
    match zero {
        Some(zero) => finding.also(zero.row.place, "the zero of the survey"),
        None => finding,
    }
}
