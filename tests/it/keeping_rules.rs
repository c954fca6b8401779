//! Concessions, releases, service and attachments, on small ledgers; and `wayledger release` on the boatyard.

use std::path::Path;

use wayledger::lint::Finding;

use crate::common::lint_text;

/// The findings of some rules, each with its grade and whether it is accepted.
fn found(text: &str, rules: &[&str]) -> Vec<String> {
    let about = |finding: &&Finding| rules.contains(&finding.rule.as_str());
    lint_text(text)
        .iter()
        .filter(about)
        .map(|finding| {
            let accepted = if finding.conceded.is_some() { " accepted" } else { "" };
            format!("{} {}{accepted}", finding.rule, finding.grade.name())
        })
        .collect()
}

const SHORT: &str = "machine m { axis X { run to=2400; rail a { segment 1200; segment 1190 } } }\n";

fn with_concession(rest: &str) -> Vec<String> {
    let text = format!("{SHORT}concession run-length X.a date=\"2026-04-18\" by=engineer-1 {rest}\n");
    found(&text, &["run-length", "concession-expired", "concession-idle", "concession-unreasoned", "concession-self"])
}

/// The tests judge on 2026-11-01.
#[test]
fn a_concession_covers_what_it_names_up_to_its_value_and_day() {
    let reason = "reason=\"end piece ordered\"";
    let covered = ["run-length nonconformity accepted"];
    assert_eq!(with_concession(&format!("accepts=10 {reason}")), covered);
    assert_eq!(with_concession(&format!("accepts=(um)10000 {reason}")), covered, "in another unit");
    assert_eq!(with_concession(&format!("accepts=12.5 {reason}")), covered, "a better value than accepted");
    assert_eq!(with_concession(&format!("accepts=9.999 {reason}")), ["run-length nonconformity"], "a worse one");
    let last_day = ["run-length nonconformity accepted", "concession-expired observation"];
    assert_eq!(with_concession(&format!("accepts=10 until=\"2026-11-01\" {reason}")), last_day);
    let over = ["run-length nonconformity", "concession-expired nonconformity"];
    assert_eq!(with_concession(&format!("accepts=10 until=\"2026-10-31\" {reason}")), over);
    let silent = ["run-length nonconformity", "concession-idle observation"];
    assert_eq!(with_concession(reason), silent, "without a value it accepts no number");
    assert_eq!(with_concession(&format!("accepts=(N.m)10 {reason}")), silent, "a torque is no length");
    let mute = ["run-length nonconformity accepted", "concession-unreasoned nonconformity"];
    assert_eq!(with_concession("accepts=10"), mute);
}

#[test]
fn a_worse_value_shows_the_concession_that_does_not_reach() {
    let text = format!(
        "{SHORT}concession run-length X.a date=\"2026-04-18\" by=engineer-1 accepts=9 reason=\"end piece ordered\""
    );
    let findings = lint_text(&text);
    let finding = findings.iter().find(|finding| finding.rule.as_str() == "run-length").expect("found");
    assert!(finding.conceded.is_none());
    assert!(finding.also.iter().any(|label| label.text == "accepted up to 9 only"), "{finding:?}");
}

#[test]
fn a_concession_is_idle_only_where_its_rule_could_speak() {
    let right = SHORT.replace("1190", "1200");
    let concession =
        "concession run-length X.a date=\"2026-04-18\" by=engineer-1 accepts=10 reason=\"end piece ordered\"\n";
    let rules = ["concession-idle"];
    assert_eq!(found(&format!("{right}{concession}"), &rules), ["concession-idle observation"]);
    let over = concession.replace(" reason", " until=\"2026-05-01\" reason");
    assert_eq!(found(&format!("{right}{over}"), &rules), [""; 0], "it is over, and nothing is left to accept");
    let broken = right.replace("segment 1200; segment 1200", "segment 1200; segment 12oo");
    assert_eq!(found(&format!("{broken}{concession}"), &rules), [""; 0], "the rail cannot be judged");
    let unknown = concession.replace("run-length", "run-lenght");
    assert_eq!(found(&format!("{SHORT}{unknown}"), &rules), ["concession-idle observation"]);
    let never = concession.replace("run-length", "release-incomplete");
    assert_eq!(found(&format!("{SHORT}{never}"), &rules), ["concession-idle observation"]);
}

#[test]
fn service_falls_due_by_time_and_by_distance() {
    let text = |interval: &str, services: &str| {
        format!(
            "machine m {{ axis X {{ service-interval re-torque {interval} }} }}\n\
             release X date=\"2026-04-20\" by=engineer-1\n{services}"
        )
    };
    let due = |interval: &str, services: &str| found(&text(interval, services), &["service-due"]);
    let service = |day: &str, rest: &str| format!("service X date=\"2026-{day}\" by=fitter-2 {rest}\n");
    let (overdue, soon) = (["service-due nonconformity"], ["service-due observation"]);
    // Today is 2026-11-01; six months from 2026-04-20 are 2026-10-20, seven are 2026-11-20.
    assert_eq!(due("months=6", ""), overdue);
    assert_eq!(due("months=7", ""), soon, "within thirty days");
    assert_eq!(due("months=8", ""), [""; 0]);
    assert_eq!(
        due("months=6", &service("05-01", "task=re-torque")),
        overdue.map(|_| "service-due observation"),
        "due today"
    );
    assert_eq!(due("months=6", &service("06-15", "task=re-torque")), [""; 0]);
    assert_eq!(due("months=6", &service("06-15", "task=lubricate")), overdue, "another task");
    let travelled = |km: &str| service("06-15", &format!("task=reading travelled=(km){km}"));
    assert_eq!(due("travelled=(km)500", &travelled("500")), [""; 0]);
    assert_eq!(due("travelled=(km)500", &travelled("500.1")), overdue);
    let done = service("06-14", "task=re-torque travelled=(km)480");
    assert_eq!(due("travelled=(km)500", &(done.clone() + &travelled("980"))), [""; 0]);
    assert_eq!(due("travelled=(km)500", &(done + &travelled("980.1"))), overdue);
    // Before the release nothing is in service.
    let unreleased = text("months=6", "").replace("release X date=\"2026-04-20\" by=engineer-1\n", "");
    assert_eq!(found(&unreleased, &["service-due"]), [""; 0]);
}

#[test]
fn what_is_outstanding_after_a_release_breaks_it() {
    let open = "shop { wrench TW-2 kind=setting least=4 most=20 { calibrated \"2026-02-02\" due=\"2027-02-02\" } }
        machine m { axis X { rail a { segment 480; support S1 at=240 } }; axis Y { rail b { support S1 at=240 } } }\n";
    let released = |axis: &str| format!("{open}release {axis} date=\"2026-04-20\" by=engineer-1\n");
    let rules = ["release-incomplete"];
    assert_eq!(found(open, &rules), [""; 0]);
    assert_eq!(found(&released("X"), &rules), ["release-incomplete nonconformity"]);
    let done = "fasten X.a date=\"2026-04-14\" by=f wrench=TW-2 stage=full setting=10.5 { clicked S1 }\n";
    assert_eq!(found(&format!("{}{done}", released("X")), &rules), [""; 0], "the other axis is not released");
    let void = "void release X of=\"2026-04-20\" date=\"2026-04-21\" by=engineer-1 reason=\"released too early\"\n";
    assert_eq!(found(&format!("{}{void}", released("X")), &rules), [""; 0], "a release can be withdrawn");
}

#[test]
fn an_attached_file_is_compared_byte_by_byte() {
    use wayledger::files::{Memory, find_all};
    // FIPS 180-4, the example message "abc" of its appendix.
    let digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    let text = format!(
        "machine m {{ axis X {{ rail a }} }}\nattach X.a date=\"2026-04-15\" by=inspector-1 file=\"photos/end.txt\" sha256=\"{digest}\"\n"
    );
    let judged = |bytes: Option<&str>, text: &str| {
        let mut world = Memory::new(crate::common::today());
        world = world.with("m/machine.kdl", text.as_bytes().to_vec());
        if let Some(bytes) = bytes {
            world = world.with("m/photos/end.txt", bytes.as_bytes().to_vec());
        }
        let found = find_all(&world, &[wayledger::files::Path("m".into())]).expect("there").found;
        let mut messages = Vec::new();
        wayledger::lint::lint(&world, &found, crate::common::today(), |judged| {
            let changed = judged.findings.into_iter().filter(|finding| finding.rule.as_str() == "attachment-changed");
            messages.extend(changed.map(|finding| finding.message));
        });
        messages
    };
    assert_eq!(judged(Some("abc"), &text), [""; 0]);
    assert_eq!(judged(Some("abd"), &text), ["`photos/end.txt` is not the file that was attached"]);
    assert_eq!(judged(None, &text), ["`photos/end.txt` cannot be compared: there is no such file"]);
    let outside = text.replace("photos/end.txt", "../secret.txt");
    let said = judged(Some("abc"), &outside);
    assert!(said.len() == 1 && said[0].contains("inside the ledger's folder"), "{said:?}");
}

/// Copies a folder of ledgers.
fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("a folder");
    for entry in std::fs::read_dir(from).expect("a folder") {
        let path = entry.expect("an entry").path();
        let target = to.join(path.file_name().expect("a name"));
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(&path, &target).expect("copied");
        }
    }
}

fn release(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let mut command = assert_cmd::Command::cargo_bin("wayledger").expect("built");
    let output = command.current_dir(folder).arg("release").args(arguments).output().expect("it runs");
    let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    (output.status.code().unwrap_or(-1), text)
}

#[test]
fn the_command_releases_what_is_done_and_refuses_what_is_not() {
    let yard = tempfile::tempdir().expect("a folder");
    let slide = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/faults/shim-unverified");
    copy(&slide, &yard.path().join("open"));
    copy(&slide.join("../concession-idle"), &yard.path().join("slide"));

    let (code, text) = release(yard.path(), &["X", "--by", "engineer-1", "--ledger", "open", "--today", "2026-05-10"]);
    assert_eq!(code, 1, "{text}");
    assert!(text.contains("X cannot be released") && text.contains("shim-unverified X.right"), "{text}");

    let sealed = ["X", "--ledger", "slide", "--today", "2026-05-10", "--date", "2026-05-10T09:00", "--by"];
    let (code, text) = release(yard.path(), &[&sealed[..], &["fitter-2"]].concat());
    assert_eq!(code, 1, "{text}");
    assert!(text.contains("`fitter-2` worked on what is to be released"), "{text}");
    let (code, text) = release(yard.path(), &[&sealed[..], &["engineer-1"]].concat());
    assert_eq!(code, 0, "{text}");
    let file = yard.path().join("slide/2026-05-10-engineer-1.kdl");
    let written = std::fs::read_to_string(&file).expect("the record is there");
    assert!(written.starts_with("release X date=\"2026-05-10T09:00\" by=engineer-1 seal="), "{written}");

    // Released again: a second record, and the first stays as it was, byte by byte.
    let again = ["X", "--ledger", "slide", "--today", "2026-05-10", "--by", "engineer-1", "--date", "2026-05-10T14:30"];
    let (code, text) = release(yard.path(), &again);
    assert!(code == 2 && text.contains("X is released already, on 2026-05-10T09:00"), "{text}");
    let replaced = ["--supersedes", "2026-05-10T09:00", "--reason", "the drawing has a number now"];
    let (code, text) = release(yard.path(), &[&again[..], &replaced].concat());
    assert_eq!(code, 0, "{text}");
    assert!(std::fs::read_to_string(&file).expect("there").starts_with(&written));

    let (code, text) = release(yard.path(), &["Q", "--by", "engineer-1", "--ledger", "slide"]);
    assert_eq!(code, 2, "{text}");
    assert!(text.contains("its axes: X"), "{text}");
}

/// Somebody who left signs nothing later, and who took over may what they might.
#[test]
fn a_person_ends_and_another_one_takes_over() {
    let ledger = |until: &str, by: &str, day: &str| {
        format!(
            "shop {{
    person engineer-1{until} successor=engineer-2 {{ may concede }}
    person engineer-2
    person engineer-3
}}
machine m {{ axis X {{ run to=2400; rail a {{ segment 1200; segment 1190 }} }} }}
concession run-length X.a date=\"{day}\" by={by} accepts=10 reason=\"end piece ordered\"
"
        )
    };
    let of = |text: &str| {
        let all = lint_text(text);
        let own = all.iter().filter(|it| it.rule.as_str().starts_with("person-") && it.rule.as_str() != "person-file");
        own.map(|it| format!("{}: {}", it.rule, it.message)).collect::<Vec<_>>()
    };
    let until = " until=\"2026-06-30\"";
    assert_eq!(of(&ledger(until, "engineer-1", "2026-06-30")), [""; 0]);
    assert_eq!(
        of(&ledger(until, "engineer-1", "2026-07-01")),
        [
            "person-unknown: `engineer-1` signs on 2026-07-01, and is one of the shop until 2026-06-30",
            "person-unpermitted: `engineer-1` may not concede on 2026-07-01"
        ]
    );
    assert_eq!(of(&ledger(until, "engineer-2", "2026-07-01")), [""; 0]);
    let not_yet = ["person-unpermitted: `engineer-2` may not concede on 2026-06-30"];
    assert_eq!(of(&ledger(until, "engineer-2", "2026-06-30")), not_yet);
    assert_eq!(of(&ledger("", "engineer-2", "2026-07-01")), [not_yet[0].replace("06-30", "07-01")]);
    assert_eq!(of(&ledger(until, "engineer-3", "2026-07-01")).len(), 1);
}
