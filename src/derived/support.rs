//! The numbers of a support: the preload of its bolts, and the shim its place needs.

use super::rail::{bolt_origins, station};
use super::{Quantity, mm, quantity};
use crate::calc::bolts::{Between, derive_preload};
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::finding::Place;
use crate::ledger::{Body, Held, Interface, RailId, Stage};
use crate::quantity::{Amount, Ratio};
use crate::rules::Case;
use crate::rules::fitting::{INTERFACES, fastener};
use crate::worked::bolt;
use crate::worked::shim_plan::shim_plan;
use crate::worked::survey::Readings;

type How = Derivation<Place>;

pub(super) fn quantities(case: &Case, id: RailId, support: usize) -> Vec<Quantity> {
    let mut all = Vec::new();
    for interface in INTERFACES {
        let word = if interface == Interface::Rail { "preload" } else { "base-preload" };
        all.extend(preload(case, id, support, interface).map(|how| quantity(word, how)));
    }
    all.extend(shim(case, id, support).map(|how| quantity("shim-needed", how)));
    all
}

/// The preload over all bolts of the support, the range of friction and the wrench's error, as the report has it.
fn preload(case: &Case, id: RailId, support: usize, interface: Interface) -> Option<How> {
    let ledger = case.ledger;
    let fastener = fastener(ledger, id, interface)?;
    let (bolt, friction) = bolt::bolt(fastener).ok()??;
    let held: Vec<Held> = ledger.held(id, support, interface, Stage::Full).into_iter().flatten().collect();
    let latest = held.iter().map(|held| held.record).max_by_key(|record| ledger.timeline.rank[*record])?;
    let Body::Fasten(fasten) = &ledger.records[latest].body else { return None };
    let wrench = fasten.wrench.as_ref().and_then(|name| ledger.shop.wrench(name));
    let error = wrench.and_then(|wrench| wrench.permissible_error);
    let part = error.map_or(0.0, |error| error.to_f64());
    let torques = held.iter().filter_map(|held| {
        let setting = || match &ledger.records[held.record].body {
            Body::Fasten(fasten) => fasten.setting,
            _ => None,
        };
        match held.torque {
            Some(torque) => Some((torque, held.place)),
            None => setting().map(|setting| (setting.value, setting.place)),
        }
    });
    let torques: Vec<_> = torques.collect();
    let least = torques.iter().map(|(torque, _)| torque.to_f64()).fold(f64::MAX, f64::min) * (1.0 - part);
    let most = torques.iter().map(|(torque, _)| torque.to_f64()).fold(0.0, f64::max) * (1.0 + part);
    if least > most {
        return None;
    }
    let result = format!("{} to {}", figures(least, 6), figures(most, 6));
    let formula = "least · (1 − e) to greatest · (1 + e)";
    let mut torque = Derivation::new("torque of the bolts", formula, "ISO 6789 for e", result, "N·m");
    for (number, (value, place)) in torques.iter().enumerate() {
        torque = torque.input(format!("bolt {}", number + 1), value.number(), "N·m", Origin::Place(*place));
    }
    let e = Ratio::number(error.map_or(Ratio(0), |error| error.value));
    torque = torque.input(
        "e",
        e,
        "",
        error.map_or(Origin::Assumed("the wrench's error is not stated"), |error| Origin::Place(error.place)),
    );
    let between = Between { least: least.max(0.0), most };
    derive_preload(&bolt, between, &Origin::Derived(Box::new(torque)), friction, &bolt_origins(fastener)?).ok()
}

/// The shim that brings the support to the target, as the shim plan has it.
fn shim(case: &Case, id: RailId, support: usize) -> Option<How> {
    let ledger = case.ledger;
    let plan = shim_plan(ledger, id).ok()?;
    let row = plan.rows.iter().find(|row| row.support == support)?;
    let readings = Readings::of(ledger, plan.survey)?;
    let target = readings.target(plan.effect);
    let at = ledger.machine.rail(id).supports[support].at;
    let source = if row.interpolated { "linear between neighbouring stations" } else { "definition of the shim" };
    let formula = "need = |reading at the target − reading here|";
    let how = Derivation::new("shim needed", formula, source, mm(row.need), "mm");
    let how = station(how, &format!("at the target, {}", target.row.name), &target);
    let how = if row.interpolated {
        let after = readings.stations.partition_point(|station| station.row.position < at);
        let (before, next) = (readings.stations.get(after.checked_sub(1)?)?, readings.stations.get(after)?);
        let how = station(how, &format!("before it, {}", before.row.name), before);
        let how = station(how, &format!("after it, {}", next.row.name), next);
        how.step("position of the station before", mm(before.row.position), "mm")
            .step("position here", mm(at), "mm")
            .step("position of the station after", mm(next.row.position), "mm")
    } else {
        let here = readings.stations.iter().find(|station| station.row.position == at)?;
        station(how, "here", here)
    };
    Some(how.step("reading here from the target", mm(row.reading), "mm"))
}
