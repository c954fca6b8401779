//! The layout as a plain mixed-integer model for a general solver (`good_lp` with `microlp`).
//!
//! It covers tasks whose bars keep the hole pattern by themselves (end distances add up to one pitch, cuts at whole
//! pitches, sawn ends at the ends of the axis) and whose supports exclude no joint. Shares no code with the planner.

use std::collections::{BTreeMap, BTreeSet};

use good_lp::{Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, microlp, variable};
use wayledger::planning::layout::*;

struct RailModel {
    /// Whether a joint lies there.
    joints: BTreeMap<i64, Variable>,
    /// Segments by start and end.
    segments: BTreeMap<(i64, i64), Variable>,
}

/// Fewest joints with at least this slack, at most `most` of them; `None` when there is no layout.
pub(crate) fn fewest_joints(task: &LayoutTask, slack: i64, most: Option<u32>) -> Option<u32> {
    let mut variables = ProblemVariables::new();
    let rails: Vec<RailModel> =
        (0..task.rails.len()).map(|rail| rail_model(task, rail, slack, &mut variables)).collect();
    let all = || rails.iter().flat_map(|rail| rail.joints.values().copied());
    let objective: Expression = all().sum();
    let mut model = variables.minimise(objective).using(microlp);
    for rail in &rails {
        let leaves = |at: i64| rail.segments.range((at, i64::MIN)..=(at, i64::MAX)).map(|(_, segment)| *segment);
        let arrives =
            |at: i64| rail.segments.iter().filter(move |((_, end), _)| *end == at).map(|(_, segment)| *segment);
        model.add_constraint(constraint!(leaves(task.from).sum::<Expression>() == 1));
        model.add_constraint(constraint!(arrives(task.to).sum::<Expression>() == 1));
        for (&at, &joint) in &rail.joints {
            model.add_constraint(constraint!(arrives(at).sum::<Expression>() == joint));
            model.add_constraint(constraint!(leaves(at).sum::<Expression>() == joint));
        }
    }
    for a in 0..rails.len() {
        for b in a..rails.len() {
            for (&p, &here) in &rails[a].joints {
                for (&q, &there) in &rails[b].joints {
                    let same = a == b && q <= p;
                    if !same && pair_slack(task, (a, p), (b, q)).is_some_and(|found| found < slack) {
                        model.add_constraint(constraint!(here + there <= 1));
                    }
                }
            }
        }
    }
    if let Some(most) = most {
        model.add_constraint(constraint!(all().sum::<Expression>() <= f64::from(most)));
    }
    let solution = model.solve().ok()?;
    Some(all().map(|joint| solution.value(joint)).sum::<f64>().round() as u32)
}

fn rail_model(task: &LayoutTask, rail: usize, slack: i64, variables: &mut ProblemVariables) -> RailModel {
    let (spec, profile) = (&task.rails[rail], task.profile_of(rail));
    let clear = |at: &i64| spec.seams.iter().all(|seam| (at - seam).abs() - spec.seam_clearance >= slack);
    let whole: BTreeSet<i64> = profile.stock.iter().map(|bar| bar.length).collect();
    let longest = whole.last().copied().unwrap_or(0);
    let grid = profile.cutting.map(|cutting| cutting.grid);
    let cuts = grid.into_iter().flat_map(|grid| (1..).map(move |i| i * grid).take_while(|cut| *cut < longest));
    let mut end_pieces: BTreeSet<i64> = whole.iter().copied().chain(cuts).collect();
    end_pieces.retain(|length| *length >= profile.least_segment);
    // Places that some first piece and whole bars reach.
    let mut places: BTreeSet<i64> = end_pieces.iter().map(|length| task.from + length).filter(clear).collect();
    let mut queue: Vec<i64> = places.iter().copied().collect();
    while let Some(at) = queue.pop() {
        for bar in &whole {
            if at + bar < task.to && clear(&(at + bar)) && places.insert(at + bar) {
                queue.push(at + bar);
            }
        }
    }
    places.retain(|at| *at < task.to);
    let mut segments = BTreeMap::new();
    let mut add = |start: i64, end: i64| {
        segments.entry((start, end)).or_insert_with(|| variables.add(variable().binary()));
    };
    if end_pieces.contains(&(task.to - task.from)) {
        add(task.from, task.to);
    }
    for &at in &places {
        if end_pieces.contains(&(at - task.from)) {
            add(task.from, at);
        }
        if end_pieces.contains(&(task.to - at)) {
            add(at, task.to);
        }
        whole.iter().filter(|bar| places.contains(&(at + **bar))).for_each(|bar| add(at, at + bar));
    }
    let joints = places.into_iter().map(|at| (at, variables.add(variable().binary()))).collect();
    RailModel { joints, segments }
}

/// Smallest slack of two joints: stagger, and every pair of blocks that can meet them.
fn pair_slack(task: &LayoutTask, (a, p): (usize, i64), (b, q): (usize, i64)) -> Option<i64> {
    let mut all: Vec<i64> =
        task.stagger.filter(|_| a != b).map(|stagger| (p - q).abs() - stagger).into_iter().collect();
    let Some(carriage) = &task.carriage else { return all.into_iter().min() };
    for first in carriage.blocks.iter().filter(|block| block.rail == a) {
        for second in carriage.blocks.iter().filter(|block| block.rail == b) {
            let ends = |joint: i64, block: &BlockSpec| {
                let centre = 2 * (joint - block.offset);
                (centre - block.length, centre + block.length)
            };
            let (low, high) = (ends(p, first).0.max(ends(q, second).0), ends(p, first).1.min(ends(q, second).1));
            let mut spare = (low - high).div_euclid(2);
            if let Some(stroke) = carriage.stroke {
                spare = spare.max(low - 2 * stroke.to).max(2 * stroke.from - high);
            }
            all.push(spare - carriage.margin);
        }
    }
    all.into_iter().min()
}
