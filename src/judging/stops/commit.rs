//! A staged ledger against those of the commits that the new commit is made upon: what stood there already, and what only
//! a new reading brings.

use std::collections::{BTreeMap, BTreeSet};

use super::records::{RecordText, lacking, records};
use super::{FindingFate, altered, never_stops};
use crate::finding::{Finding, RuleName};
use crate::judging::lint::{Judged, judge_ledger, read, read_shops, shop};
use crate::judging::what_if::without;
use crate::ledger::TextFile;
use crate::world::ledgers::{FoundLedger, MACHINE, SHOP};
use crate::world::{Day, Path, World};

/// The kinds of record that say what was done or read.
const WORK: [&str; 7] = ["fasten", "inspect", "survey", "loosen", "shim", "receive", "running-force"];

/// What a commit that is about to be made would stop at.
#[derive(Debug, Default)]
pub(crate) struct CommitStops {
    /// What becomes of each finding of the staged ledger, in their order.
    pub fates: Vec<FindingFate>,
    /// What is wrong with the commit beside the ledger's own findings: records that were changed or removed.
    pub altered: Vec<Finding>,
}

impl CommitStops {
    pub(crate) fn stops(&self) -> bool {
        !self.altered.is_empty() || self.fates.contains(&FindingFate::Stops)
    }
}

/// The ledgers of a commit that a new one is made upon, as far as it touches them.
pub(crate) struct CommitBefore<'w> {
    world: &'w (dyn World + 'w),
    found: BTreeMap<Path, FoundLedger>,
    shops: BTreeMap<Path, TextFile>,
    /// The ledgers that are staged elsewhere than before: where they were.
    moved: BTreeMap<Path, Path>,
    day: Day,
}

impl<'w> CommitBefore<'w> {
    /// The ledgers of a commit, and those that are staged now. Both are judged on one day: what differs comes from the
    /// commit and not from the calendar.
    pub(crate) fn new(
        world: &'w dyn World,
        found: Vec<FoundLedger>,
        staged: (&dyn World, &[FoundLedger]),
        day: Day,
    ) -> CommitBefore<'w> {
        let shops = read_shops(world, &found);
        let stands: BTreeSet<&Path> = staged.1.iter().map(|found| &found.folder).collect();
        let was: BTreeSet<&Path> = found.iter().map(|found| &found.folder).collect();
        let mut moved = BTreeMap::new();
        let come: Vec<&Path> = stands.difference(&was).copied().collect();
        let gone: Vec<&Path> = was.difference(&stands).copied().collect();
        for folder in come {
            let Some(name) = machine(staged.0, folder) else { continue };
            let mut same = gone.iter().filter(|old| machine(world, old).as_ref() == Some(&name));
            if let (Some(old), None) = (same.next(), same.next()) {
                moved.insert(folder.clone(), (*old).clone());
            }
        }
        let found = found.into_iter().map(|found| (found.folder.clone(), found)).collect();
        CommitBefore { world, found, shops, moved, day }
    }

    /// Whether a ledger's own files say there what they say now, byte for byte.
    fn is_same(&self, staged: &Judged) -> bool {
        let Some(found) = self.found.get(&staged.path) else { return false };
        let own = staged.ledger.sources.iter().filter(|(_, source)| source.path.name() != SHOP);
        let mut count = 0;
        let same = own.into_iter().all(|(_, source)| {
            count += 1;
            self.world.read(&source.path).is_ok_and(|bytes| bytes == source.document.text().as_bytes())
        });
        same && count == found.files.len()
    }

    /// The same ledger or shop file there.
    fn judged(&self, staged: &Judged) -> Option<Judged> {
        if staged.is_shop {
            return self.world.kind(&staged.path).is_ok().then(|| shop(self.world, &staged.path));
        }
        let found = self.found.get(self.moved.get(&staged.path).unwrap_or(&staged.path))?;
        Some(judge_ledger(read(self.world, found, &self.shops).0, self.day))
    }
}

/// What a machine is called, to know a ledger again that was moved.
fn machine(world: &dyn World, folder: &Path) -> Option<String> {
    let text = String::from_utf8(world.read(&folder.join(MACHINE)).ok()?).ok()?;
    let read = crate::text::read(text, &crate::text::ReadLimits::default());
    let node = read.document.nodes().find(|node| node.is("machine"))?;
    node.args().next()?.text().map(str::to_owned)
}

/// Judges a staged ledger against the same ledger in the commits before: one, none before the first, or more at a merge.
pub(crate) fn stop(staged: &Judged, before: &[CommitBefore], day: Day) -> CommitStops {
    let mut fates: Vec<Option<FindingFate>> = staged.findings.iter().map(never_stops).collect();
    // A shop file touches many ledgers, and most of them are in order.
    if !fates.contains(&None) && (staged.is_shop || before.iter().all(|before| before.is_same(staged))) {
        return CommitStops { fates: fates.into_iter().flatten().collect(), altered: Vec::new() };
    }
    let was: Vec<Judged> = before.iter().filter_map(|before| before.judged(staged)).collect();
    if fates.contains(&None) {
        for was in &was {
            stood(&was.findings, &staged.findings, &mut fates, (was, staged));
        }
    }
    if staged.is_shop {
        return CommitStops {
            fates: fates.into_iter().map(|fate| fate.unwrap_or(FindingFate::Stops)).collect(),
            altered: Vec::new(),
        };
    }
    let now = records(&staged.ledger);
    let then: Vec<Vec<RecordText>> = was.iter().map(|was| records(&was.ledger)).collect();
    let at_machine =
        |at: usize, fates: &[Option<FindingFate>]| fates[at].is_none() && staged.findings[at].is_at_machine();
    if (0..fates.len()).any(|at| at_machine(at, &fates)) {
        // What is found without the new work and readings too was not brought by them.
        let without = without_new_work(staged, &now, &then, day);
        let known: BTreeSet<FindingKey> = without.iter().filter(|finding| finding.is_broken()).map(key).collect();
        for at in 0..fates.len() {
            if at_machine(at, &fates) && known.contains(&key(&staged.findings[at])) {
                fates[at] = Some(FindingFate::NoReading);
            }
        }
    }
    let altered = altered::altered(staged, &now, &was, &then, day);
    CommitStops { fates: fates.into_iter().map(|fate| fate.unwrap_or(FindingFate::Stops)).collect(), altered }
}

/// What tells a finding from others, its number included.
type FindingKey = (RuleName, String, Option<(String, &'static str)>);

fn key(finding: &Finding) -> FindingKey {
    let number = finding.found.map(|found| (found.number(), found.unit()));
    (finding.rule, finding.address.clone(), number)
}

/// Marks what stood before: of the same rule and address, with a number at least as bad. Each finding of before vouches
/// for one. A fault of the text has no address: its file and its words tell it.
fn stood(was: &[Finding], now: &[Finding], fates: &mut [Option<FindingFate>], files: (&Judged, &Judged)) {
    type FindingSubject = (RuleName, String);
    fn subject(finding: &Finding, judged: &Judged) -> FindingSubject {
        match finding.address.as_str() {
            "" => {
                let file = judged.ledger.sources.get(finding.at.place.source).path.name();
                (finding.rule, format!("{file}: {}", finding.message))
            }
            address => (finding.rule, address.to_owned()),
        }
    }
    let mut known: BTreeMap<FindingSubject, Vec<&Finding>> = BTreeMap::new();
    for finding in was.iter().filter(|finding| finding.is_broken()) {
        known.entry(subject(finding, files.0)).or_default().push(finding);
    }
    if known.is_empty() {
        return;
    }
    // Word for word first, so that a worse one beside it is not taken for it.
    for whole in [true, false] {
        for (finding, fate) in now.iter().zip(fates.iter_mut()).filter(|(_, fate)| fate.is_none()) {
            let Some(left) = known.get_mut(&subject(finding, files.1)) else { continue };
            let vouches = |old: &&Finding| match whole {
                true => old.message == finding.message,
                false => no_worse(finding, old),
            };
            if let Some(at) = left.iter().position(vouches) {
                left.remove(at);
                *fate = Some(FindingFate::Stood);
            }
        }
    }
}

fn no_worse(now: &Finding, was: &Finding) -> bool {
    match (now.found, was.found) {
        (None, None) => true,
        (Some(now), Some(was)) => now.no_worse_than(&was),
        _ => false,
    }
}

/// What would be found if the work and the readings that are new in this commit were not there.
fn without_new_work(staged: &Judged, now: &[RecordText], then: &[Vec<RecordText>], day: Day) -> Vec<Finding> {
    let mut new: Vec<&RecordText> = now.iter().filter(|said| said.is(&WORK)).collect();
    for then in then {
        let lacks: BTreeSet<_> = lacking(now, then).into_iter().map(|said| said.whole).collect();
        new.retain(|said| lacks.contains(&said.whole));
    }
    if new.is_empty() {
        return staged.findings.clone();
    }
    judge_ledger(without(&staged.ledger, new.into_iter().map(|said| said.whole)), day).findings
}
