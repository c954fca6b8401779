//! All that a ledger or a shop file says, as groups of facts: every node of its own files in one of them.

use crate::finding::{Place, Source, SourceId};
use crate::judging::lint::Judged;
use crate::language::schema::{NodeShape, language};
use crate::ledger::Ledger;
use crate::ledger::seal::{Fact, FactGroup, description, facts};
use crate::text::{EntryRef, NodeRef, Value};
use crate::world::ledgers::is_shared;

pub(super) fn groups(judged: &Judged) -> Vec<FactGroup> {
    let ledger = &judged.ledger;
    let mut all = Vec::new();
    for (id, source) in own(judged) {
        for node in source.document.nodes() {
            top_node(ledger, node, id, &mut all);
        }
    }
    all
}

/// The files that are its own: a shop file is compared once on its own, not once a ledger below it.
pub(super) fn own(judged: &Judged) -> impl Iterator<Item = (SourceId, &Source)> {
    judged.ledger.sources.iter().filter(|(_, source)| (is_shared(source.path.name())) == judged.is_shop)
}

fn top_node(ledger: &Ledger, node: NodeRef, id: SourceId, all: &mut Vec<FactGroup>) {
    let shape = language().node(node.name());
    let below = |child: NodeRef| shape.and_then(|shape| shape.child(child.name()));
    match node.name() {
        "machine" => {
            all.push(FactGroup::from_node("machine".into(), shape, node, id, |child| {
                !matches!(child.name(), "axis" | "rulebook")
            }));
            for book in node.children().filter(|child| child.name() == "rulebook") {
                all.push(FactGroup::from_node("limits".into(), below(book), book, id, |_| true));
            }
            let mut described = Vec::new();
            ledger.machine.axes.iter().for_each(|axis| description(ledger, axis, &mut described));
            // What it says of its design stands with the machine.
            let of_machine =
                |group: &FactGroup| matches!(group.name.split(' ').next(), Some("built-to" | "part" | "deviation"));
            all.extend(described.into_iter().filter(|group| !of_machine(group)));
        }
        "shop" => {
            all.push(FactGroup::from_node("shop".into(), shape, node, id, |_| false));
            for child in node.children() {
                let name = match child.name() {
                    "rulebook" => "limits".into(),
                    _ => name_of(child, 1),
                };
                all.push(FactGroup::from_node(name, below(child), child, id, |_| true));
            }
        }
        "design" => {
            let revision = node.prop("revision").map_or("", |entry| entry.raw());
            let name = format!("{} revision {revision}", name_of(node, 1));
            all.push(FactGroup::from_node(name, shape, node, id, |_| true));
        }
        "release" => {
            // The sealed facts are a copy of what the rest of the ledger says; that they differ is enough.
            let own = |child: NodeRef| !is_of_seal(child.name());
            let mut release = FactGroup::from_node(record_name(node, shape), shape, node, id, own);
            release.facts.extend(sealed(shape, node, id));
            all.push(release);
        }
        _ => all.push(FactGroup::from_node(record_name(node, shape), shape, node, id, |_| true)),
    }
}

/// The rows of a release that are a copy of the ledger, or of what was said of it then.
fn is_of_seal(name: &str) -> bool {
    matches!(name, "sealed" | "judged" | "idle")
}

/// How many groups a release seals, with a short digest of them.
fn sealed(shape: Option<&NodeShape>, node: NodeRef, source: SourceId) -> Option<Fact> {
    use sha2::{Digest as _, Sha256};
    let count = node.children().filter(|child| child.name() == "sealed").count();
    if count == 0 {
        return None;
    }
    let mut digest = Sha256::new();
    for fact in facts(shape, node, source, |child| is_of_seal(child.name())) {
        for text in [&fact.address, &fact.value] {
            digest.update((text.len() as u64).to_be_bytes());
            digest.update(text);
        }
    }
    let digest: String = digest.finalize().iter().take(6).map(|byte| format!("{byte:02x}")).collect();
    let value = format!("{count} groups, digest {digest}…");
    Some(Fact { address: "sealed facts".into(), value, place: Place { source, span: node.head() } })
}

/// A node's word and its first arguments: `gauge DI-4`.
fn name_of(node: NodeRef, args: usize) -> String {
    let mut words = vec![node.name().to_owned()];
    words.extend(node.args().take(args).filter_map(EntryRef::word).map(str::to_owned));
    words.join(" ")
}

/// What a record is called: its kind, what it is about, and when.
fn record_name(node: NodeRef, shape: Option<&NodeShape>) -> String {
    let mut name = name_of(node, shape.map_or(0, |shape| shape.args.len()));
    if let Some(Value::Text(date)) = node.prop("date").map(|entry| entry.value()) {
        name.push(' ');
        name.push_str(date);
    }
    name
}
