//! Whose word counts, for what, and the keys that they sign with: as the file of a shop declares them.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::spanned::{Keyword, Name, SourcedNode, Spanned, words};
use crate::finding::{Place, SourceId};
use crate::language::public_key::PublicKey;
use crate::text::Document;

words!(
    /// What not everybody may do, once somebody is said to.
    Permission {
        Release = "release",
        VoidRelease = "void-release",
        Concede = "concede",
        Lift = "lift",
        NotApplicable = "not-applicable",
    }
);

/// The days on which something holds, both ends among them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Days {
    /// The first; always where nothing is said.
    pub from: Option<Date>,
    /// The last.
    pub until: Option<Date>,
}

/// Somebody whom the shop declares.
#[derive(Clone, Debug)]
pub struct Person {
    /// As records name them.
    pub name: Spanned<Name>,
    /// When they are one of the shop.
    pub days: Days,
    /// Who took over when they ended.
    pub successor: Option<Spanned<Name>>,
    /// What they may do, and when.
    pub may: Vec<(Spanned<Permission>, Days)>,
    /// Their keys, and when those are theirs.
    pub keys: Vec<(Spanned<PublicKey>, Days)>,
}

impl Days {
    fn of(row: SourcedNode) -> Days {
        let day = |name| row.moment(name).map(|moment| moment.date);
        Days { from: day("from"), until: day("until") }
    }

    /// Whether a day is one of them.
    pub fn hold(&self, day: Date) -> bool {
        self.from.is_none_or(|from| from <= day) && self.until.is_none_or(|until| day <= until)
    }

    /// Whether these are those of before, which may have got an end since.
    pub fn grew_from(&self, before: &Days) -> bool {
        self.from == before.from && (before.until.is_none() || self.until == before.until)
    }

    /// As a sentence says it, with a space before it: ` from 2026-01-05 until 2026-12-31`; nothing for ever.
    pub fn words(&self) -> String {
        let day = |word, day: Option<Date>| day.map_or(String::new(), |day| format!(" {word} {day}"));
        day("from", self.from) + &day("until", self.until)
    }
}

impl Person {
    pub(super) fn read(row: SourcedNode, name: Spanned<Name>) -> Person {
        let may = row.named("may").flat_map(|row| {
            let days = Days::of(row);
            row.args().filter_map(move |cell| Some((cell.word::<Permission>()?, days)))
        });
        let key = |row: SourcedNode| {
            let text: Spanned<&str> = row.arg_text(0)?;
            Some((Spanned { value: PublicKey::read(text.value)?, place: text.place }, Days::of(row)))
        };
        Person {
            name,
            days: Days::of(row),
            successor: row.text("successor"),
            may: may.collect(),
            keys: row.named("key").filter_map(key).collect(),
        }
    }

    /// All that the shops of a file declare.
    pub(crate) fn all(document: &Document, source: SourceId) -> Vec<Person> {
        let nodes = document.nodes().filter(|node| node.is("shop")).map(|node| SourcedNode { node, source });
        let rows = nodes.flat_map(|shop| shop.children().filter(|row| row.name() == "person").collect::<Vec<_>>());
        rows.filter_map(|row| Some(Person::read(row, row.arg_text(0)?))).collect()
    }

    /// As records name them.
    pub fn as_str(&self) -> &str {
        self.name.as_str()
    }

    /// What lets them do something on a day, or would if they had not ended before.
    fn right(&self, what: Permission, day: Date) -> Option<Place> {
        self.may.iter().find(|(of, days)| **of == what && days.hold(day)).map(|(of, _)| of.place)
    }
}

/// The first of some days from which any holds; nothing where there are none, and a day before all where one holds always.
pub(super) fn first<'d>(all: impl Iterator<Item = &'d Days>) -> Option<Date> {
    all.map(|days| days.from.unwrap_or(Date::MIN)).min()
}

impl super::Shop {
    /// What lets somebody do something on a day: a right of their own, or of one whom they took over from, be it through
    /// others who had taken over and ended since.
    pub(crate) fn may(&self, name: &str, what: Permission, day: Date) -> Option<Place> {
        let person = self.persons.get(name).filter(|person| person.days.hold(day))?;
        if let Some(place) = person.right(what, day) {
            return Some(place);
        }
        let mut followed: BTreeMap<&str, Vec<&Person>> = BTreeMap::new();
        for over in self.persons.iter().filter(|it| it.days.until.is_some_and(|until| until < day)) {
            if let Some(by) = &over.successor {
                followed.entry(by.as_str()).or_default().push(over);
            }
        }
        // Each once: two may name each other.
        let mut next = vec![person];
        while let Some(person) = next.pop() {
            for former in followed.remove(person.as_str()).into_iter().flatten() {
                if let Some(place) = former.right(what, day) {
                    return Some(place);
                }
                next.push(former);
            }
        }
        None
    }

    /// The day from which not everybody may do a thing.
    pub(crate) fn restricted_from(&self, what: Permission) -> Option<Date> {
        first(self.persons.iter().flat_map(|it| &it.may).filter(|(of, _)| **of == what).map(|(_, days)| days))
    }

    /// The day from which somebody can sign.
    pub(crate) fn signed_from(&self) -> Option<Date> {
        first(self.persons.iter().flat_map(|it| &it.keys).map(|(_, days)| days))
    }
}

impl Permission {
    /// As a sentence says it: `may not …`.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Permission::Release => "release",
            Permission::VoidRelease => "withdraw a release",
            Permission::Concede => "concede",
            Permission::Lift => "lift a hold",
            Permission::NotApplicable => "declare what does not apply",
        }
    }

    /// As a row of the shop file says it.
    pub(crate) fn spelt(self) -> &'static str {
        Keyword::word(self)
    }
}
