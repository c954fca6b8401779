//! A staged ledger against those of the commits that the new commit is made upon: what stood there already, and what only
//! a new reading brings; and what of the records it would lose.
//!
//! What nobody else has may still be corrected. Held are: against the branch that others see, all records; against the last
//! commit, what readings broke there, who put something on hold, lifted or withdrew it, releases, and whom a record is by; in
//! a merge, all that any of its sides has, unless another side took it away since both left each other.

use std::collections::BTreeSet;
use std::sync::OnceLock;

use super::altered::{HeldRecords, altered};
use super::before::LedgersBefore;
use super::brought::without_new_work;
use super::history::RecordFate;
use super::instruments::instruments;
use super::parts::parts;
use super::persons::persons;
use super::records::{RecordText, records};
use super::standing::stood;
use super::then::LedgerThen;
use super::{FindingFate, never_stops};
use crate::finding::{Finding, Grade};
use crate::judging::lint::Judged;
use crate::world::Day;

/// Records that speak about others, and those that others rest on: they count as told once they are committed.
const SPEAKING: [&str; 4] = ["hold", "lift", "void", "release"];

/// What a commit that is about to be made would stop at.
#[derive(Debug, Default)]
pub(crate) struct CommitStops {
    /// What becomes of each finding of the staged ledger, in their order.
    pub fates: Vec<FindingFate>,
    /// What is wrong with the commit beside the ledger's own findings: records that were changed or removed.
    pub altered: Vec<Finding>,
    /// Why that could not be told.
    pub failed: Option<String>,
}

impl CommitStops {
    pub(crate) fn stops(&self) -> bool {
        !self.altered.is_empty() || self.fates.contains(&FindingFate::Stops)
    }
}

/// Finds the ledgers of what others have; nothing where there is no branch that others see.
pub(crate) type FindPushed<'w> = Box<dyn Fn() -> Result<Option<LedgersBefore>, String> + Send + Sync + 'w>;

/// What a new commit is made upon.
pub(crate) struct CommitBefore<'w> {
    /// The last commit, then those that are merged.
    pub parents: Vec<LedgersBefore>,
    /// For each commit that is merged, where it and the last one left each other; nothing where they share none.
    pub bases: Vec<Option<LedgersBefore>>,
    find_pushed: FindPushed<'w>,
    pushed: OnceLock<Result<Option<LedgersBefore>, String>>,
}

impl<'w> CommitBefore<'w> {
    pub(crate) fn new(
        parents: Vec<LedgersBefore>,
        bases: Vec<Option<LedgersBefore>>,
        find_pushed: FindPushed<'w>,
    ) -> CommitBefore<'w> {
        CommitBefore { parents, bases, find_pushed, pushed: OnceLock::new() }
    }

    /// Looked for only once a commit changes what stood before: most commits add.
    fn pushed(&self) -> Result<Option<&LedgersBefore>, String> {
        let found = self.pushed.get_or_init(|| (self.find_pushed)());
        found.as_ref().map(Option::as_ref).map_err(Clone::clone)
    }
}

/// Judges a staged ledger against the same ledger in the commits before: one, none before the first, or more at a merge.
pub(crate) fn stop(staged: &Judged, before: &CommitBefore, day: Day) -> CommitStops {
    let mut fates: Vec<Option<FindingFate>> = staged.findings.iter().map(never_stops).collect();
    // A shop file touches many ledgers, and most of them are in order.
    let is_same = |before: &LedgersBefore| {
        before.is_same(staged) && (staged.ledger.machine.built_to.is_empty() || before.has_same_shops(staged))
    };
    if !fates.contains(&None) && before.parents.iter().all(is_same) {
        return CommitStops { fates: fates.into_iter().flatten().collect(), ..CommitStops::default() };
    }
    let was: Vec<Option<LedgerThen>> = before.parents.iter().map(|before| LedgerThen::of(before, staged)).collect();
    if fates.contains(&None) {
        for was in was.iter().flatten() {
            stood(&was.judged.findings, &staged.findings, &mut fates, (&was.judged, staged));
        }
    }
    let (mut altered, mut failed) = match before.parents.len() {
        0 | 1 => lost_statements(staged, before, was.first().and_then(Option::as_ref)),
        _ => (lost_in_merge(staged, before, &was), None),
    };
    if !staged.is_shop {
        let now = records(&staged.ledger);
        brought_by_no_reading(staged, &now, &was, &mut fates, day);
        // What cannot be understood has a finding that stops the commit.
        if staged.ledger.not_judged.is_none() {
            let (lost, why) = lost(staged, &now, before, &was, day);
            altered.extend(lost);
            failed = failed.or(why);
        }
    }
    let fates = fates.into_iter().map(|fate| fate.unwrap_or(FindingFate::Stops)).collect();
    CommitStops { fates, altered, failed }
}

/// Marks what is found without the new work and readings too: it was not brought by them.
fn brought_by_no_reading(
    staged: &Judged,
    now: &[RecordText],
    was: &[Option<LedgerThen>],
    fates: &mut [Option<FindingFate>],
    day: Day,
) {
    let then: Vec<&[RecordText]> = was.iter().flatten().map(|was| was.records.as_slice()).collect();
    let open = |at: &usize| fates[*at].is_none() && staged.findings[*at].is_at_machine();
    let open: Vec<usize> = (0..fates.len()).filter(open).collect();
    if !open.is_empty() {
        let without = without_new_work(staged, now, &then, day);
        for at in without.of(&staged.findings, open) {
            fates[at] = Some(FindingFate::NoReading);
        }
    }
}

/// The records that a commit would lose.
fn lost(
    staged: &Judged,
    now: &[RecordText],
    before: &CommitBefore,
    was: &[Option<LedgerThen>],
    day: Day,
) -> (Vec<Finding>, Option<String>) {
    // What stood in any of them is nothing that another record was changed into.
    let stood = was.iter().flatten().flat_map(|was| &was.records);
    let stood: BTreeSet<&str> = stood.map(|said| said.says.as_str()).collect();
    let of_parents: Vec<Vec<RecordFate>> =
        was.iter().map(|was| was.as_ref().map_or_else(Vec::new, |was| was.state().fates(now, &stood))).collect();
    let is_merge = before.parents.len() > 1;
    // Of a merge each side described its own.
    let mut all = match was.first() {
        Some(Some(last)) if !is_merge => parts(staged, now, &last.state()),
        _ => Vec::new(),
    };
    if of_parents.iter().flatten().all(|fate| *fate == RecordFate::Kept) {
        return (all, None);
    }
    let bases = before.bases.iter().map(|base| base.as_ref().and_then(|base| LedgerThen::of(base, staged)));
    let bases: Vec<Option<LedgerThen>> = bases.collect();
    // What a side of a merge took away since it left the other was judged there.
    let taken_away_by_another = |side: usize, at: usize| {
        let Some(own) = was[side].as_ref() else { return false };
        let said = &own.records[at].says;
        (0..was.len()).filter(|other| *other != side && (side == 0 || *other == 0)).any(|other| {
            let base = bases.get(side.max(other) - 1).and_then(Option::as_ref);
            let had = |then: &LedgerThen| then.records.iter().any(|it| it.says == *said);
            base.is_some_and(had) && !was[other].as_ref().is_some_and(had)
        })
    };
    for (side, was) in was.iter().enumerate() {
        let Some(was) = was else { continue };
        let state = was.state();
        let which = HeldRecords {
            held: &|at, said| {
                is_merge || said.is(&SPEAKING) || of_parents[side][at].has_other_author() || state.breaks(said)
            },
            excused: &|at| is_merge && taken_away_by_another(side, at),
            verdicts: Some(day),
        };
        all.extend(altered(staged, now, &state, &of_parents[side], &which));
    }
    let mut failed = None;
    if of_parents.iter().flatten().any(RecordFate::is_lost) {
        match before.pushed().map(|pushed| pushed.and_then(|pushed| LedgerThen::of(pushed, staged))) {
            Ok(None) => {}
            Ok(Some(pushed)) => {
                let state = pushed.state();
                // What was lost in an earlier commit is not lost by this one.
                let earlier: Vec<Vec<RecordFate>> =
                    was.iter().flatten().map(|was| state.fates(&was.records, &BTreeSet::new())).collect();
                let which = HeldRecords {
                    held: &|_, _| true,
                    excused: &|at| earlier.iter().any(|fates| fates[at].is_lost()),
                    verdicts: None,
                };
                all.extend(altered(staged, now, &state, &state.fates(now, &stood), &which));
            }
            Err(why) => failed = Some(why),
        }
    }
    (once(all), failed)
}

/// A record that two states have is told once.
fn once(all: Vec<Finding>) -> Vec<Finding> {
    let mut told = BTreeSet::new();
    let named = |finding: &Finding| finding.message.split('`').nth(1).map(str::to_owned);
    all.into_iter().filter(|finding| told.insert((finding.at.place, named(finding)))).collect()
}

/// What is stated of persons and instruments in an earlier state and no longer so in a later one.
fn statements_lost(now: &Judged, then: &Judged, called: &str) -> Vec<Finding> {
    let mut all = persons(now, then, called);
    all.extend(instruments(now, then, called, false));
    // What is only told stops nothing, and a pull request tells it.
    all.retain(|finding| finding.grade == Grade::Nonconformity);
    all
}

/// What a merge would change of what any of its sides states of persons and instruments, but for what another side changed
/// since both left each other.
fn lost_in_merge(staged: &Judged, before: &CommitBefore, was: &[Option<LedgerThen>]) -> Vec<Finding> {
    // The same statement, whatever became of it: what is said of it before the name of the state.
    let which = |finding: &Finding, called: &str| {
        let of = finding.message.split(called).next().unwrap_or_default().to_owned();
        (finding.rule, finding.address.clone(), of)
    };
    let mut all: Vec<Finding> = Vec::new();
    for (side, then) in was.iter().enumerate() {
        let Some(then) = then else { continue };
        let mut lost = statements_lost(staged, &then.judged, then.called);
        if lost.is_empty() {
            continue;
        }
        for other in (0..was.len()).filter(|other| *other != side && (side == 0 || *other == 0)) {
            let base = before.bases.get(side.max(other) - 1).and_then(Option::as_ref);
            let Some((base, now)) = base.and_then(|base| base.judged(staged)).zip(was[other].as_ref()) else {
                continue;
            };
            let changed_there: Vec<_> =
                statements_lost(&now.judged, &base, then.called).iter().map(|it| which(it, then.called)).collect();
            lost.retain(|finding| !changed_there.contains(&which(finding, then.called)));
        }
        let is_new = |finding: &Finding| {
            !all.iter().any(|told| {
                (told.rule, &told.address, told.at.place) == (finding.rule, &finding.address, finding.at.place)
            })
        };
        let lost: Vec<Finding> = lost.into_iter().filter(is_new).collect();
        all.extend(lost);
    }
    all
}

/// What a commit would change of what is stated of persons and instruments, of what others have; and of what speaks against
/// an instrument, whoever has it.
fn lost_statements(staged: &Judged, before: &CommitBefore, was: Option<&LedgerThen>) -> (Vec<Finding>, Option<String>) {
    let Some(was) = was else { return Default::default() };
    let lost = |then: &Judged, called: &str| statements_lost(staged, then, called);
    let by_this = lost(&was.judged, was.called);
    if by_this.is_empty() {
        return Default::default();
    }
    let mut all = instruments(staged, &was.judged, was.called, true);
    all.retain(|finding| finding.grade == Grade::Nonconformity);
    match before.pushed() {
        Ok(None) => (all, None),
        Ok(Some(pushed)) => {
            let same =
                |a: &Finding, b: &Finding| a.rule == b.rule && a.address == b.address && a.at.place == b.at.place;
            let then = pushed.judged(staged);
            let found = then.map_or_else(Vec::new, |then| lost(&then, &pushed.called));
            let new = |finding: &Finding| {
                by_this.iter().any(|it| same(it, finding)) && !all.iter().any(|it| same(it, finding))
            };
            let found: Vec<Finding> = found.into_iter().filter(new).collect();
            all.extend(found);
            (all, None)
        }
        Err(why) => (all, Some(why)),
    }
}
