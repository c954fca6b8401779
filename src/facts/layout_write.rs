//! A planned layout as changes to the machine's text: segments, joint supports and the supports they take the place of.
//! Whatever else the text says stays, comments and spelling included.

use super::FactError;
use super::layout_plan::{LayoutPlan, end_distance, far_distance};
use super::layout_rows::{omitted, rail_node};
use super::lines::LineEdits;
use crate::calc::layout::plan::{EndKind, PlannedLayout, PlannedSegment, RailPlan, SegmentSource};
use crate::ledger::{EndCut, Ledger, NodeDraft, Rail, RailId, SpeltValue};
use crate::quantity::{Amount, Length};
use crate::text::{Edit, NodeRef};

/// The changes that put the plan into the text. Segments that are not owned are replaced only when `replace` says so,
/// and none that a record rests on.
pub(crate) fn edits(
    ledger: &Ledger,
    plan: &LayoutPlan,
    planned: &PlannedLayout,
    replace: bool,
) -> Result<Vec<Edit>, FactError> {
    let mut all = Vec::new();
    for (rail, of) in planned.rails.iter().enumerate() {
        let id = plan.rail(rail);
        let it = ledger.machine.rail(id);
        let Some(node) = rail_node(ledger, id) else { continue };
        let written = Written { ledger, plan, id, it, node, of };
        if written.is_there() {
            continue;
        }
        written.may_change(replace)?;
        let mut lines = LineEdits::new(node.document().text());
        written.segments(&mut lines);
        written.rows(&mut lines);
        written.joint_supports(&mut lines);
        all.extend(lines.edits);
    }
    Ok(all)
}

/// The segments that the plan puts others in the place of: their rail, their number from 0, and their nodes.
pub(super) fn replaced<'l>(
    ledger: &'l Ledger,
    plan: &'l LayoutPlan,
    planned: &'l PlannedLayout,
) -> Vec<(RailId, usize, NodeRef<'l>)> {
    let mut all = Vec::new();
    for (rail, of) in planned.rails.iter().enumerate() {
        let id = plan.rail(rail);
        let it = ledger.machine.rail(id);
        let Some(node) = rail_node(ledger, id) else { continue };
        if (Written { ledger, plan, id, it, node, of }).is_there() {
            continue;
        }
        let segments = node.children().filter(|child| child.name() == "segment").enumerate();
        let goes = |index: usize| it.segments.get(index).is_some_and(|segment| !segment.owned);
        all.extend(segments.filter(|(index, _)| goes(*index)).map(|(index, node)| (id, index, node)));
    }
    all
}

/// One rail as written and as planned.
struct Written<'l> {
    ledger: &'l Ledger,
    plan: &'l LayoutPlan,
    id: RailId,
    it: &'l Rail,
    node: NodeRef<'l>,
    of: &'l RailPlan,
}

impl<'l> Written<'l> {
    fn named(&self, name: &'static str) -> impl Iterator<Item = NodeRef<'l>> {
        self.node.children().filter(move |child| child.name() == name)
    }

    /// Whether the text says already what is planned.
    fn is_there(&self) -> bool {
        let holes = |segment: &PlannedSegment| segment.holes.iter().map(|at| Length(*at)).collect::<Vec<_>>();
        let same =
            |(a, b): (&crate::ledger::Segment, &PlannedSegment)| a.length.nm() == b.length && a.holes == holes(b);
        let supported = |(a, b): (&crate::ledger::Joint, &crate::calc::layout::plan::PlannedJoint)| {
            a.support.map(|support| self.it.supports[support].at.nm()) == b.support
        };
        self.it.segments.len() == self.of.segments.len()
            && self.it.segments.iter().zip(&self.of.segments).all(same)
            && self.it.joints.iter().zip(&self.of.joints).all(supported)
            && self.of.dropped.iter().all(|gone| self.plan.standing(self.id.rail, gone).is_some_and(|it| it.left_out))
    }

    fn may_change(&self, replace: bool) -> Result<(), FactError> {
        let address = self.ledger.machine.rail_address(self.id);
        let about = |record: &&crate::ledger::Record| match record.rail() {
            Some(id) => id == self.id,
            None => record.target.is_some_and(|target| target.axis() == self.id.axis),
        };
        if let (Some(record), false) = (self.ledger.records.iter().find(about), self.it.segments.is_empty()) {
            let what = format!("records rest on {address} as it is described");
            return Err(FactError::new(record.place, what, "a rail that is being built is not laid out anew"));
        }
        if let (Some(segment), false) = (self.it.segments.iter().find(|segment| !segment.owned), replace) {
            let what = format!("{address} has segments already");
            let next = "mark the bars that must stay with owned=#true, and say --replace for the others";
            return Err(FactError::new(segment.place, what, next));
        }
        Ok(())
    }

    fn segments(&self, lines: &mut LineEdits) {
        let nodes: Vec<NodeRef> = self.named("segment").collect();
        let is_owned = |index: usize| self.it.segments.get(index).is_some_and(|segment| segment.owned);
        let slots: Vec<NodeRef> = (0..nodes.len()).filter(|index| is_owned(*index)).map(|index| nodes[index]).collect();
        // New segments by the owned one they come after, and the owned ones in the order of the plan.
        let mut new: Vec<Vec<String>> = vec![Vec::new(); slots.len() + 1];
        let mut order: Vec<NodeRef> = Vec::new();
        for segment in &self.of.segments {
            match segment.source {
                SegmentSource::Owned { owned } => order.extend(nodes.get(self.plan.owned[owned].1)),
                SegmentSource::Whole { .. } | SegmentSource::Cut { .. } => {
                    new[order.len().min(slots.len())].push(self.segment_line(segment));
                }
            }
        }
        for (slot, (here, there)) in slots.iter().zip(&order).enumerate() {
            if slot == 0 {
                lines.before(here.span(), &new[0]);
            }
            if here.span() != there.span() {
                lines.put(here.span(), there.span());
            }
            lines.after(here.span(), &new[slot + 1]);
        }
        match nodes.first() {
            Some(first) if slots.is_empty() => lines.before(first.span(), &new[0]),
            None => lines.first_in(self.node, &new[0]),
            Some(_) => {}
        }
        let others = (0..nodes.len()).filter(|index| !is_owned(*index));
        others.for_each(|index| lines.remove(nodes[index].span()));
    }

    fn segment_line(&self, segment: &PlannedSegment) -> String {
        let profile = self.it.profile.as_ref().and_then(|name| self.ledger.shop.profile(name));
        let pitch = self.plan.task.profile_of(self.id.rail).pitch;
        let near = profile.map_or(pitch / 2, |profile| end_distance(profile, pitch));
        let mut line = NodeDraft::new("segment").value(Length(segment.length));
        if segment.near != near {
            line.set("near-distance", Length(segment.near));
        }
        if segment.far != far_distance(segment.length, segment.near, pitch) {
            line.set("far-distance", Length(segment.far));
        }
        let ground = profile.and_then(|profile| profile.cut_ends()).is_some_and(|ends| *ends == EndCut::Ground);
        for (end, word) in [(segment.near_end, "near-end"), (segment.far_end, "far-end")] {
            if end == EndKind::Sawn && !ground {
                line.set(word, "sawn");
            }
        }
        line.line()
    }

    /// Leaves out the supports that a joint support takes the place of, and takes back those that an earlier one did.
    fn rows(&self, lines: &mut LineEdits) {
        let grids = &self.plan.grids[self.id.rail];
        let gone = |name: &str| self.of.dropped.iter().any(|it| named(self, it) == Some(name));
        let kept = |name: &str| self.of.supports.iter().any(|it| named(self, it) == Some(name));
        for row in self.named("supports") {
            let of_row = || grids.iter().filter(|grid| grid.node == row.span());
            let added: Vec<&str> =
                of_row().filter(|it| !it.left_out && gone(&it.name)).map(|it| it.name.as_str()).collect();
            let back = |name: &str| of_row().any(|it| it.left_out && it.name == name && kept(name));
            let omits: Vec<NodeRef> = row.children().filter(|child| child.name() == "omit").collect();
            for (index, omit) in omits.iter().enumerate() {
                let said: Vec<&str> = omit.args().filter_map(super::layout_rows::word).collect();
                let mut names: Vec<&str> = said.iter().copied().filter(|name| !back(name)).collect();
                if index + 1 == omits.len() {
                    names.extend(&added);
                }
                names.sort_by_key(|name| (name.len(), *name));
                let (Some(first), Some(last)) = (omit.args().next(), omit.args().last()) else { continue };
                if names.is_empty() {
                    lines.remove(omit.span());
                } else if names.len() != said.len() || !names.iter().all(|name| said.contains(name)) {
                    let names: Vec<String> = names.into_iter().map(|name| SpeltValue::from(name).to_string()).collect();
                    lines.replace(first.span().to(last.span()), names.join(" "));
                }
            }
            if omits.is_empty() && !added.is_empty() {
                debug_assert_eq!(omitted(row).count(), 0);
                lines.first_in(row, &[NodeDraft::new("omit").values(added).line()]);
            }
        }
        for single in grids.iter().filter(|grid| !grid.in_row && gone(&grid.name)) {
            lines.comment_out(single.node);
        }
    }

    fn joint_supports(&self, lines: &mut LineEdits) {
        let Some(covers) = self.plan.task.rails[self.id.rail].supports.joint_covers else { return };
        let there: Vec<(String, NodeRef)> = self
            .named("joint-support")
            .filter_map(|node| Some((super::layout_rows::word(node.args().next()?)?.to_string(), node)))
            .collect();
        let mut new = Vec::new();
        let mut used: Vec<&str> = Vec::new();
        let names: Vec<String> = (1..=self.of.joints.len()).map(|number| format!("J{number}")).collect();
        for (joint, name) in self.of.joints.iter().zip(&names) {
            let Some(at) = joint.support else { continue };
            used.push(name);
            let Some((_, node)) = there.iter().find(|(known, _)| known == name) else {
                let support = NodeDraft::new("joint-support").value(name).property("at", Length(at));
                new.push(support.property("length", Length(covers)).line());
                continue;
            };
            for (prop, value) in [("at", at), ("length", covers)] {
                let Some(entry) = node.prop(prop) else { continue };
                let said = Length::read(entry.raw(), entry.ty().map(|(unit, _)| unit)).ok();
                if said != Some(Length(value)) {
                    lines.replace(entry.span(), format!("{prop}={}", SpeltValue::from(Length(value))));
                }
            }
        }
        let idle =
            |node: &NodeRef| there.iter().any(|(name, it)| it.span() == node.span() && !used.contains(&name.as_str()));
        let supports = |node: &NodeRef| matches!(node.name(), "supports" | "support" | "joint-support");
        if let Some(last) = self.node.children().filter(|node| supports(node) && !idle(node)).last() {
            lines.after(last.span(), &new);
        }
        there.iter().filter(|(_, node)| idle(node)).for_each(|(_, node)| lines.remove(node.span()));
    }
}

fn named<'a>(written: &Written<'a>, support: &crate::calc::layout::task::SupportSpec) -> Option<&'a str> {
    written.plan.standing(written.id.rail, support).map(|grid| grid.name.as_str())
}
