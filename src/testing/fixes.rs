//! Holds the fixes that findings carry to their promise: with each made, its finding is gone, no other came, and nothing
//! else in the document changed. In a record no value is touched.

use std::collections::BTreeMap;

use wayledger::files::{self, Memory, find_all};
use wayledger::kdl::{Document, Edit, NodeRef, ReadLimits, Span, apply, read};
use wayledger::lint::{Finding, Fix, Judged, RuleGroup, lint, rules};

use super::today;

/// Files by their names.
pub(crate) type Files = Vec<(String, String)>;

/// Judges the files, the shop file on its own.
pub(crate) fn judge(files: &Files, each: impl FnMut(Judged)) {
    let world = files.iter().fold(Memory::new(today()), |world, (name, text)| world.with(name, text.as_str()));
    let found = find_all(&world, &[files::Path("m".into())]).expect("the ledger is there").found;
    lint(&world, &found, today(), each);
}

/// A finding with its fix, and each file that the fix changes with its edits.
pub(crate) struct Found {
    pub finding: Finding,
    pub changed: BTreeMap<String, Vec<Edit>>,
}

pub(crate) fn found(files: &Files) -> Vec<Found> {
    let mut all = Vec::new();
    judge(files, |judged| {
        for finding in judged.findings {
            let mut changed: BTreeMap<String, Vec<Edit>> = BTreeMap::new();
            for (source, edit) in finding.fix.iter().flat_map(|fix| &fix.edits) {
                changed.entry(judged.ledger.sources.get(*source).path.0.clone()).or_default().push(edit.clone());
            }
            all.push(Found { finding, changed });
        }
    });
    all
}

/// What is said, and how often.
fn said(found: &[Found]) -> BTreeMap<(&'static str, String, String), usize> {
    let mut said = BTreeMap::new();
    for Found { finding, .. } in found {
        *said.entry((finding.rule.as_str(), finding.address.clone(), finding.message.clone())).or_default() += 1;
    }
    said
}

fn document(text: &str) -> Document {
    read(text.to_owned(), &ReadLimits::default()).document
}

fn touches(edits: &[Span], span: Span) -> bool {
    edits.iter().any(|edit| edit.start < span.end && span.start < edit.end)
}

/// All that a document says outside of some stretches.
fn facts(document: &Document, edits: &[Span]) -> Vec<String> {
    let mut facts = Vec::new();
    for node in (0..document.len()).filter_map(|index| document.node(index)) {
        let name = if touches(edits, node.name_span()) { "…" } else { node.name() };
        facts.push(format!("{} {:?} {name}", node.depth(), node.ty().map(|(ty, _)| ty)));
        for entry in node.entries() {
            let name =
                entry.name_span().map(|span| if touches(edits, span) { "…" } else { entry.name().unwrap_or("") });
            let ty = entry.ty().filter(|(_, span)| !touches(edits, *span)).map(|(ty, _)| ty);
            // Where an annotation is changed, the value behind it stays.
            match (touches(edits, entry.value_span()), name, entry.value()) {
                (true, Some(name), _) => facts.push(format!("  {name}=")),
                (true, None, _) => {}
                (false, name, value) => facts.push(format!("  {name:?} {ty:?} {value:?}")),
            }
        }
    }
    facts
}

/// Where the new stretches lie in the changed text that stand in the place of others. What is only put in, a brace or a
/// quotation mark, must leave all that is said as it was read.
fn moved(edits: &[Edit]) -> Vec<Span> {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|edit| edit.span.start);
    let mut grown = 0;
    let place = |edit: &Edit| {
        let start = (i64::from(edit.span.start) + grown) as u32;
        grown += edit.text.len() as i64 - edit.span.len() as i64;
        (!edit.span.is_empty()).then_some(Span { start, end: start + edit.text.len() as u32 })
    };
    sorted.into_iter().filter_map(place).collect()
}

/// The values of records in a document.
fn values_of_records(document: &Document) -> Vec<Span> {
    let is_record = |node: &NodeRef| !matches!(node.name(), "machine" | "shop");
    let below = |node: NodeRef| (node.index()..node.after()).collect::<Vec<_>>();
    let nodes = document.nodes().filter(is_record).flat_map(below).filter_map(|index| document.node(index));
    nodes.flat_map(|node| node.entries().map(|entry| entry.value_span()).collect::<Vec<_>>()).collect()
}

/// Makes each fix in turn and holds it to its promise; gives what the fixes say they do. Of a text that could not be read
/// nothing was judged but the text: so what is new may be told by rules of another group, once it can be.
pub(crate) fn hold(files: &Files) -> Vec<String> {
    let of_text = |rule: &str| rules().any(|it| it.name.as_str() == rule && it.group == RuleGroup::Text);
    hold_with(files, of_text)
}

/// The same; `never` says of which rules nothing new may be found.
pub(crate) fn hold_with(files: &Files, never: impl Fn(&str) -> bool) -> Vec<String> {
    let before = found(files);
    let said_before = said(&before);
    let mut titles = Vec::new();
    for Found { finding, changed } in &before {
        let Some(Fix { title, .. }) = &finding.fix else { continue };
        titles.push(title.clone());
        assert!(!title.is_empty() && !title.ends_with('.') && !changed.is_empty(), "{finding:?}");
        let mut fixed = files.clone();
        for (name, edits) in changed {
            let text = &mut fixed.iter_mut().find(|(file, _)| file == name).expect("one of the files").1;
            let new = apply(text, edits).expect("the edits fit");
            let (was, is) = (document(text), document(&new));
            let spans: Vec<Span> = edits.iter().map(|edit| edit.span).collect();
            assert_eq!(facts(&was, &spans), facts(&is, &moved(edits)), "{title}: {edits:?} of\n{text}");
            let values = values_of_records(&was);
            assert!(!values.iter().any(|value| touches(&spans, *value)), "a value of a record: {finding:?}");
            *text = new;
        }
        let said_after = said(&found(&fixed));
        let own = (finding.rule.as_str(), finding.address.clone(), finding.message.clone());
        let count = |said: &BTreeMap<_, usize>| said.get(&own).copied().unwrap_or(0);
        assert_eq!(count(&said_after) + 1, count(&said_before), "{title} leaves {finding:?}");
        for (it, count) in said_after.iter().filter(|(it, _)| never(it.0)) {
            assert!(said_before.get(it).is_some_and(|was| count <= was), "{title} brings {it:?} to {:?}", changed);
        }
    }
    titles
}
