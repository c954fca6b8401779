//! The sweep along the axis: always the rail that lags behind gets its next joint.
//!
//! Joints weigh on each other only over the reach of a carriage or a stagger. Taken in this order, what is already
//! placed matters to the rest only through the last joint of every rail and the few others within reach; two half
//! layouts that agree in these have the same completions. For every pair of rails the least number of joints beyond the
//! fewest is remembered by that key: an exact answer for two rails, a strong bound for more.

use std::collections::HashMap;

use super::clash::Clash;
use super::graph::{END, Graph, START};
use super::memo::Memo;
use super::meter::{BudgetError, Meter};
use super::view::{NO_WAY, View};

/// Most joints a layout may have in all: a guard on depth, far above any machine.
const MOST_JOINTS: usize = 600;

pub(super) struct Sweep<'a> {
    pub graphs: &'a [Graph],
    pub views: &'a [View],
    pub clash: &'a Clash,
    pub slack: i64,
    pub meter: &'a mut Meter,
    /// Greatest slack refused so far for being below the demanded one.
    pub refused: Option<i64>,
    /// Whether any number of joints will do, so that bounds need not be the least.
    pub any: bool,
    shortest: i64,
    /// Reach of joints on each other, rail by rail, at the demanded slack: by stagger, and by blocks that meet them.
    stagger: Vec<Vec<i64>>,
    meeting: Vec<Vec<i64>>,
    pairs: HashMap<(usize, usize), Memo<ExtraJoints>>,
}

/// Least extra joints of a pair's completion: exact when within the limit it was sought with, else a lower bound.
#[derive(Clone, Copy)]
struct ExtraJoints {
    extra: u32,
    limit: u32,
}

impl<'a> Sweep<'a> {
    pub(crate) fn new(
        graphs: &'a [Graph],
        views: &'a [View],
        clash: &'a Clash,
        slack: i64,
        meter: &'a mut Meter,
    ) -> Self {
        let rails = graphs.len();
        let table = |reach: &dyn Fn(usize, usize) -> i64| -> Vec<Vec<i64>> {
            (0..rails).map(|a| (0..rails).map(|b| reach(a, b)).collect()).collect()
        };
        let stagger = table(&|a, b| clash.stagger_reach(a, b, slack));
        let meeting = table(&|a, b| clash.meeting_reach(a, b, slack));
        let shortest = graphs.iter().map(|graph| graph.shortest).min().unwrap_or(1);
        let refused = views.iter().filter_map(|view| view.refused).max();
        Self {
            graphs,
            views,
            clash,
            slack,
            meter,
            refused,
            any: false,
            shortest,
            stagger,
            meeting,
            pairs: HashMap::new(),
        }
    }

    fn at(&self, rail: usize, node: u32) -> i64 {
        self.graphs[rail].nodes[node as usize].at
    }

    /// Which of `rails` lags behind, as an index into them; `None` when all are finished.
    pub(crate) fn laggard(&self, rails: &[usize], stacks: &[impl AsRef<[u32]>]) -> Option<usize> {
        let front = |i: usize| last(stacks[i].as_ref());
        let open = (0..rails.len()).filter(|&i| front(i) != END);
        open.min_by_key(|&i| (self.at(rails[i], front(i)), i))
    }

    /// The key of a half layout. `lag` is the rail that lags behind.
    pub(crate) fn key(&self, rails: &[usize], stacks: &[impl AsRef<[u32]>], lag: usize, key: &mut Vec<u32>) {
        let next = self.at(rails[lag], last(stacks[lag].as_ref())) + self.shortest;
        for (i, &rail) in rails.iter().enumerate() {
            let (&front, behind) = stacks[i].as_ref().split_last().unwrap_or((&START, &[]));
            let most = |table: &[Vec<i64>]| rails.iter().map(|&other| table[rail][other]).max().unwrap_or(0);
            let (stagger, meeting) = (most(&self.stagger), most(&self.meeting));
            key.push(front);
            let mut after = (front != END).then(|| self.at(rail, front));
            for &node in behind.iter().rev().take_while(|&&node| node != START) {
                let at = self.at(rail, node);
                if at <= next - stagger.max(meeting) {
                    break;
                }
                // A joint behind another keeps nothing away by its stagger that the other does not keep away too, unless
                // there is room between what the two keep away.
                let hidden = after.is_some_and(|after| after - stagger < next);
                let staggers = at > next - stagger && !hidden;
                if staggers || at > next - meeting {
                    key.push(self.graphs[rail].nodes[node as usize].place);
                }
                after = Some(at);
            }
            key.push(u32::MAX);
        }
    }

    /// Whether a new joint on `rails[lag]` stands clear of all that is placed.
    pub(crate) fn clear(&mut self, rails: &[usize], stacks: &[impl AsRef<[u32]>], lag: usize, node: u32) -> bool {
        let rail = rails[lag];
        let here = self.at(rail, node);
        for (i, &other) in rails.iter().enumerate() {
            let reach = self.stagger[rail][other].max(self.meeting[rail][other]);
            // The joint just before on the same rail was weighed with the segment between.
            let stack = stacks[i].as_ref();
            let placed = if i == lag { &stack[..stack.len() - 1] } else { stack };
            for &node in placed.iter().rev().filter(|&&node| node != END && node != START) {
                let there = self.at(other, node);
                if there <= here - reach {
                    break;
                }
                if let Some(low) = self.clash.below((rail, here), (other, there), self.slack) {
                    self.refused = self.refused.max(Some(low));
                    return false;
                }
            }
        }
        true
    }

    /// Least number of extra joints with which rails `a` and `b` can be completed, as a lower bound that is exact when
    /// it does not exceed `limit`. [`NO_WAY`] when they cannot.
    pub(crate) fn pair(&mut self, (a, b): (usize, usize), stacks: [&[u32]; 2], limit: u32) -> Result<u32, BudgetError> {
        let rails = [a, b];
        let Some(lag) = self.laggard(&rails, &stacks) else { return Ok(0) };
        let mut key = Vec::with_capacity(8);
        self.key(&rails, &stacks, lag, &mut key);
        if let Some(known) = self.known((a, b), &key, limit) {
            return Ok(known);
        }
        let mut own = [stacks[0].to_vec(), stacks[1].to_vec()];
        self.pair_from(rails, &mut own, limit)
    }

    fn known(&self, pair: (usize, usize), key: &[u32], limit: u32) -> Option<u32> {
        let bound = self.pairs.get(&pair)?.get(key)?;
        (bound.extra <= bound.limit || bound.extra > limit).then_some(bound.extra)
    }

    fn pair_from(&mut self, rails: [usize; 2], stacks: &mut [Vec<u32>; 2], limit: u32) -> Result<u32, BudgetError> {
        let Some(lag) = self.laggard(&rails, stacks) else { return Ok(0) };
        let mut key = Vec::with_capacity(8);
        self.key(&rails, stacks, lag, &mut key);
        let pair = (rails[0], rails[1]);
        if let Some(known) = self.known(pair, &key, limit) {
            return Ok(known);
        }
        self.meter.step()?;
        if stacks[0].len() + stacks[1].len() > MOST_JOINTS {
            return Err(BudgetError);
        }
        let rail = rails[lag];
        let views = self.views;
        let mut best = NO_WAY;
        for step in &views[rail].steps[last(&stacks[lag]) as usize] {
            let most = limit.min(best.saturating_sub(1));
            if step.cost > most {
                best = best.min(step.cost);
                continue;
            }
            if step.to != END && !self.clear(&rails, stacks, lag, step.to) {
                continue;
            }
            stacks[lag].push(step.to);
            let rest = self.pair_from(rails, stacks, most - step.cost);
            stacks[lag].pop();
            best = best.min(rest?.saturating_add(step.cost));
            if best == 0 || (self.any && best <= limit) {
                break;
            }
        }
        self.pairs.entry(pair).or_insert_with(Memo::new).keep(key, ExtraJoints { extra: best, limit });
        Ok(best)
    }
}

pub(super) fn last(stack: &[u32]) -> u32 {
    stack.last().copied().unwrap_or(START)
}
