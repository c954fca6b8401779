//! From a rail's latest survey to a shim list: what the planner is asked, and its answer at the rail's own supports.

use crate::calc::shims::{NoPlan, PlainPlan, Plan, ShimProblem, Stack, Stock, SupportNeed, plain, plan};
use crate::calc::survey::ShimEffect;
use crate::finding::{Limit, Place};
use crate::ledger::{Body, Ledger, RailId, What};
use crate::quantity::Length;
use crate::seal::limits_applying;

use super::survey::{Readings, Seat, Standing, length};
use super::{Lacking, proof, shims};

/// One support in the plan.
#[derive(Clone, Debug)]
pub struct Row {
    pub support: usize,
    /// The reading there, zero at the target; linear between stations where it is no station itself.
    pub reading: Length,
    /// It is no station: the reading was interpolated.
    pub interpolated: bool,
    /// What it needs to read like the target.
    pub need: Length,
    /// The leaves that lie there already.
    pub there: Vec<Length>,
}

/// The shims of one rail, planned.
#[derive(Clone, Debug)]
pub struct ShimPlan {
    pub rail: RailId,
    /// The record of the survey it rests on.
    pub survey: usize,
    pub effect: ShimEffect,
    pub limit: Limit,
    /// The range planned for: the limit less the guard band.
    pub range: Length,
    /// The guard band in words; nothing where the gauge's errors are not known and none was taken off.
    pub guard: Option<String>,
    pub rows: Vec<Row>,
    pub stock: Stock,
    /// The fewest shimmed supports, then the fewest leaves, then the thinnest total.
    pub best: Result<Plan, NoPlan>,
    /// Every support up to the target with what comes nearest.
    pub plain: Result<PlainPlan, NoPlan>,
}

impl ShimPlan {
    /// The leaves of a stack, thick ones first.
    pub fn leaves(&self, stack: &Stack) -> Vec<Length> {
        let kinds = self.stock.kinds().iter().zip(&stack.leaves);
        let mut all: Vec<Length> =
            kinds.flat_map(|(kind, count)| std::iter::repeat_n(Length(kind.thickness_nm), *count as usize)).collect();
        all.sort_by(|a, b| b.cmp(a));
        all
    }

    /// What to expect at each support after a plan's shims: the distance from the old target, in the seat's own sense
    /// (0 at the target, negative short of it).
    pub fn expected(&self, stacks: &[Stack]) -> Vec<Length> {
        stacks.iter().map(|stack| Length(-stack.remaining_nm)).collect()
    }
}

/// Plans the shims of a rail by its latest gap or height survey.
pub fn shim_plan(ledger: &Ledger, id: RailId) -> Result<ShimPlan, Lacking> {
    let rail = ledger.machine.rail(id);
    let address = ledger.machine.rail_address(id);
    let lacking = |place: Place, what: String, next: &str| Err(Lacking::new(place, what, next));
    let Some(seat) = Seat::of(ledger, id) else {
        return lacking(rail.place, format!("{address} does not say which rail it follows"), "add follows=…");
    };
    let Some(effect) = seat.effect else {
        return lacking(
            rail.place,
            format!("{address} does not say what its shims do"),
            "add shims=widen, narrow or lift",
        );
    };
    let Some(stock) = shims::stock(ledger) else {
        return lacking(
            rail.place,
            "the shop file describes no shim-stock".into(),
            "describe it: shim-stock { leaf 0.05 }",
        );
    };
    let Some(record) = Standing::of(ledger, id, seat.kind).latest() else {
        return lacking(rail.place, format!("{address} has no survey yet"), "survey it first");
    };
    let Some(readings) = Readings::of(ledger, record) else {
        return lacking(ledger.records[record].place, "this survey has no reading".into(), "read it first");
    };
    let limits = limits_applying(ledger, id.axis);
    let Some((limit_value, limit)) = limits.most::<Length>(seat.limit) else {
        return lacking(rail.place, format!("the rulebook states no {}", seat.limit), "state it with a reason");
    };
    let history = ledger.history(id);
    let later =
        history.supports.all().iter().find(|event| event.what == What::Shimmed && ledger.after(event.record, record));
    if let Some(event) = later {
        return lacking(event.place, "shims were recorded after the latest survey".into(), "survey again, then plan");
    }
    let gauge = readings.survey.gauge.as_ref().and_then(|name| ledger.shop.gauge(name));
    let guard = gauge.and_then(proof::of_difference).map(|variance| proof::guard(limits, variance));
    let width = guard.as_ref().map_or(0, |(band, _)| band.width());
    let Some((survey, scale)) = readings.survey() else {
        return lacking(readings.place, "the readings are out of range".into(), "check them");
    };
    let target = readings.target(effect);
    let mut rows = Vec::new();
    for (support, it) in rail.supports.iter().enumerate() {
        let Some(at) = survey.at(it.at.nm()) else { continue };
        // The survey is in parts of a nanometre, `scale` of them to one.
        let Some(value) = crate::calc::exact::Ratio::new(at.value.numerator(), at.value.denominator() * scale) else {
            continue;
        };
        let reading = length(super::survey::minus(value, target.value));
        let need = if effect == ShimEffect::Narrows { reading } else { -reading };
        let there = history.supports[support].iter().rev().find(|event| event.what == What::Shimmed);
        let there = there.map_or_else(Vec::new, |event| match &ledger.records[event.record].body {
            Body::Shim(shim) => shim.rows[event.row].leaves.iter().map(|leaf| leaf.value).collect(),
            _ => Vec::new(),
        });
        let interpolated = at.between.0 != at.between.1;
        rows.push(Row { support, reading, interpolated, need: need.max(Length::ZERO), there });
    }
    if rows.is_empty() {
        return lacking(
            readings.place,
            "no support lies within this survey".into(),
            "survey from the first support to the last",
        );
    }
    let supports = rows.iter().map(|row| SupportNeed { needed_nm: row.need.nm(), most_nm: None }).collect();
    // A need that was rounded up to a whole nanometre costs one of the range.
    let range = Length(limit_value.nm() - width - 1);
    let problem = ShimProblem { supports, range_nm: range.nm(), stock: stock.clone(), raise_most_nm: None };
    Ok(ShimPlan {
        rail: id,
        survey: record,
        effect,
        limit: limit.words(),
        range: Length(limit_value.nm() - width),
        guard: guard.map(|(_, basis)| basis),
        rows,
        stock,
        best: plan(&problem),
        plain: plain(&problem),
    })
}
