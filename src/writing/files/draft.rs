//! A temporary file that is to become a file of the ledger.
//!
//! It must lie on the same file system, so it lies beside its place: in a hidden folder `.wayledger-….tmp`, in a folder of
//! that called `.git`. Git adds nothing that lies below a folder of that name, not even by `git add --force`, and takes none
//! for a repository that holds a file and nothing of a repository. So no setting of anybody has to be touched, nothing has
//! to be known of the repository, and group and rights come from the ledger's folder as for any file made in it.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::write_error::{WriteError, name, system};

/// What the folder of every temporary file of ours is called: this, some letters and digits, and `END`.
const START: &str = ".wayledger-";
const END: &str = ".tmp";
const LETTERS: usize = 6;
/// The folder in it that Git passes by, and the file in that.
const UNSEEN: &str = ".git";
const TEXT_NAME: &str = "text";

/// Rights of a new text and a new script; the system takes away what the person's umask forbids.
pub(super) const TEXT: u32 = 0o666;
pub(super) const SCRIPT: u32 = 0o777;

/// Who may do what with the file.
pub(super) enum Rights<'a> {
    /// A new file.
    New(u32),
    /// As with the file that is replaced.
    Of(&'a fs::Metadata),
}

/// The new text on the disk, beside its place, read back. It goes away with this value unless it is put somewhere.
pub(super) struct FileDraft {
    // In this order they go away.
    file: tempfile::NamedTempFile,
    _room: DraftRoom,
}

/// The hidden folder of a draft; it goes away with this value.
struct DraftRoom(PathBuf);

impl DraftRoom {
    fn make(folder: &Path) -> io::Result<DraftRoom> {
        let room = tempfile::Builder::new().prefix(START).rand_bytes(LETTERS).suffix(END).tempdir_in(folder)?;
        let room = DraftRoom(room.keep());
        fs::create_dir(room.0.join(UNSEEN))?;
        Ok(room)
    }
}

impl Drop for DraftRoom {
    fn drop(&mut self) {
        clear_room(&self.0);
    }
}

impl FileDraft {
    pub(super) fn write(file: &Path, folder: &Path, text: &str, rights: Rights) -> Result<FileDraft, WriteError> {
        let fail = |why| system(file, why);
        let no_room = |why| WriteError::NoRoom { file: name(file), why: bare(why) };
        let room = DraftRoom::make(folder).map_err(no_room)?;
        let mut builder = tempfile::Builder::new();
        builder.prefix(TEXT_NAME).rand_bytes(0);
        if let Rights::New(rights) = rights {
            new_file(&mut builder, rights);
        }
        let made = builder.tempfile_in(room.0.join(UNSEEN)).map_err(no_room)?;
        let mut draft = FileDraft { file: made, _room: room };
        draft.file.as_file_mut().write_all(text.as_bytes()).map_err(fail)?;
        if let Rights::Of(old) = rights {
            keep(draft.file.as_file(), old).map_err(fail)?;
        }
        draft.file.as_file().sync_all().map_err(fail)?;
        let back = fs::read(draft.file.path()).map_err(fail)?;
        if back != text.as_bytes() {
            return Err(fail(io::Error::other("the disk gave back other bytes than were written")));
        }
        Ok(draft)
    }

    /// Gives it the name of a file that is not there.
    pub(super) fn put(self, file: &Path) -> Result<(), WriteError> {
        self.file.persist_noclobber(file).map(drop).map_err(|error| match error.error.kind() {
            io::ErrorKind::AlreadyExists => WriteError::Exists(name(file)),
            _ => system(file, error.error),
        })
    }

    /// Gives it the name of the file that it replaces; `file` is that file as the person knows it.
    pub(super) fn replace(self, file: &Path, real: &Path) -> Result<(), WriteError> {
        self.file.persist(real).map(drop).map_err(|error| system(file, error.error))
    }
}

/// Takes away the drafts of writers that were killed. Only whoever holds the folder's lock may do this.
pub(super) fn clear(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let Ok(kind) = entry.file_type() else { continue };
        if !is_draft(&entry.file_name().to_string_lossy()) {
            continue;
        }
        // What cannot be taken away hinders nobody.
        if kind.is_dir() {
            clear_room(&entry.path());
        } else if kind.is_file() {
            // An earlier version kept its draft in such a file.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Takes away the folder of a draft, and nothing in it that is not ours.
fn clear_room(room: &Path) {
    let unseen = room.join(UNSEEN);
    let _ = fs::remove_file(unseen.join(TEXT_NAME));
    let _ = fs::remove_dir(unseen);
    let _ = fs::remove_dir(room);
}

fn is_draft(name: &str) -> bool {
    name.strip_prefix(START)
        .and_then(|rest| rest.strip_suffix(END))
        .is_some_and(|letters| letters.len() == LETTERS && letters.bytes().all(|byte| byte.is_ascii_alphanumeric()))
}

/// What is wrong, without the name of the temporary file, which says nothing to anybody.
fn bare(why: io::Error) -> io::Error {
    use io::ErrorKind as K;
    match why.kind() {
        kind @ (K::PermissionDenied | K::ReadOnlyFilesystem | K::StorageFull | K::QuotaExceeded) => kind.into(),
        _ => why,
    }
}

#[cfg(unix)]
fn new_file(builder: &mut tempfile::Builder, rights: u32) {
    use std::os::unix::fs::PermissionsExt as _;
    builder.permissions(fs::Permissions::from_mode(rights));
}

#[cfg(not(unix))]
fn new_file(_: &mut tempfile::Builder, _: u32) {}

/// Gives a draft the owner and the rights of the file it replaces. Only an administrator can give a file away: else it
/// becomes the writer's, and where its group cannot stay either, the new group may do no more than everybody may.
#[cfg(unix)]
fn keep(draft: &fs::File, old: &fs::Metadata) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, fchown};
    let new = draft.metadata()?;
    let mut rights = old.mode() & 0o777;
    let owned = (new.uid(), new.gid()) == (old.uid(), old.gid());
    if !owned && fchown(draft, Some(old.uid()), Some(old.gid())).is_err() {
        let grouped = new.gid() == old.gid() || fchown(draft, None, Some(old.gid())).is_ok();
        if !grouped {
            rights = (rights & !0o070) | ((rights & 0o007) << 3);
        }
    }
    draft.set_permissions(fs::Permissions::from_mode(rights))
}

#[cfg(not(unix))]
fn keep(draft: &fs::File, old: &fs::Metadata) -> io::Result<()> {
    draft.set_permissions(old.permissions())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_leftovers_are_known_as_such() {
        assert!(is_draft(".wayledger-a1B2c3.tmp"));
        for other in
            [".wayledger-a1B2c3.kdl", ".wayledger-.tmp", ".wayledger-plans.tmp2", ".wayledger-our-notes.tmp", "x"]
        {
            assert!(!is_draft(other), "{other}");
        }
    }
}
