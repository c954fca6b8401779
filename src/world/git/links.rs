//! What staged changes reach through links inside the repository. A link keeps its own text while what it leads to
//! changes, so git names the target as changed and says nothing of the ledger that the link lies in.

use std::collections::BTreeSet;

use super::changes::{Differing, PathChangeKind};
use super::objects::Objects;
use super::tree::{LINK, LinkTarget, Tree};
use crate::world::ledgers::SHOP;
use crate::world::path::shown;

/// Whether a listing of the index names a link.
pub(super) fn listed(index: &[u8]) -> bool {
    index.starts_with(b"120000 ") || memchr::memmem::find(index, b"\x00120000 ").is_some()
}

/// The paths, from the top, under which links show what the changes touch.
pub(super) fn reached(tree: &Tree, objects: &Objects, staged: &[Differing]) -> Vec<String> {
    let paths: Vec<String> =
        staged.iter().flat_map(|d| std::iter::once(&d.path).chain(&d.from)).map(|path| shown(path).0).collect();
    // Other links may lead through one that changed, and to what is gone no way can be followed any more.
    let link_changed = staged.iter().any(|d| d.mode == LINK || d.how == PathChangeKind::Replaced);
    let some_gone = staged.iter().any(|d| d.mode == 0 || d.from.is_some());
    let mut reached = BTreeSet::new();
    for link in tree.entries().filter(|entry| entry.mode == LINK && entry.stage == 0) {
        let link = shown(link.path).0;
        match tree.place(&link, objects) {
            Ok(LinkTarget::File(target)) => {
                let target = shown(target.path).0;
                if link_changed || paths.contains(&target) {
                    reached.insert(link);
                }
            }
            Ok(LinkTarget::Folder(target)) => {
                let inside = |path: &String| Some(path.strip_prefix(&target)?.strip_prefix('/')?.to_owned());
                reached.extend(paths.iter().filter_map(inside).map(|rest| format!("{link}/{rest}")));
                if link_changed {
                    // As if a shop file of that folder had changed: all ledgers in it are looked at.
                    reached.insert(format!("{link}/{SHOP}"));
                }
            }
            Ok(LinkTarget::Other(_)) | Err(_) => {
                if link_changed || some_gone {
                    reached.insert(link);
                }
            }
        }
    }
    reached.into_iter().collect()
}
