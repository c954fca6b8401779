//! The numbers of an axis: what its blocks carry, how safe they are, and how long they last.

use super::quantity::{DerivedQuantity, PlacedDerivation, quantity};
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::calc::joint_life::{BlockLife, MODEL};
use crate::calc::life::{LifeOrigins, Portion, combined_load, derive_cubic_mean, derive_life, derive_static_safety};
use crate::facts::carriage::{Loaded, block_type, loaded, riders};
use crate::facts::life::{block_safety, lives, newtons, reliability_of, travel};
use crate::finding::Place;
use crate::ledger::{self, Spanned};
use crate::quantity::{Amount, Force};
use crate::rules::Case;

pub(super) fn quantities(case: &Case, axis: usize) -> Vec<DerivedQuantity> {
    let of = &case.ledger.machine.axes[axis];
    let Some(carriage) = &of.carriage else { return Vec::new() };
    let Ok(Some(loaded)) = loaded(case.ledger, of) else { return Vec::new() };
    let lives = lives(case.ledger, axis).ok();
    let mut all = Vec::new();
    for (index, &block) in loaded.blocks.iter().enumerate() {
        let number = index + 1;
        let mut take = |word: &str, how: Option<PlacedDerivation>| {
            all.extend(how.map(|how| quantity(format!("{word}-{number}"), how)))
        };
        let rating = block_type(case.ledger, &carriage.blocks[block]).ok().and_then(|kind| kind.static_);
        let without = greatest(carriage, &loaded, index);
        let least = loaded.greatest()[index];
        take("greatest-load-without-joints", Some(without.clone()));
        take("static-safety-without-joints", rating.and_then(|rating| safety(rating, least, without.clone())));
        let Some(worked) = &lives else { continue };
        let of = &worked.lives[index];
        let most = least.max(of.greatest_n);
        let with = with_joints("greatest load", "N", newtons(most).to_string(), without, worked.joints);
        take("static-safety-with-joints", rating.and_then(|rating| safety(rating, most, with.clone())));
        take("greatest-load-with-joints", Some(with));
        let Some((mean, rated)) = life(case, axis, &loaded, index, of) else { continue };
        take("load-without-joints", Some(mean.clone()));
        let load = newtons(of.load_with_n).to_string();
        take("load-with-joints", Some(with_joints("mean load", "N", load, mean, worked.joints)));
        take("life-without-joints", Some(rated.clone()));
        let with = of.with.map(|life| with_joints("life", "km", travel(life).number(), rated, worked.joints));
        take("life-with-joints", with);
    }
    all
}

/// The static safety under a load, as the rule and the report have it.
fn safety(rating: Spanned<Force>, load_n: f64, load: PlacedDerivation) -> Option<PlacedDerivation> {
    let (at, load_at) = (Origin::Place(rating.place), Origin::Derived(Box::new(load)));
    let mut how = derive_static_safety(rating.value.to_f64(), load_n, at, load_at).ok()?;
    how.result = block_safety(rating.value.to_f64(), load_n)?.number();
    Some(how.note("rounded down to a thousandth"))
}

/// A number of a block on the joints as measured, from the one on perfect joints.
fn with_joints(
    what: &str,
    unit: &'static str,
    result: String,
    without: PlacedDerivation,
    joints: usize,
) -> PlacedDerivation {
    let formula =
        "the same with |F_down| + |F_side| + k (q + |t|)/√2 for |F_down| + |F_side|, over every stretch between joints";
    Derivation::new(format!("{what} on the joints as measured"), formula, MODEL, result, unit)
        .derived("on perfect joints", without)
        .step("joints measured", joints.to_string(), "")
}

/// What is put on the carriage, each force where it was written.
fn with_forces(carriage: &ledger::Carriage, block: usize, how: PlacedDerivation) -> PlacedDerivation {
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
fn greatest(carriage: &ledger::Carriage, loaded: &Loaded, index: usize) -> PlacedDerivation {
    let formula = "P0 = most of |F_down| + |F_side| over all cases, forces and moments in balance";
    let result = newtons(loaded.greatest()[index]).to_string();
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

/// The mean load and the life of a block on perfect joints.
fn life(
    case: &Case,
    axis: usize,
    loaded: &Loaded,
    index: usize,
    of_block: &BlockLife,
) -> Option<(PlacedDerivation, PlacedDerivation)> {
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
    let mut mean_load = derive_cubic_mean(&spectrum).ok()?;
    mean_load.result = newtons(of_block.load_without_n).to_string();
    let at = LifeOrigins {
        rating: Origin::Place(kind.dynamic?.place),
        basis: kind.basis.map_or(Origin::Standard("ISO 14728-1: 100 km"), |basis| Origin::Place(basis.place)),
        load: Origin::Derived(Box::new(mean_load.clone())),
        reliability: stated.map_or(Origin::Standard("ISO 14728-1: 90 %"), |stated| Origin::Place(stated.place)),
    };
    let mut how = derive_life(rider.rating, mean, reliability, at).ok()?;
    how.result = travel(of_block.without?).number();
    let how = how.note("rounded down to a kilometre");
    Some((mean_load, how.note("on perfect joints; the life on the joints as measured stands beside it")))
}
