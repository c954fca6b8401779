//! Sixty ways and more to commit a bad record, with the hook in place and git itself at work. Each is stopped, or is one of
//! those before which git asks no such hook: then the page for a server names it, and the hook of a push stops it.

mod gone;
mod kinds;
mod links;
mod modes;
mod names;
mod unseen;
mod ways;

use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt as _;

use crate::common::share;
use crate::common::yard::{GOOD, Ran, SAW, Yard, bad};
use ways::{By, Ends, Way, all};

/// Somebody's day in a yard with a saw and the hook.
type Deed = fn(&Yard);

fn said(ran: &Ran) -> String {
    format!("{}{}", ran.out, ran.err).replace('│', "").split_whitespace().collect::<Vec<&str>>().join(" ")
}

/// Every branch and where it stands.
fn refs(yard: &Yard) -> String {
    yard.git(&["show-ref", "--heads"])
}

fn hooked() -> Yard {
    let yard = Yard::with_saw();
    yard.git(&["init", "-q", "--bare", "../store.git"]);
    yard.git(&["remote", "add", "origin", "../store.git"]);
    yard.git(&["push", "-q", "origin", "main"]);
    assert_eq!(yard.wayledger(&["hook", "--pre-push"]).code, 0);
    yard
}

fn commit(yard: &Yard, by: By) -> Ran {
    let (folder, arguments): (&str, &[&str]) = match by {
        By::All => {
            yard.git(&["add", "-A"]);
            (".", &["commit", "-q", "-m", "a day's work"])
        }
        By::Staged => (".", &["commit", "-q", "-m", "a day's work"]),
        By::As(arguments) => (".", arguments),
        By::In(folder, arguments) => (folder, arguments),
    };
    Ran::of(yard.command("git", folder).args(arguments).output().unwrap())
}

#[test]
fn each_way_to_commit_a_bad_record_is_stopped_or_named() {
    let page = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/schema/pipelines.md")).unwrap();
    let ways: Vec<&Way> = all().collect();
    let names: BTreeSet<&str> = ways.iter().map(|way| way.name).collect();
    assert!(ways.len() >= 60 && names.len() == ways.len(), "{} ways", ways.len());
    let mut wrong = Vec::new();
    let first = hooked();
    for way in &ways {
        let yard = first.again();
        (way.lay)(&yard);
        let before = refs(&yard);
        let ran = commit(&yard, way.by);
        let (said, is_in) = (said(&ran), refs(&yard) != before);
        let fault = match way.ends {
            Ends::Stopped(because) if is_in || ran.code == 0 => {
                Some(format!("went in; should be stopped for {because}"))
            }
            Ends::Stopped(because) if !said.contains(because) => Some(format!("does not say {because}")),
            Ends::Unseen(word) if !is_in => Some(format!("was stopped, and is said to go in by {word}")),
            Ends::Unseen(word) if !page.contains(word) => Some(format!("the page does not name {word}")),
            Ends::Unseen(_) => not_stopped_at_the_push(&yard),
            Ends::Stopped(_) => None,
        };
        wrong.extend(fault.map(|fault| format!("{}: {fault}: {said}", way.name)));
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), ways.len(), wrong.join("\n"));
    assert!(ways.iter().filter(|way| matches!(way.ends, Ends::Unseen(_))).count() >= 10);
}

fn not_stopped_at_the_push(yard: &Yard) -> Option<String> {
    let there = || yard.git(&["--git-dir=../store.git", "rev-parse", "main"]);
    let before = there();
    let ran = yard.run("git", &["push", "-q", "origin", "main"]);
    let said = said(&ran);
    let stopped = ran.code != 0 && there() == before && said.contains("joint-step");
    (!stopped || !said.contains("`refs/heads/main` is not pushed to `origin`")).then(|| format!("the push: {said}"))
}

/// Every sign that git or a shell may take for something else, in the name of a file of records and of a ledger's folder.
#[test]
fn no_sign_in_a_name_hides_a_bad_record() {
    let yard = hooked();
    yard.write("../bad.kdl", bad()).write("../machine.kdl", SAW.replace("saw", "mill"));
    let [record, machine] =
        ["../bad.kdl", "../machine.kdl"].map(|file| yard.git(&["hash-object", "-w", "--no-filters", file]));
    let odd = (1..=255u8).filter(|byte| !byte.is_ascii_alphanumeric() && *byte != b'/');
    // All of ASCII's, and of the rest those with which a sign begins, goes on, and never is.
    let odd = odd.filter(|byte| byte.is_ascii() || matches!(byte, 0x80 | 0xa0 | 0xc3 | 0xe2 | 0xff));
    for byte in share(odd, 5) {
        for place in [0, 1, 2] {
            let mut name = b"ab".to_vec();
            name.insert(place, byte);
            let file = [b"saw/", &name[..], b".kdl"].concat();
            let folder = [&name[..], b"/machine.kdl"].concat();
            let inside = [&name[..], b"/r.kdl"].concat();
            for staged in [&[(&record, file)][..], &[(&machine, folder), (&record, inside)]] {
                let mut git = yard.command("git", ".");
                git.arg("update-index").arg("--add");
                for (id, path) in staged {
                    git.args(["--cacheinfo", "100644", id]).arg(OsStr::from_bytes(path));
                }
                assert!(git.status().unwrap().success(), "{staged:?}");
                let ran = yard.wayledger(&["lint", "--staged", "--touched", "--quiet"]);
                let shown = format!("{:?}: {ran:?}", String::from_utf8_lossy(&staged[0].1));
                assert!(ran.code == 1 || ran.code == 2 && ran.err.contains("wayledger: "), "{shown}");
                let says = ran.out.contains("joint-step") || ran.err.contains("rename it");
                assert!(says, "{shown}");
                yard.git(&["read-tree", "HEAD"]);
            }
        }
    }
}

/// What breaks nothing goes in by the same ways.
#[test]
fn the_honest_ways_go_in() {
    let old = |yard: &Yard| {
        yard.write("saw/b.kdl", bad().replace("04-15", "04-16")).commit("an old slip");
    };
    let other: fn(&Yard) = |yard| {
        fs::create_dir_all(yard.root.join("../other/saw")).unwrap();
        for name in ["shop.kdl", "saw/machine.kdl", "saw/2021-04-15.kdl", "saw/b.kdl"] {
            fs::copy(yard.root.join(name), yard.root.join("../other").join(name)).unwrap();
        }
        yard.write("../other/saw/c.kdl", GOOD.replace("04-15", "04-17"));
        yard.git(&["--work-tree=../other", "add", "-A"]);
    };
    let ways: [(&str, Deed, By); 8] = [
        (
            "a comment where a slip stood before",
            |yard| {
                yard.write("saw/c.kdl", "// looked at\n");
            },
            By::All,
        ),
        (
            "a comment beside the slip",
            |yard| {
                let text = yard.read("saw/b.kdl");
                yard.write("saw/b.kdl", format!("// looked at\n{text}"));
            },
            By::All,
        ),
        (
            "a comment in the description",
            |yard| {
                yard.write("saw/machine.kdl", format!("// a\n{SAW}"));
            },
            By::All,
        ),
        ("moved with its slip", |yard| drop(yard.git(&["mv", "saw", "old-saw"])), By::All),
        ("nothing", |_| {}, By::As(&["commit", "-q", "--allow-empty", "-m", "x"])),
        (
            "only meant to be added",
            |yard| {
                yard.write("saw/c.kdl", bad().replace("04-15", "04-18")).git(&["add", "-N", "saw/c.kdl"]);
            },
            By::As(&["commit", "-q", "--allow-empty", "-m", "x"]),
        ),
        ("with git's folder named", other, By::In("../other", &["--git-dir=../yard/.git", "commit", "-q", "-m", "x"])),
        ("with a work tree named", other, By::As(&["--work-tree=../other", "commit", "-q", "-m", "x"])),
    ];
    for (name, lay, by) in ways {
        let yard = hooked();
        old(&yard);
        lay(&yard);
        let before = yard.head();
        let ran = commit(&yard, by);
        assert_eq!(ran.code, 0, "{name}: {ran:?}");
        assert_ne!(yard.head(), before, "{name}");
    }
}

/// What a push may bring, and what the remote has already.
#[test]
fn a_push_is_judged_against_what_the_remote_has() {
    let yard = hooked();
    let push = |arguments: &[&str]| yard.run("git", &[&["push", "-q"], arguments].concat());
    yard.write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16")).commit("a good day");
    let ran = push(&["origin", "main"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    // What it has already stands, in the same branch and in a new one.
    yard.write("saw/b.kdl", bad().replace("04-15", "04-17")).commit("a slip");
    assert_eq!(push(&["--no-verify", "origin", "main"]).code, 0);
    yard.git(&["fetch", "-q"]);
    yard.write("note.txt", "x").commit("a note");
    assert_eq!(push(&["origin", "main", "main:new"]).code, 0);
    // A new branch with a slip of its own, a record altered that the remote has, and one that a forced push drops.
    let ways: [(&str, Deed); 3] = [
        ("joint-step", |yard| {
            yard.write("saw/c.kdl", bad().replace("04-15", "04-18").replace("0.03", "0.04")).commit("a worse slip");
        }),
        ("record-altered", |yard| {
            yard.write("saw/2021-04-15.kdl", GOOD.replace("LL 0 -> 0.005", "LL 0 -> 0.004")).commit("an alteration");
        }),
        ("record-gone", |yard| drop(yard.git(&["reset", "-q", "--hard", "HEAD~3"]))),
    ];
    let good = yard.head();
    for (rule, way) in ways {
        way(&yard);
        for to in [&["--force", "origin", "HEAD:main"][..], &["origin", "HEAD:refs/heads/another"]] {
            // Of a branch that begins where the remote's began, nothing is missing.
            let fine = rule == "record-gone" && to[0] == "origin";
            let ran = push(to);
            assert_eq!(ran.code == 0, fine, "{rule} {to:?}: {ran:?}");
            assert!(fine || format!("{}{}", ran.out, ran.err).contains(rule), "{rule} {to:?}: {ran:?}");
        }
        yard.git(&["reset", "-q", "--hard", &good]);
    }
    // Branches that go, tags of files, and a repository without a ledger.
    assert_eq!(push(&["origin", ":new"]).code, 0);
    yard.git(&["tag", "a-file", "HEAD:note.txt"]);
    assert_eq!(push(&["origin", "a-file"]).code, 0);
    yard.git(&["checkout", "-q", "--orphan", "papers"]);
    yard.git(&["rm", "-q", "-r", "-f", "."]);
    yard.write("paper.txt", "x").commit("no ledger");
    let ran = push(&["origin", "papers"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    for line in ["nonsense", "a b c d e", "refs/heads/main nothing refs/heads/main 00"] {
        let mut child = yard.command("wayledger", ".");
        child
            .args(["hook", "--pushing", "origin"])
            .stdin(fs::File::open(yard.write("../in", line).root.join("../in")).unwrap());
        assert_eq!(Ran::of(child.output().unwrap()).code, 2, "{line}");
    }
}
