//! The numbers of an axis: what its blocks carry, how safe they are, and how long they last.

use super::{Quantity, quantity};
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::calc::life::{LifeOrigins, Portion, combined_load, derive_cubic_mean, derive_life, derive_static_safety};
use crate::finding::Place;
use crate::ledger;
use crate::quantity::Amount;
use crate::rules::Case;
use crate::worked::carriage::{Loaded, block_type, loaded, riders};
use crate::worked::life::reliability_of;

pub(super) fn quantities(case: &Case, axis: usize) -> Vec<Quantity> {
    let of = &case.ledger.machine.axes[axis];
    let Some(carriage) = &of.carriage else { return Vec::new() };
    let Ok(Some(loaded)) = loaded(case.ledger, of) else { return Vec::new() };
    let mut all = Vec::new();
    for (index, &block) in loaded.blocks.iter().enumerate() {
        let it = &carriage.blocks[block];
        let number = index + 1;
        let kind = block_type(case.ledger, it).ok();
        let greatest = greatest(carriage, &loaded, index);
        all.push(quantity(format!("load-{number}"), greatest.clone()));
        let static_rating = kind.and_then(|kind| kind.static_);
        let safety = static_rating.and_then(|rating| {
            let load = Origin::Derived(Box::new(greatest.clone()));
            let most = loaded.greatest()[index];
            derive_static_safety(rating.value.to_f64(), most, Origin::Place(rating.place), load).ok()
        });
        all.extend(safety.map(|how| quantity(format!("static-safety-{number}"), how)));
        all.extend(life(case, axis, &loaded, index).map(|how| quantity(format!("life-{number}"), how)));
    }
    all
}

/// What is put on the carriage, each force where it was written.
fn with_forces(carriage: &ledger::Carriage, block: usize, how: Derivation<Place>) -> Derivation<Place> {
    let it = &carriage.blocks[block];
    let mut how = how.input("the block stands at", it.at.value.number(), "mm", Origin::Place(it.at.place));
    for rail in carriage.rails_at.iter().filter(|rail| rail.rail == it.rail) {
        how = how.input("its rail runs at y", rail.y.number(), "mm", Origin::Place(rail.place));
    }
    if let Some(mass) = carriage.mass {
        how = how.input("mass", mass.value.number(), "kg", Origin::Place(mass.place));
    }
    if let Some(acceleration) = carriage.acceleration {
        how = how.input("acceleration", acceleration.value.number(), "m/s²", Origin::Place(acceleration.place));
    }
    for (number, load) in carriage.loads.iter().enumerate() {
        how =
            how.input(format!("load {}", number + 1), load.force.value.number(), "N", Origin::Place(load.force.place));
        let at = format!("{}, {}, {}", load.x.number(), load.y.number(), load.z.number());
        how = how.input(format!("load {} acts at x, y, z", number + 1), at, "mm", Origin::Place(load.place));
    }
    how
}

const STATICS: &str = "statics of a rigid carriage on springs; the sum: common practice, no source";

/// The greatest load of a block over all cases.
fn greatest(carriage: &ledger::Carriage, loaded: &Loaded, index: usize) -> Derivation<Place> {
    let formula = "P0 = most of |F_down| + |F_side| over all cases, forces and moments in balance";
    let result = figures(loaded.greatest()[index], 5);
    let how = Derivation::new(format!("greatest load of block {}", index + 1), formula, STATICS, result, "N");
    let how = with_forces(carriage, loaded.blocks[index], how);
    loaded.cases.iter().enumerate().fold(how, |how, (number, case)| {
        let load = case.loads[index];
        how.step(
            format!("case {}, {} % of the way", number + 1, figures(case.share * 100.0, 4)),
            figures(combined_load(load.right, load.down), 5),
            "N",
        )
    })
}

/// The life of a block on perfect joints.
fn life(case: &Case, axis: usize, loaded: &Loaded, index: usize) -> Option<Derivation<Place>> {
    let of = &case.ledger.machine.axes[axis];
    let carriage = of.carriage.as_ref()?;
    let rider = riders(case.ledger, of, loaded).ok()?.get(index).copied()?;
    let kind = block_type(case.ledger, &carriage.blocks[loaded.blocks[index]]).ok()?;
    let spectrum: Vec<(Portion, Origin<Place>)> = loaded
        .cases
        .iter()
        .enumerate()
        .map(|(number, of_case)| {
            let load = of_case.loads[index];
            let load_n = combined_load(load.right, load.down);
            let how = Derivation::new(
                format!("load of block {} in case {}", index + 1, number + 1),
                "P = |F_down| + |F_side|, forces and moments in balance",
                STATICS,
                figures(load_n, 5),
                "N",
            );
            let how = with_forces(carriage, loaded.blocks[index], how);
            (Portion { share: of_case.share, load_n }, Origin::Derived(Box::new(how)))
        })
        .collect();
    let portions: Vec<Portion> = spectrum.iter().map(|(portion, _)| *portion).collect();
    let mean = crate::calc::life::cubic_mean(&portions).ok()?;
    let stated = of.life_required.as_ref().and_then(|required| required.reliability);
    let reliability = reliability_of(stated.map(|stated| stated.value))?;
    let at = LifeOrigins {
        rating: Origin::Place(kind.dynamic?.place),
        basis: kind.basis.map_or(Origin::Standard("ISO 14728-1: 100 km"), |basis| Origin::Place(basis.place)),
        load: Origin::Derived(Box::new(derive_cubic_mean(&spectrum).ok()?)),
        reliability: stated.map_or(Origin::Standard("ISO 14728-1: 90 %"), |stated| Origin::Place(stated.place)),
    };
    let how = derive_life(rider.rating, mean, reliability, at).ok()?;
    Some(how.note("on perfect joints; the report gives the life on the joints as measured beside it"))
}
