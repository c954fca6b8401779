//! The main job as a library call: every ledger below some paths, read and judged.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use sha2::{Digest, Sha256};

use super::in_turn::in_turn;
use super::together::{Share, Together};
use crate::finding::{Cure, Finding, RuleName, SourceId, Sources, names};
use crate::language::schema;
use crate::ledger::{Attached, Body, Ledger, TextFile};
use crate::rules::keeping::limit_loosened;
use crate::rules::{Case, Coverage, judge, settle, with_causes, with_remarks};
use crate::text;
use crate::world::ledgers::FoundLedger;
use crate::world::{Day, Path, World};

/// What was judged as one: a ledger, or a shop file on its own.
#[derive(Debug)]
pub struct Judged {
    /// The ledger's folder or the shop file.
    pub path: Path,
    /// What it was judged from.
    pub ledger: Ledger,
    /// In the order of their places.
    pub findings: Vec<Finding>,
    /// How much each rule judged.
    pub coverage: Coverage,
    /// A shop file on its own, no ledger.
    pub is_shop: bool,
    /// Its files that are not read whole, each with the reason; or the ledger, of which only the text is judged.
    pub unread: Vec<(Path, String)>,
    /// The bytes of one of them could not be had or make no text; what is unread otherwise has a finding.
    pub failed: bool,
}

/// Reads one ledger with its shop files.
pub(crate) fn read(world: &dyn World, found: &FoundLedger, shops: &BTreeMap<Path, TextFile>) -> (Ledger, UnreadFiles) {
    let misnamed = found.misnamed.iter().map(|(path, why)| TextFile::misnamed(path.clone(), why.clone()));
    let files: Vec<TextFile> = found.files.iter().map(|path| read_file(world, path)).chain(misnamed).collect();
    let failed = files.iter().any(|file| file.failed().is_some());
    let unread: Vec<(Path, String)> = files.iter().filter_map(unread).collect();
    let ledger = understood(world, found, files, shops);
    (ledger, UnreadFiles { files: unread, failed })
}

/// What of a ledger is not read.
#[derive(Debug, Default)]
pub(crate) struct UnreadFiles {
    pub files: Vec<(Path, String)>,
    /// Some for a reason that no finding tells.
    pub failed: bool,
}

fn unread(file: &TextFile) -> Option<(Path, String)> {
    Some((file.source.path.clone(), file.unread()?))
}

/// A ledger from its files as they were read.
pub(crate) fn understood(
    world: &dyn World,
    found: &FoundLedger,
    files: Vec<TextFile>,
    shops: &BTreeMap<Path, TextFile>,
) -> Ledger {
    let shops: Vec<TextFile> = found.shops.iter().filter_map(|path| shops.get(path).cloned()).collect();
    let mut ledger = Ledger::new(found.folder.clone(), files, &shops);
    attachments(world, &mut ledger);
    ledger
}

/// Looks at the files that are attached to a ledger.
fn attachments(world: &dyn World, ledger: &mut Ledger) {
    let files = attached_files(ledger);
    ledger.attachments = files.into_iter().map(|file| (file.clone(), attached(world, &ledger.folder, &file))).collect();
}

/// The files that are attached to a ledger, by their paths as written.
pub(crate) fn attached_files(ledger: &Ledger) -> BTreeSet<String> {
    let files = ledger.records.iter().filter_map(|record| match &record.body {
        Body::Attach(attach) if record.counts() => attach.file.as_ref().map(|file| file.to_string()),
        _ => None,
    });
    files.collect()
}

/// A ledger vouches for files of its own folder only.
pub(crate) fn attached(world: &dyn World, folder: &Path, file: &str) -> Attached {
    let outside = file.starts_with('/') || file.contains('\\') || file.split('/').any(|part| part == "..");
    if outside {
        return Attached::Unreadable("its path must lead to a file inside the ledger's folder".into());
    }
    match world.read(&attached_path(folder, file)) {
        Ok(bytes) => Attached::Sha256(Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()),
        Err(why) => Attached::Unreadable(why.to_string()),
    }
}

/// Where a file lies that is attached to the ledger of a folder, however its path is written.
pub(crate) fn attached_path(folder: &Path, file: &str) -> Path {
    Path::normal(&folder.join(file).0)
}

/// Reads one file, whatever it holds.
pub(crate) fn read_file(world: &dyn World, path: &Path) -> TextFile {
    match world.read(path) {
        Ok(bytes) => TextFile::read(path.clone(), bytes),
        Err(why) => TextFile::unreadable(path.clone(), why),
    }
}

/// The shop files that some ledgers share, each read once.
pub(crate) fn read_shops(world: &dyn World, found: &[FoundLedger]) -> BTreeMap<Path, TextFile> {
    let mut shops = BTreeMap::new();
    for path in found.iter().flat_map(|found| &found.shops) {
        if !shops.contains_key(path) {
            shops.insert(path.clone(), read_file(world, path));
        }
    }
    shops
}

/// Judges a ledger on a day.
pub fn judge_ledger(ledger: Ledger, day: impl Into<Day>) -> Judged {
    let (findings, coverage) = findings_of(&ledger, day);
    let mut unread = Vec::new();
    if let Some(finding) = findings.iter().find(|finding| finding.rule == names::TOO_MUCH) {
        unread.push((ledger.folder.clone(), finding.message.clone()));
    }
    Judged { path: ledger.folder.clone(), ledger, findings, coverage, is_shop: false, unread, failed: false }
}

/// What is found in a ledger on a day, in the order of the places, and how much each rule judged.
pub(crate) fn findings_of(ledger: &Ledger, day: impl Into<Day>) -> (Vec<Finding>, Coverage) {
    let (mut findings, coverage) = match ledger.not_judged {
        Some(_) => Default::default(),
        None => judge(&Case::new(ledger, day)),
    };
    findings.extend(ledger.text_findings.iter().cloned());
    settle(ledger, &mut findings);
    with_causes(ledger, &mut findings);
    with_remarks(ledger, &mut findings);
    sort(&mut findings);
    (findings, coverage)
}

/// Reads a shop file and judges it, below those that some ledgers share with it.
pub(crate) fn shop<'f>(world: &dyn World, path: &Path, found: impl IntoIterator<Item = &'f FoundLedger>) -> Judged {
    let above = shops_above(path, found).unwrap_or_default();
    let above: Vec<TextFile> = above.into_iter().map(|path| read_file(world, path)).collect();
    judge_shop(&read_file(world, path), &above.iter().collect::<Vec<_>>())
}

/// The shop files above one of them, nearest first, as the first ledger says that has it; nothing where none has.
pub(crate) fn shops_above<'f>(path: &Path, found: impl IntoIterator<Item = &'f FoundLedger>) -> Option<Vec<&'f Path>> {
    let of = |found: &'f FoundLedger| Some(&found.shops[found.shops.iter().position(|it| it == path)? + 1..]);
    Some(found.into_iter().find_map(of)?.iter().collect())
}

/// Judges a shop file on its own: its text, and what it says otherwise than those above it, nearest first.
pub(crate) fn judge_shop(file: &TextFile, above: &[&TextFile]) -> Judged {
    let mut sources = Sources::default();
    let id: SourceId = sources.add(file.source.clone());
    let above: Vec<(SourceId, &TextFile)> = above.iter().map(|it| (sources.add(it.source.clone()), *it)).collect();
    let mut findings = file.findings(id);
    findings.extend(Ledger::entries_at_fault(file, id, &above, &findings));
    for finding in &mut findings {
        finding.cure = Some(Cure::Writing);
        if finding.rule == RuleName::NONE {
            finding.rule = limit_loosened::RULE.name;
        }
    }
    sort(&mut findings);
    Judged {
        path: file.source.path.clone(),
        ledger: Ledger::of_files(sources),
        findings,
        coverage: Coverage::default(),
        is_shop: true,
        unread: unread(file).into_iter().collect(),
        failed: file.failed().is_some(),
    }
}

fn sort(findings: &mut Vec<Finding>) {
    findings.sort_by(|a, b| a.order().cmp(&b.order()));
    findings.dedup();
}

/// Judges every ledger found, and the shop files they share, each before the first ledger that it applies to. Each is
/// handed on in order as soon as its batch is judged, so that memory does not grow with their number.
pub fn lint(world: &dyn World, found: &[FoundLedger], day: impl Into<Day>, take: impl FnMut(Judged)) {
    lint_into(world, found, day, |judged| judged, take);
}

/// The same, with each made into what is wanted of it by the thread that judged it, while others are judged.
pub fn lint_into<T: Send>(
    world: &dyn World,
    found: &[FoundLedger],
    day: impl Into<Day>,
    make: impl Fn(Judged) -> T + Sync,
    take: impl FnMut(T),
) {
    // One alone shares nothing.
    let together = (found.len() > 1).then(Together::default);
    lint_beside(world, found, day.into(), together, make, take);
}

/// The same of the ledgers that a commit touches: what they share with others, its whole tree tells.
pub(crate) fn lint_touched<T: Send>(
    world: &dyn World,
    found: &[FoundLedger],
    day: Day,
    make: impl Fn(Judged) -> T + Sync,
    take: impl FnMut(T),
) {
    lint_beside(world, found, day, None, make, take);
}

fn lint_beside<T: Send>(
    world: &dyn World,
    found: &[FoundLedger],
    day: Day,
    mut together: Option<Together>,
    make: impl Fn(Judged) -> T + Sync,
    mut take: impl FnMut(T),
) {
    // One that shares its shop with nobody is held against nobody.
    let mut of_shop: BTreeMap<Option<&Path>, usize> = BTreeMap::new();
    found.iter().for_each(|found| *of_shop.entry(found.shops.last()).or_default() += 1);
    // The shop files of the batch at hand, and those that were judged.
    let mut shops: BTreeMap<Path, TextFile> = BTreeMap::new();
    let mut told: BTreeSet<&Path> = BTreeSet::new();
    // Enough for every thread, and no more than must be held until all before it are handed on.
    let together_at_once = (8 * rayon::current_num_threads()).max(16);
    for batch in found.chunks(together_at_once) {
        let applying: BTreeSet<&Path> = batch.iter().flat_map(|found| &found.shops).collect();
        shops.retain(|path, _| applying.contains(path));
        let new: Vec<&Path> = applying.into_iter().filter(|path| !shops.contains_key(*path)).collect();
        let files = batch.iter().flat_map(|found| &found.files).chain(new.iter().copied());
        world.prefetch(&files.cloned().collect::<Vec<Path>>());
        shops.par_extend(new.into_par_iter().map(|path| (path.clone(), read_file(world, path))));
        let tasks: Vec<(&FoundLedger, Vec<&Path>)> = batch
            .iter()
            .map(|found| (found, found.shops.iter().rev().filter(|path| told.insert(path)).collect()))
            .collect();
        let finish = |found: &FoundLedger, ledger: Ledger, unread: UnreadFiles, first: &[&Path]| {
            let above = |path: &Path| -> Vec<&TextFile> {
                shops_above(path, [found]).into_iter().flatten().map(|path| &shops[path]).collect()
            };
            let first: Vec<T> = first.iter().map(|path| make(judge_shop(&shops[*path], &above(path)))).collect();
            let mut judged = judge_ledger(ledger, day);
            judged.unread.extend(unread.files);
            judged.failed = unread.failed;
            (first, make(judged))
        };
        let mut hand_on = |made: Vec<(Vec<T>, T)>| {
            for (shops, ledger) in made {
                shops.into_iter().for_each(&mut take);
                take(ledger);
            }
        };
        let Some(together) = &mut together else {
            let whole = |(found, first): (&FoundLedger, Vec<&Path>)| {
                let (ledger, unread) = read(world, found, &shops);
                finish(found, ledger, unread, &first)
            };
            hand_on(tasks.into_par_iter().map(whole).collect());
            continue;
        };
        hand_on(in_turn(
            tasks,
            together,
            |(found, first)| {
                let (ledger, unread) = read(world, found, &shops);
                let shared = of_shop.get(&found.shops.last()).is_some_and(|count| *count > 1);
                let share = if shared { Share::new(found, &ledger, day) } else { Share::alone() };
                (found, first, ledger, unread, share)
            },
            |together, (found, _, ledger, _, share)| {
                ledger.elsewhere = together.take(&found.folder, std::mem::take(share));
            },
            |(found, first, ledger, unread, _)| finish(found, ledger, unread, &first),
        ));
    }
}

/// Whether a file that lies in no ledger holds what belongs into one: a node that may stand at the top of a ledger's files.
pub(crate) fn is_of_the_language(world: &dyn World, path: &Path) -> bool {
    let file = read_file(world, path);
    !file.unmerged.is_empty()
        || file.edition.is_some()
        || file.source.document.nodes().any(|node| schema::language().top.iter().any(|shape| shape.name == node.name()))
}

/// Whether a folder is no ledger though it has a `machine.kdl`: the folder `schema` of this program's own source, where a
/// file of that name defines what a machine is.
pub(crate) fn is_definition(world: &dyn World, found: &FoundLedger) -> bool {
    let defines = |node: text::NodeRef| matches!(node.name(), "subject" | "group" | "node");
    // Of the folder that one stands in, the name is not known.
    matches!(found.folder.name(), "schema" | "" | "..") && {
        let file = read_file(world, &found.folder.join(crate::world::ledgers::MACHINE));
        let mut nodes = file.source.document.nodes().peekable();
        file.unread().is_none() && nodes.peek().is_some() && nodes.all(defines)
    }
}
