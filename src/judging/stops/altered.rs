//! Records that were changed or removed so that what they had broken is gone. A wrong record is voided and stays; growth,
//! which answers what was outstanding, is free.

use std::collections::{BTreeMap, BTreeSet};

use super::records::{RecordText, gone};
use crate::finding::RuleName;
use crate::finding::names;
use crate::finding::{Cure, Finding, Grade, Place, SourceId};
use crate::judging::lint::{Judged, judge_ledger};
use crate::judging::what_if::with;
use crate::text::Span;
use crate::world::{Day, Path};

/// Records that speak about others: removing one changes what those mean.
const SPEAKING: [&str; 3] = ["hold", "lift", "void"];

pub(super) fn altered(
    staged: &Judged,
    now: &[RecordText],
    was: &[Judged],
    then: &[Vec<RecordText>],
    day: Day,
) -> Vec<Finding> {
    let mut all = Vec::new();
    for (at, before) in was.iter().enumerate() {
        // At a merge, what only one side has may have gone on the other, where it was judged.
        let everywhere = |said: &&RecordText| then.iter().all(|then| then.iter().any(|other| other.says == said.says));
        let missing: Vec<&RecordText> = gone(&then[at], now).into_iter().filter(everywhere).collect();
        // What could not be read may be mended.
        let sound = |said: &&RecordText| said.record.is_some_and(|record| !before.ledger.records[record].damaged);
        let missing: Vec<&RecordText> = missing.into_iter().filter(sound).collect();
        if missing.is_empty() {
            continue;
        }
        let changed = gone(now, &then[at]);
        let commit = CommitChanges { staged, before, missing: &missing, changed: &changed };
        for said in missing.iter().filter(|said| said.is(&SPEAKING)) {
            // Its reason may be put better.
            if commit.counterpart(said).is_none() {
                let message = format!("`{}` of the last commit is gone", said.name);
                all.push(commit.finding(said, address(before, said), message));
            }
        }
        for said in &missing {
            all.extend(commit.other_author(said));
        }
        all.extend(commit.vanished(day));
        // At a merge both sides say the same.
        break;
    }
    all
}

/// What a commit does to the records of a ledger.
struct CommitChanges<'s> {
    staged: &'s Judged,
    before: &'s Judged,
    /// What stood before and is not there any more as it stood.
    missing: &'s [&'s RecordText],
    /// What stands now and did not stand so before.
    changed: &'s [&'s RecordText],
}

impl CommitChanges<'_> {
    /// Who made a record does not change with it: what nobody may judge themselves hangs on that.
    fn other_author(&self, said: &RecordText) -> Option<Finding> {
        let by = |judged: &Judged, said: &RecordText| {
            judged.ledger.records[said.record?].by.as_ref().map(|by| by.value.to_string())
        };
        let now = self.counterpart(said).filter(|now| now.name == said.name)?;
        let (was, is) = (by(self.before, said)?, by(self.staged, now));
        if is.as_ref() == Some(&was) {
            return None;
        }
        let is = is.map_or("names nobody now".to_owned(), |is| format!("is by `{is}` now"));
        let message = format!("`{}` of the last commit was by `{was}` and {is}", said.name);
        Some(self.finding(said, address(self.before, said), message))
    }

    /// What was broken and is not any more, though it would be if the records stood as they did; and what was broken by a
    /// record that was removed.
    fn vanished(&self, day: Day) -> Vec<Finding> {
        let stands = broken(&self.staged.findings);
        let at_machine = |finding: &&Finding| finding.grade == Grade::Nonconformity && finding.is_at_machine();
        let mut restored = None;
        let mut told = BTreeSet::new();
        let mut all = Vec::new();
        for old in self.before.findings.iter().filter(at_machine) {
            let shown = self.missing.iter().find(|said| shows(old, said));
            let removed = shown.filter(|said| self.counterpart(said).is_none());
            let what = (old.rule, old.address.clone());
            let mut vanished = || {
                let restored = restored.get_or_insert_with(|| broken(&self.restored(day).findings));
                !stands.contains(&what) && restored.contains(&what)
            };
            if removed.is_none() && !vanished() {
                continue;
            }
            let Some(said) = shown.or(self.missing.first()).filter(|_| told.insert(what)) else { continue };
            let done = if removed.is_some() || self.counterpart(said).is_none() { "removed" } else { "changed" };
            let number = old.found.map_or(String::new(), |found| format!(" of {found}"));
            let message =
                format!("`{}` was {done}, and with it {}{number} at {} is gone", said.name, old.rule, old.address);
            all.push(self.finding(said, old.address.clone(), message));
        }
        all
    }

    /// The staged ledger with the records as they were.
    fn restored(&self, day: Day) -> Judged {
        let sources = &self.staged.ledger.sources;
        let mut edits: BTreeMap<SourceId, Vec<(Span, &str)>> = BTreeMap::new();
        let mut added: BTreeMap<SourceId, String> = BTreeMap::new();
        let mut more: BTreeMap<Path, String> = BTreeMap::new();
        let mut taken: BTreeSet<Place> = BTreeSet::new();
        for said in self.missing {
            let text = self.before.ledger.sources.text(said.whole);
            let path = &self.before.ledger.sources.get(said.whole.source).path;
            match self.counterpart(said).filter(|other| taken.insert(other.whole)) {
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

    /// The record that stands now where one was: of the same kind about the same thing, best of the same moment.
    fn counterpart(&self, was: &RecordText) -> Option<&RecordText> {
        let split = |name: &str| {
            let (subject, moment) = name.rsplit_once(' ').unwrap_or((name, ""));
            (subject.to_owned(), moment.get(..10).unwrap_or("").to_owned())
        };
        let changed = || self.changed.iter().copied();
        changed()
            .find(|said| said.name == was.name)
            .or_else(|| changed().find(|said| split(&said.name) == split(&was.name)))
    }

    fn finding(&self, said: &RecordText, address: String, message: String) -> Finding {
        let file = &self.before.ledger.sources.get(said.whole.source).path;
        let there = || self.staged.ledger.sources.iter().find(|(_, source)| source.path == *file).map(|(id, _)| id);
        let (place, here) = match self.counterpart(said) {
            Some(other) => (other.head, "not as it was"),
            None => (Place { source: there().unwrap_or_default(), span: Span::default() }, "it is gone"),
        };
        let mut finding = Finding::new(names::RECORD_ALTERED, Grade::Nonconformity, address, place, message).here(here).next(format!(
            "put it back as the last commit has it, in {file}; where it was wrong, let somebody else void it with a reason, and add a new record"
        ));
        finding.cure = Some(Cure::Writing);
        finding
    }
}

/// What is broken, whether or not somebody accepted it.
fn broken(findings: &[Finding]) -> BTreeSet<(RuleName, String)> {
    let broken = findings.iter().filter(|finding| finding.grade == Grade::Nonconformity);
    broken.map(|finding| (finding.rule, finding.address.clone())).collect()
}

/// Whether a finding names a place in a record.
fn shows(finding: &Finding, said: &RecordText) -> bool {
    let (whole, span) = (said.whole, said.whole.span);
    finding
        .places()
        .any(|place| place.source == whole.source && span.start <= place.span.start && place.span.end <= span.end)
}

fn address(before: &Judged, said: &RecordText) -> String {
    let record = said.record.map(|record| &before.ledger.records[record]);
    record.and_then(|record| record.on.as_ref()).map_or(String::new(), |on| on.to_string())
}
