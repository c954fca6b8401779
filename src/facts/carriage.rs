//! The carriage of an axis as `calc::motion` sees it: blocks, what acts in each case, and how far it goes.
//!
//! Masses and every load without a share act all the time. Loads with a share of the travelled distance make a spectrum: each
//! stands for itself, or together with those of the same case. Where an acceleration is stated, every case counts half forward
//! and half backward under it.

use super::FactError;
use super::lying::{Counting, LyingRails, lying_rails};
use crate::calc::life::{Rating, Rolling};
use crate::calc::motion::carriage::{ElasticCarriage, SpringBlock};
use crate::calc::motion::frame::{Arrow, BodyPoint, Five};
use crate::calc::motion::loads::{ActingCase, ActingForce, ActingLoads, CarriedMass};
use crate::calc::motion::rails::LyingSegment;
use crate::calc::motion::run::Journey;
use crate::calc::motion::wear::WearingBlock;
use crate::ledger::{self, Axis, BlockType, Ledger, Load, NodeDraft, OnCarriage, RollingElement, SpeltValue, Towards};
use crate::quantity::{Amount, Length};

/// A carriage with all that it takes to send it along its stroke.
#[derive(Clone, Debug)]
pub(crate) struct Loaded {
    pub journey: Journey,
    /// For each block of the carriage that rides on a known rail, its index in the description.
    pub blocks: Vec<usize>,
    /// In the order of `blocks`.
    pub wearing: Vec<WearingBlock>,
    /// What the rails lie by, which stand in the journey; nothing of it where the stiffnesses of the blocks or the stroke are not
    /// stated.
    pub lying: LyingRails,
    /// Why how the rails lie plays no part.
    pub without: Option<&'static str>,
}

/// More blocks than this are not looked at.
const MOST_BLOCKS: usize = 32;

/// So many places of the stroke are looked at, and of very many cases and blocks fewer, so that a lint takes no longer than for
/// that many of all three.
const MOST_PLACES: usize = 2_500;
const MOST_LOOKS: usize = 100_000;

/// A block that meets a joint is looked at so many times on its way over it. Nothing changes faster than that.
const LOOKS_OVER_A_JOINT: f64 = 12.0;

/// The places looked at lie no nearer than that, in mm.
const LEAST_STEP: f64 = 1.0;

/// Puts together what an axis says of its carriage, and how its rails lie by the records that count. Nothing where no carriage with blocks is described.
pub(crate) fn loaded(ledger: &Ledger, index: usize, counts: Counting) -> Result<Option<Loaded>, FactError> {
    let axis = &ledger.machine.axes[index];
    let Some(described) = &axis.carriage else { return Ok(None) };
    let blocks: Vec<usize> = (0..described.blocks.len()).filter(|at| described.blocks[*at].rail.is_some()).collect();
    if blocks.is_empty() {
        return Ok(None);
    }
    if blocks.len() > MOST_BLOCKS {
        let what = format!("the carriage has {} blocks, and at most {MOST_BLOCKS} are reckoned with", blocks.len());
        return Err(FactError::new(described.place, what, "describe it as several axes"));
    }
    if described.mass.is_none() && described.masses.is_empty() && described.loads.is_empty() {
        return Err(FactError::new(
            described.place,
            "the carriage has neither a mass nor a load",
            "state what it carries: mass=… and load (N)… x=… y=… z=…",
        ));
    }
    let kind = |at: usize| described.blocks[at].kind.as_ref().and_then(|name| ledger.shop.block(name));
    let stiff = blocks.iter().all(|at| kind(*at).is_some_and(|kind| kind.stiffness.is_some()));
    let mut springs = Vec::with_capacity(blocks.len());
    let mut wearing = Vec::with_capacity(blocks.len());
    for &at in &blocks {
        let block = &described.blocks[at];
        let place = place_of(axis, described, &blocks, block)?;
        let linear = |stated: Option<f64>| if stiff { stated.unwrap_or(0.0) * 1000.0 } else { 1000.0 };
        let vertical = linear(kind(at).and_then(|kind| kind.stiffness).map(|it| it.value.to_f64()));
        let lateral = kind(at).and_then(|kind| kind.lateral_stiffness).map(|it| it.value.to_f64());
        let lateral = lateral.filter(|_| stiff).map_or(vertical, |lateral| linear(Some(lateral)));
        // N·m per mrad are 10⁶ N·mm per rad.
        let turn = |n: usize| match kind(at).and_then(|kind| kind.moment_stiffness[n]).filter(|_| stiff) {
            Some(stated) => stated.value.to_f64() * 1e6,
            None => 0.0,
        };
        let length = block.length.map_or(0.0, |length| length.value.to_f64());
        let rail = block.rail.unwrap_or_default();
        springs.push(SpringBlock { at: place, rail, length, springs: [lateral, vertical, turn(0), turn(1), turn(2)] });
        wearing.push(wears(kind(at), vertical, stiff)?);
    }
    let fault = |why: &dyn std::fmt::Display| {
        FactError::new(described.place, why.to_string(), "check the places of blocks, rails and loads on the carriage")
    };
    let carriage = ElasticCarriage::new(springs).map_err(|why| fault(&why))?;
    let cases = cases(described)?;
    let without = match (stiff, axis.stroke) {
        (false, _) => Some("the stiffness of the blocks is not stated"),
        (_, None) => Some("the stroke is not stated"),
        _ => None,
    };
    let mut lying = if without.is_none() { lying_rails(ledger, index, counts) } else { LyingRails::default() };
    // Where nothing lies wrong and nothing yields, one place is like another.
    let same = !lying.yields && lying.rails.iter().all(|rail| rail.segments.iter().all(LyingSegment::is_plain));
    let stroke = match axis.stroke {
        Some(stroke) if !same => [stroke.from.to_f64(), stroke.to.to_f64()],
        _ => [0.0, 0.0],
    };
    // Each tool is followed two ways in each case.
    let followed = cases.len() * (blocks.len() + 2 * described.tools.len());
    let most = (MOST_LOOKS / followed.max(1)).clamp(1, MOST_PLACES) as f64;
    let shortest = carriage.blocks().iter().map(|block| block.length).fold(f64::INFINITY, f64::min);
    let step = LEAST_STEP.max(shortest / LOOKS_OVER_A_JOINT).max((stroke[1] - stroke[0]) / most);
    let journey = Journey { carriage, rails: std::mem::take(&mut lying.rails), cases, stroke, step };
    // The load is one that the blocks can hold.
    journey.first().map_err(|why| fault(&why))?;
    Ok(Some(Loaded { journey, blocks, wearing, lying, without }))
}

/// Where a block stands on the carriage.
fn place_of(
    axis: &Axis,
    described: &ledger::Carriage,
    blocks: &[usize],
    block: &ledger::Block,
) -> Result<BodyPoint, FactError> {
    let run = described.rails_at.iter().find(|track| track.rail == block.rail);
    let one_rail = blocks.iter().all(|at| described.blocks[*at].rail == block.rail);
    let (y, z) = match run {
        Some(run) => (run.y, run.z),
        // All blocks on one rail: wherever it runs, it is the middle.
        None if one_rail => (Length::ZERO, Length::ZERO),
        None => {
            let rail = block.rail.map_or("…", |rail| axis.rails[rail].name.as_str());
            return Err(FactError::new(
                described.place,
                format!("the carriage does not say where rail `{rail}` runs across it"),
                format!("add {}", NodeDraft::new("track").value(rail).property("y", SpeltValue::open()).line()),
            ));
        }
    };
    Ok(BodyPoint { x: block.at.value.to_f64(), y: y.to_f64(), z: z.to_f64() })
}

/// The names of the five moments' words in the shop, in roll, pitch and yaw.
const TURNS: [&str; 3] = ["roll", "pitch", "yaw"];

/// How a block wears. A moment that is passed on needs its ratings.
fn wears(kind: Option<&BlockType>, stiffness: f64, stiff: bool) -> Result<WearingBlock, FactError> {
    let newtons = |it: Option<ledger::Spanned<crate::quantity::Force>>| it.map(|it| it.value.to_f64());
    let (dynamic, resting) = (kind.and_then(|kind| newtons(kind.dynamic)), kind.and_then(|kind| newtons(kind.static_)));
    let rolling = match kind.and_then(|kind| kind.rolling).map(|rolling| *rolling) {
        Some(RollingElement::Rollers) => Rolling::Rollers,
        Some(RollingElement::Balls) | None => Rolling::Balls,
    };
    let mut levers = [[0.0; 3]; 2];
    for (n, turn) in TURNS.iter().enumerate().filter(|_| stiff) {
        let Some(kind) = kind.filter(|kind| kind.moment_stiffness[n].is_some()) else { continue };
        let rated = [(dynamic, kind.dynamic_moments[n], "M"), (resting, kind.static_moments[n], "M0")];
        for (levers, (rating, moment, word)) in levers.iter_mut().zip(rated) {
            match (rating, moment) {
                (Some(rating), Some(moment)) => levers[n] = rating / (moment.value.to_f64() * 1000.0),
                (Some(_), None) => {
                    return Err(FactError::new(
                        kind.name.place,
                        format!("block `{}` takes moments in {turn}, and states no rating for them", *kind.name),
                        format!("add {word}-{turn}=… from its maker's catalogue, or leave {turn}-stiffness out"),
                    ));
                }
                _ => {}
            }
        }
    }
    let preload = match kind.map(|kind| (kind.preload, kind.preload_share)) {
        Some((Some(force), _)) => force.value.to_f64(),
        Some((None, Some(share))) => dynamic.unwrap_or(0.0) * share.value.to_f64(),
        _ => 0.0,
    };
    let basis = kind.and_then(|kind| kind.basis).map_or(100.0, |basis| basis.value.to_f64());
    let rating = dynamic.and_then(|dynamic| Rating::new(dynamic, basis).ok()).map(|rating| rating.on(rolling));
    let stiffness = if stiff { stiffness } else { 0.0 };
    Ok(WearingBlock { rolling, rating, preload, dynamic_levers: levers[0], static_levers: levers[1], stiffness })
}

fn spot(x: Length, y: Length, z: Length) -> BodyPoint {
    BodyPoint { x: x.to_f64(), y: y.to_f64(), z: z.to_f64() }
}

/// The place of something on the carriage.
pub(crate) fn spot_of<T>(of: &OnCarriage<T>) -> BodyPoint {
    spot(of.x, of.y, of.z)
}

/// What acts in every case, with its share.
fn cases(described: &ledger::Carriage) -> Result<Vec<ActingCase>, FactError> {
    let own = described.mass.map(|mass| CarriedMass { mass: mass.value.to_f64(), centre: BodyPoint::default() });
    let others = described.masses.iter().map(|of| CarriedMass { mass: of.what.value.to_f64(), centre: spot_of(of) });
    let up = described.up.as_ref().map_or(Arrow { x: 0.0, y: 0.0, z: 1.0 }, spot_of);
    if let Some(stated) = described.up.as_ref().filter(|_| up == Arrow::default()) {
        return Err(FactError::new(stated.place, "`up` points nowhere", "state x=…, y=… or z=…"));
    }
    let always = ActingLoads {
        masses: own.into_iter().chain(others).collect(),
        up,
        drive: described.drive.as_ref().map(spot_of).unwrap_or_default(),
        ..ActingLoads::default()
    };
    let acceleration = described.acceleration.map_or(0.0, |acceleration| acceleration.value.to_f64());
    let ways: &[f64] = if acceleration == 0.0 { &[0.0] } else { &[1.0, -1.0] };
    let mut cases = Vec::new();
    let spectrum = spectrum(described)?;
    // Thirds written with a few digits are thirds.
    let sum: f64 = spectrum.iter().map(|(share, _)| share).sum();
    let whole = if (sum - 1.0).abs() <= 1e-6 { sum } else { 1.0 };
    for (share, forces) in spectrum {
        for way in ways {
            let loads = ActingLoads { forces: forces.clone(), acceleration: way * acceleration, ..always.clone() };
            let acts: Five = loads.acts();
            cases.push(ActingCase { share: share / whole / ways.len() as f64, acts });
        }
    }
    Ok(cases)
}

/// The forces of every case, with its share.
fn spectrum(described: &ledger::Carriage) -> Result<Vec<(f64, Vec<ActingForce>)>, FactError> {
    let mut always = Vec::new();
    // Each case with its share and the loads that act in it.
    let mut cases: Vec<(Option<&str>, Option<f64>, Vec<ActingForce>)> = Vec::new();
    for load in &described.loads {
        let share = load.share.map(|share| share.value.to_f64());
        let name = load.case.as_ref().map(|case| case.as_str());
        if share.is_none() && name.is_none() {
            always.push(force(load));
            continue;
        }
        match cases.iter_mut().find(|(of, ..)| of.is_some() && *of == name) {
            Some((_, known, forces)) => {
                if let (Some(first), Some(second), Some(stated)) = (*known, share, load.share)
                    && first != second
                {
                    return Err(FactError::new(
                        stated.place,
                        format!("load case `{}` states two shares of the travelled distance", name.unwrap_or("")),
                        "state its share at one of its loads",
                    ));
                }
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

fn force(load: &Load) -> ActingForce {
    let size = load.force.value.to_f64();
    let none = Arrow::default();
    let force = match load.towards {
        Towards::Down => Arrow { z: -size, ..none },
        Towards::Up => Arrow { z: size, ..none },
        Towards::Left => Arrow { y: -size, ..none },
        Towards::Right => Arrow { y: size, ..none },
        Towards::Forward => Arrow { x: size, ..none },
        Towards::Backward => Arrow { x: -size, ..none },
    };
    ActingForce { force, at: spot(load.x, load.y, load.z) }
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
