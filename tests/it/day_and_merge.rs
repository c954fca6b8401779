//! Which day it is, and merges that nobody settled.

use std::fs;

use crate::common::yard::{GOOD, Ran, SAW, SHOP, Yard};

/// A saw whose one reading was taken on a day.
fn read_on(day: &str) -> Yard {
    let yard = Yard::with_saw();
    yard.write("saw/2021-04-15.kdl", GOOD.replace("2021-04-15", day));
    yard
}

/// The day in a zone, by the system's own `date`.
fn day_in(zone: &str, offset: &str) -> String {
    let date = std::process::Command::new("date").args(["-d", offset, "+%F"]).env("TZ", zone).output().unwrap();
    String::from_utf8(date.stdout).unwrap().trim().to_owned()
}

fn lint_in(yard: &Yard, zone: &str, arguments: &[&str]) -> Ran {
    Ran::of(yard.command("wayledger", ".").env("TZ", zone).arg("lint").args(arguments).output().unwrap())
}

/// A record is ahead only if it is not yet its day anywhere on earth: a pipeline in the west judges a morning of the east.
#[test]
fn a_morning_in_the_east_is_not_ahead_in_the_west() {
    // UTC+14 and UTC−12: between them it is always two days, sometimes three. (POSIX signs are the other way round.)
    for day in [day_in("LINT-14", "now"), day_in("AOE12", "now"), day_in("UTC0", "now")] {
        let yard = read_on(&day);
        yard.git(&["add", "-A"]);
        for zone in ["AOE12", "UTC0", "LINT-14"] {
            for source in [&[][..], &["--staged"]] {
                let ran = lint_in(&yard, zone, source);
                assert!(!ran.out.contains("date-order"), "{day} in {zone}: {ran:?}");
                assert_eq!(ran.code, 0, "{day} in {zone}: {ran:?}");
            }
        }
    }
    let yard = read_on(&day_in("LINT-14", "2 days"));
    for zone in ["AOE12", "UTC0", "LINT-14"] {
        let ran = lint_in(&yard, zone, &[]);
        assert_eq!(ran.code, 1, "{ran:?}");
        assert!(ran.out.contains("date-order") && ran.out.contains("lies ahead of today"), "{ran:?}");
    }
}

/// A day that somebody states is that day.
#[test]
fn a_stated_day_is_that_day() {
    let yard = read_on("2021-04-16");
    assert_eq!(yard.wayledger(&["lint", "--today", "2021-04-16"]).code, 0);
    let ran = yard.wayledger(&["lint", "--today", "2021-04-15"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.out.contains("lies ahead of today, 2021-04-15\n") || ran.out.contains("ahead of today, 2021-04-15"),
        "{ran:?}"
    );
    assert!(!ran.out.contains("on earth"), "{ran:?}");
}

/// A revision is judged by its commit's moment, which a server in another zone may have made.
#[test]
fn a_commit_of_a_server_in_the_west_is_not_before_its_records() {
    for (committed, code) in [
        // 14 April, 10:00 in Greenwich is 15 April, 0:00 at UTC+14.
        ("2021-04-14T10:00:00+0000", 0),
        ("2021-04-14T09:59:59+0000", 1),
        ("2021-04-13T22:00:00-1200", 0),
        ("2021-04-15T00:00:00+1400", 0),
    ] {
        let yard = read_on("2021-04-15");
        yard.git(&["add", "-A"]);
        let mut git = yard.command("git", ".");
        git.env("GIT_COMMITTER_DATE", committed).args(["commit", "-q", "--allow-empty", "-m", "x"]);
        assert_eq!(Ran::of(git.output().unwrap()).code, 0);
        let ran = yard.wayledger(&["lint", "--at", "HEAD"]);
        assert_eq!(ran.code, code, "{committed}: {ran:?}");
    }
}

/// A yard in which two branches wrote different things into a file, and git left the merge to a person.
fn conflict(file: &str, ours: &str, theirs: &str) -> Yard {
    let yard = Yard::with_saw();
    yard.git(&["checkout", "-q", "-b", "theirs"]);
    yard.write(file, theirs).commit("theirs");
    yard.git(&["checkout", "-q", "main"]);
    yard.write(file, ours).commit("ours");
    assert_ne!(yard.run("git", &["merge", "theirs"]).code, 0);
    yard
}

fn findings(ran: &Ran) -> Vec<&str> {
    let grades = ["nonconformity:", "outstanding:", "observation:"];
    ran.out.lines().filter(|line| grades.iter().any(|grade| line.contains(grade))).collect()
}

#[test]
fn an_unresolved_merge_is_one_finding_in_every_file() {
    let (one, other) = (GOOD.replace("0.01", "0.012"), GOOD.replace("0.01", "0.013"));
    let wide = |by: &str| SAW.replace("length=80", by);
    let shop = |by: &str| SHOP.replace("0.05", by);
    for (file, ours, theirs) in [
        ("saw/2021-04-15.kdl", one, other),
        ("saw/machine.kdl", wide("length=90"), wide("length=100")),
        ("shop.kdl", shop("0.1"), shop("0.2")),
    ] {
        for style in ["merge", "diff3"] {
            let yard = conflict(file, &ours, &theirs);
            yard.git(&["config", "merge.conflictStyle", style]);
            yard.git(&["checkout", "--merge", "--", file]);
            let text = yard.read(file);
            let at = |mark: &str| 1 + text.lines().position(|line| line.starts_with(mark)).unwrap();
            let (first, last) = (at("<<<<<<<"), at(">>>>>>>"));
            let ran = yard.wayledger(&["lint", "--today", "2026-11-01"]);
            assert_eq!(ran.code, 1, "{file}: {ran:?}");
            let found = findings(&ran);
            let said = format!("an unresolved merge, lines {first} to {last}");
            assert!(ran.out.contains(&said), "{said}: {ran:?}");
            // The shop file's is told with the shop file, and of the ledger that it is not judged for it.
            assert_eq!(found.len(), if file == "shop.kdl" { 2 } else { 1 }, "{file}: {found:#?}");
            assert!(found.iter().all(|line| line.contains("nonconformity: unreadable")), "{found:#?}");
            assert!(!ran.out.contains("clean"), "{ran:?}");
            // Nothing is made of what is left.
            for command in [&["report"][..], &["export"], &["compare", "HEAD"]] {
                let ran = yard.wayledger(&[command, &["--today", "2026-11-01"]].concat());
                assert_eq!(ran.code, 2, "{command:?}: {ran:?}");
                assert!(ran.err.contains("an unresolved merge"), "{command:?}: {ran:?}");
            }
            let ran = yard.wayledger(&["how", "X", "--ledger", "saw"]);
            assert!(ran.code == 2, "{ran:?}");
        }
    }
}

#[test]
fn several_merges_are_told_one_by_one_and_staged_ones_too() {
    let yard = Yard::with_saw();
    let both = "<<<<<<< HEAD\n// one\n=======\n// other\n>>>>>>> theirs\n";
    yard.write("saw/2021-04-15.kdl", format!("{both}{GOOD}{both}"));
    yard.git(&["add", "-A"]);
    for source in [&[][..], &["--staged"], &["--staged", "--touched"]] {
        let ran = yard.wayledger(&[&["lint", "--today", "2026-11-01"], source].concat());
        assert_eq!(ran.code, 1, "{ran:?}");
        assert_eq!(findings(&ran).len(), 2, "{ran:?}");
        assert!(ran.out.contains("lines 1 to 5") && ran.out.contains("lines 14 to 18"), "{ran:?}");
    }
    // Not even `tidy` makes something of it.
    let before = yard.read("saw/2021-04-15.kdl");
    yard.wayledger(&["tidy"]);
    assert_eq!(fs::read_to_string(yard.root.join("saw/2021-04-15.kdl")).unwrap(), before);
}
