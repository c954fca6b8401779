//! The life of the blocks, on perfect joints and on those measured.

use super::gather::ReportBuilder;
use super::model::{BlockLifeReport, LifeReport};
use crate::calc::joint_life::MODEL;
use crate::facts::carriage::block_type;
use crate::facts::life::{block_safety, lives, newtons, travel};
use crate::quantity::{Amount, Ratio};

impl ReportBuilder<'_> {
    /// Nothing where the axis has no carriage.
    pub(super) fn life(&self, index: usize) -> Option<LifeReport> {
        let ledger = self.case.ledger;
        let axis = &ledger.machine.axes[index];
        let carriage = axis.carriage.as_ref()?;
        let required = axis.life_required.as_ref();
        let life = |blocks, joints, lacking| LifeReport {
            required: required.map(|required| *required.distance),
            reliability: required
                .and_then(|required| required.reliability)
                .map(|share| Ratio(share.0.saturating_mul(100))),
            model: MODEL,
            joints,
            blocks,
            lacking,
        };
        let worked = match lives(ledger, index) {
            Ok(worked) => worked,
            Err(lacking) => return Some(life(Vec::new(), 0, Some(lacking.what))),
        };
        let greatest = worked.loaded.greatest();
        let row = |at: usize| {
            let block = carriage.blocks.get(*worked.loaded.blocks.get(at)?)?;
            let lives = worked.lives.get(at)?;
            let rating = block_type(ledger, block).ok().and_then(|kind| kind.static_);
            let without = *greatest.get(at)?;
            let safety = |load: f64| block_safety(rating?.value.to_f64(), load);
            Some(BlockLifeReport {
                rail: axis.rails[block.rail?].name.to_string(),
                at: *block.at,
                load_without_joints: newtons(lives.load_without_n),
                load_with_joints: newtons(lives.load_with_n),
                life_without_joints: lives.without.map(travel),
                life_with_joints: lives.with.map(travel),
                static_safety_without_joints: safety(without),
                static_safety_with_joints: safety(without.max(lives.greatest_n)),
            })
        };
        let blocks = (0..worked.lives.len()).filter_map(row).collect();
        Some(life(blocks, worked.joints, None))
    }
}
