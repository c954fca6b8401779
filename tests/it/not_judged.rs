//! What is not judged is called so in reports, exports and comparisons.

use wayledger::lint::Judged;
use wayledger::papers::{ReadingVerdict, readings};

use crate::common::judge;

const MACHINE: &str = r#"
machine m {
    axis X {
        rail a { segment 1200; segment 1200; support S1 at=600; joint-support J1 at=1200 length=200 }
    }
}
"#;

fn inspected(joint: &str, step: &str) -> String {
    format!(
        "inspect {joint} date=\"2026-04-15\" by=i {{ light none; UL 0 -> {step}; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
    )
}

#[test]
fn reports_exports_and_comparisons_say_not_judged() {
    let sound = inspected("X.a.J1", "0.05") + &inspected("X.a.J1", "0.01").replace("04-15", "04-16");
    let broken = sound.replace("by=i { light none; UL 0 -> 0.01", "by=i { light none; UL 0 -> 0,01");
    let judged = |text: &str| judge(&[("machine.kdl", MACHINE), ("r.kdl", text)], &[]);
    let (was, now) = (judged(&sound), judged(&broken));
    let verdicts = |judged: &Judged| {
        let all = readings(judged).into_iter().filter(|reading| reading.groove == "UR");
        all.map(|reading| reading.verdict).collect::<Vec<_>>()
    };
    assert!(verdicts(&was).contains(&ReadingVerdict::Conforming));
    assert!(
        !verdicts(&now).contains(&ReadingVerdict::Conforming) && verdicts(&now).contains(&ReadingVerdict::NotJudged)
    );
    // Outstanding before, and silent now: not fixed.
    let open = was.findings.iter().filter(|finding| finding.address.starts_with("X.a")).count();
    assert!(open > 0);
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("written");
    let git = |arguments: &[&str]| {
        let ran = std::process::Command::new("git").current_dir(folder.path()).args(arguments).output().expect("git");
        assert!(ran.status.success(), "{arguments:?} {}", String::from_utf8_lossy(&ran.stderr));
    };
    write("machine.kdl", MACHINE);
    write("r.kdl", &sound);
    git(&["init", "-q"]);
    git(&["-c", "core.autocrlf=false", "add", "."]);
    git(&["-c", "user.name=f", "-c", "user.email=f@example.org", "commit", "-q", "-m", "sound"]);
    write("r.kdl", &broken);
    let run = |arguments: &[&str]| crate::common::program::run(folder.path(), arguments);
    let (text, err, _) = run(&["compare", "HEAD"]);
    assert!(text.contains("not judged") && text.contains("X.a.J1"), "{text}{err}");
    let fixed = text.lines().filter(|line| line.trim_start().starts_with("fixed"));
    assert_eq!(fixed.filter(|line| line.contains("X.a")).count(), 0, "{text}");
    let (page, err, _) = run(&["report", "--format", "html", "--today", "2026-11-01"]);
    assert!(page.contains("not-judged"), "{err}");
    let (json, err, _) = run(&["report", "--format", "json", "--today", "2026-11-01"]);
    assert!(json.contains("\"not-judged\""), "{err}");
    let (_, _, code) = run(&["lint", "--complete", "--today", "2026-11-01"]);
    assert_eq!(code, Some(1));
}

/// Shims that lie there and were verified, and no survey from before them: what they should have done can no more be judged.
/// It is answered in words, and in no other way.
#[test]
fn shims_without_a_survey_before_them_are_answered_in_words() {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let own = folder.path().join("hull-gantry");
    std::fs::create_dir(&own).expect("made");
    std::fs::copy(yard.join("shop.kdl"), folder.path().join("shop.kdl")).expect("copied");
    for file in std::fs::read_dir(yard.join("hull-gantry")).expect("it is there") {
        let file = file.expect("a file");
        std::fs::copy(file.path(), own.join(file.file_name())).expect("copied");
    }
    let complete = || crate::common::program::run(folder.path(), &["lint", "--complete", "--today", "2026-11-01"]);
    assert_eq!(complete().2, Some(0), "{}", complete().0);
    let day = own.join("2026-04-16-inspector-1.kdl");
    let text = std::fs::read_to_string(&day).expect("read");
    let survey = text.find("survey gap X.starboard").expect("the survey before the shims");
    std::fs::write(&day, &text[..survey]).expect("written");
    let (shown, _, code) = complete();
    let rules = ["shim-at-widest", "shim-not-seated", "shim-total"];
    assert_eq!(code, Some(1));
    assert!(shown.contains(&format!("{}: no survey", rules.join(", "))), "{shown}");
    assert!(shown.contains("clean, 3 not judged"), "{shown}");
    let machine = own.join("machine.kdl");
    let mut text = std::fs::read_to_string(&machine).expect("read");
    for (at, rule) in rules.iter().enumerate() {
        assert_eq!(complete().2, Some(1), "before {rule} is answered");
        let head = text.find("    axis X").expect("the axis");
        let line = format!(
            "    not-applicable {rule} X.starboard date=\"2026-05-02\" by=engineer-1 reason=\"read before, and not written down\"\n"
        );
        text.insert_str(head, &line);
        std::fs::write(&machine, &text).expect("written");
        assert_eq!(complete().2, Some(i32::from(at + 1 < rules.len())), "{}", complete().0);
    }
    assert!(complete().0.contains("clean and complete"), "{}", complete().0);
}
