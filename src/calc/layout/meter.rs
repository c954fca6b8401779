//! A work budget counted in search steps, so that a plan never depends on how fast the machine is.

use std::rc::Rc;

/// A search ended before it was through, since its budget is used up or somebody asked it to stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct BudgetError;

/// How far a search is. What is not known yet is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct LayoutProgress {
    /// Search steps spent.
    pub steps: u64,
    /// Joints of the best layout so far.
    pub joints: Option<u32>,
    /// Proven: no layout has fewer.
    pub joints_at_least: u32,
    /// Its smallest slack.
    pub slack: Option<i64>,
    /// Proven: no layout with so many joints has more.
    pub slack_at_most: Option<i64>,
}

/// Looks at a search from time to time; `false` ends it, and the best so far is told with what is proven.
pub(crate) type Watch = Rc<dyn Fn(&LayoutProgress) -> bool>;

/// Steps between two looks.
const LOOK_EVERY: u64 = 1 << 12;

pub(super) struct Meter {
    /// Steps after which the present task has to stop.
    stop: u64,
    budget: u64,
    watch: Option<Watch>,
    pub progress: LayoutProgress,
}

impl Meter {
    pub(crate) fn new(budget: u64) -> Self {
        Self { stop: budget, budget, watch: None, progress: LayoutProgress::default() }
    }

    pub(crate) fn watched(budget: u64, watch: Option<Watch>) -> Self {
        Self { watch, ..Self::new(budget) }
    }

    pub(crate) fn step(&mut self) -> Result<(), BudgetError> {
        if self.progress.steps >= self.stop {
            return Err(BudgetError);
        }
        self.progress.steps += 1;
        if self.progress.steps.is_multiple_of(LOOK_EVERY)
            && self.watch.as_ref().is_some_and(|go_on| !go_on(&self.progress))
        {
            (self.stop, self.budget) = (self.progress.steps, self.progress.steps);
            return Err(BudgetError);
        }
        Ok(())
    }

    /// Takes so many steps at once, for work that was done without counting them.
    pub(crate) fn charge(&mut self, steps: u64) -> Result<(), BudgetError> {
        (0..steps).try_for_each(|_| self.step())
    }

    pub(crate) fn used(&self) -> u64 {
        self.progress.steps
    }

    pub(crate) fn left(&self) -> u64 {
        self.budget.saturating_sub(self.progress.steps)
    }

    /// Whether so little is left that no search is worth beginning.
    pub(crate) fn spent(&self) -> bool {
        self.left() < 64
    }

    /// Lets the next task spend at most one `share`-th of what is left.
    pub(crate) fn allow(&mut self, share: u64) {
        self.stop = self.progress.steps + self.left() / share.max(1);
    }
}
