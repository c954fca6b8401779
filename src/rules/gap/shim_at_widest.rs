//! The place that the others are shimmed to has no shim itself.

use crate::calc::exact::Ratio;
use crate::calc::survey::ShimEffect;
use crate::finding::{Finding, Grade, Measure, Place, RuleName};
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

use super::reading::{ReadStation, Seat, target_words};
use super::shim_total::{before_last_shims, nothing_before};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("shim-at-widest"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "No shim goes under the place that the others are shimmed to: the widest, the narrowest or the highest.",
    why: "It moves the target away from all the others, and each of them then wants that much more.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.02; at S3 -0.06 }
shim X.b date="2026-04-17" by=fitter-2 { at S1 0.02; at S3 0.05 }
"#,
    right: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.02; at S3 -0.06 }
shim X.b date="2026-04-17" by=fitter-2 { at S3 0.05 }
"#,
    reasons_from: &["shim", "survey"],
    follows_from: &[Ground::Records],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let (Some(Seat { kind, effect, limit }), Some(last)) = (Seat::for_rail(case, id), case.last_shimmed(id)) else {
        return Verdict::NotRequired;
    };
    let Some(effect) = effect else { return Verdict::NotJudged("nothing says what a shim under it does") };
    let Some(readings) = before_last_shims(case, id, kind) else {
        return nothing_before(case, id, kind, last);
    };
    // Where everything reads alike, no place is the target.
    if readings.range() == Ratio::whole(0) {
        return Verdict::NotRequired;
    }
    let most = case.rulebook.most::<Length>(limit).map(|(most, _)| most);
    for station in readings.stations.iter().filter(|station| readings.need(station, effect) == Ratio::whole(0)) {
        let Some(support) = station.row.support else { continue };
        let Some((event, row)) = case.shims(id, support, None) else { continue };
        let added = row.total() - case.shim_total(id, support, Some(readings.record));
        // So much that the place leaves the limit is shim-total's business.
        let told = most.is_some_and(|most| added > most);
        if told || added <= Length::ZERO || !case.after(event.record, readings.record) {
            continue;
        }
        findings.add(shimmed(case, findings, (id, support), row.place, station, (added, effect)));
    }
    Verdict::Conforms(readings.target(effect).row.place)
}

fn shimmed(
    case: &Case,
    findings: &Findings,
    (id, support): (RailId, usize),
    place: Place,
    station: &ReadStation,
    (added, effect): (Length, ShimEffect),
) -> Finding {
    let target = target_words(effect);
    findings
        .finding(
            case.machine.support_address(id, support),
            place,
            format!("{added} of shim lies under {}, {target}", station.row.name),
        )
        .here("shimmed")
        .also(station.row.place, target)
        .found(Measure::too_large(added))
        .next(format!("take it out, unless all the others were given {added} more on purpose"))
}
