//! The same through the program itself: what only the commands print, and what they write.

use std::ffi::OsString;
use std::os::unix::ffi::OsStrExt as _;
use std::process::Stdio;

use super::fields::escaped;
use super::readers::{Reader, wrong};
use super::strings::{ALL, TOKEN};
use super::{EVERYTHING, tell};
use crate::common::share;
use crate::common::yard::{Ran, Yard};

/// A shop, a machine with readings to shim by, and one to lay out; every name in them is hostile.
struct Hostile {
    text: String,
    /// The text as a name: without points, which part addresses.
    name: String,
    /// The text as the name of a folder.
    folder: String,
}

impl Hostile {
    /// With names that the language takes, the ledger is sound and every command does its work; with others, it tells.
    fn new(text: &str, sound: bool) -> Hostile {
        let folder = text.replace(['/', '\0'], "-");
        let unseen = wayledger::kdl::is_unseen;
        let fits = |c: &char| c.is_alphanumeric() && !unseen(*c) || matches!(c, '-' | '_');
        let name = if sound { text.chars().filter(fits).collect() } else { text.replace('.', "·") };
        Hostile { text: text.into(), name, folder }
    }

    fn fill(&self, template: &str) -> String {
        let name = &self.name;
        template
            .replace("{JOINT}", &escaped(&format!("{name}.{name}.J1")))
            .replace("{RAIL}", &escaped(&format!("{name}.{name}")))
            .replace("{SECOND}", &escaped(&format!("{name}.{name}2")))
            .replace("{NAME2}", &escaped(&format!("{name}2")))
            .replace("{NAME}", &escaped(name))
            .replace("{TEXT}", &escaped(&self.text))
    }

    fn yard(&self) -> Yard {
        let yard = Yard::empty();
        yard.write("shop.kdl", self.fill(SHOP)).write("plain/machine.kdl", "machine plain { axis Y { } }\n");
        yard.write(&format!("{}/machine.kdl", self.folder), self.fill(MACHINE));
        yard.write(&format!("{}/2026-04-14-fitter-2.kdl", self.folder), self.fill(RECORDS));
        yard.write("gantry/machine.kdl", self.fill(GANTRY));
        yard.write(&format!("{}.csv", self.folder), self.fill("Pos;Wert\nS1;10,5\n").replace("S1", "{TEXT};\"S1"));
        yard
    }
}

const SHOP: &str = r#"shop {TEXT} {
    gauge {NAME} kind=dial-indicator graduation=0.001 permissible-error=0.001 plus=wider { calibrated "2026-01-10" due="2027-01-10" certificate={TEXT} }
    wrench {NAME} kind=indicating least=4 most=20 permissible-error=(%)4 { calibrated "2026-01-10" due="2027-01-10" certificate={TEXT} }
    shim-stock { leaf 0.02; leaf 0.05 }
    profile {NAME} hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward least-segment=240 {
        stock 1200 1440 2400
        cutting grid=60 kerf=3 ends=sawn
    }
    block {NAME} length=80
    readings-file {NAME} record=fasten wrench={NAME} separator=";" decimal=comma {
        column Pos holds=support
        column Wert holds=reading unit=N.m
    }
}
"#;

const MACHINE: &str = r#"machine {NAME} {
    title {TEXT}
    axis {NAME} {
        run from=0 to=1200
        beam {NAME} material=steel { piece 1200 }
        rail {NAME} beam={NAME} profile={NAME} datum=left {
            segment 600 serial={TEXT} lot={TEXT}
            segment 600 serial="P-2" lot={TEXT}
            support {NAME} at=120 length=80
            joint-support J1 at=600 length=200
            support {NAME2} at=1080 length=80
        }
        rail {NAME2} beam={NAME} profile={NAME} datum=right follows={NAME} shims=widen {
            segment 1200 serial="P-3" lot={TEXT}
            support {NAME} at=120 length=80
            support S2 at=600 length=80
            support {NAME2} at=1080 length=80
        }
    }
}
"#;

const RECORDS: &str = r#"inspect {JOINT} date="2026-04-14" by={NAME} gauge={NAME} { light none; UL 0 -> 0.03; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0; note {TEXT} }
fasten {RAIL} date="2026-04-14" by={NAME} wrench={NAME} stage=full { at {NAME} 10 30; note {TEXT} }
survey gap {SECOND} date="2026-04-14" by={NAME} gauge={NAME} stage=as-fitted { at {NAME} 0; at S2 -0.03; at {NAME2} -0.08; closure {NAME} 0 }
concession joint-step {JOINT} date="2026-04-14" by={NAME} accepts=0.04 until="2027-01-01" reason={TEXT}
attach {JOINT} date="2026-04-14" by={NAME} file={TEXT} sha256="00"
"#;

const GANTRY: &str = r#"machine {NAME} {
    axis {NAME} {
        run from=0 to=2400
        beam {NAME} material=steel { piece 1320; piece 1080 }
        rail {NAME} beam={NAME} profile={NAME} datum=left {
            supports S first=120 pitch=240 count=10 length=80
        }
        carriage length=480 { block {NAME} at=-180 type={NAME}; block {NAME} at=180 type={NAME} }
    }
}
"#;

/// Some of the texts, or all of them where that is asked for.
fn texts() -> impl Iterator<Item = &'static str> {
    share(ALL, if super::every() > 0 { 1 } else { 9 }).map(|it| it.text).chain([EVERYTHING])
}

/// Runs the program in the yard.
fn run(yard: &Yard, arguments: &[&str]) -> Ran {
    // A null ends an argument: nobody can type one.
    let arguments = arguments.iter().map(|argument| OsString::from(argument.replace('\0', "-")));
    let mut command = yard.command("wayledger", ".");
    Ran::of(command.args(arguments).stdin(Stdio::null()).output().expect("it runs"))
}

#[test]
fn no_command_prints_or_writes_more_than_the_text() {
    let (mut tries, mut all_wrong, mut arrived) = (0, Vec::new(), std::collections::BTreeMap::<String, usize>::new());
    for (text, sound) in texts().flat_map(|text| [(text, true), (text, false)]) {
        let it = Hostile::new(text, sound);
        let yard = it.yard();
        let rail = format!("{}.{}", it.name, it.name);
        let (second, joint, csv) = (format!("{rail}2"), format!("{rail}.J1"), format!("./{}.csv", it.folder));
        let folder = format!("./{}", it.folder);
        let (name, unknown) = (it.name.as_str(), format!("{} not there", it.text));
        let (reason, note) = (format!("--reason={}", it.text), format!("--note={}", it.text));
        let (mapping, on) = (format!("--as={name}"), format!("--on={rail}"));
        let (named, by) = (format!("--name={}", it.text), format!("--by={}", it.text));
        let here = format!("--ledger={folder}");
        let commands = [
            (Reader::Terminal, vec!["lint", "--today", "2026-04-15"]),
            (Reader::Json, vec!["lint", "--format", "json"]),
            (Reader::Json, vec!["lint", "--format", "sarif"]),
            (Reader::Json, vec!["lint", "--format", "gitlab"]),
            (Reader::Github, vec!["lint", "--format", "github"]),
            (Reader::Terminal, vec!["report", &folder]),
            (Reader::Markdown, vec!["report", &folder, "--format", "markdown"]),
            (Reader::Html, vec!["report", &folder, "--format", "html"]),
            (Reader::Json, vec!["report", "--format", "json"]),
            (Reader::Terminal, vec!["report"]),
            (Reader::Terminal, vec!["report", "--try", "joint-step=0.001"]),
            (Reader::Markdown, vec!["report", "--try", "joint-step=0.001", "--format", "markdown"]),
            (Reader::Html, vec!["report", "--try", "gap-range=0.001", "--format", "html"]),
            (Reader::Json, vec!["report", "--try", "proof=required", "--format", "json"]),
            (Reader::Terminal, vec!["rules", "--in-force", "."]),
            (Reader::Markdown, vec!["traveler", &here]),
            (Reader::Html, vec!["traveler", "--format", "html", &here]),
            (Reader::Terminal, vec!["trace", "--", &it.text]),
            (Reader::Terminal, vec!["trace", "--", &unknown]),
            (Reader::Csv, vec!["export"]),
            (Reader::JsonLines, vec!["export", "--format", "jsonl"]),
            (Reader::Terminal, vec!["how", &here, "--", &joint]),
            (Reader::Terminal, vec!["how", &here, "--", &joint, "step-UL"]),
            (Reader::Terminal, vec!["how", &here, "--", &second, "not-there"]),
            (Reader::Terminal, vec!["how", &here, "--", &it.text]),
            (Reader::Terminal, vec!["rules", "--", &it.text]),
            (Reader::Terminal, vec!["shims", &here, "--", name]),
            (Reader::Terminal, vec!["motion", &here, "--", name]),
            (Reader::Terminal, vec!["layout", "--ledger", "gantry"]),
            (Reader::Json, vec!["layout", "--ledger", "gantry", "--format", "json"]),
            (Reader::Terminal, vec!["tidy", "--check", "."]),
            (Reader::Terminal, vec!["start", "--name", "x", "--", &folder]),
            (Reader::Terminal, vec!["start", "other", &named]),
            (Reader::Terminal, vec!["lint", "--", &unknown]),
            (Reader::Terminal, vec!["lint", "--at", &it.text]),
            (
                Reader::Terminal,
                vec!["release", &here, "--by=engineer-1", "--today=2026-04-15", "--date=2026-04-15", "--", name],
            ),
            (Reader::Terminal, vec!["release", &here, &by, "not-there"]),
            (
                Reader::Terminal,
                vec!["import", &csv, &mapping, &on, "--stage=full", "--date=2026-04-15", "--by=fitter-2", &here],
            ),
            (
                Reader::Terminal,
                vec![
                    "record",
                    "loosen",
                    "--by=fitter-2",
                    "--today=2026-04-15",
                    "--date=2026-04-15T10:30",
                    &here,
                    &reason,
                    &note,
                    "--row=at J1",
                    "--",
                    &rail,
                ],
            ),
            (Reader::Terminal, vec!["shims", "--write", "--by=fitter-3", &here, "--", name]),
            (Reader::Terminal, vec!["layout", "--ledger", "gantry", "--write", "--csv", "holes.csv", "--dxf", "x.dxf"]),
            (Reader::Terminal, vec!["tidy", "."]),
            (Reader::Terminal, vec!["hook"]),
        ];
        for (reader, arguments) in commands {
            let ran = run(&yard, &arguments);
            let what = format!("{:?} {text:?}", &arguments[..arguments.len().min(3)]);
            assert!((0..=2).contains(&ran.code), "{what}: {ran:?}");
            *arrived.entry(format!("{} {reader:?}", arguments[0])).or_default() += usize::from(
                ran.out.contains(TOKEN) || ["start", "motion"].contains(&arguments[0]) && ran.err.contains(TOKEN),
            );
            // Where the job could not be done there is nothing on standard output that a reader wants.
            let reader = if ran.out.is_empty() { Reader::Terminal } else { reader };
            let found = wrong(reader, &ran.out).into_iter().chain(wrong(Reader::Terminal, &ran.err));
            all_wrong.extend(found.map(|it| format!("{what}: {it:.300}")));
            tries += 1;
        }
        // What was written is read by others too.
        for entry in walkdir::WalkDir::new(&yard.root) {
            let entry = entry.expect("listed");
            let bytes = entry.path().as_os_str().as_bytes();
            let reader = match bytes {
                _ if entry.path().components().any(|it| it.as_os_str() == ".git") => continue,
                _ if bytes.ends_with(b".kdl") => Reader::Kdl,
                _ if bytes.ends_with(b"/holes.csv") => Reader::Csv,
                _ if bytes.ends_with(b".dxf") => Reader::Dxf,
                _ => continue,
            };
            let written = std::fs::read_to_string(entry.path()).expect("text");
            all_wrong.extend(
                wrong(reader, &written).into_iter().map(|it| format!("{:?}, {text:?}: {it:.300}", entry.path())),
            );
            *arrived.entry(format!("written {reader:?}")).or_default() += usize::from(written.contains(TOKEN));
        }
    }
    tell(&format!("{tries} commands"));
    assert!(all_wrong.is_empty(), "{} things came through:\n{}", all_wrong.len(), all_wrong.join("\n"));
    arrived.retain(|what, times| *times == 0 && what != "hook Terminal" && what != "rules Terminal");
    assert!(arrived.is_empty(), "no text ever arrived in {arrived:?}: then this proves nothing");
}

#[test]
fn no_name_of_a_branch_or_an_author_becomes_more_than_text() {
    let mut tries = 0;
    for text in texts() {
        let it = Hostile::new(text, true);
        let yard = it.yard();
        // Git itself refuses some signs in the name of a branch; an author may have nearly any.
        let unfit = |c: char| c.is_control() || " ~^:?*[\\.@{/".contains(c);
        let branch = format!("b{}", it.text.replace(unfit, ""));
        let author = format!("--author={} <{}@h>", it.text.replace(['\n', '\r', '\0', '<', '>'], ""), TOKEN);
        yard.git(&["add", "-A"]);
        yard.git(&["commit", "-q", "--no-verify", &author, "-m", &it.text.replace('\0', "")]);
        yard.git(&["branch", &branch]);
        std::fs::remove_file(yard.root.join(&it.folder).join("2026-04-14-fitter-2.kdl")).expect("it was there");
        for (reader, format) in [(Reader::Terminal, "text"), (Reader::Markdown, "markdown"), (Reader::Json, "json")] {
            let ran = run(&yard, &["compare", &branch, "--format", format]);
            assert_eq!(ran.code, 0, "{text:?}: {ran:?}");
            assert!(ran.out.contains(TOKEN), "{text:?}: {ran:?}");
            let found = wrong(reader, &ran.out);
            assert!(found.is_empty(), "compare {format} {text:?}: {found:#?}");
            let missing = run(&yard, &["compare", &format!("{branch}-not-there")]);
            assert_eq!((missing.code, wrong(Reader::Terminal, &missing.err)), (2, vec![]), "{missing:?}");
            tries += 1;
        }
        let ran = run(&yard, &["lint", "--at", &branch]);
        assert!(wrong(Reader::Terminal, &format!("{}{}", ran.out, ran.err)).is_empty(), "{text:?}: {ran:?}");
    }
    tell(&format!("{tries} comparisons"));
}
