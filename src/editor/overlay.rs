//! The world as the editor shows it: the work tree, with the files that are open as they stand in the editor.

use std::collections::BTreeMap;
use std::ffi::OsStr;

use super::open_file::OpenFile;
use crate::world::{Day, Disk, EntryKind, Listed, Path, ReadError, World};

pub(super) struct Overlay<'d> {
    pub disk: &'d Disk,
    pub open: &'d BTreeMap<Path, OpenFile>,
}

impl Overlay<'_> {
    /// Whether an open file lies below a folder, be it on the disk or not.
    fn holds_open(&self, folder: &Path) -> bool {
        self.open.values().any(|file| file.is_file && file.path != *folder && file.path.is_within(folder))
    }
}

impl World for Overlay<'_> {
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, ReadError> {
        let mut entries = match self.disk.list(folder) {
            Err(ReadError::Missing) if self.holds_open(folder) => Vec::new(),
            listed => listed?,
        };
        for file in self.open.values().filter(|file| file.is_file && file.path.parent().as_ref() == Some(folder)) {
            if !entries.iter().any(|entry| entry.path == file.path) {
                let name = file.path.name().to_owned();
                entries.push(Listed { path: file.path.clone(), name, kind: EntryKind::File, link: false });
            }
        }
        entries.sort();
        Ok(entries)
    }

    fn kind(&self, path: &Path) -> Result<EntryKind, ReadError> {
        match self.disk.kind(path) {
            Err(ReadError::Missing) if self.open.contains_key(path) => Ok(EntryKind::File),
            Err(ReadError::Missing) if self.holds_open(path) => Ok(EntryKind::Folder),
            kind => kind,
        }
    }

    fn read(&self, file: &Path) -> Result<Vec<u8>, ReadError> {
        match self.open.get(file) {
            Some(open) => Ok(open.text.clone().into_bytes()),
            None => self.disk.read(file),
        }
    }

    fn parent(&self, path: &Path) -> Option<Path> {
        self.disk.parent(path)
    }

    fn today(&self) -> jiff::civil::Date {
        self.disk.today()
    }

    fn day(&self) -> Day {
        self.disk.day()
    }

    fn path(&self, typed: &OsStr) -> Result<Path, ReadError> {
        self.disk.path(typed)
    }

    fn identity(&self, path: &Path) -> Result<String, ReadError> {
        match self.disk.identity(path) {
            Err(ReadError::Missing) if self.kind(path).is_ok() => Ok(path.0.clone()),
            identity => identity,
        }
    }
}
