//! What a commit holds in a few folders, read in the conversation with git that is open anyway: starting another git program
//! takes longer than asking for so few folders one by one.

use std::collections::VecDeque;

use super::caller::GitError;
use super::objects::{Object, Objects};

/// More folders than that a git program of their own lists sooner.
const MOST_FOLDERS: usize = 64;

/// What a commit has at and below some paths, in the words of `git ls-tree -r -z`; a folder ends in `/`. Nothing where that
/// program does better, or knows more of what is wrong.
pub(super) fn walked(objects: &Objects, head: &str, paths: &[Vec<u8>]) -> Result<Option<Vec<u8>>, GitError> {
    let mut listing = Vec::new();
    let mut ahead: VecDeque<(String, Vec<u8>)> = VecDeque::new();
    let mut asked = 0;
    let (folders, files): (Vec<&Vec<u8>>, Vec<&Vec<u8>>) = paths.iter().partition(|path| path.ends_with(b"/"));
    for (at, path) in folders.iter().chain(&files).enumerate() {
        // What lies in another folder that is asked for comes with that.
        if folders.iter().enumerate().any(|(other, folder)| other != at && path.starts_with(folder)) {
            continue;
        }
        let start = memchr::memrchr(b'/', path).map_or(0, |slash| slash + 1);
        let Ok(name) = std::str::from_utf8(&path[..start]) else { return Ok(None) };
        // A question is one line, and git takes a carriage return at the end of a line for a part of its end.
        if name.contains(['\n', '\r']) {
            return Ok(None);
        }
        asked += 1;
        let question = format!("{head}:{}", name.trim_end_matches('/'));
        match objects.named(&question) {
            Ok(Object::Missing) => {}
            Ok(Object::Whole { kind, bytes, .. }) if kind == "tree" => {
                let wanted = Some(&path[start..]).filter(|file| !file.is_empty());
                let Some(()) = look(&bytes, head.len() / 2, &path[..start], wanted, &mut listing, &mut ahead) else {
                    return Ok(None);
                };
            }
            // A file where a folder is asked for holds nothing.
            Ok(Object::Whole { kind, .. }) if kind == "blob" => {}
            _ => return Ok(None),
        }
    }
    while let Some((id, path)) = ahead.pop_front() {
        asked += 1;
        if asked > MOST_FOLDERS {
            return Ok(None);
        }
        let Ok(Object::Whole { bytes, .. }) = objects.named(&id) else { return Ok(None) };
        let Some(()) = look(&bytes, head.len() / 2, &path, None, &mut listing, &mut ahead) else { return Ok(None) };
    }
    Ok(Some(listing))
}

/// Reads a folder as git keeps it, `<mode> <name>\0<id>` for each thing in it: what is a folder waits, the rest is listed.
/// Nothing where it ends in the middle.
fn look(
    mut folder: &[u8],
    id_bytes: usize,
    path: &[u8],
    wanted: Option<&[u8]>,
    listing: &mut Vec<u8>,
    ahead: &mut VecDeque<(String, Vec<u8>)>,
) -> Option<()> {
    while !folder.is_empty() {
        let space = memchr::memchr(b' ', folder)?;
        let end = memchr::memchr(0, folder)?;
        let (mode, name) = (&folder[..space], folder.get(space + 1..end)?);
        let id = folder.get(end + 1..end + 1 + id_bytes)?;
        folder = &folder[end + 1 + id_bytes..];
        if wanted.is_some_and(|wanted| wanted != name) {
            continue;
        }
        let id: String = id.iter().map(|byte| format!("{byte:02x}")).collect();
        let full = [path, name].concat();
        if mode == b"40000" {
            ahead.push_back((id, [&full[..], b"/"].concat()));
        } else {
            for part in [mode, b" blob ", id.as_bytes(), b"\t", &full, b"\0"] {
                listing.extend_from_slice(part);
            }
        }
    }
    Some(())
}
