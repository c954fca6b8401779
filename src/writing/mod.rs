//! Writing to ledgers: a record is someone's proof, so a file is either as it was or as it should be, never less.
//!
//! Every change goes the same way. The folder is locked, so that two writers come one after the other. The new text is
//! proven: two readers that share no code understand it alike, and whatever was not meant to change says what it said.
//! It is written to a temporary file beside the old one, brought to the disk, and read back. The old file is read again,
//! and only if it still is what the change was made for is it replaced, by renaming. A program killed at any moment
//! leaves the old file or the new one, and at most a hidden temporary file, `.wayledger-….tmp`, which may be deleted.

mod lock;

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use crate::syntax::{self, Edit, EditFault, Limits};
use crate::world::MOST_BYTES;

/// Why a file was not written. The ledger is then as it was.
#[derive(Debug, thiserror::Error)]
pub enum NotWritten {
    #[error("`{0}` is there already; nothing was written")]
    Exists(String),
    #[error(
        "`{0}` is there already and no earlier paper of this tool; nothing was written: choose another name, or move it away"
    )]
    NotOurs(String),
    #[error("`{0}` is write-protected; nothing was written")]
    Protected(String),
    #[error("`{0}` was changed by somebody else meanwhile; nothing was written: run the command again")]
    Changed(String),
    #[error("`{0}` is no ordinary file; nothing was written")]
    NoFile(String),
    #[error("`{0}` is not UTF-8 text; nothing was written")]
    NotText(String),
    #[error("`{0}` does not name a person: use letters, digits and `-`, as in fitter-2; nothing was written")]
    NoPerson(String),
    #[error("another program is writing to `{0}`; nothing was written: try again when it is done")]
    Busy(String),
    #[error("`{file}` was not changed: {why}")]
    NotProven { file: String, why: EditFault },
    #[error("`{file}` was not written: {why}")]
    System { file: String, why: io::Error },
}

/// Makes a new file. One that is there already is never touched. Folders above it are made where they are missing.
pub fn create(file: &Path, text: &str) -> Result<(), NotWritten> {
    prove(file, "", &[syntax::append("", text)])?;
    let folder = folder_of(file);
    fs::create_dir_all(folder).map_err(|why| system(file, why))?;
    let _lock = lock::folder(folder)?;
    if file.symlink_metadata().is_ok() {
        return Err(NotWritten::Exists(name(file)));
    }
    let draft = draft(file, folder, text, None)?;
    draft.persist_noclobber(file).map_err(|error| match error.error.kind() {
        io::ErrorKind::AlreadyExists => NotWritten::Exists(name(file)),
        _ => system(file, error.error),
    })?;
    settle(folder);
    Ok(())
}

/// Makes edits to a file whose text is `before`. Nothing outside the edits changes.
pub fn change(file: &Path, before: &str, edits: &[Edit]) -> Result<(), NotWritten> {
    let text = prove(file, before, edits)?;
    // A link stays a link: what it leads to is replaced.
    let real = file.canonicalize().map_err(|why| system(file, why))?;
    let folder = folder_of(&real);
    let _lock = lock::folder(folder)?;
    same(&real, before)?;
    let permissions = fs::metadata(&real).map_err(|why| system(file, why))?.permissions();
    if permissions.readonly() {
        return Err(NotWritten::Protected(name(file)));
    }
    let draft = draft(file, folder, &text, Some(permissions))?;
    same(&real, before)?;
    draft.persist(&real).map_err(|error| system(file, error.error))?;
    settle(folder);
    Ok(())
}

/// Adds lines at the end of a file, or makes it.
pub fn append(file: &Path, addition: &str) -> Result<(), NotWritten> {
    if file.symlink_metadata().is_err_and(|why| why.kind() == io::ErrorKind::NotFound) {
        return create(file, addition);
    }
    let before = read(file)?;
    let edit = syntax::append(&before, addition);
    change(file, &before, &[edit])
}

/// Writes a paper that is no ledger. Where a file is there already it is replaced only when `ours` knows its text as an
/// earlier paper of this tool.
pub fn replace_paper(file: &Path, text: &str, ours: fn(&str) -> bool) -> Result<(), NotWritten> {
    let folder = folder_of(file);
    let _lock = lock::folder(folder)?;
    match file.symlink_metadata() {
        Err(why) if why.kind() == io::ErrorKind::NotFound => {
            let draft = draft(file, folder, text, None)?;
            draft.persist_noclobber(file).map_err(|error| match error.error.kind() {
                io::ErrorKind::AlreadyExists => NotWritten::Exists(name(file)),
                _ => system(file, error.error),
            })?;
        }
        Err(why) => return Err(system(file, why)),
        Ok(_) => {
            let before = read(file).map_err(|why| match why {
                NotWritten::NotText(file) => NotWritten::NotOurs(file),
                why => why,
            })?;
            if !ours(&before) {
                return Err(NotWritten::NotOurs(name(file)));
            }
            let real = file.canonicalize().map_err(|why| system(file, why))?;
            let permissions = fs::metadata(&real).map_err(|why| system(file, why))?.permissions();
            if permissions.readonly() {
                return Err(NotWritten::Protected(name(file)));
            }
            let draft = draft(file, folder_of(&real), text, Some(permissions))?;
            same(&real, &before)?;
            draft.persist(&real).map_err(|error| system(file, error.error))?;
        }
    }
    settle(folder);
    Ok(())
}

/// The text of a file that is to be changed.
pub fn read(file: &Path) -> Result<String, NotWritten> {
    let about = fs::metadata(file).map_err(|why| system(file, why))?;
    if !about.is_file() || about.len() > MOST_BYTES {
        return Err(NotWritten::NoFile(name(file)));
    }
    String::from_utf8(fs::read(file).map_err(|why| system(file, why))?).map_err(|_| NotWritten::NotText(name(file)))
}

/// The proven new text.
fn prove(file: &Path, before: &str, edits: &[Edit]) -> Result<String, NotWritten> {
    match syntax::prove(before, edits, &Limits::default()) {
        Ok(proved) => Ok(proved.document.text().to_string()),
        Err(why) => Err(NotWritten::NotProven { file: name(file), why }),
    }
}

/// The new text in a temporary file beside the old one, on the disk and read back.
fn draft(
    file: &Path,
    folder: &Path,
    text: &str,
    permissions: Option<fs::Permissions>,
) -> Result<tempfile::NamedTempFile, NotWritten> {
    let fail = |why| system(file, why);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".wayledger-").suffix(".tmp");
    // A temporary file is private by itself; a ledger file is as readable as any new file, or as the old one.
    let permissions = permissions.or_else(new_file_permissions);
    if let Some(permissions) = permissions {
        builder.permissions(permissions);
    }
    let mut draft = builder.tempfile_in(folder).map_err(fail)?;
    draft.write_all(text.as_bytes()).map_err(fail)?;
    draft.as_file().sync_all().map_err(fail)?;
    let back = fs::read(draft.path()).map_err(fail)?;
    if back != text.as_bytes() {
        return Err(system(file, io::Error::other("the disk gave back other bytes than were written")));
    }
    Ok(draft)
}

#[cfg(unix)]
fn new_file_permissions() -> Option<fs::Permissions> {
    use std::os::unix::fs::PermissionsExt as _;
    // The system takes away what the person's umask forbids.
    Some(fs::Permissions::from_mode(0o666))
}

#[cfg(not(unix))]
fn new_file_permissions() -> Option<fs::Permissions> {
    None
}

fn same(file: &Path, before: &str) -> Result<(), NotWritten> {
    if read(file)? == before { Ok(()) } else { Err(NotWritten::Changed(name(file))) }
}

/// Brings the renaming itself to the disk, where the system can.
fn settle(folder: &Path) {
    if let Ok(folder) = fs::File::open(folder) {
        let _ = folder.sync_all();
    }
}

fn folder_of(file: &Path) -> &Path {
    file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

fn name(file: &Path) -> String {
    file.to_string_lossy().into_owned()
}

fn system(file: &Path, why: io::Error) -> NotWritten {
    NotWritten::System { file: name(file), why }
}

/// The file one person's records of one day go into: one file a person and day, so that two people never conflict. A
/// person whose word would not make a plain file name is refused.
pub fn day_file(ledger: &Path, date: jiff::civil::Date, person: &str) -> Result<PathBuf, NotWritten> {
    let plain = !person.is_empty() && person.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_'));
    if !plain || person.len() > 100 {
        return Err(NotWritten::NoPerson(person.to_string()));
    }
    Ok(ledger.join(format!("{date}-{person}.kdl")))
}
