//! Which ledgers a path means. A folder with a `machine.kdl` is a ledger; every `.kdl` file below it belongs to it,
//! unless a folder between the two is a ledger itself; the `shop.kdl` and `design.kdl` of its own folder and of the folders
//! above apply. A
//! folder that is a repository of its own (it holds a `.git`) has nothing of what lies around it, and lends nothing to it.
//!
//! Names that start with a dot are passed over, and told where the file is one of a ledger. A name by which a file of a ledger would be passed over (`.KDL`,
//! `MACHINE.kdl`, bytes that are no text, an end that nobody sees) is told.
//!
//! Every folder is listed once, however many paths are asked for, and a folder reached through links is walked once, so
//! that links in circles end.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use rayon::prelude::*;

use super::path::is_unseen;
use super::{EntryKind, Listed, Path, ReadError, World};

/// The file that makes a folder a ledger.
pub(crate) const MACHINE: &str = "machine.kdl";
/// The file that holds for all ledgers in and below its folder.
pub(crate) const SHOP: &str = "shop.kdl";
/// The file that holds designs, for all ledgers in and below its folder.
pub(crate) const DESIGN: &str = "design.kdl";
/// The files that ledgers share; of one folder the last is the nearest.
pub(crate) const SHARED: [&str; 2] = [SHOP, DESIGN];

/// Whether a file of that name is shared by ledgers.
pub(crate) fn is_shared(name: &str) -> bool {
    SHARED.contains(&name)
}

/// One ledger: its files by name only, nothing of them read yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FoundLedger {
    /// Where it lies.
    pub folder: Path,
    /// All its `.kdl` files but those that it shares, sorted by path.
    pub files: Vec<Path>,
    /// The shop files and designs that apply, nearest first.
    pub shops: Vec<Path>,
    /// What looks like a part of it but cannot be, sorted by path, each with the reason.
    pub oddities: Vec<(Path, String)>,
    /// What would be a part of it under another name, sorted by path, each with the reason.
    pub misnamed: Vec<(Path, String)>,
    /// Other files that lie right beside its `machine.kdl`, sorted by path: nothing of them is read unless a record names them.
    pub beside: Vec<Path>,
}

/// What a search brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FoundLedgers {
    /// Sorted by folder.
    pub found: Vec<FoundLedger>,
    /// What was in the way outside of every ledger (a folder that cannot be listed), sorted by path.
    pub oddities: Vec<(Path, String)>,
    /// What may be a part of a ledger, or one, but for its name, sorted by path, each with the reason.
    pub misnamed: Vec<(Path, String)>,
    /// Files outside of every ledger that look like one of a ledger, sorted. Only what they hold tells whether they are.
    pub loose: Vec<Path>,
    /// Files that look like one of a ledger, wherever they lie, and are passed over since their name or that of their folder
    /// begins with a dot, sorted. Only what they hold tells whether they are.
    pub hidden: Vec<Path>,
}

/// Why a path leads to no ledger.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLedgerError {
    /// It cannot be read.
    #[error("`{path}`: {why}")]
    Unreadable {
        /// The path.
        path: Path,
        /// Why.
        why: ReadError,
    },
    /// It lies in no ledger.
    #[error(
        "`{path}` belongs to no ledger: neither its folder nor any folder above holds a `machine.kdl`. \
         Name a ledger's folder, or put the file into one"
    )]
    NoOwner {
        /// The path.
        path: Path,
    },
}

/// The ledgers that one path means: a folder, all in it and below it; a `shop.kdl`, all it applies to; any other path
/// in a ledger, that ledger.
pub fn find_ledgers(world: &dyn World, path: &Path) -> Result<FoundLedgers, NoLedgerError> {
    find_all(world, std::slice::from_ref(path))
}

/// The ledgers that several paths mean, each once.
pub fn find_all(world: &dyn World, paths: &[Path]) -> Result<FoundLedgers, NoLedgerError> {
    let mut search = LedgerSearch::new(world);
    for path in paths {
        search.meant_by(path)?;
    }
    Ok(search.finish())
}

/// The ledgers that a change of these paths touches: the owner of each file, and for a `shop.kdl` everything below its
/// folder. Paths that are gone count (their owner is touched); paths outside every ledger do not.
#[must_use]
pub(crate) fn touched_by(world: &dyn World, changed: &[Path]) -> FoundLedgers {
    let mut search = LedgerSearch::new(world);
    for path in changed {
        let Some(folder) = world.parent(path) else { continue };
        if is_hidden(path) && path.looks_like_kdl() && matches!(world.kind(path), Ok(EntryKind::File)) {
            search.hidden.insert(path.clone());
        }
        if is_shared(path.name()) {
            if matches!(world.kind(&folder), Ok(EntryKind::Folder)) {
                search.walk(&folder);
            }
        } else if let Some(owner) = search.owner(&folder) {
            search.only(&owner);
        } else {
            search.outside(path);
        }
    }
    search.finish()
}

/// Whether a dot at the beginning of its name or of its folder's hides a file from a search that comes from above.
fn is_hidden(path: &Path) -> bool {
    path.0.rsplit('/').take(2).any(|part| part.starts_with('.') && part != "..")
}

/// The nearest folder at or above `folder` that is a ledger.
#[must_use]
pub(crate) fn owner_of(world: &dyn World, folder: &Path) -> Option<Path> {
    LedgerSearch::new(world).owner(folder)
}

/// Folders listed at the same time, so that what is held does not grow with their number.
const AT_ONCE: usize = 1024;

/// What lies in a folder, and which folder that is.
type Listing = Result<(String, Vec<Listed>), ReadError>;

fn listing(world: &dyn World, folder: &Path) -> Listing {
    Ok((world.identity(folder)?, world.list(folder)?))
}

/// A folder waiting to be looked into.
#[derive(Default)]
struct WaitingFolder {
    folder: Path,
    /// The ledger it lies in, as an index into `LedgerSearch::found`; nothing outside, and in one that was collected already.
    ledger: Option<usize>,
    /// It lies in a ledger.
    inside: bool,
    shops: Rc<Vec<Path>>,
}

struct LedgerSearch<'w> {
    world: &'w dyn World,
    found: Vec<FoundLedger>,
    oddities: BTreeSet<(Path, String)>,
    misnamed: BTreeSet<(Path, String)>,
    loose: BTreeSet<Path>,
    hidden: BTreeSet<Path>,
    /// Files that ledgers hold through links, by identity, wherever they lie.
    linked: BTreeSet<String>,
    /// Where the walk has been: for the ledger of that number, or outside.
    been: BTreeSet<(Option<usize>, String)>,
    /// Ledgers already collected, by identity, so that none is found twice.
    collected: BTreeSet<String>,
    /// Every ledger's folder met, collected or not.
    met: BTreeSet<Path>,
    /// A `shop.kdl` inside a ledger but below its folder, to be judged when all ledgers are known.
    low_shops: Vec<(usize, Path)>,
    owners: BTreeMap<Path, Option<Path>>,
    shops: BTreeMap<Path, Rc<Vec<Path>>>,
}

impl<'w> LedgerSearch<'w> {
    fn new(world: &'w dyn World) -> Self {
        Self {
            world,
            found: Vec::new(),
            oddities: BTreeSet::new(),
            misnamed: BTreeSet::new(),
            loose: BTreeSet::new(),
            hidden: BTreeSet::new(),
            linked: BTreeSet::new(),
            been: BTreeSet::new(),
            collected: BTreeSet::new(),
            met: BTreeSet::new(),
            low_shops: Vec::new(),
            owners: BTreeMap::new(),
            shops: BTreeMap::new(),
        }
    }

    fn meant_by(&mut self, path: &Path) -> Result<(), NoLedgerError> {
        let unreadable = |why| NoLedgerError::Unreadable { path: path.clone(), why };
        let folder = match self.world.kind(path).map_err(unreadable)? {
            EntryKind::Other(reason) => return Err(unreadable(ReadError::Other(reason.to_owned()))),
            EntryKind::Folder => {
                // Asked for by name, a folder that cannot be listed is an error, not an oddity.
                self.world.list(path).map_err(unreadable)?;
                path.clone()
            }
            EntryKind::File => {
                let folder = self.world.parent(path).unwrap_or_default();
                if !is_shared(path.name()) {
                    let owner = self.owner(&folder).ok_or_else(|| NoLedgerError::NoOwner { path: path.clone() })?;
                    self.only(&owner);
                    return Ok(());
                }
                folder
            }
        };
        if let Some(owner) = self.owner(&folder).filter(|owner| *owner != folder) {
            self.only(&owner);
        }
        self.walk(&folder);
        Ok(())
    }

    /// The nearest ledger at or above a folder. Every folder on the way is remembered, so that thousands of paths cost
    /// no more than the folders they lie in.
    fn owner(&mut self, folder: &Path) -> Option<Path> {
        let mut way = Vec::new();
        let mut at = Some(folder.clone());
        let owner = loop {
            let Some(here) = at else { break None };
            if let Some(known) = self.owners.get(&here) {
                break known.clone();
            }
            let machine = self.world.kind(&here.join(MACHINE));
            way.push(here.clone());
            if matches!(machine, Ok(EntryKind::File | EntryKind::Other(_))) {
                break Some(here);
            }
            at = self.world.parent(&here);
        };
        for here in way {
            self.owners.insert(here, owner.clone());
        }
        owner
    }

    /// The shop files of the folders above `folder`, nearest first, without its own.
    fn shops_above(&mut self, folder: &Path) -> Rc<Vec<Path>> {
        let mut way = Vec::new();
        let mut at = self.world.parent(folder);
        let mut shops = loop {
            let Some(here) = at else { break Rc::default() };
            if let Some(known) = self.shops.get(&here) {
                break Rc::clone(known);
            }
            at = self.world.parent(&here);
            way.push(here);
        };
        for here in way.into_iter().rev() {
            for shop in SHARED.map(|name| here.join(name)) {
                match self.world.kind(&shop) {
                    Ok(EntryKind::File) => shops = nearest_first(shop, &shops),
                    Ok(EntryKind::Other(reason)) => {
                        self.oddities.insert((shop, reason.to_owned()));
                    }
                    Ok(EntryKind::Folder) | Err(_) => {}
                }
            }
            self.shops.insert(here, Rc::clone(&shops));
        }
        shops
    }

    /// One ledger, without the ledgers inside it.
    fn only(&mut self, folder: &Path) {
        if self.world.identity(folder).is_ok_and(|identity| self.collected.contains(&identity)) {
            return;
        }
        let shops = self.shops_above(folder);
        self.run(WaitingFolder { folder: folder.clone(), ledger: None, inside: true, shops }, false);
    }

    /// All ledgers in and below a folder.
    fn walk(&mut self, folder: &Path) {
        let shops = self.shops_above(folder);
        let inside = self.owner(folder).is_some();
        self.run(WaitingFolder { folder: folder.clone(), ledger: None, inside, shops }, true);
    }

    /// Walks from one folder, a level of folders after the other: those of one level are listed at the same time. Links
    /// wait, in the order of their paths, until all real folders have been seen, so that a ledger that is also reached
    /// through a link keeps its own path.
    fn run(&mut self, start: WaitingFolder, nested: bool) {
        let mut ahead = vec![start];
        let mut linked = BTreeMap::new();
        let mut first = true;
        loop {
            for level in std::mem::take(&mut ahead).chunks_mut(AT_ONCE) {
                let folders: Vec<&Path> = level.iter().map(|next| &next.folder).collect();
                let listings: Vec<Listing> =
                    folders.into_par_iter().map(|folder| listing(self.world, folder)).collect();
                for (next, listing) in level.iter_mut().zip(listings) {
                    self.look_into(std::mem::take(next), listing, nested || first, &mut ahead, &mut linked);
                    first = false;
                }
            }
            if !ahead.is_empty() {
                continue;
            }
            let Some((_, next)) = linked.pop_first() else { return };
            if self.leads_back(&next) {
                let reason = "it is a link back to a folder that it lies in".to_owned();
                self.odd(next.ledger, next.folder, reason);
            } else {
                ahead.push(next);
            }
        }
    }

    /// Whether a link inside a ledger leads to a folder above itself.
    fn leads_back(&self, link: &WaitingFolder) -> bool {
        let Ok(target) = self.world.identity(&link.folder) else { return false };
        let mut at = link.folder.parent();
        while let (Some(here), Some(_)) = (&at, link.ledger) {
            if self.world.identity(here).is_ok_and(|identity| identity == target) {
                return true;
            }
            at = self.world.parent(here);
        }
        false
    }

    fn look_into(
        &mut self,
        here: WaitingFolder,
        listing: Listing,
        may_found: bool,
        ahead: &mut Vec<WaitingFolder>,
        linked: &mut BTreeMap<Path, WaitingFolder>,
    ) {
        let WaitingFolder { folder, mut ledger, mut inside, mut shops } = here;
        let (identity, entries) = match listing {
            Ok(both) => both,
            Err(why) => return self.odd(ledger, folder, why.to_string()),
        };
        // A repository of its own has nothing of the folders around it: it says the same wherever it is checked out, and
        // Git keeps none of it with them.
        if entries.iter().any(|entry| entry.name == ".git") && self.world.parent(&folder).is_none() {
            (ledger, inside, shops) = (None, false, Rc::default());
        }
        let is_ledger = entries.iter().any(|entry| entry.name == MACHINE && !matches!(entry.kind, EntryKind::Folder));
        inside |= is_ledger;
        if is_ledger {
            self.met.insert(folder.clone());
            if !may_found {
                return;
            }
            // Met again, its files are not collected again, but there may be ledgers in it still to be found.
            ledger = self.collected.insert(identity.clone()).then_some(self.found.len());
            if ledger.is_some() {
                self.found.push(FoundLedger {
                    folder: folder.clone(),
                    files: Vec::new(),
                    shops: Vec::new(),
                    oddities: Vec::new(),
                    misnamed: Vec::new(),
                    beside: Vec::new(),
                });
                if ends_unseen(folder.name()) {
                    self.misname(ledger, folder.clone(), UNSEEN_END);
                }
            }
        }
        if !self.been.insert((ledger, identity)) {
            return;
        }
        // The folder's own shop file first: it holds for everything else in here.
        let low = ledger.is_some() && !is_ledger;
        let shared = SHARED.iter().flat_map(|name| entries.iter().filter(move |entry| entry.name == *name));
        for entry in shared {
            match entry.kind {
                EntryKind::File => {
                    shops = nearest_first(entry.path.clone(), &shops);
                    if let (true, Some(ledger)) = (low, ledger) {
                        self.low_shops.push((ledger, entry.path.clone()));
                    }
                }
                EntryKind::Other(reason) => self.odd(ledger, entry.path.clone(), reason.to_owned()),
                EntryKind::Folder => {}
            }
        }
        if let (true, Some(ledger)) = (is_ledger, ledger) {
            self.found[ledger].shops.clone_from(&shops);
        }
        for entry in entries {
            let name = entry.name.as_str();
            if name.starts_with('.') {
                self.pass_over(&entry);
                continue;
            }
            match entry.kind {
                EntryKind::Folder => {
                    if entry.path.is_kdl() && (ledger.is_some() || name == MACHINE || is_shared(name)) {
                        self.odd(ledger, entry.path.clone(), "it is a folder, not a file".to_owned());
                    }
                    let next = WaitingFolder { folder: entry.path, ledger, inside, shops: Rc::clone(&shops) };
                    if entry.link {
                        linked.insert(next.folder.clone(), next);
                    } else {
                        ahead.push(next);
                    }
                }
                EntryKind::File => match ledger {
                    Some(ledger) if entry.path.is_kdl() && !is_shared(name) => {
                        if entry.link {
                            self.linked.extend(self.world.identity(&entry.path));
                        }
                        self.found[ledger].files.push(entry.path);
                    }
                    Some(_) if entry.path.looks_like_kdl() && !is_shared(name) => {
                        self.misname(ledger, entry.path, why_misnamed(name));
                    }
                    Some(ledger) if is_ledger && !is_shared(name) => self.found[ledger].beside.push(entry.path),
                    None if !inside && entry.path.looks_like_kdl() && !is_shared(name) => {
                        self.loose.insert(entry.path);
                    }
                    _ => {}
                },
                // What a name that is no text stands for cannot be read, in a ledger or not.
                EntryKind::Other(reason) if reason == super::NOT_UTF8 => {
                    if ledger.is_some() || !inside {
                        self.misname(ledger, entry.path, reason);
                    }
                }
                // A link that leads nowhere may have been meant as a file of records.
                EntryKind::Other(reason) => {
                    if ledger.is_some() && !is_shared(name) && entry.path.looks_like_kdl() {
                        self.odd(ledger, entry.path.clone(), reason.to_owned());
                    }
                }
            }
        }
    }

    /// Takes note of what may be a part of a ledger but for the dot that its name begins with, or that of its folder.
    fn pass_over(&mut self, entry: &Listed) {
        match entry.kind {
            EntryKind::File if entry.path.looks_like_kdl() => {
                self.hidden.insert(entry.path.clone());
            }
            // Git's own folder holds no files of anybody. Of others what lies right in them is looked at.
            EntryKind::Folder if !entry.link && entry.name != ".git" => {
                let within = self.world.list(&entry.path).unwrap_or_default();
                let files = within.into_iter().filter(|file| file.kind == EntryKind::File);
                self.hidden.extend(files.map(|file| file.path).filter(Path::looks_like_kdl));
            }
            _ => {}
        }
    }

    fn odd(&mut self, ledger: Option<usize>, path: Path, reason: String) {
        match ledger {
            Some(ledger) => self.found[ledger].oddities.push((path, reason)),
            None => {
                self.oddities.insert((path, reason));
            }
        }
    }

    fn misname(&mut self, ledger: Option<usize>, path: Path, reason: &str) {
        match ledger {
            Some(ledger) => self.found[ledger].misnamed.push((path, reason.to_owned())),
            None => {
                self.misnamed.insert((path, reason.to_owned()));
            }
        }
    }

    /// Looks at one path that lies in no ledger: it may be one but for its name.
    fn outside(&mut self, path: &Path) {
        match self.world.kind(path) {
            Ok(EntryKind::File) if path.looks_like_kdl() && !is_shared(path.name()) => {
                if path.name().starts_with('.') { &mut self.hidden } else { &mut self.loose }.insert(path.clone());
            }
            Ok(_) => {}
            // A part of the path may be shown otherwise than it is named: the nearest folder that is there tells.
            Err(_) => {
                let (mut part, mut at) = (path.clone(), self.world.parent(path));
                while let Some(folder) = at {
                    if matches!(self.world.kind(&folder), Ok(EntryKind::Folder)) {
                        let entries = self.world.list(&folder).unwrap_or_default();
                        let odd =
                            |entry: &&Listed| entry.path == part && entry.kind == EntryKind::Other(super::NOT_UTF8);
                        if let Some(entry) = entries.iter().find(odd) {
                            self.misname(None, entry.path.clone(), super::NOT_UTF8);
                        }
                        return;
                    }
                    at = self.world.parent(&folder);
                    part = folder;
                }
            }
        }
    }

    fn finish(mut self) -> FoundLedgers {
        for (ledger, shop) in std::mem::take(&mut self.low_shops) {
            let below = shop.parent().unwrap_or_default();
            let used = if below.0.is_empty() {
                self.met.iter().any(|folder| folder.is_within(&below))
            } else {
                let below = below.join("");
                self.met.range(below.clone()..).next().is_some_and(|folder| folder.0.starts_with(&below.0))
            };
            if !used {
                let reason =
                    "a shop file or design applies to ledgers in and below its own folder, and there is none; \
                              move it beside the `machine.kdl` or above"
                        .to_owned();
                self.found[ledger].oddities.push((shop, reason));
            }
        }
        // What a ledger holds through a link is not loose, wherever it lies.
        let mut loose = std::mem::take(&mut self.loose);
        loose.retain(|path| {
            let held = |identity: String| self.linked.contains(&identity);
            let file = !self.linked.is_empty() && self.world.identity(path).is_ok_and(held);
            let folder = self.world.parent(path).and_then(|folder| self.world.identity(&folder).ok());
            let inside = |folder: &String| self.been.iter().any(|(ledger, been)| ledger.is_some() && been == folder);
            !file && !folder.as_ref().is_some_and(inside)
        });
        for found in &mut self.found {
            found.files.sort();
            found.oddities.sort();
            found.misnamed.sort();
            found.beside.sort();
        }
        self.found.sort_by(|one, other| one.folder.cmp(&other.folder));
        FoundLedgers {
            found: self.found,
            oddities: self.oddities.into_iter().collect(),
            misnamed: self.misnamed.into_iter().collect(),
            loose: loose.into_iter().collect(),
            hidden: self.hidden.into_iter().collect(),
        }
    }
}

const UNSEEN_END: &str = "its name ends in a sign that nobody sees; rename it";

/// Whether a name ends in a space, a line end or the like.
fn ends_unseen(name: &str) -> bool {
    name.ends_with(is_unseen)
}

/// Why a file that looks like one of a ledger is none by its name.
#[must_use]
pub(crate) fn why_misnamed(name: &str) -> &'static str {
    let lower = name.to_ascii_lowercase();
    if ends_unseen(name) {
        UNSEEN_END
    } else if name != MACHINE && lower == MACHINE {
        "a ledger is known by its `machine.kdl`, in small letters; rename it"
    } else if name != SHOP && lower == SHOP {
        "a shop file is known by its name `shop.kdl`, in small letters; rename it"
    } else if name != DESIGN && lower == DESIGN {
        "a file of designs is known by its name `design.kdl`, in small letters; rename it"
    } else {
        "only files whose names end in `.kdl`, in small letters, are read; rename it"
    }
}

fn nearest_first(shop: Path, above: &Rc<Vec<Path>>) -> Rc<Vec<Path>> {
    Rc::new(std::iter::once(shop).chain(above.iter().cloned()).collect())
}
