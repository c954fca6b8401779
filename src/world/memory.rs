//! A world in memory, for tests and for the examples that rules carry.

use std::collections::BTreeMap;

use super::{EntryKind, Listed, MOST_BYTES, Path, ReadError, World};

/// Files by path, and the day it is there. Folders exist where files are below them.
#[derive(Clone, Debug)]
pub struct Memory {
    files: BTreeMap<Path, Vec<u8>>,
    today: jiff::civil::Date,
}

impl Memory {
    /// A world without files, on a given day.
    #[must_use]
    pub fn new(today: jiff::civil::Date) -> Self {
        Self { files: BTreeMap::new(), today }
    }

    /// The same world with one file more (or in place of the one at that path).
    #[must_use]
    pub fn with(mut self, path: &str, bytes: impl Into<Vec<u8>>) -> Self {
        self.files.insert(Path::normal(path), bytes.into());
        self
    }

    /// Everything below a folder, by path.
    fn below(&self, folder: &Path) -> impl Iterator<Item = (&str, &Path)> {
        let prefix = if folder.0.is_empty() { String::new() } else { format!("{}/", folder.0) };
        let from = Path(prefix.clone());
        self.files.range(from..).map_while(move |(path, _)| Some((path.0.strip_prefix(&prefix)?, path)))
    }
}

impl World for Memory {
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, ReadError> {
        if self.kind(folder)? != EntryKind::Folder {
            return Err(ReadError::Other("it is a file, not a folder".to_owned()));
        }
        let mut entries = BTreeMap::new();
        for (rest, path) in self.below(folder) {
            match rest.split_once('/') {
                Some((name, _)) => entries.insert(folder.join(name), EntryKind::Folder),
                None => entries.insert(path.clone(), EntryKind::File),
            };
        }
        Ok(entries
            .into_iter()
            .map(|(path, kind)| Listed { name: path.name().to_owned(), path, kind, link: false })
            .collect())
    }

    fn kind(&self, path: &Path) -> Result<EntryKind, ReadError> {
        if self.files.contains_key(path) {
            Ok(EntryKind::File)
        } else if path.0.is_empty() || self.below(path).next().is_some() {
            Ok(EntryKind::Folder)
        } else {
            Err(ReadError::Missing)
        }
    }

    fn read(&self, file: &Path) -> Result<Vec<u8>, ReadError> {
        let bytes = self.files.get(file).ok_or(ReadError::Missing)?;
        let size = bytes.len() as u64;
        if size > MOST_BYTES { Err(ReadError::TooLarge { size, most: MOST_BYTES }) } else { Ok(bytes.clone()) }
    }

    fn parent(&self, path: &Path) -> Option<Path> {
        path.parent()
    }

    fn today(&self) -> jiff::civil::Date {
        self.today
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_where_files_are() {
        let world = Memory::new(jiff::civil::date(2026, 3, 2))
            .with("yard/shop.kdl", "s")
            .with("yard/hull/machine.kdl", "m")
            .with("yard-2/machine.kdl", "m");
        let names = |folder: &str| -> Vec<String> {
            world.list(&Path::from(folder)).unwrap().into_iter().map(|entry| entry.path.0).collect()
        };
        assert_eq!(names(""), ["yard", "yard-2"]);
        assert_eq!(names("yard"), ["yard/hull", "yard/shop.kdl"]);
        assert_eq!(world.kind(&Path::from("yard/hull")), Ok(EntryKind::Folder));
        assert_eq!(world.kind(&Path::from("yard/hul")), Err(ReadError::Missing));
        assert_eq!(world.read(&Path::from("yard/shop.kdl")), Ok(b"s".to_vec()));
        assert_eq!(world.read(&Path::from("yard")), Err(ReadError::Missing));
        assert!(world.list(&Path::from("yard/shop.kdl")).is_err());
        assert_eq!(world.parent(&Path::from("yard")), Some(Path::default()));
        assert_eq!(world.parent(&Path::default()), None);
        assert_eq!(world.today(), jiff::civil::date(2026, 3, 2));
    }
}
