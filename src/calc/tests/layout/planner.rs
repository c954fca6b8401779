//! The planner's answers against brute force, and judged by the independent checker.

use crate::calc::layout::plan;
use crate::calc::layout::plan::*;
use crate::calc::layout::requirement::Requirement;
use crate::calc::layout::task::*;

use super::brute::{self, Active, Best};
use super::check::check;

use super::machines::{MM, gantry, scarce_gantry};
use super::random::{Dice, crowded_task, long_carriage_task, sawn_bars_task, scarce_task, small_task};
use super::solver;

/// The optimum of hundreds of random tasks, and whether there is one at all, equal those of trying everything.
#[test]
fn optima_equal_those_of_trying_everything() {
    let (mut planned, mut slacks, mut wastes) = (0, 0, 0);
    for seed in 1..=500 {
        let task = small_task(seed);
        let active: Active = Requirement::all_for(&task).into_iter().collect();
        let tried = brute::best(&task, &active);
        match (plan(&task).unwrap_or_else(|fault| panic!("seed {seed}: {fault}")), tried) {
            (LayoutOutcome::Planned(plan), Some(best)) => {
                check(&task, &plan);
                let told = Best { joints: plan.joints as usize, slack: plan.slack, waste: plan.waste };
                assert_eq!(told, best, "seed {seed}: {task:?}");
                assert!(plan.proof.complete(), "seed {seed}");
                planned += 1;
                slacks += usize::from(plan.slack.is_some_and(|slack| slack > 0));
                wastes += usize::from(plan.waste > 0);
            }
            (LayoutOutcome::Infeasible(_), None) => {}
            (told, tried) => panic!("seed {seed}: told {told:?}, tried {tried:?}: {task:?}"),
        }
    }
    assert!(planned > 150 && slacks > 50 && wastes > 20, "{planned} planned, {slacks} with slack, {wastes} with waste");
}

/// The same with owned bars that have sawn ends: the best of what can be, never with such an end in a joint.
#[test]
fn optima_with_sawn_bars_equal_those_of_trying_everything() {
    let (mut planned, mut impossible, mut otherwise) = (0, 0, 0);
    for seed in 1..=150 {
        let task = sawn_bars_task(seed);
        let active: Active = Requirement::all_for(&task).into_iter().collect();
        let tried = brute::best(&task, &active);
        match (plan(&task).unwrap_or_else(|fault| panic!("seed {seed}: {fault}")), tried) {
            (LayoutOutcome::Planned(plan), Some(best)) => {
                check(&task, &plan);
                let told = Best { joints: plan.joints as usize, slack: plan.slack, waste: plan.waste };
                assert_eq!(told, best, "seed {seed}: {task:?}");
                assert!(plan.proof.complete(), "seed {seed}");
                planned += 1;
            }
            (LayoutOutcome::Infeasible(_), None) => impossible += 1,
            (told, tried) => panic!("seed {seed}: told {told:?}, tried {tried:?}: {task:?}"),
        }
        let mut ground = task.clone();
        ground.owned.iter_mut().for_each(|owned| (owned.near_sawn, owned.far_sawn) = (false, false));
        let told = |outcome| match outcome {
            LayoutOutcome::Planned(plan) => {
                Some(Best { joints: plan.joints as usize, slack: plan.slack, waste: plan.waste })
            }
            _ => None,
        };
        otherwise += usize::from(told(plan(&ground).expect("a valid task")) != tried);
    }
    // The sawn ends make a difference in many of them.
    let counts = format!("{planned} planned, {impossible} impossible, {otherwise} otherwise");
    assert!(planned > 15 && impossible > 15 && otherwise > 8, "{counts}");
}

/// The same from scarce stock of every kind, two thousand times: nothing is better than what is called proven, and what is
/// called impossible is.
#[test]
fn optima_from_scarce_stock_equal_those_of_trying_everything() {
    let (mut planned, mut impossible, mut ground, mut owned, mut no_kerf) = (0, 0, 0, 0, 0);
    for seed in 1..=2000 {
        let task = scarce_task(seed);
        let active: Active = Requirement::all_for(&task).into_iter().collect();
        let tried = brute::best(&task, &active);
        match (plan(&task).unwrap_or_else(|fault| panic!("seed {seed}: {fault}")), tried) {
            (LayoutOutcome::Planned(plan), Some(best)) => {
                check(&task, &plan);
                let told = Best { joints: plan.joints as usize, slack: plan.slack, waste: plan.waste };
                assert_eq!(told, best, "seed {seed}: {task:?}");
                assert!(plan.proof.complete(), "seed {seed}");
                planned += 1;
                let cut = task.profiles[0].cutting.filter(|_| !plan.cuts.is_empty());
                ground += usize::from(cut.is_some_and(|cut| cut.in_joints) && plan.joints > 0);
                no_kerf += usize::from(cut.is_some_and(|cut| cut.kerf == 0));
                owned += usize::from(task.owned.iter().any(|owned| owned.near_sawn || owned.far_sawn));
            }
            (LayoutOutcome::Infeasible(_), None) => impossible += 1,
            (told, tried) => panic!("seed {seed}: told {told:?}, tried {tried:?}: {task:?}"),
        }
    }
    let counts = format!("{planned} planned, {ground} ground, {no_kerf} without kerf, {owned} with sawn bars");
    assert!(planned > 500 && impossible > 300 && ground > 60 && no_kerf > 100 && owned > 30, "{counts}, {impossible}");
}

/// The same where joints far behind still matter, so that a search that forgets too much shows.
#[test]
fn optima_under_long_carriages_equal_those_of_trying_everything() {
    let (mut planned, mut impossible) = (0, 0);
    for seed in 1..=400 {
        let task = long_carriage_task(seed);
        let active: Active = Requirement::all_for(&task).into_iter().collect();
        let tried = brute::best(&task, &active);
        match (plan(&task).expect("a valid task"), tried) {
            (LayoutOutcome::Planned(plan), Some(best)) => {
                check(&task, &plan);
                let told = Best { joints: plan.joints as usize, slack: plan.slack, waste: plan.waste };
                assert_eq!(told, best, "seed {seed}: {task:?}");
                planned += 1;
            }
            (LayoutOutcome::Infeasible(_), None) => impossible += 1,
            (told, tried) => panic!("seed {seed}: told {told:?}, tried {tried:?}: {task:?}"),
        }
    }
    assert!(planned > 80 && impossible > 20, "{planned} planned, {impossible} impossible");
}

/// What the planner blames cannot be met together, and without any one of it it can: both by trying everything.
#[test]
fn contradictions_are_irreducible() {
    let (mut contradictions, mut joint) = (0, 0);
    for seed in 1000..1600 {
        let task = crowded_task(seed);
        let LayoutOutcome::Infeasible(blame) = plan(&task).expect("a valid task") else { continue };
        let set: Active = blame.requirements.iter().copied().collect();
        assert!(blame.irreducible && !set.is_empty(), "seed {seed}");
        contradictions += 1;
        if let [Requirement::Stock { .. }] = blame.requirements[..] {
            assert!(!brute::possible(&task, &Active::new()), "seed {seed}");
            continue;
        }
        assert!(!brute::possible(&task, &set), "seed {seed}: {set:?} can be met");
        for one in &set {
            let mut rest = set.clone();
            rest.remove(one);
            assert!(brute::possible(&task, &rest), "seed {seed}: {one:?} is not needed in {set:?}");
        }
        joint += usize::from(set.len() > 1);
    }
    assert!(contradictions > 100 && joint > 15, "{contradictions} contradictions, {joint} of several requirements");
}

fn planned(task: &LayoutTask) -> PlannedLayout {
    match plan(task).expect("a valid task") {
        LayoutOutcome::Planned(plan) => *plan,
        other => panic!("no plan: {other:?}"),
    }
}

/// Machines of real size against a general solver: the fewest joints, and that no larger slack is possible with them.
/// Outside source: `good_lp` with `microlp`.
#[test]
fn optima_equal_those_of_a_general_solver() {
    for (run, rails) in [(3600, 2), (4020, 2), (5040, 1), (3120, 3)] {
        let task = gantry(run, rails);
        let plan = planned(&task);
        check(&task, &plan);
        assert!(plan.proof.complete());
        let joints = plan.joints;
        assert_eq!(solver::fewest_joints(&task, 0, None), Some(joints), "{run} mm, {rails} rails");
        let slack = plan.slack.expect("joints keep clear of seams");
        assert_eq!(solver::fewest_joints(&task, slack, Some(joints)), Some(joints), "{run} mm, {rails} rails");
        assert_eq!(solver::fewest_joints(&task, slack + 1, Some(joints)), None, "{run} mm, {rails} rails");
    }
}

/// The largest machine asked for is proven in full, and the checker finds nothing wrong with it.
#[test]
fn forty_metres_with_four_rails_are_proven() {
    let task = gantry(40_020, 4);
    let plan = planned(&task);
    check(&task, &plan);
    assert!(plan.proof.complete());
    // Fourteen bars of at most 3 m a rail is the fewest there can be.
    assert_eq!(plan.joints, 4 * 13);
    assert_eq!(plan, planned(&task), "two runs give the same plan");
}

/// Joints at most 3 m apart on either rail leave no room for a joint of the other 1.6 m from both neighbours.
#[test]
fn a_stagger_beyond_half_a_bar_is_blamed_alone() {
    let mut task = gantry(10_020, 2);
    task.stagger = Some(1600 * MM);
    let blame =
        Contradiction { requirements: vec![Requirement::Stagger { rails: (0, 1) }], irreducible: true, nearest: None };
    assert_eq!(plan(&task), Ok(LayoutOutcome::Infeasible(blame)));
}

#[test]
fn a_run_off_the_cut_grid_names_the_nearest_that_can_be_made() {
    let task = gantry(10_000, 2);
    let nearest = Some((Some(9960 * MM), Some(10_020 * MM)));
    let blame = Contradiction { requirements: vec![Requirement::Stock { rail: 0 }], irreducible: true, nearest };
    assert_eq!(plan(&task), Ok(LayoutOutcome::Infeasible(blame)));
}

/// Bars in random order, each rail with a first and a last one cut: the joints, where they make up all rails.
fn random_arrangement(task: &LayoutTask, dice: &mut Dice) -> Option<Vec<Vec<i64>>> {
    let profile = &task.profiles[0];
    let grid = profile.cutting?.grid;
    let all = profile.stock.iter().flat_map(|bar| (0..bar.count.unwrap_or(0)).map(|_| bar.length));
    let mut bars: Vec<i64> = all.collect();
    let mut rails = Vec::new();
    for _ in &task.rails {
        let (mut joints, mut at) = (Vec::new(), task.from);
        while at < task.to {
            if bars.is_empty() {
                return None;
            }
            let bar = bars.swap_remove(dice.roll(0, bars.len() as i64 - 1) as usize);
            let first = at == task.from && dice.chance(60);
            let length = if first { dice.roll(profile.least_segment / grid, bar / grid) * grid } else { bar };
            let length = length.min(task.to - at);
            if length < profile.least_segment {
                return None;
            }
            at += length;
            joints.push(at);
        }
        joints.pop();
        rails.push(joints);
    }
    Some(rails)
}

/// From the bars of real shops, thirty times ten to sixteen of them, no random arrangement has fewer joints or more slack
/// than what is told.
#[test]
#[ignore = "ten thousand arrangements each"]
fn no_random_arrangement_is_better() {
    let mut as_many = 0;
    for seed in 1..=30 {
        let mut task = scarce_gantry(seed, (14_400, 2), (10, 16), false);
        task.rails.iter_mut().for_each(|rail| rail.supports = SupportsSpec::default());
        let active: Active = Requirement::all_for(&task).into_iter().collect();
        let plan = planned(&task);
        check(&task, &plan);
        let mut dice = Dice::new(seed);
        for _ in 0..10_000 {
            let Some(joints) = random_arrangement(&task, &mut dice) else { continue };
            let count: usize = joints.iter().map(Vec::len).sum();
            if count > plan.joints as usize {
                continue;
            }
            let slack = brute::least_slack(&task, &active, &joints);
            if slack.is_none_or(|slack| slack >= 0) {
                as_many += 1;
                assert!(count == plan.joints as usize && slack <= plan.slack, "seed {seed}: {joints:?}");
            }
        }
    }
    assert!(as_many > 20, "{as_many} arrangements kept every rule with as many joints");
}

/// A real shop's stock under a wide clearance of the seams: two rails of 14.4 m on beams of three unequal pieces, ten bars of
/// three or four lengths. Each is planned or ruled out; where it is ruled out by the seams of a rail, no row of bars and
/// cuts, however many there were, keeps clear of them.
#[test]
fn joints_a_metre_and_a_half_from_seams_are_planned_or_ruled_out() {
    let (mut laid, mut none) = (0, 0);
    for seed in [1, 4, 6, 8] {
        let mut task = scarce_gantry(seed, (14_400, 2), (10, 10), false);
        task.rails.iter_mut().for_each(|rail| rail.seam_clearance = 1500 * MM);
        match plan(&task).expect("a valid task") {
            LayoutOutcome::Planned(plan) => {
                check(&task, &plan);
                assert!(plan.proof.joints.is_none() && plan.proof.slack.is_none(), "seed {seed}: {:?}", plan.proof);
                laid += 1;
            }
            LayoutOutcome::Infeasible(why) => {
                let [Requirement::SawnEnd { rail }, Requirement::Seam { rail: same }] = why.requirements[..] else {
                    panic!("seed {seed}: {:?}", why.requirements);
                };
                assert_eq!(rail, same);
                assert!(!can_keep_clear(&task, rail), "seed {seed}, rail {rail}");
                none += 1;
            }
            LayoutOutcome::Unsettled { .. } => panic!("seed {seed} is not settled"),
        }
    }
    assert!(laid == 3 && none == 1, "{laid} laid, {none} ruled out");
}

/// Whether whole bars, with a cut one at either end of the rail, can be laid so that each joint keeps clear of the seams.
fn can_keep_clear(task: &LayoutTask, rail: usize) -> bool {
    let (spec, profile) = (&task.rails[rail], task.profile_of(rail));
    let longest = profile.stock.iter().map(|bar| bar.length).max().expect("bars");
    let clear = |at: i64| spec.seams.iter().all(|seam| (at - seam).abs() >= spec.seam_clearance);
    let mut reached: Vec<i64> = (1..=longest / (60 * MM)).map(|n| task.from + n * 60 * MM).collect();
    reached.extend(profile.stock.iter().map(|bar| task.from + bar.length));
    while let Some(at) = reached.pop() {
        if at < task.to && clear(at) {
            if task.to - at <= longest {
                return true;
            }
            reached.extend(profile.stock.iter().map(|bar| at + bar.length));
        }
    }
    false
}

/// With next to no budget the answer still says what is proven, and never more than that.
#[test]
fn a_small_budget_gives_sound_bounds() {
    let full = planned(&gantry(20_040, 4));
    let mut plans = 0;
    for budget in [0, 10, 200, 3000, 5000, 8000, 12_000, 16_000, 20_000, 100_000] {
        let mut task = gantry(20_040, 4);
        task.budget = budget;
        match plan(&task).expect("a valid task") {
            LayoutOutcome::Unsettled { joints_at_least } => assert!(joints_at_least <= full.joints),
            LayoutOutcome::Infeasible(_) => panic!("there is a layout"),
            LayoutOutcome::Planned(plan) => {
                check(&task, &plan);
                plans += 1;
                let fewest = plan.proof.joints.unwrap_or(plan.joints);
                assert!(fewest <= full.joints && plan.joints >= full.joints);
                if plan.joints == full.joints {
                    assert!(plan.proof.slack.or(plan.slack) >= full.slack && plan.slack <= full.slack);
                }
                assert_eq!(budget == 100_000, plan.proof.complete(), "budget {budget}: {:?}", plan.proof);
            }
        }
    }
    assert!(plans >= 3, "{plans} plans");
}

#[test]
fn bad_tasks_are_refused() {
    let fault = |change: &dyn Fn(&mut LayoutTask)| {
        let mut task = gantry(10_020, 2);
        change(&mut task);
        plan(&task).expect_err("a fault")
    };
    assert_eq!(fault(&|task| task.to = task.from), TaskError::EmptyRun);
    assert_eq!(fault(&|task| task.rails.clear()), TaskError::NoRail);
    assert_eq!(fault(&|task| task.to = i64::MAX), TaskError::OutOfRange("the run"));
    assert_eq!(fault(&|task| task.profiles[0].pitch = 0), TaskError::NotPositive("the hole pitch"));
    assert_eq!(fault(&|task| task.rails[1].profile = 7), TaskError::Dangling("a rail"));
    assert_eq!(fault(&|task| task.stagger = Some(-1)), TaskError::Negative("the stagger"));
    let off = fault(&|task| task.profiles[0].stock[0].near += 1);
    assert!(matches!(off, TaskError::BarOffPitch { .. }), "{off}");
}
