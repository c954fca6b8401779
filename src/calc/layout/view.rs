//! One rail's graph at a demanded slack: what is left of it, and the fewest joints from every node to the end.

use super::clash::Clash;
use super::graph::{END, Graph, START, Supply};

/// One segment that may be used. `cost` is how many joints more than the fewest the rail gets by using it.
#[derive(Clone, Copy, Debug)]
pub(super) struct UsableSegment {
    pub to: u32,
    /// Index into the graph's edges out of the node.
    pub edge: u32,
    pub cost: u32,
}

#[derive(Debug)]
pub(super) struct View {
    /// Fewest joints after each node; `u32::MAX` when the end cannot be reached.
    pub left: Vec<u32>,
    pub steps: Vec<Vec<UsableSegment>>,
    /// Greatest slack that was refused for being below the demanded one.
    pub refused: Option<i64>,
}

pub(super) const NO_WAY: u32 = u32::MAX;

impl View {
    /// `supplies` keeps segments apart that differ only in where they come from; otherwise the first of them stands for
    /// all, but an owned bar only for itself.
    pub(crate) fn new(graph: &Graph, rail: usize, clash: &Clash, slack: i64, supplies: bool) -> Self {
        let count = graph.nodes.len();
        let mut view = Self { left: vec![NO_WAY; count], steps: vec![Vec::new(); count], refused: None };
        view.left[END as usize] = 0;
        // The node that a segment which is no owned bar leads from, by the node it leads to.
        let mut stood_for = vec![END; count];
        for node in (0..count as u32).rev().filter(|&node| node != END) {
            let here = graph.nodes[node as usize];
            if let Some(seam) = here.seam.filter(|&seam| seam < slack) {
                view.refuse(seam);
                continue;
            }
            let mut steps: Vec<UsableSegment> = Vec::new();
            for (i, edge) in graph.out[node as usize].iter().enumerate() {
                let left = view.left[edge.to as usize];
                let owned = matches!(edge.supply, Supply::Owned(_));
                if left == NO_WAY || (!supplies && !owned && stood_for[edge.to as usize] == node) {
                    continue;
                }
                let there = graph.nodes[edge.to as usize];
                let joints = node != START && edge.to != END;
                let low = joints.then(|| clash.below((rail, here.at), (rail, there.at), slack)).flatten();
                if let Some(low) = low {
                    view.refuse(low);
                    continue;
                }
                if !owned {
                    stood_for[edge.to as usize] = node;
                }
                steps.push(UsableSegment { to: edge.to, edge: i as u32, cost: left + u32::from(edge.to != END) });
            }
            let Some(fewest) = steps.iter().map(|step| step.cost).min() else { continue };
            view.left[node as usize] = fewest;
            for step in &mut steps {
                step.cost -= fewest;
            }
            view.steps[node as usize] = steps;
        }
        view
    }

    fn refuse(&mut self, slack: i64) {
        self.refused = self.refused.max(Some(slack));
    }
}
