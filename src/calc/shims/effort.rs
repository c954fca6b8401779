//! What a search for shims may cost, counted in steps, so that a plan never depends on how fast the machine is.

use std::rc::Rc;

/// How far a search for shims is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct ShimProgress {
    /// Search steps spent.
    pub steps: u64,
    /// Supports that the best plan so far shims, where there is one.
    pub shimmed: Option<usize>,
    /// Proven: no plan shims fewer.
    pub at_least: usize,
}

/// Looks at a search from time to time; `false` ends it, and the best so far is told with what is proven.
pub(crate) type ShimWatch = Rc<dyn Fn(&ShimProgress) -> bool>;

/// Steps between two looks.
const LOOK_EVERY: u64 = 1 << 12;

#[derive(Default)]
pub(super) struct ShimEffort {
    most: u64,
    next_look: u64,
    watch: Option<ShimWatch>,
    pub(super) progress: ShimProgress,
}

impl ShimEffort {
    pub(super) fn new(most: u64, watch: Option<ShimWatch>) -> Self {
        Self { most, next_look: LOOK_EVERY, watch, progress: ShimProgress::default() }
    }

    pub(super) fn steps(&self) -> u64 {
        self.progress.steps
    }

    /// Spends steps, and lets who looks on look.
    pub(super) fn spend(&mut self, steps: u64) {
        self.progress.steps = self.progress.steps.saturating_add(steps);
        if self.progress.steps >= self.next_look {
            self.next_look = self.progress.steps.saturating_add(LOOK_EVERY);
            if self.watch.as_ref().is_some_and(|go_on| !go_on(&self.progress)) {
                self.most = 0;
            }
        }
    }

    /// Whether all steps are spent, or somebody ended the search.
    pub(super) fn over(&self) -> bool {
        self.progress.steps > self.most
    }

    /// The count of steps at which one of many tasks has to stop, so that it does not use up what the others need.
    pub(super) fn share(&self) -> u64 {
        self.progress.steps + self.most.saturating_sub(self.progress.steps) / 4
    }
}
