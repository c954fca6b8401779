//! What is lost when a planned layout takes the place of segments that are described already: serial numbers, lots and
//! remarks that nobody can plan.

use super::layout_plan::LayoutPlan;
use super::layout_write::replaced;
use crate::calc::layout::plan::PlannedLayout;
use crate::finding::Place;
use crate::language::schema::language;
use crate::ledger::{KINDS, Ledger};
use crate::text::{EntryRef, NodeRef};

/// A segment that goes and says more than a plan can say.
pub(crate) struct DroppedSegment {
    /// `X.port.seg1`.
    pub address: String,
    /// As it is written, with the comment on its line.
    pub text: String,
    /// A record that names its serial number, and the number.
    pub named: Option<(String, Place)>,
}

/// What a plan can say of a segment itself.
const PLANNED: [&str; 4] = ["near-distance", "far-distance", "near-end", "far-end"];

/// The segments that go and say more than a plan does, in the order of the text.
pub(crate) fn dropped(ledger: &Ledger, plan: &LayoutPlan, planned: &PlannedLayout) -> Vec<DroppedSegment> {
    let one = |(id, index, node): (_, usize, NodeRef)| {
        let text = with_comment(node);
        let more = node.block().is_some()
            || text.contains("//")
            || text.contains("/*")
            || text.contains("/-")
            || node.entries().any(|entry| entry.name().is_some_and(|name| !PLANNED.contains(&name)));
        let serial = node.prop("serial").and_then(EntryRef::word);
        more.then(|| DroppedSegment {
            address: format!("{}.seg{}", ledger.machine.rail_address(id), index + 1),
            text,
            named: serial.and_then(|serial| Some((serial.to_string(), named(ledger, serial)?))),
        })
    };
    replaced(ledger, plan, planned).into_iter().filter_map(one).collect()
}

/// A node as it is written, with the comment behind it.
fn with_comment(node: NodeRef) -> String {
    let text = node.document().text();
    let span = node.span().range();
    let rest = text[span.end..].lines().next().unwrap_or_default();
    let behind = rest.trim_start_matches([' ', '\t', ';']);
    let comment = if behind.starts_with("//") || behind.starts_with("/*") { rest.trim_end() } else { "" };
    format!("{}{comment}", &text[span])
}

/// The first record that names a serial number, in a part or in words.
fn named(ledger: &Ledger, serial: &str) -> Option<Place> {
    let is_record = |node: &NodeRef| KINDS.contains(&node.name()) && language().node(node.name()).is_some();
    ledger.sources.iter().find_map(|(source, file)| {
        let node = file.document.nodes().filter(is_record).find(|node| says(*node, serial))?;
        Some(Place { source, span: node.head() })
    })
}

fn says(node: NodeRef, serial: &str) -> bool {
    let mut entries = node.entries().filter_map(EntryRef::word);
    let word = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    entries.any(|text| text == serial || text.split(|c| !word(c)).any(|part| part == serial))
        || node.children().any(|child| says(child, serial))
}
