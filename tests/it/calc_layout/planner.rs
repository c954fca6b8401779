//! The planner's answers against brute force, and judged by the independent checker.

use wayledger::calc::layout::plan;
use wayledger::calc::layout::plan::*;
use wayledger::calc::layout::requirement::Requirement;

use super::brute::{self, Active, Best};
use super::check::check;
use super::random::{crowded_task, small_task};

/// The optimum of hundreds of random tasks, and whether there is one at all, equal those of trying everything.
#[test]
fn optima_equal_those_of_trying_everything() {
    let (mut planned, mut slacks, mut wastes) = (0, 0, 0);
    for seed in 1..=500 {
        let task = small_task(seed);
        let active: Active = Requirement::of(&task).into_iter().collect();
        let tried = brute::best(&task, &active);
        match (plan(&task).unwrap_or_else(|fault| panic!("seed {seed}: {fault}")), tried) {
            (Outcome::Planned(plan), Some(best)) => {
                check(&task, &plan);
                let told = Best { joints: plan.joints as usize, slack: plan.slack, waste: plan.waste };
                assert_eq!(told, best, "seed {seed}: {task:?}");
                assert!(plan.proof.complete(), "seed {seed}");
                planned += 1;
                slacks += usize::from(plan.slack.is_some_and(|slack| slack > 0));
                wastes += usize::from(plan.waste > 0);
            }
            (Outcome::Infeasible(_), None) => {}
            (told, tried) => panic!("seed {seed}: told {told:?}, tried {tried:?}: {task:?}"),
        }
    }
    assert!(planned > 150 && slacks > 50 && wastes > 20, "{planned} planned, {slacks} with slack, {wastes} with waste");
}

/// What the planner blames cannot be met together, and without any one of it it can: both by trying everything.
#[test]
fn contradictions_are_irreducible() {
    let (mut contradictions, mut joint) = (0, 0);
    for seed in 1000..1600 {
        let task = crowded_task(seed);
        let Outcome::Infeasible(blame) = plan(&task).expect("a valid task") else { continue };
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
