//! A gap that varies too much is shimmed.

use crate::calc::exact::Ratio;
use crate::finding::{Grade, Measure};
use crate::language::rulebook::InForce;
use crate::ledger::{RailId, ShimSense, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

use super::needs;
use super::reading::{Readings, Seat, Station, length, subject};

pub static RULE: Rule = Rule {
    name: "shim-missing",
    group: Group::Gap,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Where the as-fitted survey varies by more than the limit, the supports that lie too far from the target are shimmed.",
    why: "The blocks are squeezed where the rails stand close and run loose where they stand apart.",
    limits: &["gap-range", "height-range"],
    source: "common practice, no source",
    wrong: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.07 }
"#,
    right: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.07 }
shim X.b date="2026-04-17" by=fitter-2 { at S3 0.05 0.02 }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, _, rail) in case.rails() {
        let Some(seat) = Seat::of(case, id) else { continue };
        judge(case, findings, id, seat);
        // Where shims lift, the gap is brought within its limit by moving the rail.
        if rail.shims.is_some_and(|sense| *sense == ShimSense::Lift) {
            judge(case, findings, id, Seat { kind: SurveyKind::Gap, limit: "gap-range", effect: None });
        }
    }
}

fn judge(case: &Case, findings: &mut Findings, id: RailId, seat: Seat) {
    let Some((most, limit)) = case.rulebook.most::<Length>(seat.limit) else { return };
    let standing = case.standing(id, seat.kind);
    let (Some(record), None) = (standing.as_fitted, standing.verified) else { return };
    let Some(readings) = case.readings(record) else { return };
    if readings.range() <= Ratio::whole(most.nm().into()) {
        return;
    }
    let Some(effect) = seat.effect else {
        if !case.shimmed_since(id, record) {
            unclear(case, findings, id, readings, limit);
        }
        return;
    };
    let wanting: Vec<&Station> = readings
        .stations
        .iter()
        .filter(|station| readings.need(station, effect) > Ratio::whole(most.nm().into()))
        .filter(|station| !shimmed_at(case, id, station, record))
        .collect();
    let Some(worst) = wanting.iter().copied().max_by(|a, b| {
        readings.need(a, effect).cmp(&readings.need(b, effect)).then(b.row.position.cmp(&a.row.position))
    }) else {
        return;
    };
    let target = readings.target(effect);
    let needs: Vec<(String, Ratio)> =
        wanting.iter().map(|station| (station.row.name.to_string(), readings.need(station, effect))).collect();
    let off = length(readings.need(worst, effect));
    findings.add(
        findings
            .finding(
                case.machine.rail_address(id),
                worst.row.place,
                format!(
                    "the {} varies by {}, and {} not shimmed",
                    subject(seat.kind),
                    length(readings.range()),
                    places(&wanting)
                ),
            )
            .here(format!("{off} from {}", target.row.name))
            .also(target.row.place, "what the others are shimmed to")
            .found(Measure::too_large(length(readings.range())))
            .limit(limit)
            .next(format!("shim {}; then snug, full torque and a verification survey", needs::list(case, &needs))),
    );
}

fn places(stations: &[&Station]) -> String {
    match stations {
        [one] => format!("{} is", one.row.name),
        [one, other] => format!("{} and {} are", one.row.name, other.row.name),
        _ => format!("{} places are", stations.len()),
    }
}

/// A gap that is too uneven while nothing says how to bring it in.
fn unclear(case: &Case, findings: &mut Findings, id: RailId, readings: &Readings, limit: InForce) {
    let rail = case.machine.rail(id);
    let (least, greatest) = (readings.least, readings.greatest);
    let next = match rail.shims {
        None => "say on the rail what a shim under it does to the gap: shims=widen or shims=narrow",
        Some(_) => {
            "a shim under this rail lifts it and leaves the gap: loosen it, push it over, tighten it and survey again"
        }
    };
    findings.add(
        findings
            .finding(
                case.machine.rail_address(id),
                least.row.place,
                format!("the gap varies by {}, and nothing is done about it yet", length(readings.range())),
            )
            .here("the narrowest place")
            .also(greatest.row.place, "the widest place")
            .found(Measure::too_large(length(readings.range())))
            .limit(limit)
            .next(next),
    );
}

/// A support at a station, or beside one that lies between supports, was shimmed after a record.
pub(super) fn shimmed_at(case: &Case, id: RailId, station: &Station, since: usize) -> bool {
    let supports = match station.row.support {
        Some(support) => support..support + 1,
        None => case.adjoining(id, station.row.position),
    };
    supports
        .into_iter()
        .any(|support| case.shims(id, support, None).is_some_and(|(event, _)| case.after(event.record, since)))
}
