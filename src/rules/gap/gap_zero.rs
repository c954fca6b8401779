//! A survey that shims are read off has its zero at the place the others are shimmed to.

use crate::calc::exact::Ratio;
use crate::finding::{Grade, Limit, Measure};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

use super::reading::{Seat, length, subject, target_words};

pub static RULE: Rule = Rule {
    name: "gap-zero",
    group: Group::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "A survey that shims are read off has its zero at the place the others are shimmed to: the widest, the narrowest or the highest.",
    why: "Zeroed elsewhere, the readings are not the shims. Who takes them as such shims every support too little or too much.",
    limits: &["gap-range"],
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
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, ..) in case.rails() {
        let Some(Seat { kind, limit, effect: Some(effect) }) = Seat::of(case, id) else { continue };
        let Some((most, _)) = case.rulebook.most::<Length>(limit) else { continue };
        let standing = case.standing(id, kind);
        let (Some(record), None) = (standing.as_fitted, standing.verified) else { continue };
        let Some(readings) = case.readings(record) else { continue };
        let target = readings.target(effect);
        // Without shims to come the zero changes nothing that anybody does.
        let settled = readings.range() <= Ratio::whole(most.nm().into()) || case.shimmed_since(id, record);
        if target.value == Ratio::whole(0) || settled {
            continue;
        }
        let off = length(target.value);
        let zero = readings.stations.iter().find(|station| station.value == Ratio::whole(0));
        let place = target_words(effect);
        let shift = if off > Length::ZERO { "less" } else { "more" };
        let mut finding = findings
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
                subject(kind),
                target.row.name
            ));
        if let Some(zero) = zero {
            finding = finding.also(zero.row.place, "the zero of the survey");
        }
        findings.add(finding);
    }
}
