//! Who may say what: what a shop's file states of a person is held as a record is. What is added later (a further key, the
//! day until which one holds) takes nothing back.

use crate::finding::{Cure, Finding, Grade, Place, names};
use crate::judging::lint::Judged;
use crate::language::schema::language;
use crate::ledger::seal::{Fact, FactGroup};
use crate::text::{Span, Value};

/// The persons of a file with all that is stated of them.
fn declared(judged: &Judged) -> Vec<(String, FactGroup)> {
    let shape = language().node("shop").and_then(|shop| shop.child("person"));
    let mut all = Vec::new();
    for (source, file) in judged.ledger.sources.iter().filter(|(_, file)| !judged.is_shop || file.path == judged.path) {
        // The shop files above a ledger are judged on their own.
        if !judged.is_shop && file.path.name() == crate::world::ledgers::SHOP {
            continue;
        }
        for shop in file.document.nodes().filter(|node| node.is("shop")) {
            for node in shop.children().filter(|child| child.name() == "person") {
                let Some(Value::Text(name) | Value::Number(name)) = node.args().next().map(|entry| entry.value())
                else {
                    continue;
                };
                let group = FactGroup::from_node(name.to_owned(), shape, node, source, |child| child.name() != "note");
                all.push((name.to_owned(), group));
            }
        }
    }
    all
}

/// What was stated of a person and is not any more.
pub(super) fn persons(now: &Judged, before: &Judged, called: &str) -> Vec<Finding> {
    let is = declared(now);
    let mut all = Vec::new();
    for (name, was) in declared(before) {
        let there: Vec<&FactGroup> = is.iter().filter(|(other, _)| *other == name).map(|(_, group)| group).collect();
        let says = |fact: &Fact| {
            there.iter().any(|it| it.facts.iter().any(|is| (&is.address, &is.value) == (&fact.address, &fact.value)))
        };
        let lost: Vec<&Fact> = was.facts.iter().filter(|fact| !says(fact)).collect();
        if !there.is_empty() && lost.is_empty() {
            continue;
        }
        let file = &before.ledger.sources.get(was.place.source).path;
        let (place, message) = match (there.first(), lost.first()) {
            (Some(group), Some(fact)) => {
                let instead = group.facts.iter().find(|is| is.address == fact.address);
                let is = instead.map_or("is gone".to_owned(), |is| format!("is `{}`", is.value));
                let message = format!("`{}` of person {name} was `{}` in {called} and {is}", fact.address, fact.value);
                (instead.map_or(group.place, |is| is.place), message)
            }
            _ => {
                let source = now.ledger.sources.iter().find(|(_, source)| source.path == *file);
                let source = source.map(|(id, _)| id).unwrap_or_default();
                (Place { source, span: Span::default() }, format!("person {name} of {called} is gone"))
            }
        };
        let next = format!(
            "put it back as {called} has it, in {file}: what was signed under that name rests on it; what changes is added beside it"
        );
        let mut finding = Finding::new(names::PERSON_ALTERED, Grade::Nonconformity, name, place, message);
        finding = finding.here("not as it was").next(next);
        finding.cure = Some(Cure::Writing);
        all.push(finding);
    }
    all
}
