//! Counted bars with ground ends on a cut grid of 300 mm, where all that can be laid is few enough to be tried: the fewest
//! joints of the planner against those, and on longer axes against what the bars alone ask for. Shares no code with the
//! planner.

use std::collections::{BTreeSet, HashMap};

use crate::calc::layout::plan;
use crate::calc::layout::plan::LayoutOutcome;
use crate::calc::layout::requirement::Requirement;
use crate::calc::layout::task::{CuttingSpec, LayoutTask};

use super::brute::{Active, least_slack};
use super::check::check;
use super::machines::{MM, scarce_gantry};

const GRID: i64 = 300 * MM;

/// One way to lay a rail: the places of its joints, and where the other rail may have none, a bit each.
type Row = (Vec<usize>, u64);

/// Two rails in steps of the grid.
struct GridRails {
    run: usize,
    least: usize,
    /// Length of each bar.
    bars: Vec<usize>,
    /// By rail and place: the places on the same rail and on the other one where no joint may lie beside a joint there, a
    /// bit each; a joint that may not lie there at all keeps away itself.
    kept_away: [Vec<[u64; 2]>; 2],
    packed: HashMap<Vec<usize>, bool>,
}

impl GridRails {
    fn new(task: &LayoutTask) -> Self {
        let profile = &task.profiles[0];
        assert!(
            task.rails.len() == 2 && profile.cutting.is_some_and(|it| it.grid == GRID && (1..GRID).contains(&it.kerf))
        );
        let steps = |length: i64| {
            assert_eq!(length % GRID, 0);
            (length / GRID) as usize
        };
        let run = steps(task.to - task.from);
        let bars = profile.stock.iter().flat_map(|bar| vec![steps(bar.length); bar.count.expect("counted") as usize]);
        let active: Active = Requirement::all_for(task).into_iter().collect();
        let at = |place: usize| task.from + place as i64 * GRID;
        let apart = |joints: [Vec<i64>; 2]| least_slack(task, &active, &joints).is_none_or(|slack| slack >= 0);
        let kept_away = [0, 1].map(|rail| {
            let beside = |place: usize, other_rail: usize| {
                let clash = |other: &usize| {
                    let mut joints = [vec![at(place)], vec![]];
                    if *other != place || other_rail != 0 {
                        joints[other_rail].push(at(*other));
                    }
                    if rail == 1 {
                        joints.swap(0, 1);
                    }
                    !apart(joints)
                };
                (1..run).filter(clash).fold(0, |bits, other| bits | 1 << other)
            };
            (0..run).map(|place| [beside(place, 0), beside(place, 1)]).collect()
        });
        let least = (profile.least_segment + GRID - 1) / GRID;
        Self { run, least: least.max(1) as usize, bars: bars.collect(), kept_away, packed: HashMap::new() }
    }

    /// Every way to lay one rail from so many segments: the places of the joints, and where the other rail may have none.
    fn rows(&self, rail: usize, segments: usize) -> Vec<Row> {
        let longest = self.bars.iter().copied().max().expect("bars");
        let mut done = Vec::new();
        let mut begun = vec![(vec![], 0, 0)];
        while let Some((joints, own, other)) = begun.pop() {
            let from = joints.last().copied().unwrap_or(0);
            if joints.len() + 1 == segments {
                if (self.least..=longest).contains(&(self.run - from)) {
                    done.push((joints, other));
                }
                continue;
            }
            for to in from + self.least..=(from + longest).min(self.run - 1) {
                let [here, there] = self.kept_away[rail][to];
                let clear =
                    own >> to & 1 == 0 && here >> to & 1 == 0 && joints.iter().all(|&joint| here >> joint & 1 == 0);
                if clear {
                    begun.push(([&joints[..], &[to]].concat(), own | here, other | there));
                }
            }
        }
        done
    }

    /// Whether the bars suffice for segments so long, the longest first. Each cut between two pieces takes a step of the grid.
    fn suffice(&mut self, rows: [&[usize]; 2]) -> bool {
        let mut lengths: Vec<usize> = rows
            .iter()
            .flat_map(|joints| {
                let ends = joints.iter().copied().chain([self.run]);
                ends.scan(0, |from, to| Some(to - std::mem::replace(from, to))).collect::<Vec<_>>()
            })
            .collect();
        lengths.sort_unstable_by(|a, b| b.cmp(a));
        if let Some(known) = self.packed.get(&lengths) {
            return *known;
        }
        fn pack(lengths: &[usize], left: &mut Vec<usize>) -> bool {
            let Some((&length, rest)) = lengths.split_first() else { return true };
            let mut tried = BTreeSet::new();
            for bar in 0..left.len() {
                if left[bar] >= length && tried.insert(left[bar]) {
                    let before = left[bar];
                    left[bar] = (before - length).saturating_sub(1);
                    let packed = pack(rest, left);
                    left[bar] = before;
                    if packed {
                        return true;
                    }
                }
            }
            false
        }
        let packed = pack(&lengths, &mut self.bars.clone());
        self.packed.insert(lengths, packed);
        packed
    }

    /// The fewest joints of any layout with fewer than `most`.
    fn fewest(&mut self, most: usize) -> Option<usize> {
        let rows: Vec<[Vec<Row>; 2]> =
            (0..=most).map(|joints| [0, 1].map(|rail| self.rows(rail, joints + 1))).collect();
        (0..most).find(|joints| {
            (0..=*joints).any(|first| {
                let (firsts, seconds) = (&rows[first][0], &rows[joints - first][1]);
                firsts.iter().any(|(first, away)| {
                    let clear = |second: &&Row| second.0.iter().all(|joint| away >> joint & 1 == 0);
                    seconds.iter().filter(clear).any(|(second, _)| self.suffice([first, second]))
                })
            })
        })
    }

    /// The fewest joints that the bars alone ask for: each bar lies in one rail, or is cut and lies in both.
    fn fewest_from_bars(&self) -> Option<usize> {
        let side = self.run + 1;
        let mut pieces = vec![usize::MAX; side * side];
        pieces[0] = 0;
        for bar in &self.bars {
            let before = pieces.clone();
            let shares = (1..bar.saturating_sub(1)).map(|first| (first, bar - 1 - first, 2));
            let ways: Vec<(usize, usize, usize)> = [(*bar, 0, 1), (0, *bar, 1)].into_iter().chain(shares).collect();
            for (from, &so_far) in before.iter().enumerate().filter(|(_, so_far)| **so_far < usize::MAX) {
                for &(first, second, more) in &ways {
                    let to = (from / side + first).min(self.run) * side + (from % side + second).min(self.run);
                    pieces[to] = pieces[to].min(so_far + more);
                }
            }
        }
        pieces.last().copied().filter(|pieces| *pieces < usize::MAX).map(|pieces| pieces - 2)
    }
}

/// An axis from scarce bars with ground ends and cuts every 300 mm, from half as many bars more, a third shorter, of whole steps of that grid,
/// and with joints that keep further from seams and from each other.
fn coarse_gantry(seed: u64, run: i64, bars: (i64, i64)) -> LayoutTask {
    let mut task = scarce_gantry(seed, (run, 2), bars, true);
    task.stagger = Some(500 * MM);
    task.rails.iter_mut().for_each(|rail| rail.seam_clearance = 400 * MM);
    let profile = &mut task.profiles[0];
    for bar in &mut profile.stock {
        bar.length = (bar.length * 2 / 3 + 150 * MM) / (300 * MM) * (300 * MM);
        bar.count = bar.count.map(|count| count + count.div_ceil(2));
    }
    profile.cutting = profile.cutting.map(|cutting| CuttingSpec { grid: 300 * MM, ..cutting });
    task
}

/// The fewest joints and whether they are proven; none where there is no layout.
fn planned(seed: u64, task: &LayoutTask) -> Option<usize> {
    match plan(task).expect("a valid task") {
        LayoutOutcome::Planned(plan) => {
            check(task, &plan);
            assert!(plan.proof.joints.is_none(), "seed {seed}: {:?}", plan.proof);
            Some(plan.joints as usize)
        }
        LayoutOutcome::Infeasible(_) => None,
        LayoutOutcome::Unsettled { joints_at_least } => panic!("seed {seed} is not settled from {joints_at_least} on"),
    }
}

/// Axes of 6 to 7.8 m: no way to lay the rails has fewer joints.
#[test]
fn fewest_joints_on_a_coarse_grid_equal_those_of_trying_everything() {
    let (mut laid, mut beyond_bars, mut most) = (0, 0, 0);
    for seed in 1..=24 {
        let task = coarse_gantry(seed, [6000, 6600, 7200, 7800][seed as usize % 4], (5, 9));
        let mut rails = GridRails::new(&task);
        let joints = planned(seed, &task);
        let tried = rails.fewest(joints.map_or(9, |joints| joints + 1));
        assert_eq!(joints, tried, "seed {seed}: {task:?}");
        laid += usize::from(joints.is_some());
        beyond_bars += usize::from(joints > rails.fewest_from_bars());
        most = most.max(joints.unwrap_or(0));
    }
    assert!(
        laid > 12 && beyond_bars > 1 && most >= 8,
        "{laid} laid, {beyond_bars} beyond the bars, up to {most} joints"
    );
}

/// Axes of 15 m with eight joints and more: proven, no fewer than the bars alone ask for, and most of them just as many.
#[test]
fn fewest_joints_of_fifteen_metres_on_a_coarse_grid_are_proven() {
    let (mut as_bars, mut most) = (0, 0);
    for seed in 1..=10 {
        let task = coarse_gantry(seed, 15_000, (10, 16));
        let bound = GridRails::new(&task).fewest_from_bars();
        let joints = planned(seed, &task);
        assert!(joints.is_none() || joints >= bound, "seed {seed}: {joints:?}, {bound:?}");
        as_bars += usize::from(joints == bound && joints.is_some());
        most = most.max(joints.unwrap_or(0));
    }
    assert!(as_bars >= 5 && most >= 8, "{as_bars} as few as the bars ask for, up to {most} joints");
}
