//! `release --sign`: the seal is signed through `ssh-keygen`, and nothing is written where anything about it is wrong.

use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

use crate::common::program::run;

const RELEASE: [&str; 8] = ["release", "X", "--ledger", "slide", "--date", "2026-05-10T10:00", "--today", "2026-05-10"];
const RECORDS: &str = "slide/2026-05-10-engineer-1.kdl";

/// A slide that can be released, keys of two persons beside it, and nothing in any agent.
struct Hall {
    folder: TempDir,
}

impl Hall {
    /// With what the shop says of its persons, `KEY` and `OTHER` in it for the public keys; nothing without `ssh-keygen`.
    fn new(shop: &str) -> Option<Hall> {
        let hall = Hall { folder: tempfile::tempdir().expect("a folder") };
        for name in ["key", "other"] {
            let made = Command::new("ssh-keygen")
                .args(["-q", "-t", "ed25519", "-N", "", "-C", "a remark", "-f"])
                .arg(hall.file(name))
                .status();
            #[allow(clippy::print_stderr, reason = "a test that is left out says so")]
            let Ok(made) = made else {
                eprintln!("left out: there is no ssh-keygen here");
                return None;
            };
            assert!(made.success());
        }
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/faults/concession-idle");
        std::fs::create_dir(hall.file("slide")).expect("made");
        for name in ["machine.kdl", "records.kdl"] {
            std::fs::copy(from.join(name), hall.file("slide").join(name)).expect("copied");
        }
        hall.shop(shop);
        Some(hall)
    }

    fn shop(&self, shop: &str) {
        let shop = shop.replace("KEY", self.text("key.pub").trim()).replace("OTHER", self.text("other.pub").trim());
        let persons = "person fitter-2; person inspector-1; person office;";
        std::fs::write(self.file("shop.kdl"), format!("shop {{ {persons} {shop} }}\n")).expect("written");
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.file(name)).unwrap_or_default()
    }

    fn release(&self, more: &[&str]) -> (i32, String) {
        let (out, err, code) = run(self.folder.path(), &[&RELEASE[..], more].concat());
        (code.unwrap_or(-1), out + &err)
    }

    /// The rules of keeping that find fault with the slide, with their messages.
    fn found(&self) -> Vec<String> {
        let (out, ..) = run(self.folder.path(), &["lint", "slide", "--today", "2026-11-01", "--format", "json"]);
        let all: serde_json::Value = serde_json::from_str(&out).expect("JSON");
        // The shop file above is one of them.
        let all = all["ledgers"].as_array().expect("ledgers").iter();
        let all: Vec<_> = all.flat_map(|of| of["findings"].as_array().expect("findings")).collect();
        assert!(all.iter().any(|finding| finding["rule"] == "concession-idle"), "the slide is judged");
        let told = all.into_iter().filter(|finding| finding["grade"] == "nonconformity");
        told.map(|finding| format!("{}: {}", finding["rule"].as_str().unwrap(), finding["message"].as_str().unwrap()))
            .collect()
    }

    fn signature(&self) -> serde_json::Value {
        let (out, err, _) = run(self.folder.path(), &["report", "slide", "--today", "2026-11-01", "--format", "json"]);
        let report: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{err}"));
        report["axes"][0]["release"]["signature"].clone()
    }
}

const SIGNED: [&str; 5] = ["--by", "engineer-1", "--sign", "--key", "key"];

#[test]
fn a_signed_release_is_shown_and_holds() {
    let Some(hall) = Hall::new("person engineer-1 { may release concede; key \"KEY\" from=\"2026-01-05\" }") else {
        return;
    };
    let (code, told) = hall.release(&SIGNED);
    assert_eq!(code, 0, "{told}");
    for line in ["engineer-1 signs:\n  wayledger-release\n  seal edition: 1\n  machine: slide\n", "  by: engineer-1\n"]
    {
        assert!(told.contains(line), "{told}");
    }
    assert_eq!(hall.found(), Vec::<String>::new());
    let signature = hall.signature();
    let print = Command::new("ssh-keygen").arg("-lf").arg(hall.file("key.pub")).output().expect("printed").stdout;
    let print = String::from_utf8(print).expect("text");
    let key = signature["key"].as_str().expect("a key");
    assert!(print.contains(key) && signature["valid"] == true && signature["person"] == "engineer-1", "{signature}");
    let (page, ..) = run(hall.folder.path(), &["report", "slide", "--today", "2026-11-01", "--format", "markdown"]);
    assert!(page.contains(&format!("signed by engineer-1 with {key}")), "{page}");
    // What the report says can be held against the signature by OpenSSH alone.
    for (name, of) in [("text", "text"), ("sig", "armoured")] {
        std::fs::write(hall.file(name), signature[of].as_str().expect("a text")).expect("written");
    }
    std::fs::write(hall.file("allowed"), format!("engineer-1 {}", hall.text("key.pub"))).expect("written");
    let verified = Command::new("ssh-keygen")
        .args(["-Y", "verify", "-f", "allowed", "-I", "engineer-1", "-n", "wayledger-release", "-s", "sig"])
        .current_dir(hall.folder.path())
        .stdin(std::fs::File::open(hall.file("text")).expect("there"))
        .output();
    assert!(verified.expect("it runs").status.success());
    // The layout of the text is no part of it.
    let (_, _, code) = run(hall.folder.path(), &["tidy", "slide"]);
    assert_eq!((code, hall.found()), (Some(0), Vec::new()));
}

#[test]
fn what_is_wrong_with_a_signature_is_told() {
    let Some(hall) = Hall::new("person engineer-1 { key \"KEY\" }") else { return };
    assert_eq!(hall.release(&SIGNED).0, 0);
    let sound = hall.text(RECORDS);
    let told = |shop: &str, from: &str, to: &str| {
        hall.shop(shop);
        let changed = sound.replacen(from, to, 1);
        assert!(from.is_empty() || changed != sound, "{from}");
        std::fs::write(hall.file(RECORDS), changed).expect("written");
        let found = hall.found();
        found.into_iter().filter(|it| !it.starts_with("release-altered")).collect::<Vec<_>>().join("\n")
    };
    let own = "person engineer-1 { key \"KEY\" }";
    assert_eq!(told(own, "", ""), "");
    for (shop, from, to, expected) in [
        (
            "person engineer-1 { key \"KEY\" until=\"2026-05-09\" }",
            "",
            "",
            "release-signature: the release of 2026-05-10 is signed with SHA256:",
        ),
        (
            "person engineer-1 { key \"KEY\" from=\"2026-05-11\" }",
            "",
            "",
            "release-signature: the release of 2026-05-10 is signed with SHA256:",
        ),
        (
            "person engineer-1 { key \"OTHER\" }",
            "",
            "",
            "release-signature: the release by engineer-1 is signed with SHA256:",
        ),
        ("person engineer-1; person planner-1 { key \"KEY\" }", "", "", "the key of planner-1"),
        (
            own,
            "T10:00",
            "T10:01",
            "release-signature: the signature is not over what this release of 2026-05-10 by engineer-1 says",
        ),
        (
            own,
            "by=engineer-1",
            "by=office",
            "release-signature: the signature is not over what this release of 2026-05-10 by office says",
        ),
        (own, "line ", "line A ", "wrong-value: "),
        (own, "U1NIU0lH", "U1NIU0lI", "release-signature: the signature cannot be read"),
        (
            "person engineer-1 { may release until=\"2026-05-09\"; key \"KEY\" }",
            "",
            "",
            "person-unpermitted: `engineer-1` may not release on 2026-05-10",
        ),
        (
            "person engineer-1 { key \"KEY\" }; person planner-1 { may release }",
            "",
            "",
            "person-unpermitted: `engineer-1` may not release on 2026-05-10",
        ),
    ] {
        let found = told(shop, from, to);
        assert!(found.contains(expected) && !found.contains('\n'), "{shop} {from}: {found}");
    }
    // A right or a key that is of later days asks nothing of earlier ones.
    assert_eq!(
        told("person engineer-1 { key \"KEY\" }; person planner-1 { may release from=\"2026-05-11\" }", "", ""),
        ""
    );
    // Taken out: the seal alone holds as before, and where signatures are required it is told.
    let at = sound.find("    signature {").expect("signed");
    let end = at + sound[at..].find("    }\n").expect("it ends") + 6;
    let unsigned = format!("{}{}", &sound[..at], &sound[end..]);
    let required = |from: &str| {
        hall.shop(&format!(
            "person engineer-1 {{ key \"KEY\"{from} }}; rulebook {{ signed-release is=required reason=\"for the customer\" }}"
        ));
        std::fs::write(hall.file(RECORDS), &unsigned).expect("written");
        hall.found()
    };
    assert_eq!(required(""), ["release-unsigned: the release of X is not signed"]);
    assert_eq!(required(" from=\"2026-05-10\""), ["release-unsigned: the release of X is not signed"]);
    assert_eq!(required(" from=\"2026-05-11\""), Vec::<String>::new());
}

#[test]
fn nothing_is_written_where_signing_fails() {
    let own = "person engineer-1 { key \"KEY\" }";
    let Some(hall) = Hall::new(own) else { return };
    let cases: &[(&str, &[&str], &str)] = &[
        ("person engineer-1", &SIGNED, "the shop declares no key of engineer-1 that holds on 2026-05-10"),
        ("person engineer-1 { key \"KEY\" until=\"2026-05-09\" }", &SIGNED, "the shop declares no key of engineer-1"),
        (own, &["--by", "engineer-1", "--sign", "--key", "other"], "the shop declares no such key of engineer-1"),
        (own, &["--by", "engineer-1", "--sign", "--key", "gone"], "`ssh-keygen` did not sign with `gone`"),
        (own, &["--by", "engineer-1", "--sign"], "`ssh-keygen` did not sign with `SHA256:"),
        (own, &["--by", "office", "--sign", "--key", "key"], "the shop declares no key of office"),
        (
            "person engineer-1 { key \"KEY\" }; person planner-1 { may release }",
            &SIGNED,
            "`engineer-1` may not release on 2026-05-10; let one of them do it, under their own name: planner-1",
        ),
        (
            "person engineer-1 { key \"KEY\" }; rulebook { signed-release is=required reason=\"for the customer\" }",
            &["--by", "engineer-1"],
            "the release of X is not signed",
        ),
    ];
    for (shop, arguments, expected) in cases {
        hall.shop(shop);
        let (code, told) = hall.release(arguments);
        let files = std::fs::read_dir(hall.file("slide")).expect("listed").count();
        assert!(code == 2 && files == 2, "{shop}: {code} {told}");
        assert!(told.contains(expected) && told.contains("nothing was written"), "{shop}: {told}");
    }
}

#[test]
fn a_program_that_writes_no_signature_is_not_believed() {
    let Some(hall) = Hall::new("person engineer-1 { key \"KEY\" }") else { return };
    if !cfg!(unix) {
        return;
    }
    let (bin, asked) = (hall.file("bin"), hall.file("asked"));
    std::fs::create_dir(&bin).expect("made");
    for (script, expected) in [
        (format!("echo \"$@\" > {}\nexit 0", asked.display()), "is no signature"),
        ("for last; do true; done\necho nonsense > \"$last.sig\"".to_owned(), "is no signature"),
        (
            "for last; do true; done\nprintf -- '-----BEGIN SSH SIGNATURE-----\\nU1NIU0lHAAAA\\n-----END SSH SIGNATURE-----\\n' > \"$last.sig\""
                .to_owned(),
            "something that is no Ed25519 key",
        ),
        ("exit 1".to_owned(), "did not sign"),
    ] {
        let program = bin.join("ssh-keygen");
        // Put there by a process of its own: what other tests start at this moment holds our open files open.
        let source = hall.file("script");
        std::fs::write(&source, format!("#!/bin/sh\n{script}\n")).expect("written");
        let copied = Command::new("install").args(["-m", "755"]).args([&source, &program]).status();
        assert!(copied.expect("it runs").success());
        let path = format!("{}:{}", bin.display(), std::env::var("PATH").unwrap_or_default());
        let output = Command::new(env!("CARGO_BIN_EXE_wayledger"))
            .args([&RELEASE[..], &SIGNED[..]].concat())
            .current_dir(hall.folder.path())
            .env("PATH", path)
            .output()
            .expect("it runs");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.code() == Some(2) && told.contains(expected), "{script}: {told}");
        assert!(!hall.file(RECORDS).exists(), "{script}");
    }
    let asked = std::fs::read_to_string(asked).expect("it was asked");
    let words: Vec<&str> = asked.split_whitespace().collect();
    let ["-Y", "sign", "-n", "wayledger-release", "-f", "key", "--", file] = words[..] else { panic!("{asked}") };
    assert!(!Path::new(file).starts_with(hall.folder.path()) && !Path::new(file).exists(), "{file}");
}
