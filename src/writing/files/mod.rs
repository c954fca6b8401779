//! Writing to ledgers: a record is someone's proof, so a file is either as it was or as it should be, never less.
//!
//! Every change goes the same way. The folder is locked, so that two writers come one after the other. The new text is
//! proven: two readers that share no code understand it alike, and whatever was not meant to change says what it said.
//! It is written to a temporary file beside the old one, brought to the disk, and read back. The old file is read again,
//! and only if it still is what the change was made for is it replaced, by renaming. A program killed at any moment
//! leaves the old file or the new one, and at most a hidden folder with the temporary file, `.wayledger-….tmp`, which Git
//! does not see and the next writer in that folder takes away.
//!
//! A link stays a link, and what it leads to is replaced. Of a file with several names only the one that was meant is
//! replaced: whoever keeps another name of it keeps the old text. Permissions stay, and the owner where the system lets
//! us give a file away.

mod draft;
mod lock;
mod shelf;
mod write_error;

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::text::{self, Edit, ReadLimits};
use crate::world::MOST_BYTES;
use draft::FileDraft;
pub(crate) use shelf::{DraftFolder, DraftSlot};
pub(crate) use write_error::WriteError;
use write_error::{name, system};

/// Makes a new file. One that is there already is never touched. Folders above it are made where they are missing.
pub(crate) fn create(file: &Path, text: &str) -> Result<(), WriteError> {
    prove(file, "", &[text::append("", text)])?;
    fs::create_dir_all(folder_of(file)).map_err(|why| system(file, why))?;
    put(file, text, draft::TEXT)
}

/// Makes a new script that may be executed. One that is there already is never touched.
pub(crate) fn create_script(file: &Path, text: &str) -> Result<(), WriteError> {
    fs::create_dir_all(folder_of(file)).map_err(|why| system(file, why))?;
    put(file, text, draft::SCRIPT)
}

/// Makes edits to a file whose text is `before`. Nothing outside the edits changes.
pub(crate) fn change(file: &Path, before: &str, edits: &[Edit]) -> Result<(), WriteError> {
    let text = prove(file, before, edits)?;
    replace(file, before, &text)
}

/// Adds lines at the end of a file whose text is `before`, or makes it where none was there. What was judged before
/// writing is what is written to: a file that came or changed since is somebody else's word and is not added to.
pub(crate) fn append(file: &Path, before: Option<&str>, addition: &str) -> Result<(), WriteError> {
    match before {
        Some(before) => change(file, before, &[text::append(before, addition)]),
        None => create(file, addition).map_err(|why| match why {
            WriteError::Exists(file) => WriteError::Changed(file),
            why => why,
        }),
    }
}

/// Writes a paper that is no ledger. Where a file is there already it is replaced only when `ours` knows its text as an
/// earlier paper of this tool.
pub(crate) fn replace_paper(file: &Path, text: &str, ours: fn(&str) -> bool) -> Result<(), WriteError> {
    match earlier_paper(file, ours)? {
        None => put(file, text, draft::TEXT),
        Some(before) => replace(file, &before, text),
    }
}

/// What stands where a paper is to be written: nothing, or an earlier paper of this tool. Anything else is an error.
pub(crate) fn earlier_paper(file: &Path, ours: fn(&str) -> bool) -> Result<Option<String>, WriteError> {
    let before = read_if_there(file).map_err(|why| match why {
        WriteError::NotText(file) => WriteError::NotOurs(file),
        why => why,
    })?;
    match before {
        Some(before) if !ours(&before) => Err(WriteError::NotOurs(name(file))),
        before => Ok(before),
    }
}

/// Whether a paper of a set may be written: nothing stands there, or an earlier paper of this tool under its own name, which
/// may be written to.
pub(crate) fn may_replace(file: &Path, ours: fn(&str) -> bool) -> Result<(), WriteError> {
    if file.is_symlink() {
        return Err(WriteError::Link(name(file)));
    }
    match earlier_paper(file, ours)? {
        None => Ok(()),
        Some(_) => unprotected(file, file).map(drop),
    }
}

/// The text of a file that is to be changed.
pub(crate) fn read(file: &Path) -> Result<String, WriteError> {
    let about = fs::metadata(file).map_err(|why| system(file, why))?;
    if !about.is_file() || about.len() > MOST_BYTES {
        return Err(WriteError::NoFile(name(file)));
    }
    String::from_utf8(fs::read(file).map_err(|why| system(file, why))?).map_err(|_| WriteError::NotText(name(file)))
}

/// The same of a file that may not be there yet.
pub(crate) fn read_if_there(file: &Path) -> Result<Option<String>, WriteError> {
    match file.symlink_metadata() {
        Err(why) if why.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(why) => Err(system(file, why)),
        Ok(_) => read(file).map(Some),
    }
}

/// A new file, where none is.
fn put(file: &Path, text: &str, rights: u32) -> Result<(), WriteError> {
    let folder = folder_of(file);
    if !folder.is_dir() {
        return Err(WriteError::NoFolder(name(file)));
    }
    let _turn = lock::take(folder)?;
    if file.symlink_metadata().is_ok() {
        return Err(WriteError::Exists(name(file)));
    }
    FileDraft::write(file, folder, text, draft::Rights::New(rights))?.put(file)?;
    settle(folder);
    Ok(())
}

/// Another text in the place of `before`.
fn replace(file: &Path, before: &str, text: &str) -> Result<(), WriteError> {
    // A link stays a link: what it leads to is replaced.
    let real = file.canonicalize().map_err(|why| lost(file, why))?;
    let folder = folder_of(&real);
    let _turn = lock::take(folder)?;
    same(file, &real, before)?;
    let old = unprotected(file, &real)?;
    let draft = FileDraft::write(file, folder, text, draft::Rights::Of(&old))?;
    same(file, &real, before)?;
    draft.replace(file, &real)?;
    settle(folder);
    Ok(())
}

/// What is known of a file that may be written to; renaming another one to its name asks nobody.
fn unprotected(file: &Path, real: &Path) -> Result<fs::Metadata, WriteError> {
    let about = fs::metadata(real).map_err(|why| lost(file, why))?;
    match fs::OpenOptions::new().append(true).open(real) {
        Ok(_) if !about.permissions().readonly() => Ok(about),
        Err(why) if why.kind() != io::ErrorKind::PermissionDenied => Err(lost(file, why)),
        _ => Err(WriteError::Protected(name(file))),
    }
}

/// The proven new text.
fn prove(file: &Path, before: &str, edits: &[Edit]) -> Result<String, WriteError> {
    match text::prove(before, edits, &ReadLimits::default()) {
        Ok(proved) => Ok(proved.document.text().to_string()),
        Err(why) => Err(WriteError::NotProven { file: name(file), why }),
    }
}

/// Fails where a file does not say what it said.
fn same(file: &Path, real: &Path, before: &str) -> Result<(), WriteError> {
    match read(real) {
        Ok(text) if text == before => Ok(()),
        Err(WriteError::System { why, .. }) => Err(lost(file, why)),
        _ => Err(WriteError::Changed(name(file))),
    }
}

/// A file that was there and cannot be had any more.
fn lost(file: &Path, why: io::Error) -> WriteError {
    if why.kind() == io::ErrorKind::NotFound { WriteError::Changed(name(file)) } else { system(file, why) }
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

/// The file one person's records of one day go into: one file a person and day, so that two people never conflict. A
/// person whose word would not make a plain file name is refused.
pub(crate) fn day_file(ledger: &Path, date: jiff::civil::Date, person: &str) -> Result<PathBuf, WriteError> {
    let plain = !person.is_empty()
        && person.chars().all(|c| c.is_alphanumeric() && !text::is_unseen(c) || matches!(c, '-' | '_'));
    if !plain || person.len() > 100 {
        return Err(WriteError::NoPerson(person.to_string()));
    }
    Ok(ledger.join(format!("{date}-{person}.kdl")))
}
