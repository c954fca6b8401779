//! A first layout of many rails from counted bars: one rail is laid after the other, each clear of those before it.
//!
//! The sweep can prove, but of many rails there are too many half layouts for it to come to a whole one soon. With the
//! rails before it laid for good, one rail has few half layouts, told apart by its own joints and the bars left. Where a
//! rail finds no place, all begin anew with their segments tried in another order; the orders hang on the steps spent before alone.

use super::graph::{END, START};
use super::memo::Memo;
use super::meter::BudgetError;
use super::search::LayoutSearch;
use super::sweep::last;

/// Steps that one rail may take before all begin anew.
const STEPS_A_RAIL: u64 = 20_000;

/// Times that all begin anew.
const MOST_TURNS: u32 = 100_000;

impl LayoutSearch<'_, '_> {
    /// Looks for any layout with at most `limit` joints beyond the sum of the rails' fewest. That none is found proves nothing.
    pub(crate) fn in_turn(&mut self, limit: u32) -> Result<(), BudgetError> {
        if self.stock_bound() > limit {
            return Ok(());
        }
        // What was tried before is not tried again.
        let begun = self.sweep.meter.used() as u32;
        for turn in (0..MOST_TURNS).map(|turn| begun.wrapping_add(turn)) {
            self.stacks.iter_mut().for_each(|stack| *stack = vec![START]);
            self.paths.iter_mut().for_each(Vec::clear);
            self.taken = self.stock.nothing();
            let mut left = Some(limit);
            for lag in 0..self.rails.len() {
                self.seen = Memo::new();
                let until = self.sweep.meter.used() + STEPS_A_RAIL;
                left = match left {
                    Some(left) => self.lay((lag + turn as usize) % self.rails.len(), left, (turn, until))?,
                    None => break,
                };
            }
            if left.is_some() && self.finish().is_ok() && self.found.is_some() {
                break;
            }
        }
        Ok(())
    }

    /// Lays one rail to its end. Returns how many extra joints are left for the others, nothing where it finds no place.
    fn lay(&mut self, lag: usize, limit: u32, (turn, until): (u32, u64)) -> Result<Option<u32>, BudgetError> {
        let rail = self.rails[lag];
        let node = last(&self.stacks[lag]);
        if node == END {
            return Ok(Some(limit));
        }
        let mut key = Vec::with_capacity(16);
        self.sweep.key(&self.rails[lag..=lag], &self.stacks[lag..=lag], 0, &mut key);
        self.stock.key(&self.taken, false, self.segments_left(limit), &mut key);
        if self.seen.get(&key).is_some_and(|stuck| stuck >= limit) || self.sweep.meter.used() > until {
            return Ok(None);
        }
        self.sweep.meter.step()?;
        if self.stock_bound() > limit {
            return Ok(None);
        }
        let profile = self.task.rails[rail].profile;
        let graphs = self.sweep.graphs;
        let start = graphs[rail].nodes[node as usize].at;
        let mut steps = self.sweep.views[rail].steps[node as usize].clone();
        steps.retain(|step| step.cost <= limit);
        steps.sort_by_key(|step| (step.cost, scattered(turn, step.to, step.edge)));
        for step in steps {
            if step.to != END && !self.sweep.clear(&self.rails, &self.stacks, lag, step.to) {
                continue;
            }
            let supply = graphs[rail].out[node as usize][step.edge as usize].supply;
            let length = graphs[rail].nodes[step.to as usize].at - start;
            let open = self.taken.open(profile).clone();
            for way in self.stock.ways(&self.taken, profile, (supply, length), node == START || step.to == END) {
                if !self.stock.take(&mut self.taken, profile, (supply, length), way) {
                    continue;
                }
                self.stacks[lag].push(step.to);
                self.paths[lag].push((node, step.edge));
                let left = self.lay(lag, limit - step.cost, (turn, until))?;
                if left.is_some() {
                    return Ok(left);
                }
                self.stacks[lag].pop();
                self.paths[lag].pop();
                self.stock.give_back(&mut self.taken, profile, (supply, length), (way, open.clone()));
            }
        }
        self.seen.keep(key, limit);
        Ok(None)
    }
}

/// A number that orders segments otherwise in every turn.
fn scattered(turn: u32, to: u32, edge: u32) -> u64 {
    let mut word = u64::from(turn) << 40 ^ u64::from(to) << 16 ^ u64::from(edge);
    for _ in 0..2 {
        word = (word ^ (word >> 31)).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }
    word ^ (word >> 29)
}
