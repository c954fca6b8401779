//! The part of the index that staged changes can touch. Git lists a whole index in much more time than it takes to name
//! what differs from the last commit. So the ledgers that the changes lie in are listed from that commit, and what is
//! staged is laid over them.

use std::collections::BTreeSet;
use std::ffi::OsString;

use super::changes::{Differing, How};
use super::repository::{GitError, Repository, real_path};
use super::tree::{LINK, Tree};
use crate::world::ledgers::{MACHINE, SHOP};

/// With changes in more folders than that, the whole index is listed sooner.
const MOST_FOLDERS: usize = 100;

/// What is staged of the ledgers that are touched, with the shop files in the folders above. Nothing where the whole index
/// must be looked at: links lead anywhere, and many changes are everywhere.
pub(super) fn tree(repository: &Repository, head: &str, staged: &[Differing]) -> Result<Option<Tree>, GitError> {
    let paths = || staged.iter().flat_map(|d| std::iter::once(&d.path).chain(&d.from)).map(Vec::as_slice);
    let mut above: BTreeSet<&[u8]> = BTreeSet::new();
    for path in paths() {
        above.extend(folders(path));
        if above.len() > MOST_FOLDERS {
            return Ok(None);
        }
    }
    let mut tree = Tree::default();
    let marks: Vec<Vec<u8>> =
        above.iter().flat_map(|folder| [MACHINE, SHOP].map(|name| [folder, name.as_bytes()].concat())).collect();
    tree.add(list(repository, head, &marks, &[])?)?;
    let folder_of = |path: &'_ [u8]| path.strip_suffix(MACHINE.as_bytes()).map(<[u8]>::to_vec);
    let now = staged.iter().filter(|d| d.mode != 0).filter_map(|d| folder_of(&d.path));
    let ledgers: BTreeSet<Vec<u8>> = tree.entries().filter_map(|entry| folder_of(entry.path)).chain(now).collect();
    let mut roots: Vec<&[u8]> = Vec::new();
    for path in paths() {
        // The outermost ledger, since the one inside may be gone.
        roots.extend(folders(path).filter(|folder| ledgers.contains(*folder)).last());
        roots.extend(path.strip_suffix(SHOP.as_bytes()).filter(|folder| folder.is_empty() || folder.ends_with(b"/")));
    }
    roots.sort_unstable();
    // Of folders inside one another, the outer one holds them all.
    roots.dedup_by(|inner, outer| inner.starts_with(outer));
    if roots.iter().any(|root| root.is_empty()) {
        return Ok(None);
    }
    if !roots.is_empty() {
        tree.retain(|entry| !roots.iter().any(|root| entry.path.starts_with(root)));
        tree.add(list(repository, head, &roots, &["-r"])?)?;
    }
    let differing: BTreeSet<&[u8]> = paths().collect();
    tree.retain(|entry| !differing.contains(entry.path));
    for staged in staged {
        let stage = u8::from(staged.how == How::InConflict);
        if staged.mode != 0 || stage != 0 {
            let head = format!("{:o} {} {stage}\t", staged.mode, staged.id);
            tree.add([head.as_bytes(), &staged.path, b"\0"].concat())?;
        }
    }
    tree.sort();
    let has_link = tree.entries().any(|entry| entry.mode == LINK);
    Ok((!has_link).then_some(tree))
}

/// The folders that a path lies in, each with its `/`, innermost first; the top is empty.
fn folders(path: &[u8]) -> impl Iterator<Item = &[u8]> {
    memchr::memrchr_iter(b'/', path).map(|at| &path[..=at]).chain([&path[..0]])
}

/// What a commit has at some paths.
fn list(repository: &Repository, head: &str, paths: &[impl AsRef<[u8]>], how: &[&str]) -> Result<Vec<u8>, GitError> {
    let words = ["--literal-pathspecs", "ls-tree", "-z", "--full-tree"].iter().chain(how).chain([&head, &"--"]);
    let paths = paths.iter().map(|path| real_path(path.as_ref()).into_os_string());
    let arguments: Vec<OsString> = words.map(OsString::from).chain(paths).collect();
    repository.caller().tell(&arguments)
}
