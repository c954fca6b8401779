//! A work budget counted in search steps, so that a plan never depends on how fast the machine is.

/// A search ended before it was through, since its budget is used up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct BudgetError;

#[derive(Debug)]
pub(super) struct Meter {
    used: u64,
    /// Steps after which the present task has to stop.
    stop: u64,
    budget: u64,
}

impl Meter {
    pub(crate) fn new(budget: u64) -> Self {
        Self { used: 0, stop: budget, budget }
    }

    pub(crate) fn step(&mut self) -> Result<(), BudgetError> {
        if self.used >= self.stop {
            return Err(BudgetError);
        }
        self.used += 1;
        Ok(())
    }

    pub(crate) fn used(&self) -> u64 {
        self.used
    }

    pub(crate) fn left(&self) -> u64 {
        self.budget.saturating_sub(self.used)
    }

    /// Lets the next task spend at most one `share`-th of what is left.
    pub(crate) fn allow(&mut self, share: u64) {
        self.stop = self.used + self.left() / share.max(1);
    }
}
