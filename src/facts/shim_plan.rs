//! From a rail's latest survey to a shim list: what the planner is asked, and its answer at the rail's own supports.
//!
//! Readings and their means are compared exactly: a support at just the limit needs no shim, as the lint judges it. The
//! leaves are those of the shop that lie nowhere; whatever is shimmed anew gets its whole stack anew, and what lay there
//! comes back to the stock.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::calc::exact::Ratio;
use crate::calc::shims::{
    LeafStock, PlainPlan, PresentLeaves, ShimPlanError, ShimProblem, Stack, StackPlan, StockError, SupportNeed,
    plain_over, plan_over,
};
use crate::calc::survey::ShimEffect;
use crate::calc::uncertainty::Uncertainty;
use crate::finding::{Limit, Place};
use crate::ledger::seal::limits_applying;
use crate::ledger::{EventKind, Ledger, RailId, SurveyKind};
use crate::quantity::Length;

use super::proof::{GaugeCertainty, ProvenQuantity};
use super::shims::{self, Leaves};
use super::survey::{Seat, SurveyReadings, length, minus};
use super::survey_doubt;
use super::survey_state::CurrentSurveys;
use super::{FactError, proof};

/// One support in the plan.
#[derive(Clone, Debug)]
pub struct ShimPlanRow {
    pub support: usize,
    /// The reading there, zero at the target; linear between stations where it is no station itself.
    pub reading: Length,
    /// It is no station: the reading was interpolated.
    pub interpolated: bool,
    /// What it needs to read like the target, beside what lies there.
    pub need: Length,
    /// The same, exact: means of repeats need not be whole nanometres.
    exact: Ratio,
    /// The leaves that lie there already.
    pub there: Vec<Length>,
}

/// The shims of one rail, planned.
#[derive(Clone, Debug)]
pub struct ShimPlan {
    /// The rail that is shimmed.
    pub rail: RailId,
    /// The record of the survey it rests on.
    pub survey: usize,
    pub(crate) effect: ShimEffect,
    /// The limit that the plan keeps.
    pub limit: Limit,
    /// The range planned for: the limit, less the guard band where proof is required.
    pub range: Length,
    /// The guard band in words; nothing where none was taken off.
    pub guard: Option<String>,
    /// Why no guard band was taken off.
    pub unguarded: &'static str,
    pub(crate) rows: Vec<ShimPlanRow>,
    /// The leaves that lie nowhere and that no earlier rail's plan takes.
    pub stock: LeafStock,
    /// The fewest shimmed supports, then the fewest leaves, then the thinnest total.
    pub best: Result<StackPlan, ShimPlanError>,
    /// Leaves under supports that are left as they are might serve better elsewhere: that was not looked into.
    pub exchange: bool,
    /// Every support up to the target with what comes nearest.
    pub plain: Result<PlainPlan, ShimPlanError>,
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

    /// The rows that get their stack anew, each with the leaves that then lie there; none where all come out.
    pub fn put_in<'p>(&'p self, stacks: &'p [Stack]) -> impl Iterator<Item = (&'p ShimPlanRow, Vec<Length>)> {
        let rows = self.rows.iter().zip(stacks);
        rows.filter(|(row, stack)| stack.is_put_in(row.need.nm())).map(|(row, stack)| (row, self.leaves(stack)))
    }

    /// What to expect at each support after a plan's shims: the distance from the old target, in the seat's own sense
    /// (0 at the target, negative short of it).
    pub fn expected(&self, stacks: &[Stack]) -> Vec<Length> {
        stacks.iter().map(|stack| Length(-stack.remaining_nm)).collect()
    }
}

/// Plans the shims of a rail by its latest gap or height survey. Rails described before it are planned first, since all
/// share the leaves: those that are to be had on a day.
pub fn shim_plan(ledger: &Ledger, id: RailId, day: Date) -> Result<ShimPlan, FactError> {
    let mut taken = Leaves::new();
    if shims::stock(ledger, day).is_some_and(|stock| stock.kinds().iter().any(|kind| kind.count.is_some())) {
        taken = shims::in_machine(ledger);
        for (leaf, used) in &ledger.elsewhere.leaves {
            *taken.entry(*leaf).or_default() += u32::try_from(*used).unwrap_or(u32::MAX);
        }
        for (earlier, _, rail) in ledger.machine.rails() {
            if earlier < id && rail.follows.is_some() {
                let plan = planned(ledger, earlier, &taken, day);
                if let Ok((plan, Ok(best))) = plan.as_ref().map(|plan| (plan, &plan.best)) {
                    take(&mut taken, plan, &best.stacks);
                }
            }
        }
    }
    planned(ledger, id, &taken, day)
}

/// Counts the leaves of a plan as used, and those that it takes out as free.
fn take(taken: &mut Leaves, plan: &ShimPlan, stacks: &[Stack]) {
    for (row, leaves) in plan.put_in(stacks) {
        for leaf in &row.there {
            taken.entry(*leaf).and_modify(|count| *count = count.saturating_sub(1));
        }
        for leaf in leaves {
            *taken.entry(leaf).or_default() += 1;
        }
    }
}

fn planned(ledger: &Ledger, id: RailId, taken: &Leaves, day: Date) -> Result<ShimPlan, FactError> {
    let rail = ledger.machine.rail(id);
    let address = ledger.machine.rail_address(id);
    let lacking = |place: Place, what: String, next: &str| Err(FactError::new(place, what, next));
    let Some(seat) = Seat::for_rail(ledger, id) else {
        return lacking(rail.place, format!("{address} does not say which rail it follows"), "add follows=…");
    };
    let Some(effect) = seat.effect else {
        return lacking(
            rail.place,
            format!("{address} does not say what its shims do"),
            "add shims=widen, narrow or lift",
        );
    };
    let Some(whole) = shims::stock(ledger, day) else {
        return lacking(
            rail.place,
            "the shop file describes no shim-stock".into(),
            "describe it: shim-stock { leaf 0.05 }",
        );
    };
    let stock = shims::without(&whole, taken).unwrap_or_else(|| whole.clone());
    let standing = CurrentSurveys::for_rail(ledger, id, seat.kind);
    let Some(record) = standing.latest() else {
        return lacking(rail.place, format!("{address} has no survey yet"), "survey it first");
    };
    let Some(readings) = standing.readings(ledger, record) else {
        return lacking(ledger.records[record].place, "this survey has no reading".into(), "read it first");
    };
    let limits = limits_applying(ledger, id.axis);
    let Some((limit_value, limit)) = limits.most::<Length>(seat.limit) else {
        return lacking(rail.place, format!("the rulebook states no {}", seat.limit), "state it with a reason");
    };
    let history = ledger.history(id);
    let later = history
        .supports
        .all()
        .iter()
        .find(|event| event.what == EventKind::Shimmed && ledger.after(event.record, record));
    // Of surveys that are tied to each other, an earlier one may have read beside shims that came later.
    let later = later.or_else(|| {
        let beside =
            readings.stations.iter().flat_map(|it| ledger.adjoining(id, it.row.position).map(move |at| (it, at)));
        beside.into_iter().find_map(|(station, support)| {
            let mut events = history.supports[support].iter();
            events.find(|event| event.what == EventKind::Shimmed && ledger.after(event.record, station.record))
        })
    });
    if let Some(event) = later {
        return lacking(event.place, "shims were recorded after the latest survey".into(), "survey again, then plan");
    }
    // As the lint judges: by the plain limit, and inside it by the guard band only where the rulebook requires proof.
    let gauge = readings.survey.gauge.as_ref().and_then(|name| ledger.shop.gauge(name));
    // What is read after shimming is taken to be read once a station, in one survey.
    let quantity = if seat.kind == SurveyKind::Height { ProvenQuantity::Height } else { ProvenQuantity::Gap };
    let required = proof::required(limits, quantity);
    let sure = gauge.and_then(|gauge| GaugeCertainty::new(ledger, gauge, seat.kind.into())).filter(|_| required);
    let closure = survey_doubt::of_closure(ledger, limits, readings.survey);
    let guard = sure.map(|sure| proof::guard(limits, sure.of_difference(1, 1).and_alike(Uncertainty::known(closure))));
    let unguarded = match required {
        true => "the gauge's errors are not stated, so nothing is taken off",
        false => "the plain limit; the rulebook does not require proof",
    };
    let range = Length(limit_value.nm() - guard.as_ref().map_or(0, |(band, _)| band.width()));
    let rows = rows(ledger, id, &readings, effect)
        .ok_or_else(|| FactError::new(readings.place, "the readings are out of range", "check them"))?;
    if rows.is_empty() {
        return lacking(
            readings.place,
            "no support lies within this survey".into(),
            "survey from the first support to the last",
        );
    }
    let question = ShimQuestion::new(&rows, range, &stock);
    let best = question.best(&stock, true);
    // With every leaf of the machine to choose from, nothing that is left as it is can be in the way.
    let cost = |plan: &StackPlan| (plan.proven, plan.shimmed, plan.leaves, plan.total_nm);
    let exchange = stock != whole
        && match (&best, question.best(&whole, false)) {
            (Ok(best), Ok(least)) => cost(best) != cost(&least),
            (
                Err(_),
                Err(ShimPlanError::NoRange { .. } | ShimPlanError::NoTotal { .. } | ShimPlanError::StockShort { .. }),
            ) => false,
            _ => true,
        };
    let plain = question.plain(&stock);
    Ok(ShimPlan {
        rail: id,
        survey: record,
        effect,
        limit: limit.words(),
        range,
        guard: guard.map(|(_, basis)| basis),
        unguarded,
        rows,
        stock,
        best,
        exchange,
        plain,
    })
}

/// The supports that lie within a survey, each with what it needs; nothing where its numbers are out of range.
fn rows(ledger: &Ledger, id: RailId, readings: &SurveyReadings, effect: ShimEffect) -> Option<Vec<ShimPlanRow>> {
    let (survey, scale) = readings.survey()?;
    let target = readings.target(effect).value;
    let stations: BTreeMap<i64, Ratio> =
        readings.stations.iter().map(|station| (station.row.position.nm(), station.value)).collect();
    let row = |support: usize, at: i64| {
        let station = stations.get(&at).copied();
        let value = station.or_else(|| {
            // The survey is in parts of a nanometre, `scale` of them to one.
            let between = survey.at(at)?.value;
            Ratio::new(between.numerator(), between.denominator().checked_mul(scale)?)
        })?;
        let from_target = minus(value, target);
        let exact = if effect == ShimEffect::Narrows { from_target } else { minus(target, value) };
        let exact = exact.max(Ratio::whole(0));
        let there = shims::under(ledger, id, support);
        let (reading, interpolated) = (length(from_target), station.is_none());
        Some(ShimPlanRow { support, reading, interpolated, need: length(exact), exact, there })
    };
    let supports = ledger.machine.rail(id).supports.iter().enumerate();
    Some(supports.filter_map(|(support, it)| row(support, it.at.nm())).collect())
}

/// A rail's question in whole numbers.
///
/// Leaves and limit are whole nanometres, so all that counts of the needs' fractions is their order: each is replaced by
/// its rank, and a nanometre is taken to have as many parts as there are different fractions. Every comparison comes out
/// as with the fractions themselves.
struct ShimQuestion<'r> {
    rows: &'r [ShimPlanRow],
    range: Length,
    parts: i64,
    supports: Vec<SupportNeed>,
    lying: Vec<PresentLeaves>,
}

impl<'r> ShimQuestion<'r> {
    fn new(rows: &'r [ShimPlanRow], range: Length, stock: &LeafStock) -> Self {
        let fraction = |need: Ratio| minus(need, Ratio::whole(need.floor()));
        let mut fractions: Vec<Ratio> = rows.iter().map(|row| fraction(row.exact)).collect();
        fractions.push(Ratio::whole(0));
        fractions.sort_unstable();
        fractions.dedup();
        let parts = i64::try_from(fractions.len()).unwrap_or(i64::MAX);
        let need = |row: &ShimPlanRow| {
            let rank = fractions.binary_search(&fraction(row.exact)).unwrap_or(0);
            let whole = i64::try_from(row.exact.floor()).unwrap_or(i64::MAX);
            whole.saturating_mul(parts).saturating_add(rank as i64)
        };
        let supports = rows.iter().map(|row| SupportNeed { needed_nm: need(row), most_nm: None }).collect();
        let lying = |row: &ShimPlanRow| {
            let of = |thickness_nm| row.there.iter().filter(|leaf| leaf.nm() == thickness_nm).count();
            let leaves = stock.kinds().iter().map(|kind| u32::try_from(of(kind.thickness_nm)).unwrap_or(u32::MAX));
            let total: Length = row.there.iter().copied().sum();
            PresentLeaves { total_nm: total.nm().saturating_mul(parts), leaves: leaves.collect() }
        };
        Self { rows, range, parts, supports, lying: rows.iter().map(lying).collect() }
    }

    fn problem(&self, stock: &LeafStock) -> ShimProblem {
        ShimProblem {
            supports: self.supports.clone(),
            range_nm: self.range.nm().saturating_mul(self.parts),
            stock: stock.in_parts(self.parts),
            raise_most_nm: None,
        }
    }

    /// The best plan; `returning` says whether the leaves of supports that are shimmed anew come back to the stock.
    fn best(&self, stock: &LeafStock, returning: bool) -> Result<StackPlan, ShimPlanError> {
        let bare = |lying: &PresentLeaves| PresentLeaves { leaves: Vec::new(), ..*lying };
        let lying = if returning { self.lying.clone() } else { self.lying.iter().map(bare).collect() };
        let plan = plan_over(&self.problem(stock), &lying).map_err(|why| self.in_nanometres(why))?;
        let stacks = self.stacks(&plan.stacks);
        let (range_nm, least) = (self.left_range(&stacks), stacks.iter().map(|stack| stack.remaining_nm).min());
        Ok(StackPlan {
            raise_nm: least.map_or(0, |least| -least).max(0),
            raise_most_nm: plan.raise_most_nm / self.parts,
            range_nm,
            total_nm: plan.total_nm / self.parts,
            stacks,
            ..plan
        })
    }

    fn plain(&self, stock: &LeafStock) -> Result<PlainPlan, ShimPlanError> {
        let plan = plain_over(&self.problem(stock), &self.lying).map_err(|why| self.in_nanometres(why))?;
        let stacks = self.stacks(&plan.stacks);
        Ok(PlainPlan { range_nm: self.left_range(&stacks), total_nm: plan.total_nm / self.parts, stacks, ..plan })
    }

    /// Stacks in nanometres; what is then left of a need is rounded away from zero.
    fn stacks(&self, planned: &[Stack]) -> Vec<Stack> {
        let of = |(at, stack): (usize, &Stack)| Stack {
            total_nm: stack.total_nm / self.parts,
            leaves: stack.leaves.clone(),
            remaining_nm: match stack.is_put_in(self.supports[at].needed_nm) {
                true => length(self.left(at, stack.total_nm / self.parts)).nm(),
                false => self.rows[at].need.nm(),
            },
        };
        planned.iter().enumerate().map(of).collect()
    }

    /// What is left of a support's need with a stack of this total.
    fn left(&self, at: usize, total_nm: i64) -> Ratio {
        let more = total_nm - self.lying[at].total_nm / self.parts;
        minus(self.rows[at].exact, Ratio::whole(more.into()))
    }

    /// The range of what is left, rounded up.
    fn left_range(&self, stacks: &[Stack]) -> i64 {
        let left = |(at, stack): (usize, &Stack)| match stack.is_put_in(self.rows[at].need.nm()) {
            true => self.left(at, stack.total_nm),
            false => self.rows[at].exact,
        };
        let all = || stacks.iter().enumerate().map(left);
        all().max().zip(all().min()).map_or(0, |(most, least)| length(minus(most, least)).nm())
    }

    fn in_nanometres(&self, why: ShimPlanError) -> ShimPlanError {
        let down = |nm: i64| nm.div_euclid(self.parts);
        match why {
            ShimPlanError::NoRange { range_nm } => ShimPlanError::NoRange { range_nm: down(range_nm) },
            ShimPlanError::NoTotal { support, from_nm, to_nm, below_nm, above_nm } => {
                let (to_nm, above_nm) = (down(to_nm), above_nm.map(down));
                let from_nm = (-(-from_nm).div_euclid(self.parts)).min(to_nm);
                ShimPlanError::NoTotal { support, from_nm, to_nm, below_nm: down(below_nm), above_nm }
            }
            ShimPlanError::BadLength { nm } => ShimPlanError::BadLength { nm: down(nm) },
            ShimPlanError::Stock(StockError::TooFine { measure_nm, most_nm }) => {
                ShimPlanError::Stock(StockError::TooFine { measure_nm: down(measure_nm), most_nm: down(most_nm) })
            }
            other => other,
        }
    }
}
