//! The numbers of an axis: what its blocks bear, how safe they are, how long they last, and how true the carriage moves.

use super::quantity::{DerivedQuantity, PlacedDerivation, quantity};
use crate::calc::derivation::{Derivation, Origin, figures};
use crate::calc::life::{LifeOrigins, Rating, derive_life, derive_static_safety};
use crate::calc::motion::run::{BlockJourney, Borne, GreatestLoad};
use crate::facts::carriage::{Loaded, block_type};
use crate::facts::motion::{
    BearingBlock, FollowedError, MODEL, Moving, ToldError, block_safety, kilometres, moving, newtons, rated,
    reliability_of, travel,
};
use crate::facts::running_force;
use crate::ledger::{self, Axis, BlockType, Ledger, OnCarriage, Spanned};
use crate::quantity::Amount;
use crate::rules::Case;

pub(super) fn quantities(case: &Case, axis: usize) -> Vec<DerivedQuantity> {
    let force = running_force(case, axis).map(|how| quantity("greatest-running-force", how));
    let expected = expected_force(case.ledger, axis).map(|how| quantity("expected-running-force", how));
    let slope = force_slope(case, axis).map(|how| quantity("running-force-slope", how));
    [force, expected, slope].into_iter().flatten().chain(of_carriage(case, axis)).collect()
}

/// What preload and seals of all blocks take.
fn expected_force(ledger: &Ledger, axis: usize) -> Option<PlacedDerivation> {
    let expected = running_force::expected(ledger, axis)?.number();
    let blocks = &ledger.machine.axes[axis].carriage.as_ref()?.blocks;
    let mut how = Derivation::new(
        "running force by preload and seals",
        "F = Σ (µ F_pr + F_seal) over all blocks",
        "makers' practice, in no standard",
        expected,
        "N",
    );
    for (n, block) in blocks.iter().enumerate() {
        let kind = block_type(ledger, block).ok()?;
        let mut own =
            Derivation::new("a block", "µ F_pr + F_seal", "its maker", running_force::drag(kind)?.number(), "N");
        if let Some(friction) = kind.friction {
            own = own.input("µ", friction.value.number(), "", Origin::Place(friction.place));
            if let Some(preload) = kind.preload {
                own = own.input("F_pr", preload.value.number(), "N", Origin::Place(preload.place));
            } else if let (Some(share), Some(rating)) = (kind.preload_share, kind.dynamic) {
                own = own.input("F_pr as a share of C", share.value.number(), "", Origin::Place(share.place)).input(
                    "C",
                    rating.value.number(),
                    "N",
                    Origin::Place(rating.place),
                );
            }
        }
        if let Some(seals) = kind.seal_drag {
            own = own.input("F_seal", seals.value.number(), "N", Origin::Place(seals.place));
        }
        how = how.derived(format!("block {}", n + 1), own);
    }
    Some(how.note("the weight, the drive and the grease come on top"))
}

/// How the running force grows along the axis.
fn force_slope(case: &Case, axis: usize) -> Option<PlacedDerivation> {
    let slope = running_force::trend(case.ledger, axis)?.slope;
    let formula = "slope of the line through the latest force at each place";
    let mut how = Derivation::new("growth of the running force", formula, "least squares", slope.number(), "N/m");
    for reading in running_force::latest(case.ledger, axis) {
        let at = reading.row.position;
        how = how.input(format!("at {}", *at), reading.row.told().number(), "N", Origin::Place(reading.row.place));
    }
    Some(how.note("to a thousandth"))
}

/// The greatest of the latest at all places, from its readings.
fn running_force(case: &Case, axis: usize) -> Option<PlacedDerivation> {
    let greatest = running_force::greatest(case, axis)?;
    let forces = &greatest.row.forces;
    let (formula, source) = ("F = Σ |F_i| / n, the greatest of all places", "mean of repeats");
    let mut how = Derivation::new("greatest running force", formula, source, greatest.row.told().number(), "N");
    let at = greatest.row.position;
    how = how.input("read at", at.number(), "mm", Origin::Place(at.place));
    for (n, force) in forces.iter().enumerate() {
        how = how.input(format!("F_{}", n + 1), force.number(), "N", Origin::Place(force.place));
    }
    Some(how.step("n", forces.len().to_string(), "").note("of repeats rounded up to a millionth of a newton"))
}

fn of_carriage(case: &Case, axis: usize) -> Vec<DerivedQuantity> {
    let of = &case.ledger.machine.axes[axis];
    let (Some(carriage), Ok(moving)) = (&of.carriage, moving(case.ledger, axis, &|record| case.counts(record))) else {
        return Vec::new();
    };
    let about = MovingAxis { ledger: case.ledger, axis: of, carriage, moving: &moving };
    let mut all = Vec::new();
    let lying = moving.borne.loaded.without.is_none();
    // As in the report, no life where a block has no rating for one.
    let has_life = rated(case.ledger, axis).is_ok();
    let mut lives: [Vec<(usize, PlacedDerivation)>; 2] = [Vec::new(), Vec::new()];
    for (index, BearingBlock { block, wearing, journey, .. }) in moving.borne.blocks(of).enumerate() {
        let mut take = |word: &str, how: Option<PlacedDerivation>| {
            all.extend(how.map(|how| quantity(format!("{word}-{}", index + 1), how)));
        };
        let kind = block_type(case.ledger, block).ok();
        let forced = lying.then(|| about.forced(index, &journey.forced));
        for (ending, borne, forced) in
            [("nominal", &journey.nominal, None), ("as-measured", &journey.measured, forced.clone())]
        {
            if ending == "as-measured" && forced.is_none() {
                continue;
            }
            let added = |how: PlacedDerivation| match &forced {
                Some(forced) => how.derived("the most that the rails add", forced.clone()),
                None => how,
            };
            let load = added(about.greatest(index, block, journey, &borne.greatest, &OF_LOAD, ending));
            let still = added(about.greatest(index, block, journey, &borne.static_load, &OF_STATIC_LOAD, ending));
            let rating = kind.and_then(|kind| kind.static_);
            take(&format!("static-safety-{ending}"), rating.and_then(|rating| safety(rating, borne, still)));
            take(&format!("greatest-load-{ending}"), Some(load));
            let mean = added(about.mean(index, block, borne, ending));
            let rating = wearing.rating.filter(|_| has_life);
            let life = kind.zip(rating).and_then(|(kind, rating)| about.life(kind, rating, borne, mean.clone()));
            take(&format!("mean-load-{ending}"), Some(mean));
            lives[usize::from(ending != "nominal")].extend(life.clone().map(|life| (index, life)));
            take(&format!("life-{ending}"), life);
        }
        take("forced-load", forced);
    }
    for (ending, lives, together) in [
        ("nominal", &lives[0], moving.borne.whole.together[0]),
        ("as-measured", &lives[1], moving.borne.whole.together[1].filter(|_| lying)),
    ] {
        let Some(together) = together.filter(|_| !lives.is_empty()) else { continue };
        let formula = "L = (Σ L_b^−w)^(−1/w), w = 10/9 for balls, 9/8 for rollers";
        let source = "ISO 281, the life of several parts together";
        let result = kilometres(together).number();
        let how = Derivation::new("life of all blocks together", formula, source, result, "km");
        let how =
            lives.iter().fold(how, |how, (index, life)| how.derived(format!("L of block {}", index + 1), life.clone()));
        all.push(quantity(format!("life-together-{ending}"), how.note("rounded down to a kilometre")));
    }
    if lying {
        all.extend(moving.errors.iter().filter(|error| error.surveyed).map(|error| about.error(error)));
    }
    all
}

/// An axis with its carriage and what became of it.
struct MovingAxis<'c> {
    ledger: &'c Ledger,
    axis: &'c Axis,
    carriage: &'c ledger::Carriage,
    moving: &'c Moving,
}

impl MovingAxis<'_> {
    /// What is put on the carriage and what its blocks and supports stand it with, each where it was written.
    fn with_carriage(&self, block: &ledger::Block, how: PlacedDerivation) -> PlacedDerivation {
        let carriage = self.carriage;
        let mut how = how.input("the block stands at", block.at.value.number(), "mm", Origin::Place(block.at.place));
        if let Some(length) = block.length {
            how = how.input("its length", length.value.number(), "mm", Origin::Place(length.place));
        }
        for track in carriage.rails_at.iter().filter(|track| track.rail == block.rail) {
            let at = format!("{}, {}", track.y.number(), track.z.number());
            how = how.input("its rail runs at y, z", at, "mm", Origin::Place(track.place));
        }
        if let Ok(kind) = block_type(self.ledger, block) {
            how = with_springs(kind, how);
        }
        if let Some(mass) = carriage.mass {
            how = how.input("mass", mass.value.number(), "kg", Origin::Place(mass.place));
        }
        for (number, mass) in carriage.masses.iter().enumerate() {
            how = how.input(
                format!("mass {}", number + 1),
                mass.what.value.number(),
                "kg",
                Origin::Place(mass.what.place),
            );
            how = how.input(format!("centre of mass {}", number + 1), at(mass), "mm", Origin::Place(mass.place));
        }
        how = match &carriage.up {
            Some(up) => how.input("up is along x, y, z", at(up), "", Origin::Place(up.place)),
            None => how.input(
                "up is along x, y, z",
                "0, 0, 1",
                "",
                Origin::Assumed("a level axis; `up` of the carriage says otherwise"),
            ),
        };
        if let Some(acceleration) = carriage.acceleration {
            how = how.input(
                "acceleration, both ways",
                acceleration.value.number(),
                "m/s²",
                Origin::Place(acceleration.place),
            );
        }
        how = match &carriage.drive {
            Some(drive) => how.input("the drive pulls at x, y, z", at(drive), "mm", Origin::Place(drive.place)),
            None => how.input(
                "the drive pulls at x, y, z",
                "0, 0, 0",
                "mm",
                Origin::Assumed("in the carriage's middle; `drive` says otherwise"),
            ),
        };
        for (number, load) in carriage.loads.iter().enumerate() {
            how = how.input(
                format!("load {}", number + 1),
                load.force.value.number(),
                "N",
                Origin::Place(load.force.place),
            );
            let at = format!("{}, {}, {}", load.x.number(), load.y.number(), load.z.number());
            how = how.input(format!("load {} acts at x, y, z", number + 1), at, "mm", Origin::Place(load.place));
        }
        let yields = self.moving.borne.loaded.lying.yields;
        if yields {
            how
        } else {
            how.note("rails are taken as stiff: loads from rails that lie wrong are upper bounds")
        }
    }

    /// The greatest load of a block, against its dynamic or its static ratings.
    fn greatest(
        &self,
        index: usize,
        block: &ledger::Block,
        journey: &BlockJourney,
        load: &GreatestLoad,
        told: &ToldLoad,
        ending: &str,
    ) -> PlacedDerivation {
        let name = format!("{} of block {}, {}", told.name, index + 1, words(ending));
        let how = Derivation::new(name, told.formula, MODEL, newtons(load.load).to_string(), "N");
        let mut how = self.with_carriage(block, how);
        if let (true, Ok(kind)) = (told.is_static, block_type(self.ledger, block)) {
            for (word, stated) in ["roll", "pitch", "yaw"].iter().zip(kind.static_moments) {
                if let Some(stated) = stated {
                    how = how.input(format!("M0 {word}"), stated.value.number(), "N·m", Origin::Place(stated.place));
                }
            }
        }
        for (word, way) in [("F_v, down", 1), ("F_l, to the right", 0)] {
            how = how.step(word, figures(-load.passed[way], 5), "N");
        }
        for (word, way) in [("M roll", 2), ("M pitch", 3), ("M yaw", 4)] {
            if load.passed[way] != 0.0 {
                how = how.step(word, figures(load.passed[way] / 1000.0, 5), "N·m");
            }
        }
        // On stiff rails that lie where they should, every place is alike.
        let Loaded { journey: way, lying, .. } = &self.moving.borne.loaded;
        let differs = ending == "as-measured" || lying.yields;
        if differs && way.stroke[0] < way.stroke[1] {
            how = how.step("with the carriage at", figures(load.at, 6), "mm");
        }
        if let Some(u) =
            self.moving.blocks[index].load_uncertainty.filter(|_| ending == "as-measured" && !told.is_static)
        {
            how = how.step("standard uncertainty by the scatter of the readings", figures(u, 3), "N");
        }
        match (ending, journey.lifts) {
            ("as-measured", Some(_)) => {
                how.note("more than the preload holds: rows lift, and the springs are no longer linear")
            }
            _ => how,
        }
    }

    /// The mean load of a block.
    fn mean(&self, index: usize, block: &ledger::Block, borne: &Borne, ending: &str) -> PlacedDerivation {
        let formula = "P = (Σ q P^p)^(1/p) over all cases and places of the stroke, p = 3, rollers 10/3";
        let name = format!("mean load of block {}, {}", index + 1, words(ending));
        let how =
            Derivation::new(name, formula, "ISO 14728-1; P by our own model", newtons(borne.mean).to_string(), "N");
        let mut how = self.with_carriage(block, how);
        for (number, load) in self.carriage.loads.iter().enumerate() {
            if let Some(share) = load.share {
                how = how.input(
                    format!("share of load {}", number + 1),
                    share.value.number(),
                    "",
                    Origin::Place(share.place),
                );
            }
        }
        how
    }

    /// The life of a block.
    fn life(
        &self,
        kind: &BlockType,
        rating: Rating,
        borne: &Borne,
        mean: PlacedDerivation,
    ) -> Option<PlacedDerivation> {
        let stated = self.axis.life_required.as_ref().and_then(|required| required.reliability);
        let reliability = reliability_of(stated.map(|stated| stated.value))?;
        let at = LifeOrigins {
            rating: Origin::Place(kind.dynamic?.place),
            basis: kind.basis.map_or(Origin::Standard("ISO 14728-1: 100 km"), |basis| Origin::Place(basis.place)),
            load: Origin::Derived(Box::new(mean)),
            reliability: stated.map_or(Origin::Standard("ISO 14728-1: 90 %"), |stated| Origin::Place(stated.place)),
        };
        let mut how = derive_life(rating, borne.mean, reliability, at).ok()?;
        how.result = travel(borne.life?).number();
        Some(how.note("rounded down to a kilometre"))
    }

    /// The most that the rails as they lie add to a block, from every reading that plays a part in it.
    fn forced(&self, index: usize, load: &GreatestLoad) -> PlacedDerivation {
        let formula = "f = S (G (GᵀSG)⁻¹ GᵀS − 1) e, S = (K⁻¹ + C)⁻¹, e what blocks feel of the rails";
        let name = format!("the most that the rails as measured add to block {}", index + 1);
        let how = Derivation::new(name, formula, MODEL, newtons(load.load).to_string(), "N");
        let weighed = &self.moving.blocks[index];
        let mut how = how.step("with the carriage at", figures(load.at, 6), "mm");
        how = match weighed.forced_uncertainty {
            Some(u) => {
                let how = how.step("standard uncertainty by the scatter of the readings", figures(u, 3), "N");
                if load.load < 2.0 * u { how.note("less than twice that: not resolved") } else { how }
            }
            None => how.note("how far a gauge scatters is not stated: what the scatter alone would give is not known"),
        };
        self.with_readings(how, &weighed.in_forced)
    }

    /// The readings that weigh something.
    fn with_readings(&self, how: PlacedDerivation, by: &[f64]) -> PlacedDerivation {
        let most = by.iter().fold(0.0_f64, |most, by| most.max(by.abs()));
        let readings = self.moving.borne.loaded.lying.readings.iter().zip(by);
        readings.filter(|(_, by)| by.abs() > 1e-6 * most).fold(how, |how, (reading, _)| {
            let rail = self.axis.rails[reading.rail].name.as_str();
            how.input(format!("{rail} {}", reading.at), reading.read.number(), "mm", Origin::Place(reading.place))
        })
    }

    /// A motion error.
    fn error(&self, error: &FollowedError) -> DerivedQuantity {
        let name = error.name(self.axis);
        let turn = error.is_turn();
        let (result, unit) = match error.told() {
            ToldError::Angle(angle) => (angle.to_string(), "µrad"),
            ToldError::Zone(zone) => (zone.number(), "mm"),
        };
        let formula = match turn {
            true => "greatest less least over the stroke",
            false => "zone about the least-squares line over the stroke",
        };
        let mut how = Derivation::new(name.what, formula, MODEL, result, unit);
        if let Some(u) = error.told_uncertainty() {
            how = how.step("standard uncertainty by the scatter of the readings", u, unit);
        }
        if error.is_resolved() == Some(false) {
            how = how.note("less than twice that: not resolved");
        }
        how = how.note("rounded up");
        quantity(name.word, self.with_readings(how, &error.by))
    }
}

/// A greatest load as it is told.
struct ToldLoad {
    name: &'static str,
    formula: &'static str,
    is_static: bool,
}

const OF_LOAD: ToldLoad = ToldLoad {
    name: "greatest load",
    formula: "P = F_pr (1 + F/(2^t F_pr))^t below lift-off at 2^t F_pr, else F; F = |F_v| + |F_l| + C Σ|M|/M_C; t = 3/2, rollers 10/9",
    is_static: false,
};

const OF_STATIC_LOAD: ToldLoad = ToldLoad {
    name: "greatest static load",
    formula: "P0 = F_pr (1 + F/(2^t F_pr))^t below lift-off at 2^t F_pr, else F; F = |F_v| + |F_l| + C0 Σ|M|/M0; t = 3/2, rollers 10/9",
    is_static: true,
};

fn words(ending: &str) -> &'static str {
    if ending == "nominal" { "on rails that lie where they should" } else { "on the rails as measured" }
}

fn at<T>(of: &OnCarriage<T>) -> String {
    format!("{}, {}, {}", of.x.number(), of.y.number(), of.z.number())
}

/// The springs, moment ratings and preload of a block.
fn with_springs(kind: &BlockType, mut how: PlacedDerivation) -> PlacedDerivation {
    for (word, stated) in [("stiffness", kind.stiffness), ("lateral stiffness", kind.lateral_stiffness)] {
        if let Some(stated) = stated {
            how = how.input(word, stated.value.number(), "N/µm", Origin::Place(stated.place));
        }
    }
    let turns = [("roll", 0), ("pitch", 1), ("yaw", 2)];
    for (word, n) in turns {
        if let Some(stated) = kind.moment_stiffness[n] {
            how = how.input(
                format!("{word} stiffness, per mrad"),
                stated.value.number(),
                "N·m",
                Origin::Place(stated.place),
            );
        }
        if let Some(stated) = kind.dynamic_moments[n].filter(|_| kind.moment_stiffness[n].is_some()) {
            how = how.input(format!("M {word}"), stated.value.number(), "N·m", Origin::Place(stated.place));
        }
    }
    if let Some(stated) = kind.preload {
        how = how.input("preload", stated.value.number(), "N", Origin::Place(stated.place));
    } else if let Some(stated) = kind.preload_share {
        how = how.input("preload as a share of C", stated.value.number(), "", Origin::Place(stated.place));
    } else {
        how = how.note("no preload is stated: none is reckoned with");
    }
    how
}

/// The static safety under a load, as the rule and the report have it.
fn safety(rating: Spanned<crate::quantity::Force>, borne: &Borne, load: PlacedDerivation) -> Option<PlacedDerivation> {
    let load_n = borne.static_load.load;
    let (at, load_at) = (Origin::Place(rating.place), Origin::Derived(Box::new(load)));
    let mut how = derive_static_safety(rating.value.to_f64(), load_n, at, load_at).ok()?;
    how.result = block_safety(rating.value.to_f64(), load_n)?.number();
    Some(how.note("rounded down to a thousandth"))
}
