//! What a commit would take away. The lint judges what is there; that a ledger, a release or the records of a released
//! ledger are not there any more, only a comparison with the last commit tells. A ledger is somebody's proof: it is moved
//! as a whole or withdrawn in words, never dropped.
//!
//! Decided for the honest person: a ledger that is moved with all its records passes; so does one whose records were all
//! withdrawn by `void` in an earlier commit, or that never had a record. What another branch took away was judged there
//! and passes in the merge.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::finding::{Cure, Finding, Grade, Place, Sources, counted, names};
use crate::judging::lint::{self, Judged};
use crate::ledger::{Body, Ledger, Record};
use crate::rules::Coverage;
use crate::text::Span;
use crate::world::git::{Commit, GitError, PathChange, PathChangeKind};
use crate::world::ledgers::{FoundLedger, MACHINE, SHOP, owner_of, touched_by};
use crate::world::{EntryKind, GitWorld, Path, Repository, World};

/// One thing that goes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Withdrawn {
    /// A ledger with records that count.
    Ledger {
        folder: Path,
        records: usize,
        releases: usize,
        /// Where its `machine.kdl` is now, under a name that makes no ledger.
        now: Option<Path>,
    },
    /// Files of a released ledger that a ledger inside it takes.
    Taken { folder: Path, by: Path, files: usize },
}

impl Withdrawn {
    pub(crate) fn folder(&self) -> &Path {
        match self {
            Withdrawn::Ledger { folder, .. } | Withdrawn::Taken { folder, .. } => folder,
        }
    }

    /// What is wrong, and what to do.
    fn words(&self) -> (String, String) {
        match self {
            Withdrawn::Ledger { folder, records, releases, now } => {
                let goes = match now {
                    Some(now) => format!("becomes `{now}`, which makes none"),
                    None => "goes".to_owned(),
                };
                let released = match releases {
                    0 => String::new(),
                    1 => ", a release among them".to_owned(),
                    many => format!(", {many} releases among them"),
                };
                let message = format!(
                    "`{folder}` would be no ledger any more: its `{MACHINE}` {goes}, and with it {} that nobody withdrew{released}",
                    counted(*records, "record", "records")
                );
                let next = "move the folder with all it holds instead (`git mv`); or withdraw each record by a `void` with its reason, hand that on, and remove the ledger then";
                (message, next.to_owned())
            }
            Withdrawn::Taken { folder, by, files } => (
                format!(
                    "`{by}/{MACHINE}` would take {} away from `{folder}`, which is released",
                    counted(*files, "file", "files")
                ),
                "put the new ledger beside it; or withdraw the release first by a `void` with its reason".to_owned(),
            ),
        }
    }

    /// As it is told: with the text of the machine as it was.
    pub(crate) fn judged(&self, before: &dyn World) -> Judged {
        let mut sources = Sources::default();
        let file = lint::read_file(before, &self.folder().join(MACHINE));
        let source = sources.add(file.source);
        let (message, next) = self.words();
        let place = Place { source, span: Span::default() };
        let mut finding = Finding::new(names::LEDGER_GONE, Grade::Nonconformity, "", place, message);
        finding = finding.here("as it was").next(next);
        finding.cure = Some(Cure::Writing);
        Judged {
            path: self.folder().clone(),
            ledger: Ledger::of_files(sources),
            findings: vec![finding],
            coverage: Coverage::default(),
            is_shop: false,
            unread: Vec::new(),
            failed: false,
        }
    }
}

/// What a commit of the staged changes would take away, as the last commit and what is staged are judged; `paths` are all
/// that the changes touch, through links too.
pub(crate) fn withdrawn(
    repository: &Arc<Repository>,
    (before, staged): (&dyn World, &dyn World),
    changes: &[PathChange],
    paths: &[Path],
) -> Result<Vec<Withdrawn>, GitError> {
    let Ok(last) = repository.resolve("HEAD") else { return Ok(Vec::new()) };
    // Most commits add: then nothing can be missing, and the ledgers of the last commit need not be read.
    if !may_take_away(changes, paths) {
        return Ok(Vec::new());
    }
    let mut all = gone(before, staged, paths);
    if all.is_empty() {
        return Ok(all);
    }
    for merged in &repository.merging()? {
        let theirs = taken_away_by(repository, &last, merged, paths)?;
        all.retain(|one| !theirs.contains(one));
    }
    for one in &mut all {
        let Withdrawn::Ledger { folder, now, .. } = one else { continue };
        let machine = folder.join(MACHINE);
        *now = changes.iter().find(|change| change.from.as_ref() == Some(&machine)).map(|change| change.path.clone());
    }
    Ok(all)
}

/// Whether something may be missing afterwards.
fn may_take_away(changes: &[PathChange], paths: &[Path]) -> bool {
    let own: usize = changes.iter().map(|change| change.paths().count()).sum();
    paths.len() > own
        || changes.iter().any(|change| match change.how {
            PathChangeKind::Added => change.path.name() == MACHINE,
            // What becomes of its records is told of the ledger itself.
            PathChangeKind::Changed => false,
            PathChangeKind::Removed
            | PathChangeKind::Replaced
            | PathChangeKind::Renamed
            | PathChangeKind::InConflict => true,
        })
}

/// What a branch that is being merged took away since it left ours.
fn taken_away_by(
    repository: &Arc<Repository>,
    last: &Commit,
    merged: &Commit,
    paths: &[Path],
) -> Result<BTreeSet<Withdrawn>, GitError> {
    let Some(base) = repository.merge_base(last, merged)? else { return Ok(BTreeSet::new()) };
    let (base, merged) = (GitWorld::commit(repository, base)?, GitWorld::commit(repository, merged.clone())?);
    Ok(gone(&base, &merged, paths).into_iter().collect())
}

/// What one state has that another lacks, of what some paths touch.
pub(crate) fn gone(before: &dyn World, after: &dyn World, paths: &[Path]) -> Vec<Withdrawn> {
    let old = ledgers(before, paths);
    // What became of a ledger is asked even where all that changed belongs to another one now.
    let theirs: Vec<Path> = paths.iter().cloned().chain(old.keys().map(|folder| folder.join(MACHINE))).collect();
    let new = ledgers(after, &theirs);
    let mut gone = Vec::new();
    let mut taken: BTreeSet<&Path> = BTreeSet::new();
    for (folder, (found, ledger)) in &old {
        let releases: Vec<&Record> =
            counting(ledger).filter(|record| matches!(record.body, Body::Release(_))).collect();
        if !new.contains_key(folder) {
            let records = counting(ledger).filter(|record| !matches!(record.body, Body::Void(_))).count();
            let is_new = |other: &Path| !old.contains_key(other) && before.kind(&other.join(MACHINE)).is_err();
            let all = keys(ledger);
            let moved = new
                .iter()
                .find(|(other, (_, ledger))| is_new(other) && !taken.contains(other) && has_all(&all, &keys(ledger)));
            match moved {
                Some((other, _)) => drop(taken.insert(other)),
                None if records == 0 => {}
                None => {
                    let releases = releases.len();
                    gone.push(Withdrawn::Ledger { folder: folder.clone(), records, releases, now: None });
                }
            }
            continue;
        }
        if !releases.is_empty() {
            gone.extend(taken_inside(after, folder, found));
        }
    }
    gone
}

/// Files of a ledger that belong to another one now.
fn taken_inside(after: &dyn World, folder: &Path, found: &FoundLedger) -> Vec<Withdrawn> {
    let mut takers: BTreeMap<Path, usize> = BTreeMap::new();
    for file in found.files.iter().filter(|file| matches!(after.kind(file), Ok(EntryKind::File))) {
        let owner = after.parent(file).and_then(|above| owner_of(after, &above));
        if let Some(owner) = owner.filter(|owner| owner != folder) {
            *takers.entry(owner).or_default() += 1;
        }
    }
    takers.into_iter().map(|(by, files)| Withdrawn::Taken { folder: folder.clone(), by, files }).collect()
}

/// The ledgers that some paths touch, by folder.
fn ledgers(world: &dyn World, paths: &[Path]) -> BTreeMap<Path, (FoundLedger, Ledger)> {
    // A link to a folder is a path that changed: all ledgers in it are meant.
    let folders =
        paths.iter().filter(|path| matches!(world.kind(path), Ok(EntryKind::Folder))).map(|path| path.join(SHOP));
    let paths: Vec<Path> = paths.iter().cloned().chain(folders).collect();
    let found = touched_by(world, &paths).found;
    let shops = lint::read_shops(world, &found);
    let read = |found: FoundLedger| {
        let (ledger, _) = lint::read(world, &found, &shops);
        (found.folder.clone(), (found, ledger))
    };
    let is_one = |found: &FoundLedger| !is_passed_over(&found.folder) && !lint::is_definition(world, found);
    found.into_iter().filter(is_one).map(read).collect()
}

/// Whether a search for ledgers passes over a folder: a name on the way to it begins with a dot.
fn is_passed_over(folder: &Path) -> bool {
    folder.0.split('/').any(|part| part.starts_with('.') && part != "..")
}

fn counting(ledger: &Ledger) -> impl Iterator<Item = &Record> {
    ledger.records.iter().filter(|record| record.counts())
}

/// Whether a ledger of one state holds all records of one of another state, and there are some.
pub(super) fn holds_all((before, old): (&dyn World, &Path), (after, new): (&dyn World, &Path)) -> bool {
    let of = |world: &dyn World, folder: &Path| {
        let ledgers = ledgers(world, &[folder.join(MACHINE)]);
        ledgers.get(folder).map_or_else(BTreeMap::new, |(_, ledger)| keys(ledger))
    };
    let all = of(before, old);
    !all.is_empty() && has_all(&all, &of(after, new))
}

fn has_all(all: &BTreeMap<String, usize>, its: &BTreeMap<String, usize>) -> bool {
    all.iter().all(|(key, count)| its.get(key).is_some_and(|has| has >= count))
}

/// How often each record is there.
fn keys(ledger: &Ledger) -> BTreeMap<String, usize> {
    let mut keys = BTreeMap::new();
    for record in &ledger.records {
        *keys.entry(key(record)).or_default() += 1;
    }
    keys
}

/// By what a record is known: kind, address, date and time, name; a release also by its seal.
fn key(record: &Record) -> String {
    let words = |word: Option<String>| word.unwrap_or_default();
    let on = words(record.on.as_ref().map(|on| on.to_string()));
    let date = words(record.date.map(|date| date.to_string()));
    let by = words(record.by.as_ref().map(|by| by.to_string()));
    let seal = match &record.body {
        Body::Release(release) => words(release.seal.as_ref().map(|seal| seal.to_string())),
        _ => String::new(),
    };
    format!("{}\0{on}\0{date}\0{by}\0{seal}", record.kind)
}
