//! How far two joints stand clear of each other: stagger on different rails, and blocks that meet both at once.

use super::clearance::stagger_slack;
use super::graph::ActiveRequirements;
use super::meeting::{Meeting, PositionRange, meeting_slack};
use super::requirement::Requirement;
use super::task::{BlockSpec, LayoutTask};

/// Two blocks of one carriage, as seen by a joint of the first rail and one of the second.
#[derive(Clone, Copy, Debug)]
struct Crossing {
    first: BlockSpec,
    second: BlockSpec,
    /// Distance of the joints at which the blocks meet them together.
    worst: i64,
    /// Half lengths and margin together, rounded down: closer to `worst` than this is too close.
    room: i64,
}

#[derive(Clone, Debug, Default)]
struct RailClearance {
    stagger: Option<i64>,
    crossings: Vec<Crossing>,
}

/// All clearances between joints, rail by rail.
#[derive(Debug)]
pub(super) struct Clash {
    between: Vec<Vec<RailClearance>>,
    margin: i64,
    stroke: Option<PositionRange>,
}

impl Clash {
    pub(crate) fn new(task: &LayoutTask, active: &ActiveRequirements) -> Self {
        let carriage = task.carriage.as_ref();
        let margin = carriage.map_or(0, |carriage| carriage.margin);
        let stroke = carriage.and_then(|carriage| carriage.stroke);
        let blocks = carriage.map_or(&[][..], |carriage| &carriage.blocks);
        let rails = task.rails.len();
        let mut between = vec![vec![RailClearance::default(); rails]; rails];
        for (a, row) in between.iter_mut().enumerate() {
            for (b, cell) in row.iter_mut().enumerate() {
                let pair = (a.min(b), a.max(b));
                if a != b && active.contains(&Requirement::Stagger { rails: pair }) {
                    cell.stagger = task.stagger;
                }
                if active.contains(&Requirement::Meeting { rails: pair }) {
                    let on = |rail| blocks.iter().filter(move |block| block.rail == rail);
                    let cross = |first: &BlockSpec, second: &BlockSpec| Crossing {
                        first: *first,
                        second: *second,
                        worst: first.offset - second.offset,
                        room: (first.length + second.length).div_euclid(2) + margin,
                    };
                    cell.crossings = on(a).flat_map(|first| on(b).map(move |second| cross(first, second))).collect();
                }
            }
        }
        Self { between, margin, stroke }
    }

    /// Least slack between a joint at `p` of rail `a` and another joint at `q` of rail `b`, where it is below `least`.
    pub(crate) fn below(&self, (a, p): (usize, i64), (b, q): (usize, i64), least: i64) -> Option<i64> {
        let cell = &self.between[a][b];
        let mut worst = None;
        let mut note = |slack: i64| {
            if slack < least && worst.is_none_or(|worst| slack < worst) {
                worst = Some(slack);
            }
        };
        if let Some(required) = cell.stagger {
            note(stagger_slack(p, q, required));
        }
        for crossing in &cell.crossings {
            // The plain distance first: it is cheap and never more than the slack by more than a rounding.
            if (p - q - crossing.worst).abs() - crossing.room - 1 < least {
                note(self.crossing_slack(crossing, p, q));
            }
        }
        worst
    }

    fn crossing_slack(&self, crossing: &Crossing, p: i64, q: i64) -> i64 {
        let first = Meeting { joint: p, offset: crossing.first.offset, length: crossing.first.length };
        let second = Meeting { joint: q, offset: crossing.second.offset, length: crossing.second.length };
        meeting_slack(&first, &second, self.margin, self.stroke)
    }

    /// Beyond this distance no two joints of these rails have less slack than `least` by their stagger.
    pub(crate) fn stagger_reach(&self, a: usize, b: usize, least: i64) -> i64 {
        self.between[a][b].stagger.map_or(0, |stagger| stagger.saturating_add(least))
    }

    /// Beyond this distance no blocks meet two joints of these rails with less slack than `least`.
    pub(crate) fn meeting_reach(&self, a: usize, b: usize, least: i64) -> i64 {
        let crossings = self.between[a][b].crossings.iter();
        let base = crossings.map(|crossing| crossing.worst.abs() + crossing.room + 1).max();
        base.map_or(0, |base| base.saturating_add(least))
    }

    /// Stagger slack of two joints, where a stagger is required.
    pub(crate) fn stagger(&self, (a, p): (usize, i64), (b, q): (usize, i64)) -> Option<i64> {
        self.between[a][b].stagger.map(|required| stagger_slack(p, q, required))
    }

    /// Least meeting slack of two joints, where blocks can meet both.
    pub(crate) fn meeting(&self, (a, p): (usize, i64), (b, q): (usize, i64)) -> Option<i64> {
        self.between[a][b].crossings.iter().map(|crossing| self.crossing_slack(crossing, p, q)).min()
    }
}
