//! A task made ready for the search, with some or all of its requirements in force.

use super::clash::Clash;
use super::graph::{ActiveRequirements, END, Graph, Paths, START};
use super::meter::{BudgetError, Meter};
use super::pieces::{PieceKind, pieces};
use super::requirement::Requirement;
use super::search::{Goal, LayoutSearch, fewest_alone};
use super::stock::{BarRoom, BarStock, bars_limited, bars_reach, room};
use super::sweep::Sweep;
use super::task::LayoutTask;
use super::view::{NO_WAY, View};

pub(super) struct Model<'a> {
    pub task: &'a LayoutTask,
    pub active: ActiveRequirements,
    /// Cut pieces by profile.
    pub pieces: Vec<Vec<PieceKind>>,
    /// Bars there are, by profile and kind.
    pub room: BarRoom,
    pub graphs: Vec<Graph>,
    pub clash: Clash,
}

/// Answer to: is there a layout with so much slack and so many joints?
pub(super) enum LayoutAnswer {
    Found(Paths),
    /// Proven that there is none. `more` is the least number of joints with which there might be one, if any;
    /// `refused` the greatest slack that was refused for being too small.
    Missing {
        more: Option<u32>,
        refused: Option<i64>,
    },
}

impl<'a> Model<'a> {
    pub(crate) fn new(
        task: &'a LayoutTask,
        active: ActiveRequirements,
        meter: &mut Meter,
    ) -> Result<Self, BudgetError> {
        let room = room(task, &active);
        let mut all = Vec::new();
        for (i, profile) in task.profiles.iter().enumerate() {
            let there = profile.stock.iter().zip(&room[i]).filter(|(_, count)| **count > 0);
            let longest = there.map(|(bar, _)| bar.length).max().unwrap_or(0);
            let both_sawn = longest > task.run() || sawn_in_joints(task, &active, i);
            all.push(pieces(profile, &room[i], both_sawn, meter.left()).ok_or(BudgetError)?);
        }
        let build = |rail: usize| {
            let profile = task.rails[rail].profile;
            Graph::build(task, rail, &all[profile], &room[profile], &active, meter)
        };
        let graphs = (0..task.rails.len()).map(build).collect::<Result<_, _>>()?;
        let clash = Clash::new(task, &active);
        Ok(Self { task, active, pieces: all, room, graphs, clash })
    }

    pub(crate) fn stock(&self) -> BarStock<'_> {
        self.stock_of(self.room.clone(), None)
    }

    fn stock_of(&self, room: BarRoom, joints: Option<u32>) -> BarStock<'_> {
        BarStock::new(self.task, &self.pieces, &self.active, room, (self.loose(), joints))
    }

    pub(crate) fn views(&self, slack: i64, supplies: bool) -> Vec<View> {
        let view = |(rail, graph)| View::new(graph, rail, &self.clash, slack, supplies);
        self.graphs.iter().enumerate().map(view).collect()
    }

    /// Whether pieces may lie anywhere on a bar, so that the waste of one piece alone means little.
    pub(crate) fn loose(&self) -> bool {
        (0..self.task.profiles.len()).any(|profile| sawn_in_joints(self.task, &self.active, profile))
    }

    /// Fewest joints that the rails need each by itself; `Err` names a rail that cannot be made.
    pub(crate) fn fewest_alone(&self) -> Result<u32, usize> {
        let views = self.views(0, false);
        let stuck = views.iter().position(|view| view.left[START as usize] == NO_WAY);
        match (stuck, fewest_alone(&views)) {
            (None, Some(fewest)) => Ok(fewest),
            (stuck, _) => Err(stuck.unwrap_or(0)),
        }
    }

    /// Looks for a layout with at least this slack and at most this many joints, from so many bars.
    pub(crate) fn ask(
        &self,
        room: &BarRoom,
        slack: i64,
        joints: u32,
        meter: &mut Meter,
    ) -> Result<LayoutAnswer, BudgetError> {
        // An answer that takes no search is work as well.
        meter.step()?;
        if !bars_reach(self.task, room) {
            return Ok(LayoutAnswer::Missing { more: None, refused: None });
        }
        let mut stock = self.stock_of(room.clone(), Some(joints));
        let views = self.views(slack, false);
        let refused = views.iter().filter_map(|view| view.refused).max();
        let Some(fewest) = fewest_alone(&views) else { return Ok(LayoutAnswer::Missing { more: None, refused }) };
        if fewest > joints {
            return Ok(LayoutAnswer::Missing { more: Some(fewest), refused });
        }
        let sweep = Sweep::new(&self.graphs, &views, &self.clash, slack, meter);
        let rails = (0..self.task.rails.len()).collect();
        let limited = stock.bars_limited();
        let mut search = LayoutSearch::new(sweep, &mut stock, self.task, rails, Goal::Any);
        let extra = search.run(joints - fewest)?;
        let refused = search.sweep.refused;
        Ok(match search.found {
            Some((paths, _)) => LayoutAnswer::Found(paths),
            // How many segments may share a bar hangs on the number of joints, and so does what was ruled out.
            None if limited => {
                LayoutAnswer::Missing { more: (joints < self.most_joints()).then_some(joints + 1), refused }
            }
            None => LayoutAnswer::Missing { more: fewest.checked_add(extra).filter(|_| extra != NO_WAY), refused },
        })
    }

    /// No layout has more joints: no segment is shorter than the shortest.
    pub(crate) fn most_joints(&self) -> u32 {
        let of = |graph: &Graph| u32::try_from(self.task.run() / graph.shortest.max(1)).unwrap_or(u32::MAX);
        self.graphs.iter().map(|graph| of(graph).saturating_sub(1)).fold(0, u32::saturating_add)
    }

    /// How many places there are for joints, of all rails: what a question takes before it is searched.
    pub(crate) fn size(&self) -> u64 {
        self.graphs.iter().map(|graph| graph.nodes.len() as u64).sum()
    }

    pub(crate) fn bars_limited(&self) -> bool {
        bars_limited(&self.room)
    }

    /// Looks for the same from all bars, one rail after the other: soon where there are many rails, but nothing is proven.
    pub(crate) fn in_turn(&self, slack: i64, joints: u32, meter: &mut Meter) -> Result<Option<Paths>, BudgetError> {
        let mut stock = self.stock_of(self.room.clone(), Some(joints));
        let views = self.views(slack, false);
        let Some(extra) = fewest_alone(&views).and_then(|fewest| joints.checked_sub(fewest)) else { return Ok(None) };
        let sweep = Sweep::new(&self.graphs, &views, &self.clash, slack, meter);
        let rails = (0..self.task.rails.len()).collect();
        let mut search = LayoutSearch::new(sweep, &mut stock, self.task, rails, Goal::Any);
        search.in_turn(extra)?;
        Ok(search.found.map(|(paths, _)| paths))
    }

    /// Whether there is any layout at all, with however many joints.
    pub(crate) fn possible(&self, meter: &mut Meter) -> Result<bool, BudgetError> {
        let mut stock = self.stock();
        let views = self.views(0, false);
        if fewest_alone(&views).is_none() || !bars_reach(self.task, &self.room) {
            return Ok(false);
        }
        for rails in self.tied(stock.limited()) {
            let mut sweep = Sweep::new(&self.graphs, &views, &self.clash, 0, meter);
            sweep.any = true;
            let mut search = LayoutSearch::new(sweep, &mut stock, self.task, rails, Goal::Any);
            search.run(ANY_NUMBER)?;
            if search.found.is_none() {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Rails in groups that no requirement ties to each other. A limited stock ties all.
    fn tied(&self, limited: bool) -> Vec<Vec<usize>> {
        let rails = self.task.rails.len();
        if limited {
            return vec![(0..rails).collect()];
        }
        let mut group: Vec<usize> = (0..rails).collect();
        for requirement in &self.active {
            if let Requirement::Stagger { rails } | Requirement::Meeting { rails } = requirement {
                let (one, other) = (group[rails.0], group[rails.1]);
                group.iter_mut().filter(|of| **of == other).for_each(|of| *of = one);
            }
        }
        let members = |of: usize| -> Vec<usize> { (0..rails).filter(|&rail| group[rail] == of).collect() };
        (0..rails).map(members).filter(|members| !members.is_empty()).collect()
    }

    /// Joint positions of one rail of a layout.
    pub(crate) fn joints(&self, rail: usize, path: &[(u32, u32)]) -> Vec<i64> {
        let graph = &self.graphs[rail];
        let to = |&(node, edge): &(u32, u32)| graph.out[node as usize][edge as usize].to;
        path.iter().map(to).filter(|&node| node != END).map(|node| graph.nodes[node as usize].at).collect()
    }
}

/// More joints than any search can place.
const ANY_NUMBER: u32 = 1_000_000;

fn sawn_in_joints(task: &LayoutTask, active: &ActiveRequirements, profile: usize) -> bool {
    let Some(cutting) = task.profiles[profile].cutting else { return false };
    let dropped = |rail| !active.contains(&Requirement::SawnEnd { rail });
    let rails = (0..task.rails.len()).filter(|&rail| task.rails[rail].profile == profile);
    cutting.in_joints || rails.into_iter().any(dropped)
}
