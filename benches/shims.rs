//! The shim planner and a general solver of mixed-integer programs on the same instances, in one run, as a ratio; and
//! the planner alone on instances that the general solver does not finish.
//!
//! `cargo bench --bench shims`

use std::io::Write as _;
use std::time::{Duration, Instant};

use good_lp::{Expression, ProblemVariables, Solution as _, SolverModel as _, constraint, microlp, variable};
use wayledger::planning::shims::{LeafKind, LeafStock, Ratio, ReadBetween, ShimProblem, SupportNeed, plan};

/// xorshift: the instances are the same on every machine.
fn dice(seed: &mut u64, sides: u64) -> i64 {
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    i64::try_from(*seed % sides).unwrap_or(0)
}

/// `supports` needs up to `deepest` µm, leaves of these thicknesses (µm) with a count below `most` each.
fn instance(seed: &mut u64, supports: usize, deepest: u64, thicknesses: &[i64], most: u64) -> ShimProblem {
    let supports = (0..supports).map(|_| SupportNeed::whole(1_000 * dice(seed, deepest))).collect();
    let kind = |&um: &i64| LeafKind { thickness_nm: 1_000 * um, count: u32::try_from(1 + dice(seed, most)).ok() };
    let stock = LeafStock::new(thicknesses.iter().map(kind).collect()).unwrap_or_else(|error| panic!("{error}"));
    ShimProblem { raise_most_nm: Some(40_000), ..ShimProblem::new(supports, 30_000, stock) }
}

/// The same with a station halfway between each two supports, at most 10 µm off the line between them.
fn with_stations_between(seed: &mut u64, mut problem: ShimProblem) -> Option<ShimProblem> {
    let half = Ratio::new(1, 2)?;
    for at in 1..problem.supports.len() {
        let line = problem.supports[at - 1].needed.plus(problem.supports[at].needed)?.times(half)?;
        let needed = line.plus(Ratio::whole((1_000 * (dice(seed, 21) - 10)).into()))?.max(Ratio::whole(0));
        problem.between.push(ReadBetween { needed, moved_by: vec![(at - 1, half), (at, half)] });
    }
    Some(problem)
}

/// The same question for the general solver, in µm: shimmed supports, leaves and total, one after the other.
fn general_solver(problem: &ShimProblem) -> Option<[i64; 3]> {
    let um = |nm: i64| nm as f64 / 1_000.0;
    let needed = |support: &SupportNeed| support.needed.to_f64() / 1_000.0;
    let kinds = problem.stock.kinds();
    let mut held: Vec<f64> = vec![];
    while held.len() < 3 {
        let mut vars = ProblemVariables::new();
        let raise = vars.add(variable().integer().min(0).max(um(problem.raise_most_nm?)));
        let mut aims = vec![Expression::from(0.0); 3];
        let mut used = vec![Expression::from(0.0); kinds.len()];
        let mut rules = vec![];
        for support in &problem.supports {
            let is_shimmed = vars.add(variable().binary());
            aims[0] += is_shimmed;
            let mut total = Expression::from(0.0);
            for (kind, used) in kinds.iter().zip(&mut used) {
                let fit = ((needed(support) + um(problem.raise_most_nm?)) / um(kind.thickness_nm)).floor();
                let n = vars.add(variable().integer().min(0).max(fit));
                total += um(kind.thickness_nm) * n;
                aims[1] += n;
                *used += n;
                rules.push(constraint!(n <= fit * is_shimmed));
            }
            aims[2] += total.clone();
            rules.push(constraint!(needed(support) - total.clone() >= -1.0 * raise));
            rules.push(constraint!(needed(support) - total <= um(problem.range_nm) - raise));
        }
        for (used, kind) in used.into_iter().zip(kinds) {
            rules.push(constraint!(used <= f64::from(kind.count?)));
        }
        for (held, aim) in held.iter().zip(&aims) {
            rules.push(constraint!(aim.clone() <= held + 1e-3));
        }
        let aim = aims[held.len()].clone();
        let model = rules.into_iter().fold(vars.minimise(aim.clone()).using(microlp), |model, rule| model.with(rule));
        held.push(model.solve().ok()?.eval(&aim).round());
    }
    Some([held[0] as i64, held[1] as i64, held[2] as i64 * 1_000])
}

fn timed<T>(work: impl FnOnce() -> T) -> (Duration, T) {
    let start = Instant::now();
    let result = work();
    (start.elapsed(), result)
}

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    let mut seed = 0x00c0_ffee;
    let (mut ours, mut theirs, mut planned) = (Duration::ZERO, Duration::ZERO, 0);
    const CASES: usize = 12;
    for case in 0..CASES {
        let problem = instance(&mut seed, 6 + case % 4, 120, &[20, 50, 100], 12);
        let (by_planner, plan) = timed(|| plan(&problem));
        let (by_solver, general) = timed(|| general_solver(&problem));
        let plan = plan.ok().map(|plan| [plan.shimmed as i64, plan.leaves as i64, plan.total_nm]);
        assert_eq!(plan, general, "the two disagree on {problem:?}");
        planned += usize::from(plan.is_some());
        ours += by_planner;
        theirs += by_solver;
    }
    let ratio = theirs.as_secs_f64() / ours.as_secs_f64();
    writeln!(out, "{CASES} instances of 6 to 9 supports, {planned} with a plan, the same optimum from both")?;
    writeln!(out, "planner {ours:?}, general solver {theirs:?}, ratio {ratio:.0}")?;
    for (supports, deepest, thicknesses, most, between) in [
        (40, 120, &[20, 50, 100][..], 60, false),
        (60, 150, &[10, 20, 30, 50, 100, 200][..], 40, false),
        (60, 400, &[10, 20, 30, 50, 100, 200][..], 60, false),
        (60, 60, &[10, 20, 30, 50, 100, 200][..], 60, true),
    ] {
        let mut took: Vec<Duration> = vec![];
        let (mut with_plan, mut unproven, mut undecided) = (0, 0, 0);
        for _ in 0..40 {
            let problem = instance(&mut seed, supports, deepest, thicknesses, most);
            let tied = if between { with_stations_between(&mut seed, problem.clone()) } else { None };
            let problem = tied.unwrap_or(problem);
            let (time, plan) = timed(|| plan(&problem));
            took.push(time);
            match plan {
                Ok(plan) => {
                    with_plan += 1;
                    unproven += usize::from(!plan.proven || !plan.range_proven);
                }
                Err(wayledger::planning::shims::ShimPlanError::Undecided) => undecided += 1,
                Err(_) => {}
            }
        }
        took.sort();
        let kinds = thicknesses.len();
        let stations = if between { ", a station between each two" } else { "" };
        writeln!(
            out,
            "{supports} supports, needs up to {deepest} µm, {kinds} counted kinds{stations}: middle {:?}, longest {:?}; {with_plan} of 40 with a plan, {unproven} of them not proven, {undecided} undecided",
            took[20], took[39]
        )?;
    }
    Ok(())
}
