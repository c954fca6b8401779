//! What became of records between two states: kept, grown, changed or gone. The one idea of alteration, for the hook, a
//! pull request and a server.
//!
//! Growth answers what was open: a blank, a row, a property that was not stated, a time of day, a note, a repeat. It takes
//! no stated value back. Whether growth turned a broken verdict, or touched a sealed record, is asked beside this.

use std::collections::{BTreeMap, BTreeSet};

use super::records::{NOTE, RecordFact, RecordText};
use crate::finding::Place;

/// What became of one record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum RecordFate {
    /// It says what it said, wherever it stands now.
    Kept,
    /// It says all that it said, and more: by which record now.
    Grown {
        now: usize,
    },
    /// It says something else: by which record now, and what.
    Changed {
        now: usize,
        changes: Vec<RecordFactChange>,
    },
    Gone,
}

impl RecordFate {
    pub(super) fn is_lost(&self) -> bool {
        matches!(self, RecordFate::Changed { .. } | RecordFate::Gone)
    }

    /// It is by somebody else now, or by nobody: what nobody may judge themselves hangs on that.
    pub(super) fn has_other_author(&self) -> bool {
        matches!(self, RecordFate::Changed { changes, .. } if changes.iter().any(|change| change.what == "by"))
    }

    /// The record that stands there now, where it is another text.
    pub(super) fn now(&self) -> Option<usize> {
        match self {
            RecordFate::Grown { now } | RecordFate::Changed { now, .. } => Some(*now),
            RecordFate::Kept | RecordFate::Gone => None,
        }
    }
}

/// One stated thing that is not said any more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct RecordFactChange {
    pub what: String,
    pub was: String,
    /// What is said in its place.
    pub is: Option<String>,
    pub place: Option<Place>,
}

/// So many records are looked through for one that was given another date or address.
const MOST_COMPARED: usize = 64;

/// What became of each record of a list in another one. `elsewhere` are texts that stood elsewhere before and are no other record
/// changed; `free` says which facts could not be read then, and may be mended.
pub(super) fn fates(
    then: &[RecordText],
    now: &[RecordText],
    elsewhere: &BTreeSet<&str>,
    free: impl Fn(&RecordText, &RecordFact) -> bool,
) -> Vec<RecordFate> {
    let mut same: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, said) in now.iter().enumerate() {
        same.entry(&said.says).or_default().push(at);
    }
    let known: BTreeSet<&str> = then.iter().map(|said| said.says.as_str()).collect();
    // What stands there and did not stand there so.
    let mut new: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    let mut of_kind: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, said) in now.iter().enumerate().filter(|(_, said)| !known.contains(said.says.as_str())) {
        new.entry(said.subject_and_day()).or_default().push(at);
        of_kind.entry(said.kind).or_default().push(at);
    }
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    // Of identical records one may go: each text is looked for once.
    let mut decided: BTreeMap<(&str, Vec<&str>), RecordFate> = BTreeMap::new();
    let mut all: Vec<Option<RecordFate>> = Vec::with_capacity(then.len());
    for was in then {
        let kept = same.get(was.says.as_str()).map(|all| {
            let has_notes = |at: &&usize| was.notes().all(|note| now[**at].notes().any(|other| other == note));
            match all.iter().find(has_notes) {
                Some(_) => RecordFate::Kept,
                None => changed(was, all[0], &now[all[0]], &free),
            }
        });
        all.push(kept);
    }
    // Those that grew find theirs first, so that a changed one does not take it.
    for growth_only in [true, false] {
        for (at, was) in then.iter().enumerate() {
            if all[at].is_some() {
                continue;
            }
            let key = (was.says.as_str(), was.notes().collect::<Vec<&str>>());
            if let Some(fate) = decided.get(&key) {
                all[at] = Some(fate.clone());
                continue;
            }
            let of_day = new.get(&was.subject_and_day()).map_or(&[][..], |all| all);
            let candidates = of_day.iter().copied().filter(|at| !taken.contains(at));
            let is_new = |at: &usize| !elsewhere.contains(now[*at].says.as_str());
            let fate = if growth_only {
                let mut grown = candidates.filter(|at| grows(was, &now[*at], &free));
                grown.next().map(|now| RecordFate::Grown { now })
            } else {
                let near = best(was, candidates.filter(is_new), now, 0);
                // It may have been given another date or address.
                let far = || {
                    let others = of_kind.get(was.kind).map_or(&[][..], |all| all);
                    let others =
                        others.iter().copied().filter(|at| !taken.contains(at) && is_new(at)).take(MOST_COMPARED);
                    best(was, others, now, was.facts.len().div_ceil(2).max(2))
                };
                Some(match near.or_else(far) {
                    Some(at) => changed(was, at, &now[at], &free),
                    None => RecordFate::Gone,
                })
            };
            if let Some(fate) = fate {
                taken.extend(fate.now());
                decided.insert(key, fate.clone());
                all[at] = Some(fate);
            }
        }
    }
    all.into_iter().map(|fate| fate.unwrap_or(RecordFate::Gone)).collect()
}

/// The one that shares most with a record, and at least so many facts.
fn best(was: &RecordText, candidates: impl Iterator<Item = usize>, now: &[RecordText], least: usize) -> Option<usize> {
    let shared = |at: usize| {
        let has = |fact: &&RecordFact| now[at].facts.iter().any(|it| it.what == fact.what && it.value == fact.value);
        was.facts.iter().filter(has).count()
    };
    let shared = candidates.map(|at| (shared(at), std::cmp::Reverse(at)));
    shared.filter(|(count, _)| *count >= least).max().map(|(_, std::cmp::Reverse(at))| at)
}

fn changed(
    was: &RecordText,
    at: usize,
    now: &RecordText,
    free: &impl Fn(&RecordText, &RecordFact) -> bool,
) -> RecordFate {
    let changes = changes(was, now, free);
    if changes.is_empty() { RecordFate::Grown { now: at } } else { RecordFate::Changed { now: at, changes } }
}

fn grows(was: &RecordText, now: &RecordText, free: &impl Fn(&RecordText, &RecordFact) -> bool) -> bool {
    changes(was, now, free).is_empty()
}

/// What one record stated and another does not.
fn changes(
    was: &RecordText,
    now: &RecordText,
    free: &impl Fn(&RecordText, &RecordFact) -> bool,
) -> Vec<RecordFactChange> {
    let mut all = Vec::new();
    let (said, says) = was.beside(now);
    let mut left: Vec<Option<&RecordFact>> = says.iter().map(Some).collect();
    let mut by_what: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, fact) in says.iter().enumerate() {
        by_what.entry(&fact.what).or_default().push(at);
    }
    let mut last = None;
    for fact in said {
        let of_it = by_what.get(fact.what.as_str()).map_or(&[][..], |all| all);
        let mut open = of_it.iter().copied().filter(|at| left[*at].is_some());
        let holds = |at: &usize| holds(was, &fact.what, &fact.value, &says[*at].value);
        match open.clone().find(holds) {
            Some(at) => {
                left[at] = None;
                // The order in which it was done or read is said too.
                if was.ordered && last.is_some_and(|last| at < last) && is_row(fact) {
                    all.push(RecordFactChange {
                        what: fact.what.clone(),
                        was: "in another order".into(),
                        is: Some("where it stands now".into()),
                        place: Some(says[at].place),
                    });
                }
                last = if is_row(fact) { Some(at) } else { last };
            }
            None if free(was, fact) => {}
            None => {
                let instead = open.next();
                if let Some(at) = instead {
                    left[at] = None;
                }
                all.push(RecordFactChange {
                    what: fact.what.clone(),
                    was: fact.value.clone(),
                    is: instead.map(|at| says[at].value.clone()),
                    place: instead.map(|at| says[at].place),
                });
            }
        }
    }
    for fact in left.into_iter().flatten().filter(|fact| fact.what != NOTE) {
        if let Some(was) = meant_before(was, fact) {
            all.push(RecordFactChange {
                what: fact.what.clone(),
                was: was.into(),
                is: Some(fact.value.clone()),
                place: Some(fact.place),
            });
        }
    }
    all
}

/// What stood for a fact that was not stated, where its absence meant something else than it says now.
fn meant_before(was: &RecordText, fact: &RecordFact) -> Option<&'static str> {
    let default = match (was.kind, fact.what.as_str()) {
        ("fasten", "interface") => "rail",
        ("loosen", "interface") => "both",
        ("inspect", "stylus") => "normal",
        // A correction takes the place of another record.
        (_, "replaces") => "a record of its own",
        // A release says what it says.
        ("release", what) if what != NOTE => "not there",
        ("loosen", row) if row.starts_with("at ") => {
            let had_rows = was.facts.iter().any(|fact| fact.what.starts_with("at "));
            return (!had_rows).then_some("all that the address holds");
        }
        _ => return None,
    };
    (fact.value != default).then_some(default)
}

/// A row below the head, not a property of it.
fn is_row(fact: &RecordFact) -> bool {
    fact.what.contains(' ')
}

/// Whether a value still says what it said: the same; a blank that was filled; repeats or further bolts behind it; a property
/// that was not stated; of a date the same with its time.
fn holds(was: &RecordText, what: &str, old: &str, new: &str) -> bool {
    if old == new {
        return true;
    }
    if what == "date" || what == "of" {
        return old.len() == 10 && new.strip_prefix(old).is_some_and(|rest| rest.starts_with('T'));
    }
    if !is_row_word(was, what) {
        return false;
    }
    // The leaves that lie there now are all of them.
    let whole = matches!(was.kind, "shim" | "release");
    let (old, new) = (Tokens::of(old), Tokens::of(new));
    let same = |(old, new): (&&str, &&str)| old == new || *old == "#null";
    let args = match whole {
        true => old.args.len() == new.args.len(),
        false => old.args.len() <= new.args.len(),
    };
    args && old.args.iter().zip(&new.args).all(same) && old.props.iter().all(|prop| new.props.contains(prop))
}

/// Whether a fact is a row of its own node, whose values and properties stand side by side.
fn is_row_word(was: &RecordText, what: &str) -> bool {
    let word = what.split(' ').next().unwrap_or(what);
    crate::language::schema::language().node(was.kind).is_some_and(|shape| shape.child(word).is_some())
}

/// The words of a row in its one spelling.
struct Tokens<'t> {
    args: Vec<&'t str>,
    props: BTreeSet<&'t str>,
}

impl<'t> Tokens<'t> {
    fn of(text: &'t str) -> Tokens<'t> {
        let mut tokens = Tokens { args: Vec::new(), props: BTreeSet::new() };
        let (mut start, mut quoted, mut escaped, mut is_prop) = (0, false, false, false);
        let mut end = |from: usize, to: usize, is_prop: bool| {
            let word = &text[from..to];
            match is_prop {
                _ if word.is_empty() => {}
                true => drop(tokens.props.insert(word)),
                false => tokens.args.push(word),
            }
        };
        for (at, c) in text.char_indices() {
            match c {
                _ if escaped => escaped = false,
                '\\' if quoted => escaped = true,
                '"' => quoted = !quoted,
                '=' if !quoted => is_prop = true,
                ' ' if !quoted => {
                    end(start, at, is_prop);
                    (start, is_prop) = (at + 1, false);
                }
                _ => {}
            }
        }
        end(start, text.len(), is_prop);
        tokens
    }
}
