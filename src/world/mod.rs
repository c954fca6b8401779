//! Where bytes and today's date come from. Everything above asks a [`World`] and cannot tell a work tree from the git
//! index, a revision or a test's memory. Nothing in here knows KDL.

use std::fmt;

/// The path of a file or folder in a world: relative to where the world stands, `/` between parts, `..` only in front.
/// `""` is the folder the world stands in. This is what findings print, so it never is absolute unless the user's own
/// argument was.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Path(pub String);

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// One entry of a folder.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Listed {
    pub path: Path,
    pub kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Folder,
    File,
    /// A socket, a device, a dangling or looping link, a submodule: with the reason it cannot be read.
    Other(&'static str),
}

/// Why bytes could not be had, in words for the person who reads the message.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    #[error("there is no such file")]
    Missing,
    #[error("the file is {size} bytes; a ledger file may have at most {most}")]
    TooLarge { size: u64, most: u64 },
    #[error("{0}")]
    Other(String),
}

/// No ledger file may be larger than this: 64 MiB is far beyond anything a person writes.
pub const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// A source of files and of today's date.
pub trait World: Sync {
    /// What a folder holds, sorted by path.
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, Unreadable>;

    /// What stands at a path.
    fn kind(&self, path: &Path) -> Result<Kind, Unreadable>;

    /// The bytes of a file.
    fn read(&self, file: &Path) -> Result<Vec<u8>, Unreadable>;

    /// The folder above, or nothing at the top of what belongs together (a repository's root, else the file system's).
    fn above(&self, path: &Path) -> Option<Path>;

    /// Today, as year-month-day: the machine's date, the commit's, or what a test says.
    fn today(&self) -> jiff::civil::Date;
}
