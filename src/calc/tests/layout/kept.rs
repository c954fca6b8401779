//! Which of several equally good layouts is told, and how much search it takes, may change from one version to the next
//! only on purpose: people compare plans, and wait for them. Nothing from outside; the optima are checked in `planner`.

use crate::calc::layout::plan;
use crate::calc::layout::plan::LayoutOutcome;
use crate::calc::layout::task::LayoutTask;

use super::machines::gantry;
use super::random::{crowded_task, long_carriage_task, small_task};
use crate::calc::tests::fingerprint;
use crate::testing::same_page;

/// How many tasks have which outcome, the search steps of the plans, and a fingerprint of all that is told.
fn told(tasks: impl Iterator<Item = LayoutTask>) -> String {
    let (mut planned, mut infeasible, mut unsettled, mut steps) = (0, 0, 0, 0);
    let mut all = String::new();
    for task in tasks {
        let outcome = plan(&task).expect("a valid task");
        match &outcome {
            LayoutOutcome::Planned(plan) => {
                planned += 1;
                steps += plan.proof.steps;
            }
            LayoutOutcome::Infeasible(_) => infeasible += 1,
            LayoutOutcome::Unsettled { .. } => unsettled += 1,
        }
        all += &format!("{outcome:?}");
    }
    format!("{planned} planned in {steps} steps, {infeasible} infeasible, {unsettled} unsettled, {}", fingerprint(&all))
}

fn within(budget: u64) -> impl Fn(LayoutTask) -> LayoutTask {
    move |task| LayoutTask { budget, ..task }
}

#[test]
fn random_tasks_are_planned_as_before() {
    let lines = [
        told((1..=500).map(small_task)),
        told((1..=400).map(long_carriage_task)),
        told((1000..1300).map(crowded_task)),
        told((1..=300).map(small_task).map(within(60))),
        told((1..=300).map(small_task).map(within(600))),
        told((1000..1200).map(crowded_task).map(within(600))),
    ];
    same_page("src/calc/tests/layout/kept_random.txt", &(lines.join("\n") + "\n"));
}

#[test]
fn machines_are_planned_as_before() {
    let machines = [(3600, 2), (4020, 2), (5040, 1), (3120, 3), (10_020, 2), (10_000, 2), (20_040, 2)];
    let lines = [
        told(machines.into_iter().map(|(run, rails)| gantry(run, rails))),
        told([1000, 9000].map(|budget| within(budget)(gantry(20_040, 4))).into_iter()),
    ];
    same_page("src/calc/tests/layout/kept_machines.txt", &(lines.join("\n") + "\n"));
}
