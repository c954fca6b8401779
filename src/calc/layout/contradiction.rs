//! Why no layout exists: a set of requirements that cannot be met together, and none of them can be left out.

use std::collections::BTreeSet;

use super::graph::{ActiveRequirements, START};
use super::meter::{BudgetError, Meter};
use super::model::Model;
use super::plan::{Contradiction, Nearest};
use super::requirement::Requirement;
use super::task::LayoutTask;
use super::view::NO_WAY;

/// Deletion filter: leaves out one requirement after the other and keeps it out when the rest still contradict. What
/// remains is tried once more, each by itself, until no more can go.
pub(super) fn contradiction(task: &LayoutTask, meter: &mut Meter) -> Contradiction {
    let all: Vec<Requirement> = Requirement::all_for(task);
    let mut kept: BTreeSet<Requirement> = all.iter().copied().collect();
    let mut certain = true;
    match possible(task, &ActiveRequirements::new(), meter) {
        Ok(false) => {
            let (rail, nearest) = stuck_rail(task, meter);
            let requirements = vec![Requirement::Stock { rail }];
            return Contradiction { requirements, irreducible: true, nearest };
        }
        Ok(true) => {}
        Err(BudgetError) => certain = false,
    }
    // All about one rail first, then whole families: most of them have nothing to do with it.
    let rails = (0..task.rails.len()).rev().map(|rail| all.iter().copied().filter(|one| one.concerns(rail)).collect());
    for group in rails.chain(families(&all)) {
        let rest: ActiveRequirements = kept.difference(&group).copied().collect();
        if rest.len() < kept.len() && possible(task, &rest, meter) == Ok(false) {
            kept = rest;
        }
    }
    loop {
        let before = kept.len();
        let mut sure = true;
        for requirement in &all {
            let mut rest = kept.clone();
            if !rest.remove(requirement) {
                continue;
            }
            match possible(task, &rest, meter) {
                Ok(false) => kept = rest,
                Ok(true) => {}
                Err(BudgetError) => sure = false,
            }
        }
        if kept.len() == before || !sure {
            certain &= sure;
            break;
        }
    }
    Contradiction { requirements: kept.into_iter().collect(), irreducible: certain, nearest: None }
}

/// Requirements by kind, in the order of first appearance.
fn families(all: &[Requirement]) -> Vec<BTreeSet<Requirement>> {
    let mut families: Vec<BTreeSet<Requirement>> = Vec::new();
    for requirement in all {
        let kind = std::mem::discriminant(requirement);
        let same = |family: &&mut BTreeSet<Requirement>| {
            family.first().is_some_and(|first| std::mem::discriminant(first) == kind)
        };
        match families.iter_mut().find(same) {
            Some(family) => {
                family.insert(*requirement);
            }
            None => families.push(BTreeSet::from([*requirement])),
        }
    }
    families
}

/// Whether any layout meets these requirements.
fn possible(task: &LayoutTask, active: &ActiveRequirements, meter: &mut Meter) -> Result<bool, BudgetError> {
    meter.allow(8);
    Model::new(task, active.clone(), meter)?.possible(meter)
}

/// The first rail that the stock cannot make up, and the nearest lengths that it can.
fn stuck_rail(task: &LayoutTask, meter: &mut Meter) -> (usize, Option<Nearest>) {
    meter.allow(1);
    let Ok(model) = Model::new(task, ActiveRequirements::new(), meter) else { return (0, None) };
    let views = model.views(0, false);
    let rail = views.iter().position(|view| view.left[START as usize] == NO_WAY).unwrap_or(0);
    let profile = task.profile_of(rail);
    let cutting = profile.cutting.map(|cutting| (cutting.grid, 64));
    let lengths: Vec<i64> = profile.stock.iter().map(|bar| bar.length).collect();
    let fits = |run: &i64| super::holes::fewest_segments(*run, &lengths, cutting).is_some();
    let mut steps: BTreeSet<i64> = lengths.iter().copied().filter(|&length| length > 0).collect();
    steps.extend(profile.cutting.map(|cutting| cutting.grid));
    let unit = steps.into_iter().reduce(divisor).unwrap_or(1);
    let floor = task.run().div_euclid(unit);
    let reach = 512;
    let below = (0..reach).map(|step| (floor - step) * unit).take_while(|&run| run > 0).find(fits);
    let above = (1..reach).map(|step| (floor + step) * unit).find(fits);
    (rail, Some((below, above)))
}

fn divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { divisor(b, a % b) }
}
