//! From an axis as described to the question the layout planner answers, and back to names that people use.
//!
//! What the lint would ask of the finished layout is asked of the planner, limit by limit. Where the description leaves
//! something open that the planner must know, a sensible figure is assumed and told.

use std::cell::Cell;
use std::collections::BTreeMap;

use jiff::civil::Date;

use super::FactError;
use super::bars::{scrapped, whole_bars};
use super::layout_rows::{GridSupport, grid};
use crate::calc::layout::clearance::{default_seam_clearance, default_stagger, joint_support_planned};
use crate::calc::layout::meeting::PositionRange;
use crate::calc::layout::meter::{LayoutProgress, Watch};
use crate::calc::layout::plan::LayoutOutcome;
use crate::calc::layout::task::{
    Bar, BlockSpec, CarriageSpec, CuttingSpec, LayoutTask, Owned, ProfileSpec, RailSpec, SupportSpec, SupportsSpec,
    TaskError,
};
use crate::calc::layout::{FewestAnswer, fewest, plan_watched};
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::seal::limits_applying;
use crate::ledger::{self, Axis, EndCut, Ledger, RailId, Spanned};
use crate::quantity::Length;

/// What a cut is taken to lose where the profile does not say: common practice, no source.
pub(crate) const USUAL_KERF: Length = Length(3_000_000);

/// Whether the profiles of an axis are to be had on a day: bars are planned only of such.
pub(crate) fn to_be_had(ledger: &Ledger, axis: usize, day: Date) -> Result<(), FactError> {
    for rail in &ledger.machine.axes[axis].rails {
        let Some(profile) = rail.profile.as_ref().and_then(|name| ledger.shop.profile(name)) else { continue };
        if let Some(absent) = profile.absent_on(day) {
            let what = format!("profile {} was {absent}, and the plan is made on {day}", *profile.name);
            return Err(FactError::new(
                absent.end().place,
                what,
                "name a profile that is to be had, or say on which day it is planned",
            ));
        }
    }
    Ok(())
}

/// The layout of one axis, planned.
#[derive(Clone, Debug)]
pub struct LayoutPlan {
    /// Its place in the machine.
    pub axis: usize,
    /// What was asked.
    pub task: LayoutTask,
    /// The names of the task's profiles.
    pub profiles: Vec<String>,
    /// Rail and segment of each owned bar.
    pub owned: Vec<(usize, usize)>,
    /// The supports of each rail that are no joint supports.
    pub grids: Vec<Vec<GridSupport>>,
    /// What the description leaves open and was taken to be so.
    pub assumed: Vec<String>,
    /// What came of it.
    pub outcome: LayoutOutcome,
    /// Somebody ended the search for a plan that takes out no support described by itself.
    pub cut_short: bool,
}

impl LayoutPlan {
    /// A row says by `omit` which of its places is empty; a support described by itself would have to be taken out of the
    /// text. Plans again without leaving any out where it lies in the way, and keeps that plan if it is as good.
    fn spare_singles(&mut self, watch: Option<Watch>) -> Result<(), TaskError> {
        let LayoutOutcome::Planned(first) = &self.outcome else { return Ok(()) };
        let gone = |rail: usize| {
            let dropped = first.rails[rail].dropped.iter();
            dropped.filter_map(|it| self.standing(rail, it)).any(|grid| !grid.in_row)
        };
        let rails: Vec<usize> = (0..first.rails.len()).filter(|rail| gone(*rail)).collect();
        if rails.is_empty() {
            return Ok(());
        }
        let mut task = self.task.clone();
        rails.iter().for_each(|rail| task.rails[*rail].supports.may_drop = false);
        // Who ended the first search wants no second one; who ends the second keeps the first plan and is told so.
        let (joints, steps) = (Some(first.joints), first.proof.steps);
        let standing = LayoutProgress { joints, steps, ..LayoutProgress::default() };
        let ended = || watch.as_ref().is_some_and(|go_on| !go_on(&standing));
        self.cut_short = ended();
        if self.cut_short {
            return Ok(());
        }
        let second = plan_watched(&task, watch.clone())?;
        self.cut_short = ended();
        if !self.cut_short && matches!(&second, LayoutOutcome::Planned(second) if second.joints <= first.joints) {
            (self.task, self.outcome) = (task, second);
        }
        Ok(())
    }

    /// A rail by its place in the task.
    pub fn rail(&self, rail: usize) -> RailId {
        RailId { axis: self.axis, rail }
    }

    /// The support of a rail's grid that the planner means.
    pub fn standing(&self, rail: usize, support: &SupportSpec) -> Option<&GridSupport> {
        self.grids[rail].iter().find(|grid| grid.support() == *support)
    }
}

/// Plans an axis within so many search steps.
pub fn layout_plan(ledger: &Ledger, axis: usize, budget: u64) -> Result<LayoutPlan, FactError> {
    watched_layout_plan(ledger, axis, budget, None)
}

/// The same while somebody looks on, who may end the search.
pub(crate) fn watched_layout_plan(
    ledger: &Ledger,
    axis: usize,
    budget: u64,
    watch: Option<Watch>,
) -> Result<LayoutPlan, FactError> {
    let of = &ledger.machine.axes[axis];
    let mut asking = TaskBuilder { ledger, limits: limits_applying(ledger, axis), axis, of, assumed: Vec::new() };
    let (task, profiles, owned, grids) = asking.task(budget)?;
    let assumed = asking.assumed;
    let fault = |why: TaskError| cannot_be_planned(of, &why);
    let outcome = plan_watched(&task, watch.clone()).map_err(fault)?;
    let mut plan = LayoutPlan { axis, task, profiles, owned, grids, assumed, outcome, cut_short: false };
    plan.spare_singles(watch).map_err(fault)?;
    Ok(plan)
}

/// So much searching is worth the answer whether a joint of one axis is needed, and of all axes of a machine together.
const FEWEST_STEPS: u64 = 30_000;
pub(crate) const FEWEST_STEPS_IN_ALL: u64 = 120_000;

/// The fewest joints that an axis needs, every layout rule kept. `left` is what other axes have left of the steps for all.
pub(crate) fn fewest_joints(ledger: &Ledger, axis: usize, left: &Cell<u64>) -> Result<FewestAnswer, FactError> {
    let of = &ledger.machine.axes[axis];
    let mut asking = TaskBuilder { ledger, limits: limits_applying(ledger, axis), axis, of, assumed: Vec::new() };
    let (task, ..) = asking.task(left.get().min(FEWEST_STEPS))?;
    let (answer, used) = fewest(&task).map_err(|why| cannot_be_planned(of, &why))?;
    left.set(left.get().saturating_sub(used));
    Ok(answer)
}

fn cannot_be_planned(of: &Axis, why: &TaskError) -> FactError {
    FactError::new(of.place, format!("axis {} cannot be planned: {why}", *of.name), "check the numbers")
}

struct TaskBuilder<'l> {
    ledger: &'l Ledger,
    limits: &'l Rulebook,
    axis: usize,
    of: &'l Axis,
    assumed: Vec<String>,
}

type NamedTask = (LayoutTask, Vec<String>, Vec<(usize, usize)>, Vec<Vec<GridSupport>>);

impl TaskBuilder<'_> {
    fn task(&mut self, budget: u64) -> Result<NamedTask, FactError> {
        let (ledger, of) = (self.ledger, self.of);
        let run = of.run.ok_or_else(|| {
            FactError::new(of.place, format!("axis {} does not say how long it is", *of.name), "add run from=… to=…")
        })?;
        let mut names: Vec<String> = Vec::new();
        let mut profiles: Vec<ProfileSpec> = Vec::new();
        let mut of_rail = Vec::new();
        for rail in &of.rails {
            if rail.from != run.from {
                let what = format!("rail {} begins at {}, the run at {}", *rail.name, rail.from, run.from);
                return Err(FactError::new(
                    rail.place,
                    what,
                    "the planner lays rails over the whole run: take out from=…",
                ));
            }
            let profile = self.profile_of(rail)?.clone();
            let known = names.iter().position(|name| *name == *profile.name);
            of_rail.push(match known {
                Some(known) => known,
                None => {
                    profiles.push(self.profile(&profile, run.to - run.from)?);
                    names.push(profile.name.to_string());
                    names.len() - 1
                }
            });
        }
        let (mut rails, mut owned, mut whose, mut grids) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for (rail, it) in of.rails.iter().enumerate() {
            let profile = &profiles[of_rail[rail]];
            let first_hole = self.first_hole(it);
            for (index, segment) in it.segments.iter().enumerate().filter(|(_, segment)| segment.owned) {
                let near = segment.near_distance.map_or(first_hole, |near| near.nm());
                let length = segment.length.nm();
                let far =
                    segment.far_distance.map_or_else(|| far_distance(length, near, profile.pitch), |far| far.nm());
                // An end left by a saw lies outside the joints, unless the rulebook allows it there.
                let forbidden = ledger.rulebook.choice(LimitName::SawnEnds) == "forbidden";
                let sawn = |end: Option<Spanned<EndCut>>| forbidden && end.is_some_and(|end| end.value == EndCut::Sawn);
                let (near_sawn, far_sawn) = (sawn(segment.near_end), sawn(segment.far_end));
                let profile = of_rail[rail];
                owned.push(Owned { profile, length, near, far, near_sawn, far_sawn, rail: Some(rail), at: None });
                whose.push((rail, index));
            }
            let grid = grid(ledger, RailId { axis: self.axis, rail });
            rails.push(self.rail(it, of_rail[rail], profile, &owned, &grid)?);
            grids.push(grid);
        }
        let stocked = |rail: &RailSpec, index: usize| {
            !profiles[rail.profile].stock.is_empty() || owned.iter().any(|owned| owned.rail == Some(index))
        };
        if let Some(bare) = (0..rails.len()).find(|rail| !stocked(&rails[*rail], *rail)) {
            let profile = self.profile_of(&of.rails[bare])?;
            let what = format!("profile {} does not say what bars can be had", *profile.name);
            return Err(FactError::new(profile.name.place, what, "add stock … to the profile"));
        }
        let (from, to) = (run.from.nm(), run.to.nm());
        let stagger = self.stagger();
        let task = LayoutTask { from, to, profiles, rails, owned, stagger, carriage: self.carriage(), budget };
        Ok((task, names, whose, grids))
    }

    fn profile_of(&self, rail: &ledger::Rail) -> Result<&ledger::Profile, FactError> {
        let known = rail.profile.as_ref().and_then(|name| self.ledger.shop.profile(name));
        known.ok_or_else(|| {
            let what = format!("rail {} does not say of which profile it is", *rail.name);
            FactError::new(rail.place, what, "add profile=… and describe the profile in the shop file")
        })
    }

    fn profile(&mut self, of: &ledger::Profile, run: Length) -> Result<ProfileSpec, FactError> {
        let pitch = of.hole_pitch.ok_or_else(|| {
            FactError::new(of.name.place, format!("profile {} has no hole pitch", *of.name), "add hole-pitch=…")
        })?;
        let pitch = pitch.nm();
        let near = end_distance(of, pitch);
        if of.end_distance.is_none() {
            self.assume(format!(
                "profile {} states no end-distance: the first hole is taken to lie {} from an uncut end, half a pitch",
                *of.name,
                Length(near)
            ));
        }
        let mut stock: Vec<Bar> = Vec::new();
        for (length, count) in of.stock.iter().filter(|(length, _)| length.nm() > near) {
            let (length, count) = (length.nm(), count.map(|count| count.value));
            match stock.iter_mut().find(|bar| bar.length == length) {
                Some(bar) => bar.count = bar.count.zip(count).map(|(a, b)| a.saturating_add(b)),
                None => stock.push(Bar { length, near, far: far_distance(length, near, pitch), count }),
            }
        }
        // What other machines, other axes and rails that are no more took is there no more.
        let whole = if stock.iter().any(|bar| bar.count.is_some()) { whole_bars(self.ledger) } else { BTreeMap::new() };
        for bar in stock.iter_mut().filter(|bar| bar.count.is_some()) {
            let (name, length) = (&of.name.value, Length(bar.length));
            let machines = self.ledger.elsewhere.bars.get(&(name.clone(), length)).copied().unwrap_or(0);
            let axes = whole.get(&(name.as_str(), length)).into_iter().flatten();
            let axes = axes.filter(|(rail, _)| rail.axis != self.axis).count();
            let taken = machines + axes + scrapped(self.ledger, name, length);
            let taken = u32::try_from(taken).unwrap_or(u32::MAX);
            bar.count = bar.count.map(|count| count.saturating_sub(taken));
        }
        let rulebook = self.limits;
        let least = rulebook.least::<Length>(LimitName::SegmentLength).map(|(least, _)| least);
        let least = least.or(of.least_segment.map(|least| least.value));
        let tolerance = rulebook.most::<Length>(LimitName::HolePitchTolerance).map_or(pitch, |(most, _)| most.nm());
        Ok(ProfileSpec {
            pitch,
            pattern_tolerance: tolerance,
            cutting: of.cutting_allowed().then(|| self.cutting(of, pitch, run, &stock)),
            stock,
            least_segment: least.map_or(0, Length::nm),
            least_end: 0,
            most_end: None,
        })
    }

    fn cutting(&mut self, of: &ledger::Profile, pitch: i64, run: Length, stock: &[Bar]) -> CuttingSpec {
        let name = &*of.name;
        let grid = of.cut_grid().map_or_else(
            || {
                let grid = stock.iter().fold(gcd(run.nm(), pitch), |so_far, bar| gcd(so_far, bar.length));
                self.assume(format!(
                    "profile {name} states no grid for cuts: they are planned at steps of {}",
                    Length(grid)
                ));
                grid
            },
            |grid| grid.nm(),
        );
        let kerf = of.kerf().map_or_else(
            || {
                self.assume(format!("profile {name} states no kerf: each cut is taken to lose {USUAL_KERF}"));
                USUAL_KERF
            },
            |kerf| kerf.value,
        );
        let hole_keep = self.edge_or_assumed(of, pitch);
        let ground = of.cut_ends().is_some_and(|ends| *ends == EndCut::Ground);
        let in_joints = ground || self.limits.choice(LimitName::SawnEnds) != "forbidden";
        CuttingSpec { grid, kerf: kerf.nm(), hole_keep, in_joints }
    }

    /// The least distance of a bolt from an edge, for figures that would make no sense with none.
    fn edge_or_assumed(&mut self, of: &ledger::Profile, pitch: i64) -> i64 {
        of.bolt_edge.map_or_else(
            || {
                let edge = pitch / 4;
                self.assume(format!(
                    "profile {} states no bolt-edge: cuts and the ends of joint supports keep {} from a bolt",
                    *of.name,
                    Length(edge)
                ));
                edge
            },
            |edge| edge.nm(),
        )
    }

    fn assume(&mut self, what: String) {
        if !self.assumed.contains(&what) {
            self.assumed.push(what);
        }
    }

    fn first_hole(&self, rail: &ledger::Rail) -> i64 {
        let profile = rail.profile.as_ref().and_then(|name| self.ledger.shop.profile(name));
        profile.map_or(0, |profile| end_distance(profile, profile.hole_pitch.map_or(0, |pitch| pitch.nm())))
    }

    fn rail(
        &mut self,
        it: &ledger::Rail,
        profile: usize,
        of: &ProfileSpec,
        owned: &[Owned],
        grid: &[GridSupport],
    ) -> Result<RailSpec, FactError> {
        let (limits, axis) = (self.limits, self.of);
        let shop = self.profile_of(it)?.clone();
        let bolts = limits.least_count(LimitName::JointBolts).map_or(0, |(least, _)| least);
        let stated = it.supports.iter().filter(|support| support.joint.is_some()).filter_map(|support| support.covers);
        let covers = match stated.max() {
            Some(covers) => covers.nm(),
            None => {
                let edge = self.edge_or_assumed(&shop, of.pitch);
                let bars = of.stock.iter().map(|bar| (bar.near, bar.far));
                let ends = bars
                    .chain(owned.iter().filter(|owned| owned.profile == profile).map(|owned| (owned.near, owned.far)));
                let sawn = of.cutting.filter(|cutting| cutting.in_joints).map(|cutting| of.pitch - cutting.hole_keep);
                joint_support_planned(ends.flat_map(|(near, far)| [near, far]), sawn, (of.pitch, bolts, edge))
            }
        };
        let beam = it.beam.as_ref().and_then(|name| axis.beams.iter().find(|beam| *beam.name == **name));
        let clearance = limits.least::<Length>(LimitName::SeamClearance).map(|(least, _)| least.nm());
        let bed = it.continuous_seat().is_some();
        let described = !grid.is_empty() && !bed || it.supports.iter().any(|support| support.joint.is_some());
        if !described && bed {
            self.assume(format!(
                "rail {} lies on a continuous seat: no supports are planned under its joints",
                *it.name
            ));
        } else if !described {
            self.assume(format!("rail {} has no supports yet: none are planned under its joints", *it.name));
        }
        // The lint asks a support for a hole only where it knows what the support covers.
        let judged = grid.iter().all(|grid| grid.covers.is_some());
        Ok(RailSpec {
            profile,
            seams: beam.map_or_else(Vec::new, |beam| beam.seams.iter().map(|seam| seam.position.nm()).collect()),
            seam_clearance: clearance.unwrap_or_else(|| default_seam_clearance(covers)),
            supports: SupportsSpec {
                grid: grid.iter().map(GridSupport::support).collect(),
                may_drop: true,
                joint_covers: described.then_some(covers),
                off_centre: limits.most::<Length>(LimitName::JointSupportOffset).map_or(0, |(most, _)| most.nm()),
                joint_bolts: bolts,
                edge: shop.bolt_edge.map_or(0, |edge| edge.nm()),
                grid_bolts: usize::from(judged),
                most_spacing: limits.most::<Length>(LimitName::SupportSpacing).map(|(most, _)| most.nm()),
            },
        })
    }

    /// The widest stagger that any two of the rails need.
    fn stagger(&self) -> Option<i64> {
        if let Some((stated, _)) = self.limits.least::<Length>(LimitName::Stagger) {
            return Some(stated.nm());
        }
        let pitches = self.of.rails.iter().filter_map(|rail| self.profile_of(rail).ok()?.hole_pitch);
        let blocks = self.of.carriage.iter().flat_map(|carriage| &carriage.blocks);
        let block = blocks.filter_map(|block| block.rail.and(block.length)).map(|length| length.nm()).max();
        Some(default_stagger(pitches.map(|pitch| pitch.nm()).max()?, block))
    }

    fn carriage(&self) -> Option<CarriageSpec> {
        let carriage = self.of.carriage.as_ref()?;
        let margin = self.limits.least::<Length>(LimitName::MeetingMargin)?.0.nm();
        let blocks = carriage.blocks.iter().filter_map(|block| {
            Some(BlockSpec { rail: block.rail?, offset: block.at.nm(), length: block.length?.nm() })
        });
        let stroke = self.of.stroke.map(|stroke| PositionRange { from: stroke.from.nm(), to: stroke.to.nm() });
        Some(CarriageSpec { blocks: blocks.collect(), stroke, margin })
    }
}

/// From an uncut end to the first hole: half a pitch where the profile does not say.
pub(crate) fn end_distance(profile: &ledger::Profile, pitch: i64) -> i64 {
    profile.end_distance.map_or(pitch / 2, |end| end.nm())
}

/// What the hole pitch leaves between the last hole and the far end; a hole is never on the end itself.
pub(crate) fn far_distance(length: i64, near: i64, pitch: i64) -> i64 {
    let room = length - near;
    if pitch <= 0 || room <= 0 { room } else { room - (room - 1) / pitch * pitch }
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs().max(1) } else { gcd(b, a % b) }
}
