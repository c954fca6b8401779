//! Who may say what: what a shop's file states of a person is held as a record is. What is added later (a further key, the
//! day until which one holds) takes nothing back.

use super::shops::own_shops;
use crate::finding::{Cure, Finding, Grade, Place, names};
use crate::judging::lint::Judged;
use crate::ledger::{Days, Person};
use crate::text::Span;

/// Something that is stated of a person, and when it holds.
struct PersonStatement {
    what: String,
    days: Days,
    place: Place,
}

/// The persons of a file.
fn declared(judged: &Judged) -> Vec<Person> {
    own_shops(judged).flat_map(|(source, file)| Person::all(&file.document, source)).collect()
}

fn stated(person: &Person) -> Vec<PersonStatement> {
    let may = person.may.iter().map(|(what, days)| (format!("may {}", what.spelt()), days, what.place));
    let keys = person.keys.iter().map(|(key, days)| (format!("key {}", key.fingerprint()), days, key.place));
    let own = std::iter::once(("person".to_string(), &person.days, person.name.place));
    own.chain(may).chain(keys).map(|(what, days, place)| PersonStatement { what, days: *days, place }).collect()
}

/// What was stated of a person and is not any more.
pub(super) fn persons(now: &Judged, before: &Judged, called: &str) -> Vec<Finding> {
    let is = declared(now);
    let mut all = Vec::new();
    for was in declared(before) {
        let name = was.as_str();
        let there: Vec<&Person> = is.iter().filter(|other| other.as_str() == name).collect();
        let stands: Vec<PersonStatement> = there.iter().flat_map(|person| stated(person)).collect();
        let holds = |of: &PersonStatement| stands.iter().any(|is| is.what == of.what && is.days.grew_from(&of.days));
        let lost = stated(&was).into_iter().find(|of| !holds(of));
        let (place, message) = match (there.first(), lost) {
            (Some(_), None) => continue,
            (Some(person), Some(lost)) => {
                let instead = stands.iter().find(|is| is.what == lost.what);
                let is = instead.map_or("is gone".to_owned(), |is| match is.days.words() {
                    days if days.is_empty() => "holds always".to_owned(),
                    days => format!("holds{days}"),
                });
                let message = format!("`{}`{} of person {name} in {called} {is}", lost.what, lost.days.words());
                (instead.map_or(person.name.place, |is| is.place), message)
            }
            (None, _) => {
                let file = &before.ledger.sources.get(was.name.place.source).path;
                let source = now.ledger.sources.iter().find(|(_, source)| source.path == *file);
                let source = source.map(|(id, _)| id).unwrap_or_default();
                (Place { source, span: Span::default() }, format!("person {name} of {called} is gone"))
            }
        };
        let file = &before.ledger.sources.get(was.name.place.source).path;
        let next = format!(
            "put it back as {called} has it, in {file}: what was signed under that name rests on it; what changes is added beside it, and what ends gets an `until`"
        );
        let mut finding = Finding::new(names::PERSON_ALTERED, Grade::Nonconformity, name, place, message);
        finding = finding.here("not as it was").next(next);
        finding.cure = Some(Cure::Writing);
        all.push(finding);
    }
    all
}
