//! What the blocks bear and how long they last, on rails that lie where they should and on those measured; how true the
//! carriage moves.

use super::gather::ReportBuilder;
use super::model::{BlockLifeReport, CostReport, ErrorReport, LifeReport};
use crate::calc::motion::run::Borne;
use crate::facts::FactError;
use crate::facts::carriage::block_type;
use crate::facts::motion::{
    BearingBlock, FollowedError, MODEL, Moving, ToldError, WeighedBlock, block_safety, kilometres, moving, newtons,
    rated, travel, weightiest,
};
use crate::ledger::Axis;
use crate::quantity::{Amount, Length, Ratio};
use crate::rules::Case;

/// By how much a reading is thought to be otherwise when its cost is told.
const OTHERWISE: Length = Length(10_000);

/// So many of the readings that cost most are told.
const MOST_COSTS: usize = 3;

impl ReportBuilder<'_> {
    /// Nothing where the axis has no carriage.
    pub(super) fn life(&self, index: usize) -> Option<LifeReport> {
        life(&self.case, index).map(|(report, _)| report)
    }
}

/// The report with what it was made from, or what is lacking to work it out. Nothing where the axis has no carriage.
pub(crate) fn life(case: &Case, index: usize) -> Option<(LifeReport, Result<Moving, FactError>)> {
    let ledger = case.ledger;
    let axis = &ledger.machine.axes[index];
    axis.carriage.as_ref()?;
    let required = axis.life_required.as_ref();
    let mut report = LifeReport {
        required: required.map(|required| *required.distance),
        reliability: required.and_then(|required| required.reliability).map(|share| Ratio(share.0.saturating_mul(100))),
        model: MODEL,
        joints: 0,
        rails_yield: false,
        held_against_nothing: None,
        life_together_nominal: None,
        life_together_as_measured: None,
        blocks: Vec::new(),
        motion: Vec::new(),
        costs: Vec::new(),
        lacking: None,
    };
    // A rating that is lacking is told first, as the rules tell it.
    report.lacking = rated(ledger, index).err().map(|lacking| lacking.what);
    let worked = match moving(ledger, index, &|record| case.counts(record)) {
        Ok(worked) => worked,
        Err(why) => {
            report.lacking.get_or_insert_with(|| why.what.clone());
            return Some((report, Err(why)));
        }
    };
    let Moving { borne, errors, blocks, together } = &worked;
    let lying = &borne.loaded.lying;
    report.joints = lying.joints;
    report.rails_yield = lying.yields;
    report.held_against_nothing = borne.unjudged(axis);
    let as_measured = borne.loaded.without.is_none();
    [report.life_together_nominal, report.life_together_as_measured] =
        borne.whole.together.map(|life| life.map(kilometres));
    report.life_together_as_measured = report.life_together_as_measured.filter(|_| as_measured);
    let row = |(BearingBlock { block, journey: of, .. }, weighed): (BearingBlock, &WeighedBlock)| {
        let rating = block_type(ledger, block).ok().and_then(|kind| kind.static_);
        let safety = |of: &Borne| block_safety(rating?.value.to_f64(), of.static_load.load);
        Some(BlockLifeReport {
            rail: axis.rails[block.rail?].name.to_string(),
            at: *block.at,
            mean_load_nominal: newtons(of.nominal.mean),
            mean_load_as_measured: as_measured.then(|| newtons(of.measured.mean)),
            forced_load: as_measured.then(|| newtons(of.forced.load)),
            forced_load_uncertainty: weighed.forced_uncertainty.filter(|_| as_measured).map(newtons),
            life_nominal: of.nominal.life.map(travel),
            life_as_measured: of.measured.life.filter(|_| as_measured).map(travel),
            static_safety_nominal: safety(&of.nominal),
            static_safety_as_measured: safety(&of.measured).filter(|_| as_measured),
        })
    };
    report.blocks = borne.blocks(axis).zip(blocks).filter_map(row).collect();
    if as_measured {
        report.motion = errors.iter().map(|error| motion(axis, error)).collect();
    }
    if let Some(life) = borne.whole.together[1] {
        report.costs = weightiest(together)
            .into_iter()
            .take(MOST_COSTS)
            .filter_map(|n| {
                let gained = together[n].abs() * OTHERWISE.to_f64() / life * 100.0;
                let reading = &lying.readings[n];
                (gained >= 1.0).then(|| CostReport {
                    rail: axis.rails[reading.rail].name.to_string(),
                    station: reading.at.clone(),
                    by: if together[n] < 0.0 { -OTHERWISE } else { OTHERWISE },
                    life_gained: gained.round() as i64,
                })
            })
            .collect();
    }
    Some((report, Ok(worked)))
}

/// One motion error.
fn motion(axis: &Axis, error: &FollowedError) -> ErrorReport {
    let name = error.name(axis);
    let (zone, angle) = match error.told() {
        ToldError::Zone(zone) => (Some(zone), None),
        ToldError::Angle(angle) => (None, Some(angle)),
    };
    ErrorReport {
        name: name.word,
        what: name.what,
        is_turn: error.is_turn(),
        plus: name.plus,
        zone: zone.filter(|_| error.surveyed),
        angle: angle.filter(|_| error.surveyed),
        uncertainty: error.told_uncertainty().filter(|_| error.surveyed),
        resolved: error.is_resolved().filter(|_| error.surveyed),
    }
}
