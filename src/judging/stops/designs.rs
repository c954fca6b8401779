//! Designs under built machines: a revision that a machine with records is built to says what it said. What is to be otherwise
//! is a new revision, which each machine takes over in words.
//!
//! A released axis is left to its seal.

use super::altered::HeldState;
use crate::finding::{Cure, Finding, Grade, Place, names};
use crate::judging::lint::Judged;
use crate::language::schema::language;
use crate::ledger::seal::{Fact, FactGroup, release_of};
use crate::ledger::{BuiltTo, Ledger, NodeDraft, SpeltValue};

/// The revisions in use that say something else than they said.
pub(super) fn designs(now: &Judged, state: &HeldState) -> Vec<Finding> {
    let (was, is) = (&state.judged.ledger, &now.ledger);
    let released = (0..is.machine.axes.len()).all(|axis| release_of(is, axis).is_some());
    if released || !was.records.iter().any(|record| record.counts()) {
        return Vec::new();
    }
    let mut all: Vec<Finding> = Vec::new();
    for built in &is.machine.built_to {
        let same = |old: &&BuiltTo| *old.design == *built.design && *old.revision == *built.revision;
        let Some(old) = was.machine.built_to.iter().find(same) else { continue };
        let (Some(before), Some(after)) = (facts(was, old), facts(is, built)) else { continue };
        let says =
            |fact: &Fact, all: &[Fact]| all.iter().any(|it| (&it.address, &it.value) == (&fact.address, &fact.value));
        let other = after.iter().find(|fact| !says(fact, &before));
        let lost = before.iter().find(|fact| !says(fact, &after));
        let what = match (other, lost) {
            (None, None) => continue,
            (Some(fact), _) => match before.iter().find(|it| it.address == fact.address) {
                Some(old) => format!("`{}` was `{}`, is `{}`", fact.address, old.value, fact.value),
                None => format!("`{}` came: `{}`", fact.address, fact.value),
            },
            (None, Some(fact)) => format!("`{}` went: `{}`", fact.address, fact.value),
        };
        let place = other.map(|fact| fact.place).or(built.described).unwrap_or(built.place);
        let (name, revision) = (&*built.design, *built.revision);
        let message = format!(
            "revision {revision} of design {name} changed under a machine with records: {what}; {} has it otherwise",
            state.called
        );
        let next = format!(
            "put it back, and describe what is to be as a new revision beside it; a machine that was changed to it says so: `{}`",
            NodeDraft::new("built-to")
                .value(name.as_str())
                .property("revision", SpeltValue::count(revision.saturating_add(1)))
                .property("since", SpeltValue::open_text())
                .line()
        );
        let mut finding = Finding::new(names::DESIGN_ALTERED, Grade::Nonconformity, "", place, message)
            .here("not as it was")
            .also(built.place, "a machine is built to it")
            .next(next);
        finding.cure = Some(Cure::Writing);
        all.push(finding);
    }
    all
}

/// What the revision says.
fn facts(ledger: &Ledger, built: &BuiltTo) -> Option<Vec<Fact>> {
    let Place { source, span } = built.described?;
    let node = ledger.sources.get(source).document.nodes().find(|node| node.head() == span)?;
    Some(FactGroup::from_node(String::new(), language().node("design"), node, source, |_| true).facts)
}
