//! Fleets of realistic ledgers of any number and size: the same for the same seed, with faults in known places.

use std::fs;
use std::io;
use std::path::Path;

use super::faults::{Case, library};
use super::machines::{Dice, Size, machine};

/// What a fleet is to be.
#[derive(Clone, Debug)]
pub(crate) struct Fleet {
    pub ledgers: u64,
    pub size: Size,
    /// How many ledgers of a hundred have a fault.
    pub faulty: i64,
    pub seed: u64,
}

/// One ledger of a fleet: a folder with its own shop file, and the ledger's folder `m` in it.
#[derive(Debug)]
pub(crate) struct Member {
    /// Paths below the fleet's folder, and texts.
    pub files: Vec<(String, String)>,
    /// What must be found, each as `file:line grade rule address`.
    pub announced: Vec<String>,
}

impl Size {
    /// Machines with ledgers of about that many bytes, 10,000 or more: what was measured over many seeds.
    pub(crate) fn of_bytes(bytes: i64) -> Size {
        let supports = (bytes - 8_000) / 150;
        Size { rails: 2..=4, segments: 1..=6, supports: supports / 2..=supports * 3 / 2 }
    }
}

impl Fleet {
    pub(crate) fn members(&self) -> impl Iterator<Item = Member> {
        let library = library();
        (0..self.ledgers).map(move |number| {
            let seed = self.seed.wrapping_add(number);
            let written = machine(seed, &self.size);
            let dice = Dice::new(seed ^ 0xfa17);
            let mut case = Case::new(&written.shop, &written.files, dice);
            if case.dice.chance(self.faulty) {
                // Not every fault finds room in every ledger.
                while case.applied.is_empty() {
                    let fault = *case.dice.pick(&library);
                    case.apply(fault);
                }
            }
            let folder = format!("hall-{:03}/unit-{number:05}", number / 100);
            let below = |path: &str| format!("{folder}/{path}");
            Member {
                files: case.pages.texts().map(|(name, text)| (below(name), text)).collect(),
                announced: case.pages.announced().iter().map(|line| below(line)).collect(),
            }
        })
    }

    /// Writes the fleet below a folder. Gives its bytes and all that must be found in it, in order.
    pub(crate) fn write(&self, folder: &Path) -> io::Result<(u64, Vec<String>)> {
        let (mut bytes, mut announced) = (0, Vec::new());
        for member in self.members() {
            for (name, text) in &member.files {
                let path = folder.join(name);
                path.parent().map_or(Ok(()), fs::create_dir_all)?;
                fs::write(path, text)?;
                bytes += text.len() as u64;
            }
            announced.extend(member.announced);
        }
        announced.sort();
        Ok((bytes, announced))
    }
}
