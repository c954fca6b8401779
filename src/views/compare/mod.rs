//! What differs in meaning between two states of some ledgers: what was described, recorded, shimmed, released and
//! conceded, which findings came and went, and how every joint and axis stood before and after.
//!
//! Facts are the same ones that a release is sealed over, so spacing, comments, units and the order of files mean
//! nothing here. Both states are judged by one day: what differs comes from the ledger, not from the calendar. What that
//! did is told apart from it, where it is asked: the state before on its own day and on the later one.

mod fact;
mod findings;
mod groups;
mod order;
mod rows;
mod states;
mod which;

pub use fact::FactChange;
pub use findings::{FindingChanges, ToldFinding};
pub(crate) use states::ComparedState;
pub use states::StateChange;
pub(crate) use which::differing;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::finding::Place;
use crate::judging::lint::Judged;
use crate::ledger::seal::{self, FactGroup, differences};

/// The name of the JSON's shape.
pub const FORMAT: &str = "wayledger-comparison-3";

/// Two states of some ledgers.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Comparison {
    /// The name of this shape.
    #[schemars(extend("const" = FORMAT))]
    pub format: &'static str,
    /// What was compared, in words: `1a2b3c4d5e6f`, `work tree`.
    #[serde(rename = "compared_from")]
    pub before: String,
    /// The state that it is compared with.
    #[serde(rename = "compared_to")]
    pub after: String,
    /// The day both were judged by.
    #[serde(rename = "judged_on")]
    pub judged_by: String,
    /// The ledgers and shop files that say something else, or are judged otherwise.
    pub ledgers: Vec<Compared>,
    /// How many were only written differently.
    pub rewritten: usize,
    /// What the calendar alone did, where that was asked.
    pub calendar: Option<ByCalendar>,
}

/// What became of the state before while nobody wrote anything, on its own day and on the later one.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ByCalendar {
    /// Its own day.
    #[serde(rename = "calendar_from")]
    pub from: String,
    /// The day that everything else was judged by.
    #[serde(rename = "calendar_to")]
    pub to: String,
    /// The ledgers of which the rules say something else on the two days.
    pub ledgers: Vec<Compared>,
}

/// One ledger, or a shop file on its own.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Compared {
    /// Its path after, or before where it is gone.
    pub path: String,
    /// Its path before, where it was moved.
    pub moved_from: Option<String>,
    /// What became of the ledger.
    pub fate: LedgerFate,
    /// It is a shop file.
    pub is_shop: bool,
    /// The records and the parts of the description that are not as they were.
    pub changes: Vec<RecordChange>,
    /// What became of its findings.
    #[serde(rename = "finding_changes")]
    pub findings: FindingChanges,
    /// Every axis and joint.
    pub states: Vec<StateChange>,
}

/// What became of a ledger.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Fate")]
pub enum LedgerFate {
    /// It is new.
    Added,
    /// It is gone.
    Removed,
    /// It was there before.
    Kept,
}

/// What a change is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Topic {
    /// The machine and the shop.
    Described,
    /// Torques, inspections, surveys and other readings.
    Recorded,
    /// Shims.
    Shimmed,
    /// Releases.
    Released,
    /// Concessions.
    Conceded,
    /// Holds.
    Held,
}

impl Topic {
    /// In the order in which they are told.
    pub const ALL: [Topic; 6] =
        [Topic::Described, Topic::Recorded, Topic::Shimmed, Topic::Released, Topic::Conceded, Topic::Held];

    /// As it is printed.
    pub fn word(self) -> &'static str {
        match self {
            Topic::Described => "described",
            Topic::Recorded => "recorded",
            Topic::Shimmed => "shimmed",
            Topic::Released => "released",
            Topic::Conceded => "conceded",
            Topic::Held => "held",
        }
    }

    /// The topic of a group of facts, by the word its name begins with.
    fn from_group(group: &str) -> Topic {
        match group.split(' ').next().unwrap_or("") {
            "shim" => Topic::Shimmed,
            "release" => Topic::Released,
            "concession" => Topic::Conceded,
            "hold" | "lift" => Topic::Held,
            kind if crate::ledger::KINDS.contains(&kind) => Topic::Recorded,
            _ => Topic::Described,
        }
    }
}

/// One record, or one part of the description, that is not as it was.
#[derive(Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Change")]
pub struct RecordChange {
    /// What it belongs to.
    pub topic: Topic,
    /// What it is: `rail X.port`, `inspect X.port.J1 2026-04-15`.
    pub about: String,
    /// What became of it.
    pub how: RecordChangeKind,
    /// The facts that came, went or changed.
    pub facts: Vec<FactChange>,
}

/// What became of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "How")]
pub enum RecordChangeKind {
    /// It is new.
    Added,
    /// It is gone.
    Removed,
    /// It is another one.
    Changed,
    /// The same rows in another order, where the order means something.
    Reordered,
}

impl RecordChangeKind {
    /// As it is printed.
    pub fn word(self) -> &'static str {
        match self {
            RecordChangeKind::Added => "added",
            RecordChangeKind::Removed => "removed",
            RecordChangeKind::Changed => "changed",
            RecordChangeKind::Reordered => "reordered",
        }
    }
}

/// Compares the ledgers and shop files of two states; each list holds those that may differ.
pub fn compare(before: Vec<Judged>, after: Vec<Judged>) -> (Vec<Compared>, usize) {
    let mut left: BTreeMap<String, Judged> = BTreeMap::new();
    left.extend(before.into_iter().map(|judged| (judged.path.0.clone(), judged)));
    let mut came: Vec<Judged> = Vec::new();
    let mut pairs: Vec<(Option<Judged>, Option<Judged>)> = Vec::new();
    for judged in after {
        match left.remove(&judged.path.0) {
            Some(old) => pairs.push((Some(old), Some(judged))),
            None => came.push(judged),
        }
    }
    for judged in came {
        let old = moved(&left, &judged).and_then(|path| left.remove(&path));
        pairs.push((old, Some(judged)));
    }
    pairs.extend(left.into_values().map(|old| (Some(old), None)));
    let mut compared = Vec::new();
    let mut rewritten = 0;
    for (before, after) in &pairs {
        let one = one(before.as_ref(), after.as_ref());
        if !one.is_unchanged() {
            compared.push(one);
        } else if before.as_ref().map(text) != after.as_ref().map(text) {
            rewritten += 1;
        }
    }
    compared.sort_by(|a, b| a.path.cmp(&b.path));
    (compared, rewritten)
}

/// Its files as they are written.
fn text(judged: &Judged) -> Vec<(&str, &str)> {
    groups::own(judged).map(|(_, source)| (source.path.name(), source.document.text())).collect()
}

/// The path of the one ledger that is gone and has the name of the machine that came.
fn moved(gone: &BTreeMap<String, Judged>, came: &Judged) -> Option<String> {
    let name = |judged: &Judged| judged.ledger.machine.name.as_ref().map(|name| name.value.clone());
    let own = name(came)?;
    let mut alike = gone.iter().filter(|(_, old)| name(old).as_ref() == Some(&own));
    match (alike.next(), alike.next()) {
        (Some((path, _)), None) => Some(path.clone()),
        _ => None,
    }
}

fn one(before: Option<&Judged>, after: Option<&Judged>) -> Compared {
    let of = |judged: Option<&Judged>| judged.map(groups::groups).unwrap_or_default();
    let path = |judged: Option<&Judged>| judged.map(|judged| judged.path.to_string());
    let (old, new) = (path(before), path(after));
    let (was, now) = (of(before), of(after));
    let mut changes = changes(&was, &now);
    if let (Some(before), Some(after)) = (before, after) {
        for day in order::reordered((&before.ledger, &was), (&after.ledger, &now)) {
            let about = format!("records of {day}");
            changes.push(RecordChange {
                topic: Topic::Recorded,
                about,
                how: RecordChangeKind::Reordered,
                facts: Vec::new(),
            });
        }
    }
    Compared {
        fate: match (&old, &new) {
            (None, _) => LedgerFate::Added,
            (_, None) => LedgerFate::Removed,
            _ => LedgerFate::Kept,
        },
        is_shop: [before, after].iter().flatten().any(|judged| judged.is_shop),
        changes,
        findings: findings::changes(before, after),
        states: states::changes(before, after),
        moved_from: old.clone().filter(|old| new.as_ref().is_some_and(|new| new != old)),
        path: new.or(old).unwrap_or_default(),
    }
}

impl Compared {
    fn is_unchanged(&self) -> bool {
        let same = |change: &StateChange| change.was == change.now;
        self.changes.is_empty()
            && self.moved_from.is_none()
            && self.fate == LedgerFate::Kept
            && self.findings.is_unchanged()
            && self.states.iter().all(same)
    }
}

/// The changes of a list of groups, each group once, by topic.
fn changes(before: &[FactGroup], after: &[FactGroup]) -> Vec<RecordChange> {
    let whole = |groups: &[FactGroup], place, name: &str, how: RecordChangeKind| -> Vec<FactChange> {
        let group = groups.iter().find(|group| group.place == place && group.name == name);
        let fact = |fact: &seal::Fact| {
            let value = Some(fact.value.clone());
            let (was, now) = if how == RecordChangeKind::Added { (None, value) } else { (value, None) };
            FactChange::new(&fact.address, was, now)
        };
        group.map(|group| group.facts.iter().map(fact).collect()).unwrap_or_default()
    };
    // The groups that two facts stand in, which only their places tell: two records of a day may have one name.
    let holding = |groups: &[FactGroup], place: Place| groups.iter().position(|group| group.holds(place));
    let mut all: Vec<RecordChange> = Vec::new();
    let mut changed: Vec<GroupPair> = Vec::new();
    for difference in differences(before, after.to_vec()) {
        let (about, how, facts) = match difference {
            seal::SealChange::Fact { group, address, old, new } => {
                let pair = GroupPair {
                    old: old.as_ref().and_then(|(_, place)| holding(before, *place)),
                    new: new.as_ref().and_then(|(_, place)| holding(after, *place)),
                    group,
                    facts: Vec::new(),
                };
                let fact = FactChange::new(&address, old.map(|(value, _)| value), new.map(|(value, _)| value));
                match changed.iter_mut().find(|known| known.is(&pair)) {
                    Some(known) => known.take(&pair, fact),
                    None => changed.push(GroupPair { facts: vec![fact], ..pair }),
                }
                continue;
            }
            seal::SealChange::Group { name, new: Some(place), .. } => {
                let facts = whole(after, place, &name, RecordChangeKind::Added);
                (name, RecordChangeKind::Added, facts)
            }
            seal::SealChange::Group { name, old: Some(place), .. } => {
                let facts = whole(before, place, &name, RecordChangeKind::Removed);
                (name, RecordChangeKind::Removed, facts)
            }
            seal::SealChange::Order { group, .. } => (group, RecordChangeKind::Reordered, Vec::new()),
            _ => continue,
        };
        all.push(RecordChange { topic: Topic::from_group(&about), about, how, facts });
    }
    for GroupPair { old, new, group, facts } in changed {
        let facts = match (old, new) {
            (Some(old), Some(new)) => rows::told(facts, &before[old], &after[new]),
            _ => facts,
        };
        all.push(RecordChange {
            topic: Topic::from_group(&group),
            about: group,
            how: RecordChangeKind::Changed,
            facts,
        });
    }
    all.sort_by(|a, b| (a.topic, &a.about).cmp(&(b.topic, &b.about)));
    all
}

/// Two groups that are one record or part at two times, with what differs.
struct GroupPair {
    old: Option<usize>,
    new: Option<usize>,
    group: String,
    facts: Vec<FactChange>,
}

impl GroupPair {
    fn is(&self, other: &GroupPair) -> bool {
        let may = |a: Option<usize>, b: Option<usize>| a.is_none() || b.is_none() || a == b;
        self.group == other.group && may(self.old, other.old) && may(self.new, other.new)
    }

    fn take(&mut self, other: &GroupPair, fact: FactChange) {
        self.old = self.old.or(other.old);
        self.new = self.new.or(other.new);
        self.facts.push(fact);
    }
}
