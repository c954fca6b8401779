//! Files are written whole or not at all.

use std::fs;

use crate::text::{Edit, Span};
use crate::writing::files::{WriteError, append, change, create, day_file, read};

const RECORD: &str = "service X date=\"2026-04-14\" by=fitter-2 task=lubricate\n";

#[test]
fn a_new_file_never_takes_the_place_of_another() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("below/day.kdl");
    create(&file, RECORD).expect("written");
    assert_eq!(fs::read_to_string(&file).expect("read"), RECORD);
    assert!(matches!(create(&file, "other"), Err(WriteError::Exists(_))));
    assert_eq!(fs::read_to_string(&file).expect("read"), RECORD);
}

#[test]
fn an_addition_keeps_every_byte_before_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("day.kdl");
    let before = "// kept\r\nservice X date=\"2026-04-13\" by=fitter-2 task=lubricate // no line end";
    fs::write(&file, before).expect("written");
    append(&file, Some(before), RECORD).expect("added");
    let after = fs::read_to_string(&file).expect("read");
    assert_eq!(after, format!("{before}\r\n{}\r\n", RECORD.trim_end()));
    assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1, "nothing is left lying about");
}

#[test]
fn a_change_that_cannot_be_proven_is_not_made() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("day.kdl");
    for (before, edit) in [("a 1\n", "{"), ("a {\n", "b"), ("a 1\n", "2 /*")] {
        fs::write(&file, before).expect("written");
        let result = change(&file, before, &[Edit { span: Span::new(2, 3), text: edit.into() }]);
        assert!(matches!(result, Err(WriteError::NotProven { .. })), "{before:?} {edit:?}: {result:?}");
        assert_eq!(fs::read_to_string(&file).expect("read"), before);
    }
}

#[test]
fn what_somebody_else_wrote_meanwhile_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("day.kdl");
    fs::write(&file, "a 1\n").expect("written");
    let before = read(&file).expect("read");
    fs::write(&file, "a 1\nb 2\n").expect("written");
    let result = change(&file, &before, &[Edit { span: Span::new(2, 3), text: "9".into() }]);
    assert!(matches!(result, Err(WriteError::Changed(_))), "{result:?}");
    assert_eq!(fs::read_to_string(&file).expect("read"), "a 1\nb 2\n");
}

#[test]
fn writers_come_one_after_the_other() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("day.kdl");
    fs::write(&file, "").expect("written");
    std::thread::scope(|scope| {
        for writer in 0..4 {
            let file = &file;
            scope.spawn(move || {
                let mut written = 0;
                while written < 5 {
                    let before = read(file).expect("read");
                    match append(file, Some(&before), &format!("note{writer} {written}\n")) {
                        Ok(()) => written += 1,
                        Err(WriteError::Changed(_)) => {}
                        Err(other) => panic!("{other}"),
                    }
                }
            });
        }
    });
    let text = fs::read_to_string(&file).expect("read");
    let mut lines: Vec<&str> = text.lines().collect();
    lines.sort_unstable();
    let mut expected: Vec<String> = (0..4).flat_map(|w| (0..5).map(move |n| format!("note{w} {n}"))).collect();
    expected.sort();
    assert_eq!(lines, expected);
}

#[cfg(unix)]
#[test]
fn links_and_permissions_stay() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().expect("a folder");
    let (real, link) = (folder.path().join("real.kdl"), folder.path().join("link.kdl"));
    fs::write(&real, "a 1\n").expect("written");
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("set");
    std::os::unix::fs::symlink("real.kdl", &link).expect("linked");
    append(&link, Some("a 1\n"), "b 2\n").expect("added");
    assert!(link.symlink_metadata().expect("there").file_type().is_symlink());
    assert_eq!(fs::read_to_string(&real).expect("read"), "a 1\nb 2\n");
    assert_eq!(real.metadata().expect("there").permissions().mode() & 0o777, 0o640);
    fs::set_permissions(&real, fs::Permissions::from_mode(0o440)).expect("set");
    assert!(matches!(append(&real, Some("a 1\nb 2\n"), "c 3\n"), Err(WriteError::Protected(_))));
    assert_eq!(fs::read_to_string(&real).expect("read"), "a 1\nb 2\n");
}

/// U+3164 is a letter to Unicode, and blank: two names of files would look alike.
#[test]
fn a_letter_that_is_not_seen_makes_no_name_of_a_file() {
    let day = jiff::civil::date(2026, 11, 1);
    assert!(day_file("m".as_ref(), day, "fitter-2\u{3164}").is_err());
    assert!(day_file("m".as_ref(), day, "fitter-2").is_ok());
}
