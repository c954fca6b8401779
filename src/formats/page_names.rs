//! The files of a fleet's pages: one for the fleet, and one for each ledger, by its folder.

use std::collections::{BTreeMap, BTreeSet};

/// The page of the fleet.
pub(crate) const FLEET_PAGE: &str = "index.html";
/// What the name of every other page begins with.
pub(crate) const MACHINE_PAGE: &str = "machine-";
/// A longer name is cut.
const LONGEST: usize = 80;

/// Which ledger has its page in which file.
#[derive(Clone, Debug, Default)]
pub(crate) struct PageNames(BTreeMap<String, String>);

impl PageNames {
    /// A name for each folder, of letters, digits and hyphens of ASCII alone, which every system takes for a file and a link
    /// needs no other spelling for. No two differ by the case of their letters only.
    pub(crate) fn new<'p>(folders: impl Iterator<Item = &'p str>) -> PageNames {
        let mut folders: Vec<(&str, String)> = folders.map(|folder| (folder, plain(folder))).collect();
        // Who is called so by itself is first, whoever else comes to that name.
        folders.sort_by_key(|(folder, plain)| (*folder != plain.as_str(), *folder));
        let mut taken: BTreeSet<String> = BTreeSet::new();
        let mut names = BTreeMap::new();
        for (folder, plain) in folders {
            let numbered = (2..).map(|number| format!("{plain}-{number}"));
            let mut all = std::iter::once(plain.clone()).chain(numbered);
            let Some(name) = all.find(|name| taken.insert(name.to_ascii_lowercase())) else { continue };
            names.insert(folder.to_owned(), format!("{MACHINE_PAGE}{name}.html"));
        }
        PageNames(names)
    }

    /// The page of the ledger in a folder.
    pub(crate) fn of(&self, folder: &str) -> Option<&str> {
        self.0.get(folder).map(String::as_str)
    }

    /// All of them, in the order of their ledgers.
    pub(crate) fn files(&self) -> impl Iterator<Item = &str> {
        self.0.values().map(String::as_str)
    }
}

fn plain(folder: &str) -> String {
    let parts = folder.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').filter(|part| !part.is_empty());
    let name = parts.collect::<Vec<_>>().join("-");
    match name.as_str() {
        "" => "here".to_owned(),
        name => name[..name.len().min(LONGEST)].to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_folder_has_a_page_of_its_own() {
        let long = "x".repeat(300);
        let folders = ["", "saw", "Saw", "a b", "a-b", "a/b", "../a-b-2", "\u{fc}", "con", "<b>\"", &long, &long[1..]];
        let names = PageNames::new(folders.iter().copied());
        let small: BTreeSet<String> = names.files().map(str::to_ascii_lowercase).collect();
        assert_eq!(small.len(), folders.len(), "{names:?}");
        assert_eq!(names.of("a-b"), Some("machine-a-b.html"));
        // The second name is that of another one already.
        assert_eq!(names.of("a b"), Some("machine-a-b-3.html"));
        for file in names.files() {
            let (stem, _) = file.split_once(".html").expect("a page");
            assert!(
                stem.len() < 100 && stem.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_".contains(&b)),
                "{file}"
            );
        }
        assert!(names.of("elsewhere").is_none() && PageNames::default().files().next().is_none());
    }
}
