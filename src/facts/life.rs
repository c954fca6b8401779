//! The life of an axis's blocks from its description and the joints as measured.

use super::FactError;
use super::carriage::{Loaded, loaded, riders};
use super::steps::four_steps;
use crate::calc::joint_life::{BlockLife, CrossedJoint, JointOffset, StrokeMm, joint_life};
use crate::calc::life::{Life, Reliability, static_safety};
use crate::ledger::{Axis, Ledger, RailId};
use crate::quantity::{Amount, Ratio, Travel};

/// The lives of all blocks of a carriage.
pub(crate) struct Lives {
    pub loaded: Loaded,
    /// In the order of `loaded.blocks`.
    pub lives: Vec<BlockLife>,
    /// How many measured joints are in it.
    pub joints: usize,
}

/// The lives of all blocks of an axis, on perfect joints and on those measured. What is lacking is said where a life is
/// required, else at the axis.
pub(crate) fn lives(ledger: &Ledger, index: usize) -> Result<Lives, FactError> {
    let axis = &ledger.machine.axes[index];
    let required = axis.life_required.as_ref();
    let asked_at = required.map_or(axis.place, |required| required.place);
    let lacking = || FactError::new(asked_at, "no carriage with blocks is described", "describe the carriage");
    let loaded = loaded(ledger, axis)?.ok_or_else(lacking)?;
    let riders = riders(ledger, axis, &loaded)?;
    let share = required.and_then(|required| required.reliability).map_or(Ratio(900_000_000), |share| share.value);
    let reliability = reliability(share).ok_or_else(|| {
        let what = format!("there is no life factor for a reliability of {}", share.number());
        FactError::new(asked_at, what, "choose 90, 95, 96, 97, 98 or 99 %")
    })?;
    let joints = if loaded.stiff && axis.stroke.is_some() { measured(ledger, index, axis) } else { Vec::new() };
    let stroke = match axis.stroke {
        Some(stroke) => StrokeMm { from_mm: stroke.from.to_f64(), to_mm: stroke.to.to_f64() },
        // Without joints, one stretch is like another.
        None => StrokeMm { from_mm: 0.0, to_mm: 1.0 },
    };
    let lives = joint_life(&loaded.carriage, &riders, &loaded.cases, &joints, stroke, reliability);
    let place = axis.carriage.as_ref().map_or(asked_at, |carriage| carriage.place);
    let lives = lives.map_err(|why| FactError::new(place, why.to_string(), "check loads, shares and stroke"))?;
    Ok(Lives { loaded, lives, joints: joints.len() })
}

/// The reliability asked for; 90 % where nothing is said. Nothing where there is no factor for it.
pub(crate) fn reliability_of(stated: Option<Ratio>) -> Option<Reliability> {
    reliability(stated.unwrap_or(Ratio(900_000_000)))
}

fn reliability(share: Ratio) -> Option<Reliability> {
    const PERCENT: i64 = 10_000_000;
    let percent = u8::try_from(share.0 / PERCENT).ok().filter(|_| share.0 % PERCENT == 0)?;
    Reliability::new(percent).ok()
}

/// The model looks at every joint in every stretch between joints. With more joints than any axis has it would take too
/// long, and then they are left out.
const MOST_JOINTS: usize = 500;

/// The joints whose four steps are known.
fn measured(ledger: &Ledger, axis: usize, of: &Axis) -> Vec<CrossedJoint> {
    let mut joints = Vec::new();
    for (rail, it) in of.rails.iter().enumerate() {
        for (joint, at) in it.joints.iter().enumerate() {
            let Some(four) = four_steps(ledger, RailId { axis, rail }, joint).filter(|four| four.signed) else {
                continue;
            };
            let patterns = four.steps.patterns(four.contact_or_outward());
            let mm = |nm: f64| nm / 1e6;
            let offset = JointOffset {
                up: mm(patterns.height_offset().to_f64()),
                right: mm(patterns.side_offset().to_f64()),
                twist: mm(patterns.twist.to_f64()),
                size: mm(patterns.size.to_f64()),
            };
            joints.push(CrossedJoint { rail, at_mm: at.position.to_f64(), offset });
            if joints.len() > MOST_JOINTS {
                return Vec::new();
            }
        }
    }
    joints
}

/// Rounded down to a whole kilometre; never shown or judged longer than it is.
pub(crate) fn travel(life: Life) -> Travel {
    Travel((life.kilometres.floor().clamp(0.0, 4e12) as i64).saturating_mul(1_000_000))
}

/// A load in whole newtons, rounded up; never shown smaller than it is.
pub(crate) fn newtons(load: f64) -> i64 {
    load.ceil() as i64
}

/// The static safety of a block under a load; a block without load has none.
pub(crate) fn block_safety(static_rating_n: f64, load_n: f64) -> Option<Ratio> {
    static_safety(static_rating_n, load_n).ok().map(safety)
}

/// A static safety, rounded down to thousandths; never shown or judged safer than it is, nor beyond what a ratio holds.
pub(crate) fn safety(safety: f64) -> Ratio {
    Ratio((safety * 1000.0).floor().clamp(0.0, 2e12) as i64 * 1_000_000)
}
