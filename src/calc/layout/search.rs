//! The search over all rails at once, at a demanded slack and with a limit on joints.
//!
//! It either looks for any layout, or for all that waste less than the best so far. Half layouts that agree in what
//! matters are looked at once.

use super::graph::{END, Paths, START, Supply};
use super::memo::Memo;
use super::meter::BudgetError;
use super::pieces::KeptEnd;
use super::stock::{BarStock, Taken};
use super::sweep::{Sweep, last};
use super::task::LayoutTask;
use super::view::{NO_WAY, UsableSegment, View};

/// What is looked for.
pub(super) enum Goal<'a> {
    /// Any layout that the stock suffices for.
    Any,
    /// The layout of least waste below this one.
    LeastWaste { below: i64, floors: &'a WasteFloors },
}

pub(super) struct LayoutSearch<'s, 'a> {
    pub sweep: Sweep<'s>,
    pub stock: &'s mut BarStock<'a>,
    pub task: &'a LayoutTask,
    pub rails: Vec<usize>,
    pub stacks: Vec<Vec<u32>>,
    pub paths: Paths,
    pub taken: Taken,
    /// Whether what was taken is part of the key.
    counting: bool,
    goal: Goal<'s>,
    /// For half layouts looked through: the least number of extra joints that could still lead to something new.
    pub seen: Memo<u32>,
    /// Layouts so far for which the bars did not suffice, though nothing told so before they were whole. What was
    /// looked through meanwhile says nothing of half layouts that took other lengths.
    unpacked: u64,
    pub found: Option<(Paths, Option<i64>)>,
}

impl<'s, 'a> LayoutSearch<'s, 'a> {
    /// A search over some rails; the least waste is sought over all of them only.
    pub(crate) fn new(
        sweep: Sweep<'s>,
        stock: &'s mut BarStock<'a>,
        task: &'a LayoutTask,
        rails: Vec<usize>,
        goal: Goal<'s>,
    ) -> Self {
        let counting = stock.limited() || matches!(goal, Goal::LeastWaste { .. });
        let taken = stock.nothing();
        let (stacks, paths) = (vec![vec![START]; rails.len()], vec![Vec::new(); rails.len()]);
        Self {
            sweep,
            stock,
            task,
            rails,
            stacks,
            paths,
            taken,
            counting,
            goal,
            seen: Memo::new(),
            unpacked: 0,
            found: None,
        }
    }

    /// Looks with at most `limit` joints beyond the sum of the rails' fewest. Returns the least number of extra joints
    /// that a layout not yet looked at would need, [`NO_WAY`] when there is none; the find is in `found`.
    pub(crate) fn run(&mut self, limit: u32) -> Result<u32, BudgetError> {
        self.descend(limit)
    }

    fn descend(&mut self, limit: u32) -> Result<u32, BudgetError> {
        let Some(lag) = self.sweep.laggard(&self.rails, &self.stacks) else { return self.finish() };
        let mut key = Vec::with_capacity(16);
        self.sweep.key(&self.rails, &self.stacks, lag, &mut key);
        if self.counting {
            let waste_matters = matches!(self.goal, Goal::LeastWaste { .. });
            self.stock.key(&self.taken, waste_matters, self.segments_left(limit), &mut key);
        }
        if let Some(least) = self.seen.get(&key).filter(|&least| least > limit) {
            return Ok(least);
        }
        self.sweep.meter.step()?;
        if let Goal::LeastWaste { below, floors } = &self.goal
            && floors.lower_bound(self, &self.stacks) >= *below
        {
            return Ok(NO_WAY);
        }
        let bound = match self.stock_bound() {
            bound if bound > limit => bound,
            bound => self.pairs_bound(limit)?.max(bound),
        };
        if bound > limit {
            self.keep(key, bound, limit);
            return Ok(bound);
        }
        let rail = self.rails[lag];
        let profile = self.task.rails[rail].profile;
        let node = last(&self.stacks[lag]);
        let views = self.sweep.views;
        let unpacked = self.unpacked;
        let start = self.sweep.graphs[rail].nodes[node as usize].at;
        let mut least = NO_WAY;
        for step in &views[rail].steps[node as usize] {
            if step.cost > limit {
                least = least.min(step.cost);
                continue;
            }
            if step.to != END && !self.sweep.clear(&self.rails, &self.stacks, lag, step.to) {
                continue;
            }
            let supply = self.sweep.graphs[rail].out[node as usize][step.edge as usize].supply;
            let length = self.sweep.graphs[rail].nodes[step.to as usize].at - start;
            if !self.counting {
                least = least.min(self.go_on(lag, (node, step), limit)?);
                if self.done() {
                    return Ok(least);
                }
                continue;
            }
            let open = self.taken.open(profile).clone();
            for way in self.stock.ways(&self.taken, profile, (supply, length), node == START || step.to == END) {
                if !self.stock.take(&mut self.taken, profile, (supply, length), way) {
                    continue;
                }
                let rest = self.go_on(lag, (node, step), limit);
                self.stock.give_back(&mut self.taken, profile, (supply, length), (way, open.clone()));
                least = least.min(rest?);
                if self.done() {
                    return Ok(least);
                }
            }
        }
        if self.unpacked == unpacked {
            self.keep(key, least, limit);
        }
        Ok(least)
    }

    /// The same with one more segment laid.
    fn go_on(&mut self, lag: usize, (node, step): (u32, &UsableSegment), limit: u32) -> Result<u32, BudgetError> {
        self.stacks[lag].push(step.to);
        self.paths[lag].push((node, step.edge));
        let rest = self.descend(limit - step.cost);
        self.stacks[lag].pop();
        self.paths[lag].pop();
        Ok(rest?.saturating_add(step.cost))
    }

    /// Most segments still to come with so many extra joints.
    pub(crate) fn segments_left(&self, limit: u32) -> u32 {
        let fronts = self.rails.iter().zip(&self.stacks).map(|(&rail, stack)| (rail, last(stack)));
        let open = fronts.filter(|(_, front)| *front != END);
        open.map(|(rail, front)| self.sweep.views[rail].left[front as usize] + 1).fold(limit, u32::saturating_add)
    }

    /// Remembers a half layout. Its key tells apart only as many bars left as so many segments can take: of more joints
    /// than that nothing is known.
    fn keep(&mut self, key: Vec<u32>, least: u32, limit: u32) {
        let known = if self.stock.bars_limited() { least.min(limit.saturating_add(1)) } else { least };
        self.seen.keep(key, known);
    }

    /// A whole layout: keeps it when it is what is looked for.
    pub(crate) fn finish(&mut self) -> Result<u32, BudgetError> {
        let mut waste = None;
        let keep = match &self.goal {
            Goal::Any if !self.counting => true,
            Goal::Any => !self.stock.left_over(&self.taken) && self.packs()?,
            Goal::LeastWaste { below, .. } => {
                waste = self.stock.waste(&self.taken, self.sweep.meter)?;
                waste.is_some_and(|waste| waste < *below)
            }
        };
        if keep {
            self.found = Some((self.paths.clone(), waste));
            if let (Goal::LeastWaste { below, .. }, Some(waste)) = (&mut self.goal, waste) {
                *below = waste;
            }
        }
        Ok(NO_WAY)
    }

    /// Whether the bars suffice for a whole layout.
    fn packs(&mut self) -> Result<bool, BudgetError> {
        if !self.stock.bars_limited() {
            return Ok(true);
        }
        for profile in 0..self.task.profiles.len() {
            let (graphs, meter) = (self.sweep.graphs, &mut *self.sweep.meter);
            if !self.stock.suffices(graphs, &self.paths, profile, meter)? {
                self.unpacked += 1;
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn done(&self) -> bool {
        match &self.goal {
            Goal::Any => self.found.is_some(),
            Goal::LeastWaste { below, floors } => *below <= floors.least(),
        }
    }

    /// Extra joints needed because long bars run out: what is still to be laid takes so many of the longest bars left.
    pub(crate) fn stock_bound(&self) -> u32 {
        if !self.stock.limited() {
            return 0;
        }
        let mut rest = vec![0; self.task.profiles.len()];
        let mut single = vec![0_u32; self.task.profiles.len()];
        let mut planned = 0;
        for (&rail, stack) in self.rails.iter().zip(&self.stacks) {
            let front = last(stack);
            if front != END {
                let profile = self.task.rails[rail].profile;
                let left = self.task.to - self.sweep.graphs[rail].nodes[front as usize].at;
                let length = self.stock.whole_bars_for(&self.taken, profile, left);
                rest[profile] += length;
                single[profile] =
                    single[profile].saturating_add(self.stock.segments_for(&self.taken, profile, length, false));
                planned += self.sweep.views[rail].left[front as usize] + 1;
            }
        }
        let together =
            (0..rest.len()).map(|profile| self.stock.segments_for(&self.taken, profile, rest[profile], true));
        let needed = together.zip(single).map(|(together, single)| together.max(single)).fold(0, u32::saturating_add);
        if needed == NO_WAY { NO_WAY } else { needed.saturating_sub(planned) }
    }

    /// Extra joints that pairs of rails need, added up over pairs that share no rail.
    fn pairs_bound(&mut self, limit: u32) -> Result<u32, BudgetError> {
        let rails = self.rails.len();
        if rails < 2 || (rails == 2 && !self.counting) {
            return Ok(0);
        }
        let mut single = 0;
        let mut apart = 0_u32;
        let mut used = vec![false; rails];
        for a in 0..rails {
            for b in a + 1..rails {
                let extra =
                    self.sweep.pair((self.rails[a], self.rails[b]), [&self.stacks[a], &self.stacks[b]], limit)?;
                if extra > limit {
                    return Ok(extra);
                }
                single = single.max(extra);
                if extra > 0 && !used[a] && !used[b] {
                    (used[a], used[b]) = (true, true);
                    apart = apart.saturating_add(extra);
                }
            }
        }
        Ok(single.max(apart))
    }
}

/// Lower bounds on waste. A bar gives at most one piece that keeps its far end and at most one that keeps its near end, so the
/// least that each such piece can waste adds up over either kind.
#[derive(Debug)]
pub(super) struct WasteFloors {
    /// By profile and piece.
    piece: Vec<Vec<i64>>,
    /// By rail: least waste of the pieces that keep the far end, still to come from the start.
    first: Vec<i64>,
    /// By rail and node: least waste of the pieces that keep the near end, still to come.
    last: Vec<Vec<i64>>,
}

impl WasteFloors {
    pub(crate) fn new(task: &LayoutTask, stock: &BarStock, sweep: &Sweep, loose: bool) -> Self {
        let piece = (0..task.profiles.len()).map(|profile| piece_floors(task, profile, stock, sweep, loose)).collect();
        let mut floors = Self { piece, first: Vec::new(), last: Vec::new() };
        for rail in 0..task.rails.len() {
            let (graph, view) = (&sweep.graphs[rail], &sweep.views[rail]);
            let supply = |node: u32, edge: u32| graph.out[node as usize][edge as usize].supply;
            let mut last = vec![0; graph.nodes.len()];
            for node in (0..graph.nodes.len() as u32).rev().filter(|&node| node != END) {
                let rest = view.steps[node as usize].iter().map(|step| {
                    let own = floors.waste(task, stock, rail, supply(node, step.edge), KeptEnd::Near);
                    own + if step.to == END { 0 } else { last[step.to as usize] }
                });
                last[node as usize] = rest.min().unwrap_or(0);
            }
            let first = view.steps[START as usize]
                .iter()
                .map(|step| floors.waste(task, stock, rail, supply(START, step.edge), KeptEnd::Far));
            floors.first.push(first.min().unwrap_or(0));
            floors.last.push(last);
        }
        floors
    }

    fn waste(&self, task: &LayoutTask, stock: &BarStock, rail: usize, supply: Supply, form: KeptEnd) -> i64 {
        let profile = task.rails[rail].profile;
        match supply {
            Supply::Cut(piece) if stock.pieces[profile][piece].form == form => self.piece[profile][piece],
            _ => 0,
        }
    }

    /// No layout wastes less.
    pub(crate) fn least(&self) -> i64 {
        let last: i64 = self.last.iter().map(|last| last[START as usize]).sum();
        last.max(self.first.iter().sum())
    }

    fn lower_bound(&self, search: &LayoutSearch, stacks: &[Vec<u32>]) -> i64 {
        let (mut far, mut near) = (0, 0);
        for &(profile, piece) in &search.taken.pieces {
            let floor = self.piece[profile as usize][piece as usize];
            match search.stock.pieces[profile as usize][piece as usize].form {
                KeptEnd::Far => far += floor,
                KeptEnd::Near => near += floor,
                KeptEnd::Neither => {}
            }
        }
        for (rail, stack) in stacks.iter().enumerate() {
            match last(stack) {
                END => {}
                START => {
                    far += self.first[rail];
                    near += self.last[rail][START as usize];
                }
                node => near += self.last[rail][node as usize],
            }
        }
        far.max(near)
    }
}

/// Least that each piece wastes on its bar: alone, or with the piece from the other end that fills the bar best. Pieces
/// sawn at both ends could fill any rest, so with them in play (`loose`) nothing is certain to be wasted.
fn piece_floors(task: &LayoutTask, profile: usize, stock: &BarStock, sweep: &Sweep, loose: bool) -> Vec<i64> {
    let list = &stock.pieces[profile];
    let Some(cutting) = task.profiles[profile].cutting else { return Vec::new() };
    if loose || list.iter().any(|piece| piece.form == KeptEnd::Neither) {
        return vec![0; list.len()];
    }
    let mut lengths = [Vec::new(), Vec::new()];
    for rail in (0..task.rails.len()).filter(|&rail| task.rails[rail].profile == profile) {
        let (graph, view) = (&sweep.graphs[rail], &sweep.views[rail]);
        for (node, steps) in view.steps.iter().enumerate() {
            for step in steps {
                if let Supply::Cut(piece) = graph.out[node][step.edge as usize].supply {
                    lengths[usize::from(list[piece].form == KeptEnd::Far)].push(list[piece].length);
                }
            }
        }
    }
    lengths.iter_mut().for_each(|lengths| lengths.sort_unstable());
    let floor = |piece: &super::pieces::PieceKind| {
        let others = &lengths[usize::from(piece.form == KeptEnd::Near)];
        let bars = task.profiles[profile].stock.iter().filter(|bar| bar.length > piece.length);
        let rest = bars.map(|bar| {
            let rest = bar.length - piece.length;
            let fit = others.partition_point(|&other| other <= rest - cutting.kerf);
            rest - if fit == 0 { 0 } else { others[fit - 1] }
        });
        rest.min().unwrap_or(0)
    };
    list.iter().map(floor).collect()
}

/// Fewest joints over all rails taken by themselves; `None` when a rail cannot be made at all.
pub(super) fn fewest_alone(views: &[View]) -> Option<u32> {
    views.iter().try_fold(0_u32, |sum, view| {
        let left = view.left[START as usize];
        if left == NO_WAY { None } else { sum.checked_add(left) }
    })
}
