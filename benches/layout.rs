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
    scarce();
    compare();
}

/// A kind of random machine from scarce stock: its name, run in millimetres and rails, the least and the most bars, whether
/// its ends are ground, and how many of it.
type ScarceKind = (&'static str, (i64, usize), (i64, i64), bool, u64);

const SCARCE: [ScarceKind; 3] = [
    ("two rails of 14.4 m, sawn ends", (14_400, 2), (10, 16), false, 300),
    ("two rails of 15 m, ground ends", (15_000, 2), (10, 16), true, 300),
    ("four rails of 40 m, sawn ends", (40_020, 4), (50, 80), false, 30),
];

/// Random machines from scarce stock: what is proven, and how long it takes.
#[expect(clippy::print_stdout, reason = "a benchmark reports on the terminal")]
fn scarce() {
    for (name, rails, bars, ground, machines) in SCARCE {
        let (mut laid, mut joints, mut slack, mut all) = (0, 0, 0, 0);
        let mut times = Vec::new();
        for seed in 1..=machines {
            let task = machines::scarce_gantry(seed, rails, bars, ground);
            let start = Instant::now();
            let found = plan(&task);
            times.push(start.elapsed());
            let Ok(LayoutOutcome::Planned(found)) = found else { continue };
            laid += 1;
            joints += usize::from(found.proof.joints.is_none());
            slack += usize::from(found.proof.joints.is_none() && found.proof.slack.is_none());
            all += usize::from(found.proof.complete());
        }
        times.sort_unstable();
        let (median, longest) = (times[times.len() / 2], times[times.len() - 1]);
        println!(
            "{name}, counted bars: {laid} of {machines} laid, proven joints {joints}, slack too {slack}, all {all}; \
             median {median:?}, longest {longest:?}"
        );
    }
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
