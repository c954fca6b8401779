//! Where bytes and today's date come from. Everything above asks a [`World`] and cannot tell a work tree from the git
//! index, a revision or a test's memory. Nothing in here knows KDL.

mod day;
pub(crate) mod disk;
pub(crate) mod git;
pub(crate) mod ledgers;
pub(crate) mod memory;
mod path;
#[cfg(test)]
mod tests;

pub use day::Day;
pub use disk::Disk;
pub(crate) use git::{GitWorld, Repository};
pub use memory::Memory;
pub use path::Path;
pub(crate) use path::{shown, shown_path};

use std::ffi::OsStr;

/// One entry of a folder.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Listed {
    /// Where it lies.
    pub path: Path,
    /// Its name in the folder: the last part of the path, but for a folder that we stand in or below.
    pub name: String,
    /// What stands there; a link is followed.
    pub kind: EntryKind,
    /// Whether a link was followed.
    pub link: bool,
}

/// What stands at a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum EntryKind {
    /// A folder.
    Folder,
    /// A file that can be read.
    File,
    /// A socket, a device, a dangling or looping link, a submodule: with the reason it cannot be read.
    Other(&'static str),
}

/// Why bytes could not be had, in words for the person who reads the message.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// Nothing stands there.
    #[error("there is no such file")]
    Missing,
    /// It is too large.
    #[error("the file is {size} bytes; at most {most} are read")]
    TooLarge {
        /// Its bytes.
        size: u64,
        /// The most that are read.
        most: u64,
    },
    /// The system, git or a damaged repository did not give the bytes; its reason.
    #[error("{0}")]
    Other(String),
}

/// No ledger file may be larger than this: 64 MiB is far beyond anything a person writes.
pub const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// Why a name with bytes outside UTF-8 is not read.
pub(crate) const NOT_UTF8: &str = "its name is not UTF-8 text; rename it";

/// The same of a name that nothing in a ledger can be meant by: neither it nor anything in it looks like KDL.
pub(crate) const NOT_UTF8_NOR_KDL: &str = "its name is not UTF-8 text";

/// A source of files and of today's date.
pub trait World: Sync {
    /// What a folder holds, sorted by path.
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, ReadError>;

    /// What stands at a path; a link is followed.
    fn kind(&self, path: &Path) -> Result<EntryKind, ReadError>;

    /// The bytes of a file.
    fn read(&self, file: &Path) -> Result<Vec<u8>, ReadError>;

    /// Its first bytes, so many at most.
    fn start(&self, file: &Path, most: usize) -> Result<Vec<u8>, ReadError> {
        let mut bytes = self.read(file)?;
        bytes.truncate(most);
        Ok(bytes)
    }

    /// The folder above, or nothing at the top of what belongs together (a repository's root, else the file system's).
    fn parent(&self, path: &Path) -> Option<Path>;

    /// Today, as year-month-day: the machine's date, the commit's, or what a test says.
    fn today(&self) -> jiff::civil::Date;

    /// Today, with how far it may have got elsewhere on earth.
    fn day(&self) -> Day {
        Day::stated(self.today())
    }

    /// Which bytes these are, as a paper made from them says it.
    fn called(&self) -> String {
        "files as they lie, no revision".to_owned()
    }

    /// What a person typed, as a path of this world.
    fn path(&self, typed: &OsStr) -> Result<Path, ReadError> {
        Ok(Path::normal(utf8(typed)?))
    }

    /// A word that is the same for two paths exactly when they lead to the same folder or file, so that a walk through
    /// links can tell that it has been there.
    fn identity(&self, path: &Path) -> Result<String, ReadError> {
        Ok(path.0.clone())
    }

    /// Says that these files are about to be read, for worlds that fetch many faster than one by one. Never needed for
    /// a right answer.
    fn prefetch(&self, _files: &[Path]) {}
}

/// A typed path as text, or why it cannot be one.
pub(crate) fn utf8(typed: &OsStr) -> Result<&str, ReadError> {
    if typed.is_empty() {
        return Err(ReadError::Other("the path is empty".to_owned()));
    }
    typed.to_str().ok_or_else(|| ReadError::Other(NOT_UTF8.to_owned()))
}
