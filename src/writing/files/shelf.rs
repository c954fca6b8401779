//! Drafts of records that were begun and not written: out of Git's sight, and no ledger text.
//!
//! They lie in git's own folder of the work tree, `.git/wayledger/record-1.draft`, or where there is no repository beside
//! the ledger, `.wayledger-record-1.draft`, which every command passes over. A draft is written to a temporary file and
//! renamed, so that a program killed at any moment leaves the draft before or the one after. Whoever goes on with a draft
//! holds its lock, and the system lets go of it even when the program is killed.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use crate::world::Repository;
use crate::world::git::Surroundings;

const END: &str = ".draft";
const NEW: &str = ".draft-new";
/// More than anybody types.
const MOST_BYTES: u64 = 1 << 20;

/// Where the drafts of a ledger lie.
#[derive(Clone, Debug)]
pub(crate) struct DraftFolder {
    folder: PathBuf,
    start: &'static str,
    /// The ledger's folder as the drafts name it.
    pub ledger: String,
}

impl DraftFolder {
    /// That of the ledger in this folder.
    pub(crate) fn for_ledger(ledger: &Path) -> DraftFolder {
        let ledger = fs::canonicalize(ledger).unwrap_or_else(|_| ledger.to_owned());
        match Repository::at(&ledger, &Surroundings::of_process()) {
            Ok(repository) if repository.top().is_some() => DraftFolder {
                folder: repository.dir().join("wayledger"),
                start: "record-",
                ledger: repository.prefix().trim_end_matches('/').to_owned(),
            },
            _ => DraftFolder { folder: ledger, start: ".wayledger-record-", ledger: String::new() },
        }
    }

    /// The drafts that nobody is at work on, in the order of their names, each with its text.
    pub(crate) fn drafts(&self) -> Vec<(DraftSlot, String)> {
        let Ok(entries) = fs::read_dir(&self.folder) else { return Vec::new() };
        let mut names: Vec<String> =
            entries.flatten().filter_map(|entry| entry.file_name().into_string().ok()).collect();
        names.sort();
        let mut drafts = Vec::new();
        for name in names.iter().filter(|name| name.starts_with(self.start)) {
            let place = self.folder.join(name);
            if !fs::symlink_metadata(&place).is_ok_and(|about| about.is_file() && about.len() <= MOST_BYTES) {
                continue;
            }
            let Some(held) = File::open(&place).ok().filter(|file| file.try_lock().is_ok()) else { continue };
            if name.ends_with(NEW) {
                // Somebody was killed while writing it; the draft before it is there.
                let _ = fs::remove_file(&place);
            } else if name.ends_with(END)
                && let Ok(text) = fs::read_to_string(&place)
            {
                drafts.push((DraftSlot { shelf: self.clone(), place: Some(place), held: Some(held) }, text));
            }
        }
        drafts
    }

    /// Room for a draft that is not there yet.
    pub(crate) fn room(&self) -> DraftSlot {
        DraftSlot { shelf: self.clone(), place: None, held: None }
    }
}

/// The place of one draft, ours as long as this value lives.
#[derive(Debug)]
pub(crate) struct DraftSlot {
    shelf: DraftFolder,
    place: Option<PathBuf>,
    held: Option<File>,
}

impl DraftSlot {
    /// Puts another text in the place of what is kept.
    pub(crate) fn write(&mut self, text: &str) -> io::Result<()> {
        let DraftFolder { folder, start, .. } = &self.shelf;
        fs::create_dir_all(folder)?;
        let mut new = tempfile::Builder::new().prefix(start).suffix(NEW).tempfile_in(folder)?;
        // Locked before it has its name, so that nobody takes it up meanwhile. Where nothing can be locked, so be it.
        let _ = new.as_file().try_lock();
        new.write_all(text.as_bytes())?;
        new.as_file().sync_all()?;
        if let Some(place) = &self.place {
            self.held = Some(new.persist(place)?);
            return Ok(());
        }
        for number in 1_u32.. {
            let place = folder.join(format!("{start}{number}{END}"));
            match new.persist_noclobber(&place) {
                Ok(file) => {
                    (self.place, self.held) = (Some(place), Some(file));
                    break;
                }
                Err(why) if why.error.kind() == io::ErrorKind::AlreadyExists => new = why.file,
                Err(why) => return Err(why.error),
            }
        }
        Ok(())
    }

    /// Takes away what is kept: it is written, or not wanted.
    pub(crate) fn clear(&mut self) -> io::Result<()> {
        match self.place.take() {
            Some(place) => fs::remove_file(place),
            None => Ok(()),
        }
    }

    /// Where it is kept.
    pub(crate) fn place(&self) -> Option<&Path> {
        self.place.as_deref()
    }
}
