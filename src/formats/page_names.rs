//! The files of a fleet's pages: one for the fleet, and one for each ledger, by its folder.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use crate::world::shown_path;

/// The page of the fleet.
pub(crate) const FLEET_PAGE: &str = "index.html";
/// What the name of every other page begins with.
pub(crate) const MACHINE_PAGE: &str = "machine-";
/// A longer name is cut.
const LONGEST: usize = 80;
/// Digits of the mark, of SHA-256 in hexadecimal.
const MARK: usize = 8;

/// Which ledger has its page in which file.
#[derive(Clone, Debug, Default)]
pub(crate) struct PageNames(BTreeMap<String, String>);

impl PageNames {
    /// A name for each folder, made of that folder alone, so that no ledger that comes or goes takes a page from another: letters,
    /// digits and hyphens of ASCII, which every system takes for a file and a link needs no other spelling for. No two differ
    /// by the case of their letters only; where two folders would have one name all the same, both are the error.
    pub(crate) fn new<'p>(folders: impl Iterator<Item = &'p str>) -> Result<PageNames, [String; 2]> {
        let mut taken: BTreeMap<String, &str> = BTreeMap::new();
        let mut names = BTreeMap::new();
        for folder in folders {
            let name = format!("{MACHINE_PAGE}{}.html", own_name(folder));
            match taken.insert(name.to_ascii_lowercase(), folder) {
                Some(other) if other != folder => return Err([other, folder].map(|it| shown_path(it).to_owned())),
                _ => names.insert(folder.to_owned(), name),
            };
        }
        Ok(PageNames(names))
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

/// What the page of a folder is called: as the folder where that is a plain name already, else with a mark of the folder
/// behind what is plain in it.
fn own_name(folder: &str) -> String {
    let parts = folder.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').filter(|part| !part.is_empty());
    let name = parts.collect::<Vec<_>>().join("-");
    let plain = match name.as_str() {
        "" => "here",
        name => &name[..name.len().min(LONGEST)],
    };
    if plain == folder && !plain.bytes().any(|byte| byte.is_ascii_uppercase()) && !ends_as_marked(plain) {
        return plain.to_owned();
    }
    let digest = Sha256::digest(folder);
    let mark: String = digest.iter().take(MARK / 2).map(|byte| format!("{byte:02x}")).collect();
    format!("{plain}-{mark}")
}

/// Whether a plain name could be that of another folder with its mark.
fn ends_as_marked(plain: &str) -> bool {
    let last = plain.rsplit('-').next().unwrap_or(plain);
    last.len() == MARK && last.bytes().all(|byte| byte.is_ascii_hexdigit())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn names(folders: &[&str]) -> PageNames {
        PageNames::new(folders.iter().copied()).expect("names of their own")
    }

    #[test]
    fn every_folder_has_a_page_of_its_own_whoever_else_is_there() {
        let long = "x".repeat(300);
        let folders = [
            "",
            "here",
            "saw",
            "Saw",
            "a b",
            "a-b",
            "a/b",
            "a-b-c8687a08",
            "../a-b-2",
            "\u{fc}",
            "con",
            "<b>\"",
            &long,
            &long[1..],
        ];
        let all = names(&folders);
        let small: BTreeSet<String> = all.files().map(str::to_ascii_lowercase).collect();
        assert_eq!(small.len(), folders.len(), "{all:?}");
        for (folder, name) in [
            ("a-b", "machine-a-b.html"),
            ("here", "machine-here.html"),
            // The first digits of SHA-256 as `printf 'a b' | sha256sum` tells them; of nothing at all, FIPS 180-4's example.
            ("a b", "machine-a-b-c8687a08.html"),
            ("", "machine-here-e3b0c442.html"),
            ("Saw", "machine-Saw-08730a74.html"),
        ] {
            assert_eq!(all.of(folder), Some(name));
        }
        // Each alone has the name that it has among all.
        for folder in folders {
            assert_eq!(names(&[folder]).of(folder), all.of(folder), "{folder}");
        }
        for file in all.files() {
            let (stem, _) = file.split_once(".html").expect("a page");
            assert!(
                stem.len() < 100 && stem.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_".contains(&b)),
                "{file}"
            );
        }
        assert!(all.of("elsewhere").is_none() && PageNames::default().files().next().is_none());
        assert_eq!(names(&["a b", "a b"]).files().count(), 1);
    }

    /// Found by trying a hundred thousand folders: plain in the same way, and with one mark.
    #[test]
    fn two_folders_never_share_a_page() {
        let alike = ["a/..... b", "a+.+~+/.b"];
        assert_eq!(own_name(alike[0]), own_name(alike[1]));
        assert_eq!(PageNames::new(alike.into_iter()).unwrap_err(), alike);
    }
}
