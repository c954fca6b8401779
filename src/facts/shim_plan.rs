//! From a rail's latest survey to a shim list: what the planner is asked, and its answer at the rail's own supports.
//!
//! Readings and their means are compared exactly: a support at just the limit needs no shim, as the lint judges it.
//! Stations between supports take part, moved by the shims on both sides as the lint reckons them after shimming. The
//! leaves are those of the shop that lie nowhere; whatever is shimmed anew gets its whole stack anew, and what lay there
//! comes back to the stock.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::calc::exact::Ratio;
use crate::calc::shims::{
    LeafStock, PlainPlan, PresentLeaves, ReadBetween, ShimAim, ShimPlanError, ShimProblem, ShimProgress, ShimWatch,
    Stack, StackPlan, SupportNeed, moved_by, plain_over, plan_watched, within_range,
};
use crate::calc::survey::ShimEffect;
use crate::calc::uncertainty::Uncertainty;
use crate::finding::{Limit, Place};
use crate::ledger::seal::limits_applying;
use crate::ledger::{EventKind, Ledger, RailId};
use crate::quantity::Length;

use super::proof::GaugeCertainty;
use super::shims::{self, Leaves};
use super::steps::joint_state;
use super::survey::{ReadStation, Seat, SurveyReadings, length, mean_of, minus};
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

/// A station that is no support.
#[derive(Clone, Debug)]
pub struct BetweenRow {
    /// As the survey names it.
    pub name: String,
    /// Along the axis.
    pub position: Length,
    /// The reading there, zero at the target.
    pub reading: Length,
    /// What it is short of the target.
    pub need: Length,
    /// The same, exact.
    exact: Ratio,
    /// The rows whose shims move it, with the share of each.
    moved_by: Vec<(usize, Ratio)>,
}

/// What is asked of a plan beside the limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ShimWish {
    /// Which plan is the best.
    pub aim: ShimAim,
    /// What is taken off the limit; where nothing is said, the guard band as in the lint.
    pub margin: Option<Length>,
    /// Search steps for each rail.
    pub steps: u64,
}

impl Default for ShimWish {
    fn default() -> Self {
        Self { aim: ShimAim::default(), margin: None, steps: ShimProblem::USUAL_STEPS }
    }
}

/// The work that a plan makes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShimWork {
    /// Supports that are loosened, shimmed and tightened.
    pub supports: usize,
    /// Joints of the rail that were inspected, and must be again.
    pub joints: Vec<usize>,
    /// Stations that are read again.
    pub stations: usize,
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
    /// The range planned for: the limit, less the guard band where proof is required, or less the margin asked for.
    pub range: Length,
    /// The range up to which the lint takes the verification as conforming.
    pub conforms_up_to: Length,
    /// What was taken off in words; nothing where nothing was.
    pub guard: Option<String>,
    /// Why nothing was taken off.
    pub unguarded: &'static str,
    /// U of the difference of two stations in one survey, where the gauge's errors are stated.
    pub uncertainty: Option<Length>,
    pub(crate) rows: Vec<ShimPlanRow>,
    pub(crate) between: Vec<BetweenRow>,
    /// The leaves that lie nowhere and that no earlier rail's plan takes.
    pub stock: LeafStock,
    /// The best by the wish.
    pub best: Result<StackPlan, ShimPlanError>,
    /// Leaves under other rails, or planned for them, might serve better here: that was not looked into.
    pub exchange: bool,
    /// Every support up to the target with what comes nearest.
    pub plain: Result<PlainPlan, ShimPlanError>,
    /// Somebody ended the search.
    pub cut_short: bool,
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
        rows.filter(|(_, stack)| stack.put_in).map(|(row, stack)| (row, self.leaves(stack)))
    }

    /// The work that a plan's shims make.
    pub fn work(&self, ledger: &Ledger, stacks: &[Stack]) -> ShimWork {
        let shimmed: Vec<usize> = self.put_in(stacks).map(|(row, _)| row.support).collect();
        let beside = |joint: &usize| {
            let beside = ledger.beside_joint(self.rail, *joint);
            is_inspected(ledger, self.rail, *joint) && shimmed.iter().any(|support| beside.contains(support))
        };
        let joints = (0..ledger.machine.rail(self.rail).joints.len()).filter(beside).collect();
        let stations = self.rows.iter().filter(|row| !row.interpolated).count() + self.between.len();
        ShimWork { supports: shimmed.len(), joints, stations }
    }

    /// What to expect at each support after a plan's shims: the distance from the old target, in the seat's own sense
    /// (0 at the target, negative short of it).
    pub fn expected(&self, stacks: &[Stack]) -> Vec<Length> {
        stacks.iter().map(|stack| length(minus(Ratio::whole(0), stack.remaining))).collect()
    }

    /// The same at each station that is no support.
    pub fn expected_between(&self, stacks: &[Stack]) -> Vec<Length> {
        self.readings_between(stacks).into_iter().map(length).collect()
    }

    fn readings_between(&self, stacks: &[Stack]) -> Vec<Ratio> {
        let change = |row: usize| self.rows[row].exact.minus(stacks[row].remaining);
        let after = |station: &BetweenRow| {
            let from = minus(Ratio::whole(0), station.exact);
            let moved =
                station.moved_by.iter().try_fold(from, |so_far, (row, share)| so_far.plus(share.times(change(*row)?)?));
            moved.unwrap_or(from)
        };
        self.between.iter().map(after).collect()
    }

    /// The chance that the verification conforms, where the gauge's errors are stated: each station scatters normally and by
    /// itself about what is expected, by u of both surveys, U being 2u of a difference of two stations in one.
    pub fn chance(&self, stacks: &[Stack]) -> Option<f64> {
        // Two stations in each of two surveys: the variance of one station's change is that of one survey's difference.
        let deviation = self.uncertainty?.nm() as f64 / 2.0;
        let rows = self.rows.iter().zip(stacks).filter(|(row, _)| !row.interpolated);
        let supports = rows.map(|(_, stack)| -stack.remaining.to_f64());
        let between = self.readings_between(stacks).into_iter().map(Ratio::to_f64);
        let expected: Vec<f64> = supports.chain(between).collect();
        Some(within_range(&expected, deviation, self.conforms_up_to.nm() as f64))
    }
}

fn is_inspected(ledger: &Ledger, id: RailId, joint: usize) -> bool {
    !joint_state(ledger, id, joint).records().is_empty()
}

/// Plans the shims of a rail by its latest gap or height survey. Rails described before it are planned first, since all
/// share the leaves: those that are to be had on a day.
pub fn shim_plan(ledger: &Ledger, id: RailId, day: Date) -> Result<ShimPlan, FactError> {
    shim_plan_as(ledger, id, &ShimWish::default(), day)
}

/// The same with a wish of its own, for all rails of the ledger alike.
pub fn shim_plan_as(ledger: &Ledger, id: RailId, wish: &ShimWish, day: Date) -> Result<ShimPlan, FactError> {
    watched_shim_plan(ledger, id, wish, day, None)
}

/// The same while somebody looks on, who may end the search.
pub(crate) fn watched_shim_plan(
    ledger: &Ledger,
    id: RailId,
    wish: &ShimWish,
    day: Date,
    watch: Option<&ShimWatch>,
) -> Result<ShimPlan, FactError> {
    let asked = AskedShims { wish, day, watch };
    if !is_counted(ledger, day) {
        return planned(ledger, id, &Leaves::new(), asked);
    }
    let mut taken = shims::lying(ledger);
    for (earlier, _, rail) in ledger.machine.rails() {
        if earlier < id && rail.follows.is_some() {
            let _ = planned_next(ledger, earlier, &mut taken, asked);
        }
    }
    planned(ledger, id, &taken, asked)
}

/// What is planned for, when, and who looks on.
#[derive(Clone, Copy)]
struct AskedShims<'a> {
    wish: &'a ShimWish,
    day: Date,
    watch: Option<&'a ShimWatch>,
}

/// The plans of all rails that follow another, each worked out once.
pub(crate) fn shim_plans(ledger: &Ledger, day: Date) -> BTreeMap<RailId, Result<ShimPlan, FactError>> {
    let counted = is_counted(ledger, day);
    let mut taken = if counted { shims::lying(ledger) } else { Leaves::new() };
    let asked = AskedShims { wish: &ShimWish::default(), day, watch: None };
    let following = ledger.machine.rails().filter(|(_, _, rail)| rail.follows.is_some());
    let plan = |(id, ..): (RailId, _, _)| match counted {
        true => (id, planned_next(ledger, id, &mut taken, asked)),
        false => (id, planned(ledger, id, &taken, asked)),
    };
    following.map(plan).collect()
}

fn is_counted(ledger: &Ledger, day: Date) -> bool {
    shims::stock(ledger, day).ok().flatten().is_some_and(|stock| stock.kinds().iter().any(|kind| kind.count.is_some()))
}

/// Plans a rail and counts what its plan takes.
fn planned_next(ledger: &Ledger, id: RailId, taken: &mut Leaves, asked: AskedShims) -> Result<ShimPlan, FactError> {
    let plan = planned(ledger, id, taken, asked)?;
    if let Ok(best) = &plan.best {
        take(taken, &plan, &best.stacks);
    }
    Ok(plan)
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

fn planned(ledger: &Ledger, id: RailId, taken: &Leaves, asked: AskedShims) -> Result<ShimPlan, FactError> {
    let AskedShims { wish, day, watch } = asked;
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
    let Some(whole) = shims::stock(ledger, day).map_err(|why| shims::unfit(ledger, why).1)? else {
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
    let required = proof::required(limits, seat.kind.into());
    let sure = gauge.and_then(|gauge| GaugeCertainty::new(ledger, gauge, seat.kind.into()));
    let closure = survey_doubt::of_closure(ledger, limits, readings.survey);
    let of_two = sure.map(|sure| sure.of_difference(1, 1).and_alike(Uncertainty::known(closure)));
    let band = of_two.filter(|_| required).map(|of_two| proof::guard(limits, of_two));
    let unguarded = match required {
        true => "the gauge's errors are not stated, so nothing is taken off",
        false => "the plain limit; the rulebook does not require proof",
    };
    let conforms_up_to = Length(limit_value.nm() - band.as_ref().map_or(0, |(band, _)| band.width()));
    let (range, guard) = match wish.margin {
        Some(margin) => (limit_value - margin, Some(format!("a margin of {margin} was asked for"))),
        None => (conforms_up_to, band.map(|(_, basis)| basis)),
    };
    let out_of_range = || FactError::new(readings.place, "the readings are out of range", "check them");
    let rows = rows(ledger, id, &readings, effect).ok_or_else(out_of_range)?;
    let between = between(ledger, id, &readings, effect, &rows).ok_or_else(out_of_range)?;
    if rows.is_empty() {
        return lacking(
            readings.place,
            "no support lies within this survey".into(),
            "survey from the first support to the last",
        );
    }
    let joints = joints(ledger, id, &rows);
    let question = ShimQuestion { rows: &rows, between: &between, joints, range, wish, watch };
    let best = question.best(&stock);
    // Who ended this search wants no second one.
    let cut_short = question.is_ended(&best);
    // With every leaf to choose from that does not lie here, nothing can be in the way.
    let mut own = Leaves::new();
    rows.iter().flat_map(|row| &row.there).for_each(|leaf| *own.entry(*leaf).or_default() += 1);
    let freest = shims::without(&whole, &own).unwrap_or_else(|| whole.clone());
    let cost = |plan: &StackPlan| {
        let (joints, range) = match wish.aim {
            ShimAim::FewestSupports => (0, 0),
            ShimAim::FewestJoints => (plan.joints, 0),
            ShimAim::LeastRange => (0, plan.range_nm),
        };
        (plan.proven, joints, range, plan.shimmed, plan.leaves, plan.total_nm)
    };
    let exchange = !cut_short
        && freest != stock
        && match (&best, question.best(&freest)) {
            (Ok(best), Ok(least)) => cost(best) != cost(&least),
            (Err(_), Ok(_) | Err(ShimPlanError::Undecided)) => true,
            (Ok(_), Err(_)) => true,
            (Err(_), Err(_)) => false,
        };
    let plain = question.plain(&stock);
    Ok(ShimPlan {
        rail: id,
        survey: record,
        effect,
        limit: limit.words(),
        range,
        conforms_up_to,
        guard,
        unguarded,
        uncertainty: of_two.map(|of_two| Length(of_two.expanded())),
        rows,
        between,
        stock,
        best,
        exchange,
        plain,
        cut_short,
    })
}

/// The supports that lie within a survey, each with what it needs; nothing where its numbers are out of range.
fn rows(ledger: &Ledger, id: RailId, readings: &SurveyReadings, effect: ShimEffect) -> Option<Vec<ShimPlanRow>> {
    let (survey, scale) = readings.survey()?;
    let target = readings.target(effect).value;
    let stations: BTreeMap<i64, Ratio> =
        readings.stations.iter().map(|station| (station.row.position.nm(), station.value)).collect();
    let rail = ledger.machine.rail(id);
    let row = |support: usize, at: i64| {
        // Over a joint it stands between both ends.
        let both = || mean_of(readings.over_support(rail, support)?);
        let station = stations.get(&at).copied().or_else(both);
        // The survey is in parts of a nanometre, `scale` of them to one.
        let value = station.or_else(|| survey.at(at)?.value.over(scale))?;
        let from_target = minus(value, target);
        let exact = short_of(target, value, effect).max(Ratio::whole(0));
        let there = shims::under(ledger, id, support);
        let (reading, interpolated) = (length(from_target), station.is_none());
        Some(ShimPlanRow { support, reading, interpolated, need: length(exact), exact, there })
    };
    let supports = rail.supports.iter().enumerate();
    Some(supports.filter_map(|(support, it)| row(support, it.at.nm())).collect())
}

/// What a reading is short of the target, in the direction of the shims.
fn short_of(target: Ratio, value: Ratio, effect: ShimEffect) -> Ratio {
    if effect == ShimEffect::Narrows { minus(value, target) } else { minus(target, value) }
}

/// The stations that are no supports, each with the rows that move it; nothing where a number is out of range.
fn between(
    ledger: &Ledger,
    id: RailId,
    readings: &SurveyReadings,
    effect: ShimEffect,
    rows: &[ShimPlanRow],
) -> Option<Vec<BetweenRow>> {
    let target = readings.target(effect).value;
    let rail = ledger.machine.rail(id);
    let supports: Vec<i64> = rail.supports.iter().map(|it| it.at.nm()).collect();
    let mut all = Vec::new();
    for station in &readings.stations {
        let at = rail.carried_at(station.row);
        if station.row.end.is_none() && supports.binary_search(&at.nm()).is_ok() {
            continue;
        }
        let of_row =
            |(support, share): (usize, Ratio)| Some((rows.iter().position(|row| row.support == support)?, share));
        let moved_by = moved_by(at.nm(), &supports)?.into_iter().filter_map(of_row).collect();
        all.push(between_row(station, target, effect, moved_by));
    }
    Some(all)
}

fn between_row(station: &ReadStation, target: Ratio, effect: ShimEffect, moved_by: Vec<(usize, Ratio)>) -> BetweenRow {
    let exact = short_of(target, station.value, effect);
    BetweenRow {
        name: station.row.name.to_string(),
        position: station.row.told_at(),
        reading: length(minus(station.value, target)),
        need: length(exact),
        exact,
        moved_by,
    }
}

/// The rows beside each joint that was inspected.
fn joints(ledger: &Ledger, id: RailId, rows: &[ShimPlanRow]) -> Vec<std::ops::Range<usize>> {
    let inspected = (0..ledger.machine.rail(id).joints.len()).filter(|joint| is_inspected(ledger, id, *joint));
    let of_rows = |joint: usize| {
        let beside = ledger.beside_joint(id, joint);
        let at = |support: usize| rows.partition_point(|row| row.support < support);
        at(beside.start)..at(beside.end)
    };
    inspected.map(of_rows).collect()
}

/// A rail's question to the planner.
struct ShimQuestion<'r> {
    rows: &'r [ShimPlanRow],
    between: &'r [BetweenRow],
    joints: Vec<std::ops::Range<usize>>,
    range: Length,
    wish: &'r ShimWish,
    watch: Option<&'r ShimWatch>,
}

impl ShimQuestion<'_> {
    fn problem(&self, stock: &LeafStock) -> ShimProblem {
        let supports = self.rows.iter().map(|row| SupportNeed { needed: row.exact, most_nm: None });
        let between = self.between.iter().map(|it| ReadBetween { needed: it.exact, moved_by: it.moved_by.clone() });
        ShimProblem {
            between: between.collect(),
            joints: self.joints.clone(),
            aim: self.wish.aim,
            steps: self.wish.steps,
            ..ShimProblem::new(supports.collect(), self.range.nm(), stock.clone())
        }
    }

    /// What lies there: it comes back to the stock where a support is shimmed anew.
    fn lying(&self, stock: &LeafStock) -> Vec<PresentLeaves> {
        let lying = |row: &ShimPlanRow| {
            let of = |thickness_nm| row.there.iter().filter(|leaf| leaf.nm() == thickness_nm).count();
            let leaves = stock.kinds().iter().map(|kind| u32::try_from(of(kind.thickness_nm)).unwrap_or(u32::MAX));
            let total: Length = row.there.iter().copied().sum();
            PresentLeaves { total_nm: total.nm(), leaves: leaves.collect() }
        };
        self.rows.iter().map(lying).collect()
    }

    fn best(&self, stock: &LeafStock) -> Result<StackPlan, ShimPlanError> {
        plan_watched(&self.problem(stock), &self.lying(stock), self.watch.cloned())
    }

    /// Whether somebody ended the search for a plan that is not proven.
    fn is_ended(&self, best: &Result<StackPlan, ShimPlanError>) -> bool {
        let progress = match best {
            Ok(plan) if plan.proven && plan.range_proven => return false,
            Ok(plan) => {
                ShimProgress { steps: plan.steps, shimmed: Some(plan.shimmed), at_least: plan.shimmed_at_least }
            }
            Err(ShimPlanError::Undecided) => ShimProgress::default(),
            Err(_) => return false,
        };
        self.watch.is_some_and(|go_on| !go_on(&progress))
    }

    fn plain(&self, stock: &LeafStock) -> Result<PlainPlan, ShimPlanError> {
        plain_over(&self.problem(stock), &self.lying(stock))
    }
}
