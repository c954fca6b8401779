//! Ledgers against a revision that somebody names: what of their history is lost since, what stood there already, and what
//! has come without a reading. For a pull request and for a server.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use super::altered::{HeldRecords, altered};
use super::before::LedgersBefore;
use super::brought::without_new_work;
use super::history::RecordFate;
use super::instruments::instruments;
use super::limits::limits;
use super::parts::parts;
use super::persons::persons;
use super::records::{RecordText, records};
use super::standing::{RecordMoment, mark, moments, stood};
use super::then::LedgerThen;
use super::withdrawn::gone;
use super::{FindingFate, never_stops};
use crate::finding::Finding;
use crate::judging::lint::{self, Judged, lint};
use crate::ledger::Ledger;
use crate::rules::Coverage;
use crate::world::ledgers::{FoundLedger, MACHINE};
use crate::world::{Day, Path, World};

/// A revision that ledgers are held against.
pub(crate) struct Revision<'w> {
    before: LedgersBefore,
    now: &'w dyn World,
    day: Day,
    /// What was found there, where it may stand.
    stood: Option<BTreeMap<Path, Stood>>,
    /// By what a record says, the ledgers there that hold it.
    holders: OnceLock<BTreeMap<String, BTreeSet<Path>>>,
}

/// What was found in a ledger, and the records that it had.
struct Stood {
    judged: Judged,
    records: BTreeSet<RecordMoment>,
}

/// A ledger that went since a revision, and what was found in it.
pub(crate) struct GoneLedger {
    pub judged: Judged,
    pub absent: Option<Judged>,
}

impl<'w> Revision<'w> {
    /// A revision whose history is held.
    pub(crate) fn new(before: LedgersBefore, now: &'w dyn World, day: Day) -> Revision<'w> {
        Revision { before, now, day, stood: None, holders: OnceLock::new() }
    }

    /// The same, with what was found there: judged by this program, on the day by which the ledgers are judged now.
    pub(crate) fn with_standing(mut self) -> Revision<'w> {
        let found: Vec<FoundLedger> = self.before.found().cloned().collect();
        let mut stood = BTreeMap::new();
        lint(self.before.world(), &found, self.day, |judged| {
            if !judged.findings.is_empty() {
                let records = moments(&judged);
                stood.insert(judged.path.clone(), Stood { records, judged: slim(judged) });
            }
        });
        self.stood = Some(stood);
        self
    }

    /// Marks each finding by what was found at the revision; what is not found any more is handed back.
    pub(crate) fn mark(&self, now: &mut Judged) -> Option<Judged> {
        let stood = self.stood.as_ref()?;
        let was = stood.get(self.before.place_of(&now.path));
        let nothing = BTreeSet::new();
        let gone = mark(now, was.map(|was| &was.judged), was.map_or(&nothing, |was| &was.records));
        was.filter(|_| !gone.is_empty()).map(|was| Judged { findings: gone, ..again(&was.judged) })
    }

    /// What is lost of a ledger's history.
    pub(crate) fn history(&self, now: &Judged) -> Vec<Finding> {
        let is_same = self.before.is_same(now);
        // Mostly the limits are as they were, too.
        if now.ledger.not_judged.is_some() || is_same && (now.is_shop || self.before.has_same_shops(now)) {
            return Vec::new();
        }
        if is_same && now.ledger.machine.built_to.is_empty() {
            let then = self.before.ledger(now);
            return then.map_or(Vec::new(), |then| limits(now, &then.rulebook, &self.before.called));
        }
        let Some(then) = LedgerThen::of(&self.before, now) else { return Vec::new() };
        let mut all = persons(now, &then.judged, then.called);
        all.extend(instruments(now, &then.judged, then.called, false));
        if !now.is_shop {
            let records = records(&now.ledger);
            let state = then.state();
            let fates = state.fates(&records, &BTreeSet::new());
            let is_copy = |at: usize| fates[at] == RecordFate::Gone && self.is_held_elsewhere(&then.records[at], now);
            let which = HeldRecords { held: &|_, _| true, excused: &is_copy, verdicts: Some(self.day) };
            all.extend(altered(now, &records, &state, &fates, &which));
            all.extend(parts(now, &records, &state));
            all.extend(limits(now, &then.judged.ledger.rulebook, then.called));
        }
        all
    }

    /// Whether another ledger held a record there and holds it now. Such a copy never counted, and may go.
    fn is_held_elsewhere(&self, said: &RecordText, now: &Judged) -> bool {
        let own = self.before.place_of(&now.path);
        let holders = self.holders.get_or_init(|| self.all_holders());
        let others = holders.get(&said.says).into_iter().flatten().filter(|folder| *folder != own);
        others.into_iter().any(|folder| {
            let found = crate::world::ledgers::touched_by(self.now, &[folder.join(MACHINE)]).found;
            let found = found.iter().find(|found| found.folder == *folder);
            let ledger = found.map(|found| lint::read(self.now, found, &BTreeMap::new()).0);
            ledger.is_some_and(|ledger| records(&ledger).iter().any(|it| it.says == said.says))
        })
    }

    fn all_holders(&self) -> BTreeMap<String, BTreeSet<Path>> {
        let mut all: BTreeMap<String, BTreeSet<Path>> = BTreeMap::new();
        for found in self.before.found() {
            let ledger: Ledger = lint::read(self.before.world(), found, &BTreeMap::new()).0;
            for said in records(&ledger) {
                all.entry(said.says).or_default().insert(found.folder.clone());
            }
        }
        all
    }

    /// The ledgers that went since, or lost files of a released one to another.
    pub(crate) fn gone(&self, now: &[FoundLedger]) -> Vec<GoneLedger> {
        let files: BTreeMap<&Path, &Path> =
            now.iter().flat_map(|found| found.files.iter().map(|file| (file, &found.folder))).collect();
        let stands: BTreeSet<&Path> = now.iter().map(|found| &found.folder).collect();
        let differs = |was: &&FoundLedger| {
            let mut own = was.files.iter();
            !stands.contains(&was.folder) || own.any(|file| files.get(file).is_some_and(|by| **by != was.folder))
        };
        let mut paths: Vec<Path> = self.before.found().filter(differs).map(|was| was.folder.join(MACHINE)).collect();
        if paths.is_empty() {
            return Vec::new();
        }
        // One that was moved is looked for where there was none.
        let was: BTreeSet<&Path> = self.before.found().map(|found| &found.folder).collect();
        paths.extend(stands.difference(&was).map(|folder| folder.join(MACHINE)));
        let all = gone(self.before.world(), self.now, &paths).into_iter().map(|gone| {
            let absent = self.stood.as_ref().and_then(|stood| stood.get(gone.folder())).map(|was| {
                let mut findings = was.judged.findings.clone();
                findings.iter_mut().for_each(|it| it.baseline = Some(crate::finding::BaselineState::Absent));
                Judged { findings, ..again(&was.judged) }
            });
            let mut judged = gone.judged(self.before.world());
            if self.stood.is_some() {
                judged.findings.iter_mut().for_each(|it| it.baseline = Some(crate::finding::BaselineState::New));
            }
            GoneLedger { judged, absent }
        });
        all.collect()
    }
}

/// What becomes of each finding in a pull request. A revision tells what stood there, where that is wanted, and what a
/// changed limit or description brought; without one all that is broken stops, unless a hold or the calendar says why.
pub(crate) fn in_a_request(now: &Judged, revision: Option<&Revision>) -> Vec<FindingFate> {
    let fate = |finding: &Finding| match finding {
        _ if finding.stands => Some(FindingFate::Stood),
        _ if finding.ran_out => never_stops(finding).or(Some(FindingFate::Calendar)),
        _ => never_stops(finding),
    };
    let mut fates: Vec<Option<FindingFate>> = now.findings.iter().map(fate).collect();
    let at_machine =
        |at: &usize, fates: &[Option<FindingFate>]| fates[*at].is_none() && now.findings[*at].is_at_machine();
    if let Some(revision) = revision
        && !now.is_shop
        && (0..fates.len()).any(|at| at_machine(&at, &fates))
        && let Some(then) = LedgerThen::of(&revision.before, now)
    {
        let mut was = fates.clone();
        stood(&then.judged.findings, &now.findings, &mut was, (&then.judged, now));
        let without = without_new_work(now, &records(&now.ledger), &[&then.records], revision.day);
        let new = (0..fates.len()).filter(|at| at_machine(at, &fates) && was[*at].is_none()).collect();
        for at in without.of(&now.findings, new) {
            fates[at] = Some(FindingFate::NoReading);
        }
    }
    fates.into_iter().map(|fate| fate.unwrap_or(FindingFate::Stops)).collect()
}

/// What is needed of a ledger to know its findings again and to show them.
fn slim(judged: Judged) -> Judged {
    Judged { ledger: Ledger::of_files(judged.ledger.sources), coverage: Coverage::default(), ..judged }
}

/// The same ledger, without its findings.
fn again(was: &Judged) -> Judged {
    Judged {
        path: was.path.clone(),
        ledger: Ledger::of_files(was.ledger.sources.clone()),
        findings: Vec::new(),
        coverage: Coverage::default(),
        is_shop: was.is_shop,
        unread: Vec::new(),
        failed: false,
    }
}
