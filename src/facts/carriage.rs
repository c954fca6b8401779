//! The carriage of an axis as statics sees it: blocks, cases of load, and what each block carries.
//!
//! Its own weight and every load without a share act all the time. Loads with a share of the travelled distance make a
//! spectrum: each stands for itself, or together with those of the same case. Where an acceleration is stated, every
//! case counts half forward and half backward under it, which errs to the safe side.

use super::FactError;
use crate::calc::carriage::{BlockLoad, CarriageBlock, Force, Point, RigidCarriage, inertia, weight};
use crate::calc::joint_life::{LoadCase, Rider};
use crate::calc::life::{Rating, combined_load};
use crate::ledger::{self, Axis, BlockType, Ledger, Load, Towards};
use crate::quantity::{Amount, Length};

/// A carriage with what each of its blocks carries in each case.
#[derive(Clone, Debug)]
pub(crate) struct Loaded {
    pub carriage: RigidCarriage,
    /// For each block of the carriage that rides on a known rail, its index in the description.
    pub blocks: Vec<usize>,
    pub cases: Vec<LoadCase>,
    /// The stiffnesses of the blocks are stated, so that joints can be put under them.
    pub stiff: bool,
}

impl Loaded {
    /// The greatest load of each block over all cases, in N.
    pub(crate) fn greatest(&self) -> Vec<f64> {
        let of = |block: usize| {
            let loads = self.cases.iter().map(|case| case.loads[block]);
            loads.fold(0.0_f64, |most, load: BlockLoad| most.max(combined_load(load.right, load.down)))
        };
        (0..self.blocks.len()).map(of).collect()
    }
}

/// Works out what the blocks of an axis carry. Nothing where no carriage with blocks is described.
pub(crate) fn loaded(ledger: &Ledger, axis: &Axis) -> Result<Option<Loaded>, FactError> {
    let Some(described) = &axis.carriage else { return Ok(None) };
    let blocks: Vec<usize> = (0..described.blocks.len()).filter(|at| described.blocks[*at].rail.is_some()).collect();
    let Some(&first) = blocks.first() else { return Ok(None) };
    if described.mass.is_none() && described.loads.is_empty() {
        return Err(FactError::new(
            described.place,
            "the carriage has neither a mass nor a load",
            "state what it carries: mass=… and load (N)… x=… y=… z=…",
        ));
    }
    let one_rail = blocks.iter().all(|at| described.blocks[*at].rail == described.blocks[first].rail);
    let kind = |at: usize| described.blocks[at].kind.as_ref().and_then(|name| ledger.shop.block(name));
    let stiffness = |at: usize| kind(at).and_then(|kind| kind.stiffness).map(|stiffness| stiffness.value.to_f64());
    let stiff = blocks.iter().all(|at| stiffness(*at).is_some());
    let mut springs = Vec::with_capacity(blocks.len());
    for &at in &blocks {
        let block = &described.blocks[at];
        let run = described.rails_at.iter().find(|rail| rail.rail == block.rail);
        let (y, z) = match run {
            Some(run) => (run.y, run.z),
            // All blocks on one rail: wherever it runs, it is the middle.
            None if one_rail => (Length::ZERO, Length::ZERO),
            None => {
                let rail = block.rail.map_or("…", |rail| axis.rails[rail].name.as_str());
                return Err(FactError::new(
                    described.place,
                    format!("the carriage does not say where rail `{rail}` runs across it"),
                    format!("add track {rail} y=…"),
                ));
            }
        };
        let place = Point { x: block.at.value.to_f64(), y: y.to_f64(), z: z.to_f64() };
        springs.push(match (stiff, stiffness(at)) {
            (true, Some(vertical)) => {
                let lateral = kind(at).and_then(|kind| kind.lateral_stiffness);
                CarriageBlock {
                    at: place,
                    vertical,
                    lateral: lateral.map_or(vertical, |lateral| lateral.value.to_f64()),
                }
            }
            _ => CarriageBlock::alike(place),
        });
    }
    let fault = |why: &dyn std::fmt::Display| {
        FactError::new(described.place, why.to_string(), "check the places of blocks, rails and loads on the carriage")
    };
    let carriage = RigidCarriage::new(springs).map_err(|why| fault(&why))?;
    let mut cases = Vec::new();
    for (share, forces) in spectrum(described)? {
        let sides: &[f64] = if described.acceleration.is_some() { &[1.0, -1.0] } else { &[0.0] };
        for sign in sides {
            let mut forces = forces.clone();
            if let (Some(mass), Some(acceleration)) = (described.mass, described.acceleration) {
                forces.push(inertia(mass.value.to_f64(), Point::default(), sign * acceleration.value.to_f64()));
            }
            let loads = carriage.loads(&forces, Point::default()).map_err(|why| fault(&why))?;
            cases.push(LoadCase { share: share / sides.len() as f64, loads });
        }
    }
    Ok(Some(Loaded { carriage, blocks, cases, stiff }))
}

/// The forces of every case, with its share.
fn spectrum(described: &ledger::Carriage) -> Result<Vec<(f64, Vec<Force>)>, FactError> {
    let mut always = Vec::new();
    if let Some(mass) = described.mass {
        always.extend(weight(mass.value.to_f64(), Point::default(), [0.0, 0.0, -1.0]));
    }
    // Each case with its share and the load that stated it.
    let mut cases: Vec<(Option<&str>, Option<f64>, Vec<Force>)> = Vec::new();
    for load in &described.loads {
        let share = load.share.map(|share| share.value.to_f64());
        let name = load.case.as_ref().map(|case| case.as_str());
        if share.is_none() && name.is_none() {
            always.push(force(load));
            continue;
        }
        match cases.iter_mut().find(|(of, ..)| of.is_some() && *of == name) {
            Some((_, known, forces)) => {
                *known = known.or(share);
                forces.push(force(load));
            }
            None => cases.push((name, share, vec![force(load)])),
        }
    }
    if cases.is_empty() {
        return Ok(vec![(1.0, always)]);
    }
    let only = cases.len() == 1;
    cases
        .into_iter()
        .map(|(name, share, mut forces)| {
            let share = share.or(only.then_some(1.0)).ok_or_else(|| {
                let name = name.unwrap_or("");
                FactError::new(
                    described.place,
                    format!("load case `{name}` does not state its share of the travelled distance"),
                    "add share=(%)… to one of its loads",
                )
            })?;
            forces.extend(always.iter().copied());
            Ok((share, forces))
        })
        .collect()
}

fn force(load: &Load) -> Force {
    let at = Point { x: load.x.to_f64(), y: load.y.to_f64(), z: load.z.to_f64() };
    let size = load.force.value.to_f64();
    let none = Force { at, x: 0.0, y: 0.0, z: 0.0 };
    match load.towards {
        Towards::Down => Force { z: -size, ..none },
        Towards::Up => Force { z: size, ..none },
        Towards::Left => Force { y: -size, ..none },
        Towards::Right => Force { y: size, ..none },
        Towards::Forward => Force { x: size, ..none },
        Towards::Backward => Force { x: -size, ..none },
    }
}

/// The type of a block, or what is lacking.
pub(crate) fn block_type<'l>(ledger: &'l Ledger, block: &ledger::Block) -> Result<&'l BlockType, FactError> {
    let kind = block.kind.as_ref().and_then(|name| ledger.shop.block(name));
    kind.ok_or_else(|| {
        FactError::new(
            block.place,
            "the block does not name its type",
            "add type=… and describe that block in the shop file",
        )
    })
}

/// The rail and rating of each block.
pub(crate) fn riders(ledger: &Ledger, axis: &Axis, loaded: &Loaded) -> Result<Vec<Rider>, FactError> {
    let Some(described) = &axis.carriage else { return Ok(Vec::new()) };
    let rider = |at: &usize| {
        let block = &described.blocks[*at];
        let kind = block_type(ledger, block)?;
        let place = kind.name.place;
        let dynamic = kind.dynamic.ok_or_else(|| {
            let what = format!("block `{}` states no dynamic load rating", *kind.name);
            FactError::new(place, what, "add C=… from its maker's catalogue")
        })?;
        let basis = kind.basis.map_or(100.0, |basis| basis.value.to_f64());
        let rating = Rating::new(dynamic.value.to_f64(), basis)
            .map_err(|why| FactError::new(place, why.to_string(), "check C and basis of the block"))?;
        Ok(Rider { rail: block.rail.unwrap_or(0), rating })
    };
    loaded.blocks.iter().map(rider).collect()
}
