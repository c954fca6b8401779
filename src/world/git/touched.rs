//! The part of the index that staged changes can touch. Git lists a whole index in much more time than it takes to name
//! what differs from the last commit. So the ledgers that the changes lie in are listed from that commit, and what is
//! staged is laid over them.
//!
//! Where the whole index is read instead, the hook takes 2.4 times the processor time (benches/README.md).

use std::collections::BTreeSet;
use std::ffi::OsString;

use super::caller::GitError;
use super::changes::{Differing, PathChangeKind};
use super::objects::Object;
use super::repository::{Repository, real_path};
use super::tree::{LINK, Tree};
use super::walk;
use crate::world::ledgers::{MACHINE, SHARED};

/// With changes in more folders than that, the whole index is listed sooner.
const MOST_FOLDERS: usize = 100;

/// What is staged of the ledgers that are touched, with the shop files in the folders above. Nothing where the whole index
/// must be looked at: many changes are everywhere. Of links there are none in it; they lead anywhere.
///
/// Beside it, the same part of the commit.
pub(super) fn tree(
    repository: &Repository,
    head: &str,
    staged: &[Differing],
) -> Result<Option<(Tree, Tree)>, GitError> {
    if staged.is_empty() {
        return Ok(Some((Tree::default(), Tree::default())));
    }
    let paths = || staged.iter().flat_map(|d| std::iter::once(&d.path).chain(&d.from)).map(Vec::as_slice);
    let mut above: BTreeSet<&[u8]> = BTreeSet::new();
    for path in paths() {
        above.extend(folders(path));
        if above.len() > MOST_FOLDERS {
            return Ok(None);
        }
    }
    let mut ledgers: BTreeSet<&[u8]> =
        staged.iter().filter(|d| d.mode != 0).filter_map(|d| d.path.strip_suffix(MACHINE.as_bytes())).collect();
    for folder in &above {
        // What cannot be asked for in one line is looked for in the whole index.
        // Git takes a carriage return at the end of a line for a part of the line end.
        let in_one_line = |name: &&str| !name.contains(['\n', '\r']);
        let Some(name) = std::str::from_utf8(folder).ok().filter(in_one_line) else { return Ok(None) };
        let name = name.trim_end_matches('/');
        // As git keeps a folder: `<mode> <name>\0<id>` for each thing in it.
        if let Object::Whole { bytes, .. } = repository.objects.named(&format!("{head}:{name}"))?
            && memchr::memmem::find(&bytes, format!(" {MACHINE}\0").as_bytes()).is_some()
        {
            ledgers.insert(folder);
        }
    }
    let mut roots: Vec<&[u8]> = Vec::new();
    for path in paths() {
        // The outermost ledger, since the one inside may be gone.
        roots.extend(folders(path).filter(|folder| ledgers.contains(folder)).last());
        let shared = SHARED.iter().filter_map(|name| path.strip_suffix(name.as_bytes()));
        roots.extend(shared.filter(|folder| folder.is_empty() || folder.ends_with(b"/")));
    }
    roots.sort_unstable();
    // Of folders inside one another, the outer one holds them all.
    roots.dedup_by(|inner, outer| inner.starts_with(outer));
    if roots.iter().any(|root| root.is_empty()) {
        return Ok(None);
    }
    let shops = above.iter().flat_map(|folder| SHARED.map(|name| [folder, name.as_bytes()].concat()));
    let shops = shops.filter(|shop| !roots.iter().any(|root| shop.starts_with(root)));
    let (mut tree, mut before) = (Tree::default(), Tree::default());
    let listing = list(repository, head, roots.iter().map(|root| root.to_vec()).chain(shops))?;
    before.add(listing.clone())?;
    before.sort();
    tree.add(listing)?;
    let differing: BTreeSet<&[u8]> = paths().collect();
    tree.retain(|entry| !differing.contains(entry.path));
    for staged in staged {
        let stage = u8::from(staged.how == PathChangeKind::InConflict);
        if staged.mode != 0 || stage != 0 {
            let head = format!("{:o} {} {stage}\t", staged.mode, staged.id);
            tree.add([head.as_bytes(), &staged.path, b"\0"].concat())?;
        }
    }
    tree.sort();
    let had_link = before.entries().any(|entry| entry.mode == LINK);
    Ok((!had_link).then_some((tree, before)))
}

/// The folders that a path lies in, each with its `/`, innermost first; the top is empty.
pub(super) fn folders(path: &[u8]) -> impl Iterator<Item = &[u8]> {
    memchr::memrchr_iter(b'/', path).map(|at| &path[..=at]).chain([&path[..0]])
}

/// What a commit has at and below some paths.
pub(super) fn list(
    repository: &Repository,
    head: &str,
    paths: impl Iterator<Item = Vec<u8>>,
) -> Result<Vec<u8>, GitError> {
    let paths: Vec<Vec<u8>> = paths.collect();
    if let Some(listing) = walk::walked(&repository.objects, head, &paths)? {
        return Ok(listing);
    }
    let words = ["--literal-pathspecs", "ls-tree", "-r", "-z", "--full-tree", head, "--"].map(OsString::from);
    let paths = paths.iter().map(|path| real_path(path).into_os_string());
    repository.caller().tell(&words.into_iter().chain(paths).collect::<Vec<OsString>>())
}
