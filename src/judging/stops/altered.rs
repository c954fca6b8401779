//! Records that were changed or removed, and growth by which a broken verdict is gone. A wrong record is voided and stays;
//! growth, which answers what was outstanding, is free.

use std::collections::{BTreeMap, BTreeSet};

use super::history::{RecordFactChange, RecordFate, fates};
use super::records::{RecordFact, RecordText};
use crate::finding::RuleName;
use crate::finding::names;
use crate::finding::{Cure, Finding, Grade, Place, SourceId};
use crate::judging::lint::{Judged, judge_ledger};
use crate::judging::what_if::with;
use crate::ledger::void_line;
use crate::quantity::Moment;
use crate::text::Span;
use crate::world::{Day, Path};

/// Records of one file that are gone and told one by one; of more their number is told.
const MOST_GONE: usize = 8;
/// So many changes of one record are named.
const MOST_NAMED: usize = 3;

/// A state that a ledger is held against.
pub(super) struct HeldState<'s> {
    pub judged: &'s Judged,
    pub records: &'s [RecordText],
    /// How it is called: `the last commit`, `main`.
    pub called: &'s str,
}

impl HeldState<'_> {
    /// What became of each of its records; what could not be read then may be mended.
    pub(super) fn fates(&self, now: &[RecordText], elsewhere: &BTreeSet<&str>) -> Vec<RecordFate> {
        fates(self.records, now, elsewhere, |said, fact| self.is_unreadable(said, fact))
    }

    fn is_unreadable(&self, said: &RecordText, fact: &RecordFact) -> bool {
        let inside = |place: &Place| {
            let (whole, span) = (said.whole.span, place.span);
            place.source == said.whole.source && whole.start <= span.start && span.end <= whole.end
        };
        let meets = |fact: &RecordFact, place: &Place| {
            fact.place.span.start < place.span.end.max(place.span.start + 1) && place.span.start < fact.place.span.end
        };
        let faults = self.judged.ledger.text_findings.iter().map(|finding| finding.at.place);
        let mut faults = faults.filter(inside);
        faults.any(|place| meets(fact, &place) || said.facts.iter().all(|other| !meets(other, &place)))
    }

    /// What breaks a limit there by a reading: that counts as told to others, whoever has it.
    pub(super) fn breaks(&self, said: &RecordText) -> bool {
        let mut broken = self.judged.findings.iter().filter(|finding| is_broken_at_machine(finding));
        broken.any(|finding| finding.at.place.lies_in(said.whole))
    }

    fn address(&self, said: &RecordText) -> String {
        let record = said.record.map(|record| &self.judged.ledger.records[record]);
        let on = record.and_then(|record| record.on.as_ref()).map(|on| on.to_string());
        on.or_else(|| said.says_of("on").map(str::to_owned)).unwrap_or_default()
    }
}

/// Which records of a state may not be lost.
pub(super) struct HeldRecords<'h> {
    pub held: &'h dyn Fn(usize, &RecordText) -> bool,
    /// Lost for a reason that was judged elsewhere: in another branch, or in an earlier commit.
    pub excused: &'h dyn Fn(usize) -> bool,
    /// The day by which it is asked whether a broken verdict is gone; nothing where another state is asked.
    pub verdicts: Option<Day>,
}

/// What of a state is lost, and what it broke and does not any more.
pub(super) fn altered(
    staged: &Judged,
    now: &[RecordText],
    state: &HeldState,
    fates: &[RecordFate],
    which: &HeldRecords,
) -> Vec<Finding> {
    let missing = |at: &usize| fates[*at] != RecordFate::Kept && !(which.excused)(*at);
    let missing: Vec<usize> = (0..fates.len()).filter(missing).collect();
    if missing.is_empty() {
        return Vec::new();
    }
    let change = LedgerChange { staged, now, state, fates };
    let lost = |at: &usize| fates[*at].is_lost() && (which.held)(*at, &state.records[*at]);
    let lost: Vec<usize> = missing.iter().copied().filter(lost).collect();
    let mut all = which.verdicts.map_or_else(Vec::new, |day| change.vanished(&missing, day));
    let told: BTreeSet<usize> = all.iter().map(|(at, _)| *at).collect();
    let mut all: Vec<Finding> = all.drain(..).map(|(_, finding)| finding).collect();
    let mut same: BTreeSet<(&str, Vec<&str>)> = BTreeSet::new();
    let mut gone: BTreeMap<SourceId, Vec<usize>> = BTreeMap::new();
    for at in lost.into_iter().filter(|at| !told.contains(at)) {
        let said = &state.records[at];
        if !same.insert((said.says.as_str(), said.notes().collect())) {
            continue;
        }
        match &fates[at] {
            RecordFate::Changed { changes, .. } => all.push(change.changed(at, changes)),
            _ if said.kind == "release" => all.push(change.gone(at)),
            _ => gone.entry(said.whole.source).or_default().push(at),
        }
    }
    for (source, gone) in gone {
        if gone.len() > MOST_GONE {
            all.push(change.all_gone(source, &gone));
        } else {
            all.extend(gone.into_iter().map(|at| change.gone(at)));
        }
    }
    all
}

/// What happened to the records of a ledger since a state.
struct LedgerChange<'s> {
    staged: &'s Judged,
    now: &'s [RecordText],
    state: &'s HeldState<'s>,
    fates: &'s [RecordFate],
}

impl LedgerChange<'_> {
    /// What was broken and is not any more, though it would be if the records stood as they did; and what was broken by a
    /// record that was removed. By the record.
    fn vanished(&self, missing: &[usize], day: Day) -> Vec<(usize, Finding)> {
        let stands = broken(&self.staged.findings);
        let mut restored = None;
        let mut told = BTreeSet::new();
        let mut all = Vec::new();
        for old in self.state.judged.findings.iter().filter(|finding| is_broken_at_machine(finding)) {
            let mut touched = missing.iter().copied();
            let shown = touched.find(|at| old.places().any(|place| place.lies_in(self.state.records[*at].whole)));
            let removed = shown.is_some_and(|at| self.fates[at] == RecordFate::Gone);
            let what = (old.rule, old.address.clone());
            let mut vanished = || {
                let restored = restored.get_or_insert_with(|| broken(&self.restored(missing, day).findings));
                !stands.contains(&what) && restored.contains(&what)
            };
            if !removed && !vanished() {
                continue;
            }
            let Some(at) = shown.or(missing.first().copied()).filter(|_| told.insert(what)) else { continue };
            let said = &self.state.records[at];
            let done = match self.fates[at] {
                RecordFate::Gone => "removed",
                RecordFate::Grown { .. } => "added to",
                RecordFate::Changed { .. } | RecordFate::Kept => "changed",
            };
            let number = old.found.map_or(String::new(), |found| format!(" of {found}"));
            let message =
                format!("`{}` was {done}, and with it {}{number} at {} is gone", said.name, old.rule, old.address);
            let rule = if self.fates[at] == RecordFate::Gone { names::RECORD_GONE } else { names::RECORD_ALTERED };
            all.push((at, self.finding(rule, at, None, old.address.clone(), message)));
        }
        all
    }

    /// The staged ledger with the records as they were.
    fn restored(&self, missing: &[usize], day: Day) -> Judged {
        let sources = &self.staged.ledger.sources;
        let before = &self.state.judged.ledger.sources;
        let mut edits: BTreeMap<SourceId, Vec<(Span, &str)>> = BTreeMap::new();
        let mut added: BTreeMap<SourceId, String> = BTreeMap::new();
        let mut more: BTreeMap<Path, String> = BTreeMap::new();
        let mut taken: BTreeSet<Place> = BTreeSet::new();
        for at in missing {
            let said = &self.state.records[*at];
            let text = before.text(said.whole);
            let path = &before.get(said.whole.source).path;
            match self.stands_now(*at).filter(|other| taken.insert(other.whole)) {
                Some(other) => edits.entry(other.whole.source).or_default().push((other.whole.span, text)),
                None => match sources.iter().find(|(_, source)| source.path == *path) {
                    Some((id, _)) => added.entry(id).or_default().push_str(&format!("\n{text}\n")),
                    None => more.entry(path.clone()).or_default().push_str(&format!("{text}\n")),
                },
            }
        }
        let mut texts: BTreeMap<SourceId, String> = BTreeMap::new();
        let text_of = |id| sources.get(id).document.text().to_owned();
        for (id, mut edits) in edits {
            edits.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
            let text = texts.entry(id).or_insert_with(|| text_of(id));
            for (span, old) in edits {
                text.replace_range(span.range(), old);
            }
        }
        for (id, text) in added {
            texts.entry(id).or_insert_with(|| text_of(id)).push_str(&text);
        }
        let changed = texts.into_iter().map(|(id, text)| (sources.get(id).path.clone(), text));
        let changes: Vec<(Path, String)> = changed.chain(more).collect();
        judge_ledger(with(&self.staged.ledger, &changes), day)
    }

    fn stands_now(&self, at: usize) -> Option<&RecordText> {
        self.fates[at].now().map(|now| &self.now[now])
    }

    /// A record that says something else.
    fn changed(&self, at: usize, changes: &[RecordFactChange]) -> Finding {
        let (said, called) = (&self.state.records[at], self.state.called);
        let one = |change: &RecordFactChange| match &change.is {
            Some(is) => format!("`{}` was `{}` and is `{is}`", change.what, change.was),
            None if change.was.is_empty() => format!("`{}` is gone", change.what),
            None => format!("`{}` was `{}` and is gone", change.what, change.was),
        };
        let mut told: Vec<String> = changes.iter().take(MOST_NAMED).map(one).collect();
        if changes.len() > MOST_NAMED {
            told.push(format!("and {} more", changes.len() - MOST_NAMED));
        }
        let rule = if said.kind == "release" { names::RELEASE_GONE } else { names::RECORD_ALTERED };
        let place = changes.iter().find_map(|change| change.place);
        let message = format!("`{}` is not as in {called}: {}", said.name, told.join("; "));
        self.finding(rule, at, place, self.state.address(said), message)
    }

    fn gone(&self, at: usize) -> Finding {
        let said = &self.state.records[at];
        let rule = if said.kind == "release" { names::RELEASE_GONE } else { names::RECORD_GONE };
        let message = format!("`{}` of {} is gone", said.name, self.state.called);
        self.finding(rule, at, None, self.state.address(said), message)
    }

    /// Very many records of one file that are gone.
    fn all_gone(&self, source: SourceId, gone: &[usize]) -> Finding {
        let file = &self.state.judged.ledger.sources.get(source).path;
        let first = gone[0];
        let message = format!(
            "{} records of {file} in {} are gone, `{}` the first of them",
            gone.len(),
            self.state.called,
            self.state.records[first].name
        );
        self.finding(names::RECORD_GONE, first, None, String::new(), message)
    }

    fn finding(&self, rule: RuleName, at: usize, place: Option<Place>, address: String, message: String) -> Finding {
        let (said, called) = (&self.state.records[at], self.state.called);
        let file = &self.state.judged.ledger.sources.get(said.whole.source).path;
        let there = || self.staged.ledger.sources.iter().find(|(_, source)| source.path == *file).map(|(id, _)| id);
        let (place, here) = match (place, self.stands_now(at)) {
            (Some(place), _) => (place, "not as it was"),
            (None, Some(other)) => (other.head, "not as it was"),
            (None, None) => (Place { source: there().unwrap_or_default(), span: Span::default() }, "it is gone"),
        };
        let next = if said.kind == "release" {
            let of = self.state.address(said);
            let moment = said.says_of("date").and_then(Moment::read);
            format!(
                "put it back as {called} has it, in {file}; a release is withdrawn by another line: {}",
                void_line("release", &of, moment)
            )
        } else {
            format!(
                "put it back as {called} has it, in {file}; where it was wrong, let somebody else void it with a reason, and add a new record"
            )
        };
        let mut finding = Finding::new(rule, Grade::Nonconformity, address, place, message).here(here).next(next);
        finding.cure = Some(Cure::Writing);
        finding
    }
}

fn is_broken_at_machine(finding: &Finding) -> bool {
    finding.grade == Grade::Nonconformity && finding.is_at_machine()
}

/// What is broken, whether or not somebody accepted it.
fn broken(findings: &[Finding]) -> BTreeSet<(RuleName, String)> {
    let broken = findings.iter().filter(|finding| finding.grade == Grade::Nonconformity);
    broken.map(|finding| (finding.rule, finding.address.clone())).collect()
}
