//! The work tree: files on the machine's disk, as seen from one folder. It is built to meet anything a disk can hold
//! (pipes, devices, links in circles, files without end, names that are not text) without hanging and without guessing.

use std::ffi::OsStr;
use std::fs::{self, File, FileType, Metadata};
use std::io::{self, ErrorKind, Read};
use std::path::{Component, PathBuf};

use walkdir::WalkDir;

use super::{
    Day, EntryKind, Listed, MOST_BYTES, NOT_UTF8, NOT_UTF8_NOR_KDL, Path, ReadError, World, path, shown, utf8,
};

/// The disk, seen from a folder.
#[derive(Clone, Debug)]
pub struct Disk {
    /// Where the world stands, without links in it: `..` means one folder up from here.
    stand: PathBuf,
    today: Option<jiff::civil::Date>,
}

impl Disk {
    /// The disk as seen from the current folder.
    pub fn here() -> Result<Self, ReadError> {
        Self::at(".")
    }

    /// The disk as seen from `stand`.
    pub fn at(stand: impl AsRef<std::path::Path>) -> Result<Self, ReadError> {
        let stand = fs::canonicalize(stand).map_err(|error| why(&error))?;
        if !stand.is_dir() {
            return Err(ReadError::Other("it is a file, not a folder".to_owned()));
        }
        Ok(Self { stand, today: None })
    }

    /// The same disk on another day.
    #[must_use]
    pub fn on(mut self, today: jiff::civil::Date) -> Self {
        self.today = Some(today);
        self
    }

    /// The path the operating system knows.
    #[must_use]
    pub fn real(&self, path: &Path) -> PathBuf {
        self.stand.join(&path.0)
    }

    /// A path that climbs out of the folder we stand in and comes back into it, without the detour.
    fn tidy(&self, path: Path) -> Path {
        if !path.0.starts_with("..") {
            return path;
        }
        let parts: Vec<&str> = path.0.split('/').collect();
        let ups = parts.iter().take_while(|&&part| part == "..").count();
        let down = &parts[ups..];
        let names: Vec<&OsStr> = self.stand.iter().skip(1).collect();
        let from = names.len().saturating_sub(ups);
        let back = names[from..].iter().zip(down).take_while(|(name, part)| **name == OsStr::new(part)).count();
        let back = back.min(ups);
        let kept: Vec<&str> =
            std::iter::repeat_n("..", ups.min(names.len()) - back).chain(down[back..].iter().copied()).collect();
        Path(kept.join("/"))
    }

    /// An absolute path without links, as seen from where we stand.
    fn seen(&self, real: &std::path::Path) -> Result<Path, ReadError> {
        let common = self.stand.iter().zip(real.iter()).take_while(|(one, other)| one == other).count();
        let mut parts: Vec<&str> = vec![".."; self.stand.iter().count() - common];
        for part in real.iter().skip(common) {
            parts.push(utf8(part)?);
        }
        Ok(Path(parts.join("/")))
    }
}

impl World for Disk {
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, ReadError> {
        let mut entries = Vec::new();
        for entry in fs::read_dir(self.real(folder)).map_err(|error| why(&error))? {
            let entry = entry.map_err(|error| why(&error))?;
            let (name, is_text) = shown(entry.file_name().as_encoded_bytes());
            let own = entry.file_type().map_err(|error| why(&error))?;
            let link = own.is_symlink();
            let kind = match (is_text, link) {
                (false, _) if holds_kdl(entry.path(), own) => EntryKind::Other(NOT_UTF8),
                (false, _) => EntryKind::Other(NOT_UTF8_NOR_KDL),
                (true, false) => kind_of(own),
                (true, true) => followed(fs::metadata(entry.path())),
            };
            entries.push(Listed { path: self.tidy(folder.join(&name)), name, kind, link });
        }
        entries.sort();
        Ok(entries)
    }

    fn kind(&self, path: &Path) -> Result<EntryKind, ReadError> {
        kind(&self.real(path))
    }

    fn read(&self, file: &Path) -> Result<Vec<u8>, ReadError> {
        read(&self.real(file))
    }

    fn start(&self, file: &Path, most: usize) -> Result<Vec<u8>, ReadError> {
        let (open, _) = open(&self.real(file))?;
        bounded(open.take(most as u64), 0)
    }

    fn parent(&self, path: &Path) -> Option<Path> {
        let parent = match path.parent() {
            _ if is_top(&self.real(path)) => return None,
            Some(parent) => parent,
            None if path.0 == "/" => return None,
            None => {
                let ups = if path.0.is_empty() { 0 } else { path.0.split('/').count() };
                if ups + 1 > self.stand.iter().skip(1).count() {
                    return None;
                }
                if path.0.is_empty() { Path::from("..") } else { path.join("..") }
            }
        };
        Some(parent)
    }

    fn today(&self) -> jiff::civil::Date {
        self.day().date
    }

    fn day(&self) -> Day {
        self.today.map_or_else(Day::now, Day::stated)
    }

    /// The typed path relative to where we stand (absolute if it was typed so). A `..` behind a link to a folder leads
    /// to the folder above the link's target, as everywhere on the system.
    fn path(&self, typed: &OsStr) -> Result<Path, ReadError> {
        let text = utf8(typed)?;
        let mut so_far = PathBuf::new();
        for part in std::path::Path::new(text).components() {
            if part == Component::ParentDir
                && fs::symlink_metadata(self.stand.join(&so_far)).is_ok_and(|own| own.is_symlink())
            {
                let target = fs::canonicalize(self.stand.join(&so_far)).map_err(|error| why(&error))?;
                so_far = target.parent().unwrap_or(&target).to_owned();
            } else if part == Component::ParentDir && so_far.file_name().is_some() {
                so_far.pop();
            } else {
                so_far.push(part);
            }
        }
        if so_far.is_absolute() && !text.starts_with('/') {
            return self.seen(&so_far);
        }
        Ok(self.tidy(Path::normal(utf8(if so_far.as_os_str().is_empty() {
            OsStr::new(".")
        } else {
            so_far.as_os_str()
        })?)))
    }

    #[cfg(unix)]
    fn identity(&self, folder: &Path) -> Result<String, ReadError> {
        use std::os::unix::fs::MetadataExt;
        let metadata = fs::metadata(self.real(folder)).map_err(|error| why(&error))?;
        Ok(format!("{}:{}", metadata.dev(), metadata.ino()))
    }

    #[cfg(not(unix))]
    fn identity(&self, folder: &Path) -> Result<String, ReadError> {
        let real = fs::canonicalize(self.real(folder)).map_err(|error| why(&error))?;
        Ok(real.to_string_lossy().into_owned())
    }
}

/// The bytes of an ordinary file, wherever it lies and whatever its name: anything else is refused without waiting.
pub(crate) fn read(real: &std::path::Path) -> Result<Vec<u8>, ReadError> {
    let (open, size) = open(real)?;
    small_enough(size)?;
    bounded(open, size)
}

/// A file opened for reading, and its size as the system tells it.
fn open(real: &std::path::Path) -> Result<(File, u64), ReadError> {
    // Opening a pipe would wait for its other end, so the kind comes first; and once more on the opened file, in
    // case something else was put in its place meanwhile.
    match kind(real)? {
        EntryKind::File => {}
        EntryKind::Folder => return Err(ReadError::Other("it is a folder, not a file".to_owned())),
        EntryKind::Other(reason) => return Err(ReadError::Other(reason.to_owned())),
    }
    let open = without_waiting().open(real).map_err(|error| why(&error))?;
    let metadata = open.metadata().map_err(|error| why(&error))?;
    if !metadata.is_file() {
        return Err(ReadError::Other("it was replaced while being opened".to_owned()));
    }
    Ok((open, metadata.len()))
}

/// Opens for reading. On Linux without waiting, should a pipe have come to stand in a file's place this very moment.
fn without_waiting() -> fs::OpenOptions {
    let mut options = File::options();
    options.read(true);
    #[cfg(all(target_os = "linux", any(target_arch = "x86_64", target_arch = "aarch64")))]
    {
        use std::os::unix::fs::OpenOptionsExt;
        // O_NONBLOCK, as the kernel's asm-generic/fcntl.h has it. It changes nothing for files.
        options.custom_flags(0o4000);
    }
    options
}

fn kind(real: &std::path::Path) -> Result<EntryKind, ReadError> {
    match fs::metadata(real) {
        Ok(metadata) => Ok(kind_of(metadata.file_type())),
        Err(error) => match fs::symlink_metadata(real) {
            Ok(own) if own.is_symlink() => Ok(followed(Err(error))),
            _ => Err(why(&error)),
        },
    }
}

/// All that comes, up to what a ledger file may have. The size told may be a fiction (`/proc`) or out of date (a file
/// that is being written), so what is read is counted.
fn bounded(from: impl Read, told: u64) -> Result<Vec<u8>, ReadError> {
    let mut bytes = Vec::with_capacity(usize::try_from(told).unwrap_or(0));
    from.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| why(&error))?;
    small_enough(bytes.len() as u64)?;
    Ok(bytes)
}

fn small_enough(size: u64) -> Result<(), ReadError> {
    if size > MOST_BYTES { Err(ReadError::TooLarge { size, most: MOST_BYTES }) } else { Ok(()) }
}

/// Whether a folder is the top of a repository: it holds `.git`, a folder with what Git keeps in it, or a file in a linked
/// work tree or a submodule. Git takes an empty folder of that name for nothing.
fn is_top(folder: &std::path::Path) -> bool {
    let git = folder.join(".git");
    match fs::metadata(&git) {
        Ok(metadata) if metadata.is_dir() => fs::symlink_metadata(git.join("HEAD")).is_ok(),
        // A link to nothing is somebody's mistake; what lies above is not drawn in by it.
        Ok(_) => true,
        Err(_) => fs::symlink_metadata(&git).is_ok(),
    }
}

/// Folders looked into for a file of a ledger; with more of them, there may be one.
const MOST_LOOKED_INTO: usize = 1000;

/// Whether a file looks like one of a ledger, or a folder holds one that does. A link may lead to anything.
fn holds_kdl(at: PathBuf, kind: FileType) -> bool {
    if !kind.is_dir() {
        return kind.is_symlink() || path::looks_like_kdl(at.as_os_str().as_encoded_bytes());
    }
    let mut folders = 0;
    for entry in WalkDir::new(at) {
        // What cannot be looked into may hold anything.
        let Ok(entry) = entry else { return true };
        if entry.file_type().is_dir() {
            folders += 1;
            if folders == MOST_LOOKED_INTO {
                return true;
            }
        } else if path::looks_like_kdl(entry.path().as_os_str().as_encoded_bytes()) {
            return true;
        }
    }
    false
}

/// What stands at the end of a link.
fn followed(target: io::Result<Metadata>) -> EntryKind {
    match target {
        Ok(metadata) => kind_of(metadata.file_type()),
        Err(error) => EntryKind::Other(match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => "it is a link to something that is not there",
            ErrorKind::PermissionDenied => "it is a link into a folder you may not enter",
            _ => "it is a link that leads back to itself",
        }),
    }
}

fn kind_of(file: FileType) -> EntryKind {
    if file.is_file() {
        return EntryKind::File;
    }
    if file.is_dir() {
        return EntryKind::Folder;
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if file.is_fifo() {
            return EntryKind::Other("it is a pipe, not a file");
        }
        if file.is_socket() {
            return EntryKind::Other("it is a socket, not a file");
        }
        if file.is_block_device() || file.is_char_device() {
            return EntryKind::Other("it is a device, not a file");
        }
    }
    EntryKind::Other("it is neither a file nor a folder")
}

/// An error of the operating system, in words for the person who reads the message.
fn why(error: &io::Error) -> ReadError {
    match error.kind() {
        ErrorKind::NotFound => ReadError::Missing,
        ErrorKind::NotADirectory => ReadError::Other("a part of the path is a file, not a folder".to_owned()),
        ErrorKind::PermissionDenied => ReadError::Other("you have no permission to read it".to_owned()),
        _ => ReadError::Other(format!("it cannot be read: {error}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_grows_while_it_is_read_comes_to_an_end() {
        let endless = bounded(io::repeat(b' '), 10);
        assert_eq!(endless, Err(ReadError::TooLarge { size: MOST_BYTES + 1, most: MOST_BYTES }));
        assert_eq!(bounded(&b"shorter than told"[..], 99), Ok(b"shorter than told".to_vec()));
    }
}
