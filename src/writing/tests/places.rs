//! Where writing meets the file system: other names of a file, and files that go away.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::symlink;

use crate::testing::one_record::{DAY, ONE, ledger, names};
use crate::writing::files::{WriteError, append, change, create, read, replace_paper};
const TWO: &str = "service X date=\"2026-04-14\" by=fitter-2 task=re-torque\n";

#[test]
fn who_holds_another_name_of_a_file_keeps_the_old_text() {
    let folder = ledger();
    let day = folder.path().join(DAY);
    let copy = folder.path().join("yesterday.backup");
    fs::hard_link(&day, &copy).expect("linked");
    append(&day, Some(ONE), TWO).expect("added");
    assert_eq!(fs::read_to_string(&copy).expect("read"), ONE);
    assert_eq!(fs::read_to_string(&day).expect("read"), format!("{ONE}{TWO}"));
}

#[test]
fn a_file_that_went_away_or_came_is_somebody_elses_change() {
    let folder = ledger();
    let day = folder.path().join(DAY);
    assert!(matches!(append(&day, None, TWO), Err(WriteError::Changed(_))), "it came");
    assert!(matches!(append(&day, Some(""), TWO), Err(WriteError::Changed(_))), "it is another one");
    fs::remove_file(&day).expect("it was there");
    assert!(matches!(append(&day, Some(ONE), TWO), Err(WriteError::Changed(_))), "it went");
    fs::create_dir(&day).expect("made");
    assert!(matches!(append(&day, Some(ONE), TWO), Err(WriteError::Changed(_))), "it is a folder now");
    assert!(matches!(read(&day), Err(WriteError::NoFile(_))));
    assert!(matches!(create(&day, TWO), Err(WriteError::Exists(_))));
    fs::remove_dir(&day).expect("it was there");
    fs::write(&day, [0xff, 0xfe, b'x']).expect("written");
    assert!(matches!(change(&day, ONE, &[]), Err(WriteError::Changed(_))), "it is no text now");
    let paper = folder.path().join("missing/paper.html");
    fs::remove_file(&day).expect("it was there");
    for leads in ["not-there.kdl", "saw", DAY, "/dev/null"] {
        symlink(leads, &day).expect("linked");
        assert!(matches!(append(&day, None, ONE), Err(WriteError::Changed(_))), "a link to {leads}");
        fs::remove_file(&day).expect("it was there");
    }
    fs::write(&day, [0xff, 0xfe, b'x']).expect("written");
    assert!(matches!(replace_paper(&paper, "x", |_| true), Err(WriteError::NoFolder(_))));
    assert_eq!(names(folder.path()), [DAY, "machine.kdl"]);
}
