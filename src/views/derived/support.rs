//! The numbers of a support: the preload of its bolts, and the shim its place needs.

use super::quantity::{DerivedQuantity, PlacedDerivation, mm, quantity};
use super::rail::{bolt_origins, told};
use crate::calc::bolts::derive_preload;
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::facts::bolt;
use crate::facts::shim_plan::shim_plan;
use crate::facts::survey_state::as_of;
use crate::facts::torque_window::{INTERFACES, fastener, number_shown};
use crate::ledger::{Interface, RailId};
use crate::quantity::{Amount, Ratio};
use crate::rules::Case;

pub(super) fn quantities(case: &Case, id: RailId, support: usize) -> Vec<DerivedQuantity> {
    let mut all = Vec::new();
    for interface in INTERFACES {
        let words = match interface {
            Interface::Rail => ["preload", "proof-share"],
            Interface::Base => ["base-preload", "base-proof-share"],
        };
        let both = preload(case, id, support, interface).into_iter().flatten();
        all.extend(words.into_iter().zip(both).map(|(word, how)| quantity(word, how)));
    }
    all.extend(shim(case, id, support).map(|how| quantity("shim-needed", how)));
    all
}

/// The preload over all bolts of the support, the range of friction and the wrench's error, and its share of the proof
/// load: the numbers of the report.
fn preload(case: &Case, id: RailId, support: usize, interface: Interface) -> Option<[PlacedDerivation; 2]> {
    let ledger = case.ledger;
    let fastener = fastener(ledger, id, interface)?;
    let (bolt, friction) = bolt::bolt(fastener).ok()??;
    let held = case.full_torque_now(id, support, interface);
    let bolt::TightenedSupport { error, torques, between, .. } = bolt::tightened(ledger, held.iter().flatten());
    let between = between?;
    let result = format!("{} to {}", figures(between.least, 6), figures(between.most, 6));
    let formula = "least · (1 − e) to greatest · (1 + e)";
    let mut torque = Derivation::new("torque of the bolts", formula, "ISO 6789 for e", result, "N·m");
    for (number, (value, place)) in torques.iter().enumerate() {
        torque = torque.input(format!("bolt {}", number + 1), number_shown(*value), "N·m", Origin::Place(*place));
    }
    let e = Ratio::number(error.map_or(Ratio(0), |error| error.value));
    torque = torque.input(
        "e",
        e,
        "",
        error.map_or(Origin::Assumed("the wrench's error is not stated"), |error| Origin::Place(error.place)),
    );
    let told = bolt::preload(&bolt, friction, between)?;
    let mut how =
        derive_preload(&bolt, between, &Origin::Derived(Box::new(torque)), friction, &bolt_origins(fastener)?).ok()?;
    let range = |(least, most): (i64, i64)| format!("{least} to {most}");
    how.result = range(told.newtons);
    // The share is a number by itself.
    how.steps.retain(|step| step.name != "F / F_p");
    let how = how.note("rounded outward to whole newtons");
    let share = Derivation::new("share of the proof load", "F / F_p", "ISO 898-1", range(told.percent), "%");
    let share = share.derived("F", how.clone()).note("rounded outward to whole percent");
    Some([how, share])
}

/// The shim that brings the support to the target, as the shim plan has it.
fn shim(case: &Case, id: RailId, support: usize) -> Option<PlacedDerivation> {
    let ledger = case.ledger;
    let plan = shim_plan(ledger, id, case.today).ok()?;
    let row = plan.rows.iter().find(|row| row.support == support)?;
    let readings = as_of(ledger, plan.survey)?;
    let target = readings.target(plan.effect);
    let rail = ledger.machine.rail(id);
    let at = rail.supports[support].at;
    let source = if row.interpolated { "linear between neighbouring stations" } else { "definition of the shim" };
    let formula = "need = |reading at the target − reading here|";
    let how = Derivation::new("shim needed", formula, source, mm(row.need), "mm");
    let how = told(case, how, &format!("at the target, {}", target.row.name), &readings, &target);
    let how = if row.interpolated {
        let after = readings.stations.partition_point(|station| station.row.position < at);
        let (before, next) = (readings.stations.get(after.checked_sub(1)?)?, readings.stations.get(after)?);
        let how = told(case, how, &format!("before it, {}", before.row.name), &readings, before);
        let how = told(case, how, &format!("after it, {}", next.row.name), &readings, next);
        how.step("position of the station before", mm(before.row.told_at()), "mm")
            .step("position here", mm(at), "mm")
            .step("position of the station after", mm(next.row.told_at()), "mm")
    } else {
        match readings.stations.iter().find(|station| station.row.position == at) {
            Some(here) => told(case, how, "here", &readings, here),
            None => {
                let [before, behind] = readings.over_support(rail, support)?;
                let how = told(case, how, &format!("here, at {}", before.row.name), &readings, before);
                told(case, how, &format!("and at {}", behind.row.name), &readings, behind)
            }
        }
    };
    Some(how.step("reading here from the target", mm(row.reading), "mm"))
}
