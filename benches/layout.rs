//! The layout planner beside a general solver on the same machines, in one run: the last lines give the ratio.

use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::Criterion;
use wayledger::planning::layout::{LayoutOutcome, plan};

#[path = "../src/calc/tests/layout/machines.rs"]
mod machines;
#[path = "../src/calc/tests/layout/solver.rs"]
mod solver;

/// Run in millimetres and rails.
const MACHINES: [(i64, usize); 5] = [(10_020, 2), (20_040, 2), (20_040, 4), (40_020, 2), (40_020, 4)];

fn main() {
    let mut criterion =
        Criterion::default().sample_size(10).warm_up_time(Duration::from_millis(200)).configure_from_args();
    for (run, rails) in MACHINES {
        let task = machines::gantry(run, rails);
        criterion.bench_function(&format!("plan {run} mm, {rails} rails"), |bencher| {
            bencher.iter(|| plan(black_box(&task)));
        });
    }
    criterion.final_summary();
    compare();
}

/// The solver answers only part of what the planner proves: the fewest joints, then that the slack found is possible.
#[expect(clippy::print_stdout, reason = "a benchmark reports on the terminal")]
fn compare() {
    for (run, rails) in [(5040, 2), (7200, 2), (10_020, 2)] {
        let task = machines::gantry(run, rails);
        let start = Instant::now();
        let Ok(LayoutOutcome::Planned(found)) = plan(&task) else { continue };
        let own = start.elapsed();
        let start = Instant::now();
        let fewest = solver::fewest_joints(&task, 0, None);
        let possible = solver::fewest_joints(&task, found.slack.unwrap_or(0), Some(found.joints));
        let theirs = start.elapsed();
        assert_eq!((fewest, possible), (Some(found.joints), Some(found.joints)));
        let ratio = theirs.as_secs_f64() / own.as_secs_f64();
        println!("{run} mm, {rails} rails: planner {own:?}, solver {theirs:?}, ratio {ratio:.0}");
    }
}
