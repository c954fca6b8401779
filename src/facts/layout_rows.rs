//! The supports of a rail as its text describes them: which can be left out with `omit`, which were left out for a joint,
//! and where the nodes stand that say so.

use crate::calc::layout::task::SupportSpec;
use crate::ledger::{Ledger, RailId};
use crate::quantity::{Amount, Length};
use crate::text::{EntryRef, NodeRef, Span, Value};

/// A support that is no joint support, standing or left out for an earlier joint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GridSupport {
    pub name: String,
    pub at: Length,
    pub covers: Option<Length>,
    /// The node that describes it, a row's or its own.
    pub node: Span,
    /// It is one of a row and can be left out by name.
    pub in_row: bool,
    /// The text leaves it out, for a joint support that the plan does away with.
    pub left_out: bool,
}

impl GridSupport {
    /// As the planner is told of it. One that does not say what it covers has no length worth speaking of.
    pub fn support(&self) -> SupportSpec {
        SupportSpec { at: self.at.nm(), covers: self.covers.map_or(1, |covers| covers.nm().max(1)) }
    }
}

/// The node of a rail in the text.
pub(crate) fn rail_node(ledger: &Ledger, id: RailId) -> Option<NodeRef<'_>> {
    let whole = ledger.machine.rail(id).whole;
    let document = &ledger.sources.get(whole.source).document;
    let axes = document
        .nodes()
        .filter(|node| matches!(node.name(), "machine" | "design"))
        .flat_map(|machine| machine.children());
    axes.flat_map(|axis| axis.children()).find(|node| node.name() == "rail" && node.span() == whole.span)
}

/// The supports of a rail that are no joint supports, in order of position.
pub(crate) fn grid(ledger: &Ledger, id: RailId) -> Vec<GridSupport> {
    let rail = ledger.machine.rail(id);
    let Some(node) = rail_node(ledger, id) else { return Vec::new() };
    let node_of = |head: Span| node.children().find(|child| child.head() == head);
    let mut all = Vec::new();
    for support in rail.supports.iter().filter(|support| support.joint.is_none()) {
        let Some(node) = node_of(support.place.span) else { continue };
        all.push(GridSupport {
            name: support.name.to_string(),
            at: support.at,
            covers: support.covers,
            node: node.span(),
            in_row: node.name() == "supports",
            left_out: false,
        });
    }
    // Whoever left a support out for a joint support wants it back when the joint goes away.
    let joints: Vec<(Length, Length)> =
        rail.supports.iter().filter(|it| it.joint.is_some()).map(|it| (it.from(), it.to())).collect();
    for row in node.children().filter(|child| child.name() == "supports") {
        let (first, covers) = (length(row, "first"), length(row, "length"));
        let (Some(first), Some(prefix)) = (first, row.args().next().and_then(word)) else { continue };
        let half = Length(covers.map_or(0, |covers| covers.nm() / 2));
        for name in omitted(row) {
            let Some(number) = name.strip_prefix(prefix).and_then(|number| number.parse::<i64>().ok()) else {
                continue;
            };
            let at = Length(first.nm() + length(row, "pitch").unwrap_or_default().nm() * (number - 1));
            if joints.iter().any(|(from, to)| at - half < *to && *from < at + half) {
                let node = row.span();
                all.push(GridSupport { name: name.into(), at, covers, node, in_row: true, left_out: true });
            }
        }
    }
    all.sort_by(|a, b| (a.at, &a.name).cmp(&(b.at, &b.name)));
    all
}

/// The names a row leaves out.
pub(crate) fn omitted(row: NodeRef<'_>) -> impl Iterator<Item = &str> {
    row.children().filter(|child| child.name() == "omit").flat_map(|omit| omit.args()).filter_map(word)
}

/// A name as an argument.
pub(crate) fn word(entry: EntryRef<'_>) -> Option<&str> {
    match entry.value() {
        Value::Text(text) => Some(text),
        _ => None,
    }
}

fn length(node: NodeRef, prop: &str) -> Option<Length> {
    let entry = node.prop(prop)?;
    Length::read(entry.raw(), entry.ty().map(|(unit, _)| unit)).ok()
}
