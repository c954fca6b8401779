//! What a signature under a release is over: a few lines that a person can read before signing. They are made of nothing but
//! the release record, so that what is altered elsewhere is told by the seal alone.

use super::facts::Fact;
use super::group::MACHINE;
use super::rests::facts_of_release;
use super::write::of_draft;
use crate::finding::SourceId;
use crate::ledger::{Ledger, NodeDraft};
use crate::text::{EntryRef, NodeRef, Value};

/// What signatures of releases are for, in the words of SSHSIG: nothing else is signed under it.
pub(crate) const NAMESPACE: &str = "wayledger-release";

/// The text under the release that a record is; nothing where the record cannot be found.
pub(crate) fn signed_text(ledger: &Ledger, release: usize) -> Option<String> {
    let place = ledger.records[release].place;
    let mut nodes = ledger.sources.get(place.source).document.nodes();
    nodes.find(|node| node.head() == place.span).map(of_node)
}

/// The text to be signed for a release that is not written yet.
pub(crate) fn text_to_sign(release: &NodeDraft) -> String {
    of_draft(release, of_node).unwrap_or_default()
}

fn of_node(node: NodeRef) -> String {
    let own = facts_of_release(node, SourceId::default());
    let stated = |address: &str| own.iter().find(|fact| fact.address == address).map(|fact| fact.value.as_str());
    let seal = node.prop("seal").and_then(EntryRef::word);
    let mut text = format!("{NAMESPACE}\n");
    let mut line = |name: &str, value: Option<&str>| {
        if let Some(value) = value {
            text.push_str(&format!("{name}: {}\n", printable(value)));
        }
    };
    line("seal edition", stated("edition"));
    for (address, value) in machine(node) {
        let word = address.split(' ').next().unwrap_or_default();
        line(if word == "name" { MACHINE } else { word }, Some(&value));
    }
    line("axis", stated("on"));
    line("released", stated("date"));
    line("by", stated("by"));
    line("judged on", stated("judged-on"));
    line("supersedes", stated("supersedes"));
    line("reason", stated("reason"));
    // The order of remarks is no part of the seal.
    let is_note = |fact: &&Fact| fact.address.split(' ').next() == Some("note");
    let mut notes: Vec<&str> = own.iter().filter(is_note).map(|fact| fact.value.as_str()).collect();
    notes.sort_unstable();
    notes.into_iter().for_each(|note| line("note", Some(note)));
    line("seal, SHA-256", seal);
    text
}

/// What the seal says of the machine.
fn machine(release: NodeRef) -> Vec<(String, String)> {
    let is_it = |node: &NodeRef| {
        let name = node.args().next().map(|entry| entry.value());
        node.name() == "sealed" && matches!(name, Some(Value::Text(MACHINE)))
    };
    let Some(sealed) = release.children().find(is_it) else { return Vec::new() };
    let text = |node: NodeRef, at: usize| node.args().nth(at).and_then(EntryRef::word).unwrap_or_default().to_owned();
    let rows = sealed.children().filter(|row| row.name() == "fact");
    let mut facts: Vec<(String, String)> = rows.map(|row| (text(row, 0), text(row, 1))).collect();
    facts.sort_unstable();
    facts
}

/// A value on one line in letters that every screen shows and nobody takes for others; each other one by its number.
fn printable(value: &str) -> String {
    let mut out = String::new();
    for letter in value.chars() {
        match letter {
            '\\' => out.push_str("\\\\"),
            ' '..='~' => out.push(letter),
            other => out.push_str(&format!("\\u{{{:x}}}", u32::from(other))),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_values_are_printed_alike() {
        assert_eq!(printable("plank-planer 2"), "plank-planer 2");
        assert_eq!(printable("a\nseal: b\u{441}\\u{441}\u{7f}"), "a\\u{a}seal: b\\u{441}\\\\u{441}\\u{7f}");
    }
}
