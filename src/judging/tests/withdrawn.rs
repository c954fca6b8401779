//! Files of a released ledger that another one takes are seen. (That a release goes is told of the ledger itself.)
#![cfg(unix)]

use std::sync::Arc;

use crate::judging::stops::{Withdrawn, withdrawn};
use crate::world::Path;
use crate::world::git::{GitWorld, PathChange, Repository, Surroundings};

use crate::testing::yard::{GOOD, SAW, Yard};

const RELEASE: &str = "release X date=\"2021-05-01\" by=engineer-1 seal=\"00\"\n";

/// What the staged changes take away.
fn taken(yard: &Yard) -> Vec<Withdrawn> {
    yard.git(&["add", "-A"]);
    let repository = Arc::new(Repository::at(&yard.root, &Surroundings::default()).unwrap());
    let (world, last, changes) = GitWorld::touched_and_before(&repository).unwrap();
    let paths: Vec<Path> = changes.iter().flat_map(PathChange::paths).chain(world.reached()).cloned().collect();
    withdrawn(&repository, (&last, &world), &changes, &paths).unwrap()
}

/// A saw that was released in a file of its own. (Its seal is none; whether it holds is another rule's matter.)
fn released() -> Yard {
    let yard = Yard::with_saw();
    yard.write("saw/release.kdl", RELEASE).write("saw/april/2021-04-16.kdl", GOOD.replace("04-15", "04-16"));
    yard.commit("released");
    yard
}

#[test]
fn a_ledger_inside_takes_no_records_of_a_released_one() {
    let yard = released();
    yard.write("saw/april/machine.kdl", SAW);
    let by = Path::from("saw/april");
    assert_eq!(taken(&yard), [Withdrawn::Taken { folder: Path::from("saw"), by, files: 1 }]);
    let yard = Yard::with_saw();
    yard.write("saw/release.kdl", RELEASE).commit("released");
    yard.write("saw/april/machine.kdl", SAW);
    assert_eq!(taken(&yard), [], "it takes nothing");
}
