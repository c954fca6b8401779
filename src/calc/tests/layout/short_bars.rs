//! Counted bars that do not suffice: told soon, and never more joints than there is room for.

use crate::calc::layout::plan;
use crate::calc::layout::plan::LayoutOutcome;
use crate::calc::layout::task::{Bar, CuttingSpec, LayoutTask};

use super::machines::{MM, gantry};

fn from_bars((run, rails): (i64, usize), bars: &[(i64, u32)], budget: u64) -> LayoutTask {
    let mut task = gantry(run, rails);
    let bar =
        |&(length, count): &(i64, u32)| Bar { length: length * MM, near: 30 * MM, far: 30 * MM, count: Some(count) };
    task.profiles[0].stock = bars.iter().map(bar).collect();
    task.profiles[0].cutting = Some(CuttingSpec { grid: 60 * MM, kerf: 3 * MM, hole_keep: 5 * MM, in_joints: true });
    task.budget = budget;
    task
}

/// By their lengths alone: 26.4 m of bars are no 43.2 m of rails.
#[test]
fn bars_shorter_than_the_rails_together_make_none() {
    for (rails, bars) in [((14_400, 3), &[(2400, 6), (3000, 4)][..]), ((4500, 2), &[(3000, 2), (2400, 1)])] {
        let found = plan(&from_bars(rails, bars, 400_000)).expect("a task");
        assert!(matches!(found, LayoutOutcome::Infeasible(_)), "{rails:?} {bars:?}: {found:?}");
    }
}

/// Three bars of 3 m are as long as two rails of 4.5 m, but one of them has to be cut, and the kerf is lost. That takes a
/// search, which may end first; no bound is above the joints that 60 mm from one to the next leave room for.
#[test]
fn a_bound_of_joints_leaves_room_for_them() {
    for budget in [5_000, 20_000, 100_000] {
        let found = plan(&from_bars((4500, 2), &[(3000, 3)], budget)).expect("a task");
        match found {
            LayoutOutcome::Infeasible(_) => {}
            LayoutOutcome::Unsettled { joints_at_least } => assert!(joints_at_least <= 2 * 74, "{joints_at_least}"),
            LayoutOutcome::Planned(plan) => panic!("{plan:?}"),
        }
    }
}
