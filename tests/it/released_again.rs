//! A release over an earlier one: never over what was altered under that one's seal, never by who worked on it, and each
//! told apart from the others.

use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::common::lint_text;
use crate::common::program::run;

/// A slide that can be released, in a folder of its own.
struct Slide {
    folder: TempDir,
}

const AGAIN: [&str; 5] = ["release", "X", "--by", "engineer-1", "--today"];

impl Slide {
    fn new() -> Slide {
        let folder = tempfile::tempdir().expect("a folder");
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/faults/concession-idle");
        for entry in std::fs::read_dir(from).expect("listed") {
            let path = entry.expect("an entry").path();
            std::fs::copy(&path, folder.path().join(path.file_name().expect("a name"))).expect("copied");
        }
        Slide { folder }
    }

    fn released() -> Slide {
        let slide = Slide::new();
        let (code, text) = slide.release("2026-05-10", &[]);
        assert_eq!(code, 0, "{text}");
        slide
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, arguments: &[&str]) -> (i32, String) {
        let (out, err, code) = run(self.folder.path(), arguments);
        (code.unwrap_or(-1), out + &err)
    }

    /// Released on a day, in the place of the release of 2026-05-10.
    fn again(&self, today: &str) -> (i32, String) {
        self.release(today, &["--supersedes", "2026-05-10", "--reason", "a service was added"])
    }

    fn release(&self, today: &str, more: &[&str]) -> (i32, String) {
        let date = if more.contains(&"--date") { &[][..] } else { &["--date", today] };
        self.run(&[&AGAIN[..], &[today], date, more].concat())
    }

    fn change(&self, name: &str, from: &str, to: &str) {
        let text = std::fs::read_to_string(self.file(name)).expect("readable");
        assert!(text.contains(from), "{from} is not in {name}");
        std::fs::write(self.file(name), text.replacen(from, to, 1)).expect("written");
    }

    fn add(&self, name: &str, text: &str) {
        let before = std::fs::read_to_string(self.file(name)).unwrap_or_default();
        std::fs::write(self.file(name), before + text).expect("written");
    }

    fn void(&self, by: &str, of: &str) {
        let text = format!(
            "void release X of=\"{of}\" date=\"2026-05-12\" by={by} reason=\"the seat is made new\"\nlift X date=\"2026-05-12\" by=engineer-9 disposition=rework reason=\"the seat is made new\"\n"
        );
        self.add(&format!("2026-05-12-{by}.kdl"), &text);
    }

    fn lint(&self) -> (i32, String) {
        self.run(&["lint", "--complete", "--today", "2026-05-20"])
    }
}

#[test]
fn what_was_altered_under_a_release_is_not_released_again() {
    for (name, from, to, cure) in [
        ("records.kdl", "at S2 -0.02", "at S2 -0.01", "correct it by a record that says `replaces`"),
        ("machine.kdl", "serial=K-201", "serial=K-209", "withdraw that release first: void release X"),
    ] {
        let slide = Slide::released();
        slide.change(name, from, to);
        let (code, text) = slide.again("2026-05-11");
        assert_eq!(code, 1, "{text}");
        assert!(text.contains("X cannot be released") && text.contains("release-altered X"), "{text}");
        assert!(text.contains(cure), "{text}");
        // Put back, it may be released.
        slide.change(name, to, from);
        let (code, text) = slide.again("2026-05-11");
        assert_eq!(code, 0, "{text}");
    }
}

/// What the shop had until a day after the release changes nothing of it; an instrument that it had no more when it was read
/// with does.
#[test]
fn what_is_retired_later_stays_in_what_was_released() {
    for entry in ["gauge DI-6", "wrench TW-2", "profile R20"] {
        let slide = Slide::released();
        slide.change("machine.kdl", &format!("{entry} "), &format!("{entry} until=\"2026-05-15\" "));
        let (code, text) = slide.lint();
        assert_eq!(code, 0, "{entry}: {text}");
        assert!(!text.contains("release-altered"), "{entry}: {text}");
    }
    for entry in ["gauge DI-6", "wrench TW-2"] {
        let slide = Slide::released();
        slide.change("machine.kdl", &format!("{entry} "), &format!("{entry} until=\"2026-03-01\" "));
        let (code, text) = slide.lint();
        assert_eq!(code, 1, "{entry}: {text}");
    }
}

#[test]
fn a_withdrawn_release_still_holds_the_records_it_names_and_no_longer_the_description() {
    // The description may be worked on once the release is withdrawn.
    let slide = Slide::released();
    slide.change("machine.kdl", "serial=K-201", "serial=K-209");
    assert_eq!(slide.lint().0, 1);
    slide.void("engineer-2", "2026-05-10");
    let (code, text) = slide.lint();
    assert_eq!(code, 0, "{text}");
    let (code, text) = slide.release("2026-05-13", &[]);
    assert_eq!(code, 0, "{text}");
    assert_eq!(slide.lint().0, 0);
    // A record may not: neither then nor under a later release.
    let changes = [
        ("at S2 -0.02", "at S2 -0.01"),
        ("by=fitter-2 wrench=TW-2", "by=fitter-3 wrench=TW-2"),
        ("accepts=0.06", "accepts=0.07"),
    ];
    for (from, to) in changes {
        let slide = Slide::released();
        slide.void("engineer-2", "2026-05-10");
        slide.change("records.kdl", from, to);
        let (code, text) = slide.lint();
        assert_eq!(code, 1, "{from}: {text}");
        assert!(text.contains("release-altered"), "{from}: {text}");
        let (code, text) = slide.release("2026-05-13", &[]);
        assert_eq!(code, 1, "{from}: {text}");
        slide.change("records.kdl", to, from);
        assert_eq!(slide.release("2026-05-13", &[]).0, 0);
        slide.change("records.kdl", from, to);
        let (_, text) = slide.lint();
        assert_eq!(text.matches("nonconformity: release-altered").count(), 1, "told once: {text}");
    }
    // Nor may the seal itself, nor a whole record.
    let slide = Slide::released();
    slide.void("engineer-2", "2026-05-10");
    slide.change("2026-05-10-engineer-1.kdl", " fitter-2\n", " fitter-4\n");
    assert_eq!(slide.lint().0, 1);
    let slide = Slide::released();
    slide.void("engineer-2", "2026-05-10");
    slide.change("records.kdl", "concession gap-range", "/- concession gap-range");
    let (_, text) = slide.lint();
    assert!(text.contains("release-altered") && text.contains("is gone"), "{text}");
}

#[test]
fn a_wrong_record_under_a_seal_is_corrected_without_touching_it() {
    let slide = Slide::released();
    let survey = "survey gap X.right date=\"2026-05-12\" by=inspector-1 gauge=DI-6 temperature=20 stage=verification replaces=\"2026-05-07\" {\n    at S1 0\n    at S2 -0.022\n    at S3 0\n    closure S1 0\n}\n";
    slide.add("2026-05-12-inspector-1.kdl", survey);
    let (code, text) = slide.lint();
    assert!(code == 1 && !text.contains("release-altered"), "{text}");
    assert!(text.contains("`survey` of 2026-05-07 under the release was corrected since"), "{text}");
    // The correction is under the next seal as well, and no longer told.
    slide.void("engineer-2", "2026-05-10");
    assert_eq!(slide.release("2026-05-13", &[]).0, 0);
    slide.change("2026-05-12-inspector-1.kdl", "at S2 -0.022", "at S2 -0.02");
    let (code, text) = slide.lint();
    assert!(code == 1 && text.contains("release-altered"), "{text}");
}

#[test]
fn who_worked_on_an_axis_does_not_withdraw_its_release() {
    for worker in ["fitter-2", "inspector-1"] {
        let slide = Slide::released();
        slide.void(worker, "2026-05-10");
        let (code, text) = slide.lint();
        assert_eq!(code, 1, "{text}");
        assert!(text.contains(&format!("`{worker}` withdrew the release of what they worked on")), "{text}");
        let (code, text) = slide.release("2026-05-13", &[]);
        assert!(code == 1 && text.contains("withdrew the release"), "{text}");
        // Somebody else agrees.
        slide.void("engineer-2", "2026-05-10");
        assert_eq!(slide.lint().0, 0);
        assert_eq!(slide.release("2026-05-13", &[]).0, 0);
    }
    let slide = Slide::released();
    slide.change(
        "machine.kdl",
        "shim-stock {",
        "rulebook { self-release is=allowed reason=\"one man\" }\n    shim-stock {",
    );
    slide.void("fitter-2", "2026-05-10");
    let (_, text) = slide.lint();
    assert!(!text.contains("withdrew the release"), "{text}");
}

#[test]
fn releases_of_one_day_are_told_apart() {
    let slide = Slide::released();
    let file = slide.file("2026-05-10-engineer-1.kdl");
    let first = std::fs::read_to_string(&file).expect("written");
    let replaces = ["--supersedes", "2026-05-10", "--reason", "a number was added to the drawing"];
    let (code, text) = slide.release("2026-05-10", &replaces);
    assert!(code == 2 && text.contains("--date 2026-05-10T14:30"), "{text}");
    assert_eq!(std::fs::read_to_string(&file).expect("there"), first);
    let timed = [&replaces[..], &["--date", "2026-05-10T14:30"]].concat();
    let (code, text) = slide.release("2026-05-10", &timed);
    assert_eq!(code, 0, "{text}");
    let both = std::fs::read_to_string(&file).expect("written");
    assert!(both.starts_with(&first) && both.contains("release X date=\"2026-05-10T14:30\""));
    let (code, text) = slide.release("2026-05-11", &timed);
    assert_eq!(code, 2, "{text}");
    // Withdrawn by its moment, the first counts again; a day alone could mean either.
    slide.void("engineer-2", "2026-05-10T14:30");
    let (code, text) = slide.lint();
    assert_eq!(code, 0, "{text}");
    slide.void("engineer-3", "2026-05-10");
    let (_, text) = slide.lint();
    assert!(text.contains("`void` could mean 2 records") && text.contains("nth=1 or nth=2"), "{text}");
}

#[test]
fn a_release_is_dated_neither_ahead_nor_before_what_it_rests_on() {
    let slide = Slide::new();
    for (date, why) in [("2026-05-11", "ahead of today"), ("2026-05-07", "later than"), ("10.5.2026", "is no date")] {
        let (code, text) = slide.release("2026-05-10", &["--date", date]);
        assert!(code == 2 && text.contains(why), "{date}: {text}");
    }
    assert!(!slide.file("2026-05-07-engineer-1.kdl").exists());
    assert_eq!(slide.release("2026-05-10", &["--date", "2026-05-09"]).0, 0);
}

#[test]
fn a_release_in_force_is_withdrawn_or_replaced_and_never_passed_over() {
    let slide = Slide::released();
    let (code, text) = slide.release("2026-05-11", &[]);
    assert!(code == 2 && text.contains("X is released already, on 2026-05-10"), "{text}");
    assert!(text.contains("--supersedes 2026-05-10") && text.contains("void release X of="), "{text}");
    // It is named by its moment, and says why.
    let (code, text) = slide.release("2026-05-11", &["--supersedes", "2026-05-09", "--reason", "a service was added"]);
    assert!(code == 2 && text.contains("in force is of 2026-05-10, not of 2026-05-09"), "{text}");
    assert_ne!(slide.release("2026-05-11", &["--supersedes", "2026-05-10"]).0, 0);
    let (code, text) = slide.release("2026-05-11", &["--supersedes", "2026-05-10", "--reason", "--"]);
    assert!(code == 2 && text.contains("--reason"), "{text}");
    let none = Slide::new();
    let (code, text) = none.again("2026-05-11");
    assert!(code == 2 && text.contains("no release of 2026-05-10 in force"), "{text}");
    // What came since is listed, told and sealed.
    slide.add("2026-05-10-fitter-2.kdl", "service X date=\"2026-05-10T17:00\" by=fitter-2 task=lubricate\n");
    slide.add("2026-05-11-fitter-2.kdl", "service X date=\"2026-05-11\" by=fitter-2 task=lubricate\n");
    let (code, text) = slide.release("2026-05-12", &["--supersedes", "2026-05-10", "--reason", "a service was added"]);
    assert!(code == 1 || text.contains("service X 2026-05-11"), "{code} {text}");
}

#[test]
fn what_was_slackened_or_held_is_not_replaced_but_withdrawn_unless_in_service() {
    let loosen = "loosen X.right date=\"2026-05-11\" by=fitter-2 reason=\"a noise\" { at S3 }\nfasten X.right date=\"2026-05-11\" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S3 }\nfasten X.right date=\"2026-05-11\" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S3 }\n";
    let survey = "survey gap X.right date=\"2026-05-12\" by=inspector-1 gauge=DI-6 temperature=20 stage=service {\n    at S1 0\n    at S2 -0.02\n    at S3 0\n    closure S1 0\n}\n";
    let hold = "hold X date=\"2026-05-11\" by=engineer-2 reason=\"a noise is looked into\"\nlift X date=\"2026-05-12\" by=engineer-2 disposition=concession reason=\"it came from the drive\"\n";
    let service = "service X date=\"2026-05-12\" by=fitter-2 task=re-inspect\n";
    for (what, records) in [("was loosened", format!("{loosen}{survey}")), ("a hold was put on X", hold.to_string())] {
        let slide = Slide::released();
        slide.add("2026-05-12-later.kdl", &records);
        let (code, text) = slide.again("2026-05-13");
        assert!(code == 2 && text.contains(what) && text.contains("no service of X followed"), "{text}");
        slide.add("2026-05-12-later.kdl", service);
        let (code, text) = slide.again("2026-05-13");
        assert_eq!(code, 0, "{what}: {text}");
        assert!(
            text.contains("It replaces the release of 2026-05-10") && text.contains("service X 2026-05-12"),
            "{text}"
        );
        let written = std::fs::read_to_string(slide.file("2026-05-13-engineer-1.kdl")).expect("written");
        assert!(written.contains("supersedes=\"2026-05-10\"") && written.contains("added \"service X 2026-05-12\""));
        let (code, text) = slide.lint();
        assert!(!text.contains("release-altered"), "{code}: {text}");
    }
}

#[test]
fn what_a_release_says_is_sealed() {
    let slide = Slide::new();
    let (code, text) = slide.release("2026-05-10", &["--note", "with the drawing 44", "--note", "see the file"]);
    assert_eq!(code, 0, "{text}");
    let name = "2026-05-10-engineer-1.kdl";
    assert_eq!(slide.lint().0, 0);
    for (from, to) in [
        ("note \"see the file\"", "note \"see the other file\""),
        ("    note \"see the file\"", "    note \"see the file\"\n    note \"and more\""),
        ("judged-on=\"2026-05-10\"", "judged-on=\"2026-05-11\""),
        ("edition=1", "edition=2"),
        (" edition=1", ""),
        ("judged run-length conforms=2", "judged run-length conforms=3"),
        ("idle ", "idle no-such-rule "),
        ("by=engineer-1", "by=engineer-3"),
    ] {
        let text = std::fs::read_to_string(slide.file(name)).expect("there");
        slide.change(name, from, to);
        let (code, said) = slide.lint();
        assert!(code == 1 && said.contains("release-altered"), "{from} -> {to}: {said}");
        std::fs::write(slide.file(name), text).expect("written");
    }
}

#[test]
fn a_release_holds_for_the_machine_it_names() {
    let slide = Slide::released();
    let text = std::fs::read_to_string(slide.file("machine.kdl")).expect("there");
    let name = text.split("machine ").nth(1).and_then(|rest| rest.split(' ').next()).expect("named").to_string();
    slide.change("machine.kdl", &format!("machine {name}"), "machine another");
    let (code, said) = slide.lint();
    assert!(code == 1 && said.contains("`name` of machine was `slide`"), "{said}");
    slide.change("machine.kdl", "machine another {", &format!("machine {name} {{\n    title \"The best of all\""));
    let (code, said) = slide.lint();
    assert!(code == 1 && said.contains("of machine came in after X was released"), "{said}");
}

#[test]
fn what_is_dated_the_day_of_the_release_says_when_it_came() {
    let service = |time: &str| format!("service X date=\"2026-05-10{time}\" by=fitter-2 task=lubricate\n");
    let slide = Slide::new();
    assert_eq!(slide.release("2026-05-10", &["--date", "2026-05-10T14:30"]).0, 0);
    for (time, altered, unsure) in
        [("", true, true), ("T14:00", true, false), ("T14:30", true, true), ("T15:00", false, false)]
    {
        std::fs::write(slide.file("other.kdl"), service(time)).expect("written");
        let (_, said) = slide.lint();
        assert_eq!(said.contains("release-altered"), altered, "{time}: {said}");
        assert_eq!(said.contains("nothing says that it came after"), unsure, "{time}: {said}");
    }
}

#[test]
fn no_other_spelling_of_a_name_releases_what_somebody_fitted() {
    for by in ["Fitter-2", "fitter_2", "fitter 2", "f\u{456}tter-2", "FITTER2"] {
        let slide = Slide::new();
        let (code, text) = slide.run(&["release", "X", "--by", by, "--today", "2026-05-10", "--date", "2026-05-10"]);
        assert!(code == 1 && text.contains("worked on what is to be released"), "{by}: {text}");
    }
    let slide = Slide::released();
    slide.void("Inspector-1", "2026-05-10");
    assert!(slide.lint().1.contains("withdrew the release of what they worked on"));
}

#[test]
fn nothing_is_released_while_the_order_of_its_records_is_not_known() {
    let slide = Slide::new();
    slide.add("other.kdl", "survey gap X.right date=\"2026-05-07\" by=inspector-1 gauge=DI-6 temperature=20 stage=verification {\n    at S1 0\n    at S2 -0.021\n    at S3 0\n    closure S1 0\n}\n");
    let (code, text) = slide.release("2026-05-10", &[]);
    assert!(code == 1 && text.contains("date-order"), "{text}");
}

#[test]
fn an_overdue_service_is_done_before_the_next_release() {
    for withdrawn in [false, true] {
        let slide = Slide::new();
        slide.change("machine.kdl", "axis X {", "axis X {\n        service-interval lubricate months=3");
        let (code, text) = slide.release("2026-05-10", &[]);
        assert_eq!(code, 0, "{text}");
        if withdrawn {
            slide.void("engineer-2", "2026-05-10");
        }
        let on = |slide: &Slide, day: &str| if withdrawn { slide.release(day, &[]) } else { slide.again(day) };
        let (code, text) = on(&slide, "2026-09-01");
        assert!(code == 1 && text.contains("service-due"), "{withdrawn}: {text}");
        slide.add("2026-09-01-fitter-2.kdl", "service X date=\"2026-09-01\" by=fitter-2 task=lubricate\n");
        let (code, text) = on(&slide, "2026-09-02");
        assert_eq!(code, 0, "{withdrawn}: {text}");
    }
    // Nor does a release that replaces another begin the interval anew.
    let slide = Slide::new();
    slide.change("machine.kdl", "axis X {", "axis X {\n        service-interval lubricate months=3");
    assert_eq!(slide.release("2026-05-10", &[]).0, 0);
    assert_eq!(slide.again("2026-07-01").0, 0);
    let (code, text) = slide.run(&["lint", "--today", "2026-08-20"]);
    assert!(code == 1 && text.contains("service-due"), "{text}");
}

/// What the lint of a whole shop says of a copied folder, its release is told too.
#[test]
fn a_copy_of_another_ledger_is_not_released() {
    let shop = tempfile::tempdir().expect("a folder");
    let slide = Slide::new();
    std::fs::write(shop.path().join("shop.kdl"), "shop \"Slip 2\" { }\n").expect("written");
    for name in ["a", "b"] {
        std::fs::create_dir(shop.path().join(name)).expect("made");
        for entry in std::fs::read_dir(slide.folder.path()).expect("listed") {
            let path = entry.expect("an entry").path();
            std::fs::copy(&path, shop.path().join(name).join(path.file_name().expect("a name"))).expect("copied");
        }
    }
    let release = |of: &str| {
        let more = [&AGAIN[..], &["2026-05-10", "--date", "2026-05-10"]].concat();
        let (out, err, code) = run(&shop.path().join(of), &more);
        (code, out + &err)
    };
    let (code, text) = release("b");
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("readings-copied") && text.contains("word for word"), "{text}");
    let (code, text) = release("a");
    assert_eq!(code, Some(0), "the first has them of nobody: {text}");
}

#[test]
fn each_release_says_which_it_replaces_and_a_day_alone_means_any_time_of_it() {
    let told = |first: &str, second: &str| {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ segment 1200 }} }} }}
release X date=\"2026-05-10T10:00\" by=e
release X date=\"2026-05-11T10:00\" by=e{first}
release X date=\"2026-05-12\" by=e{second}
"
        );
        let all = lint_text(&text).into_iter();
        all.filter(|it| it.rule.as_str() == "release-altered" && it.message.contains("is released here while")).count()
    };
    let of = |moment: &str| format!(" supersedes=\"{moment}\" reason=\"a service was added\"");
    assert_eq!(told("", ""), 2, "each pair");
    assert_eq!(told(&of("2026-05-10"), ""), 1);
    assert_eq!(told(&of("2026-05-10"), &of("2026-05-11")), 0);
    assert_eq!(told(&of("2026-05-10T10:00"), &of("2026-05-11T10:00")), 0);
    assert_eq!(told(&of("2026-05-10T10:01"), &of("2026-05-10")), 2, "neither is the one before");
}

/// Nobody can tell whether a record was copied from a ledger that cannot be read.
#[test]
fn a_ledger_of_the_shop_that_cannot_be_read_keeps_from_release() {
    let slide = Slide::new();
    let hall = slide.file("hall");
    std::fs::create_dir_all(hall.join("slide")).expect("made");
    std::fs::create_dir(hall.join("a")).expect("made");
    for name in ["machine.kdl", "records.kdl"] {
        std::fs::rename(slide.file(name), hall.join("slide").join(name)).expect("moved");
    }
    std::fs::write(hall.join("shop.kdl"), "shop \"Hall 2\" {\n}\n").expect("written");
    std::fs::write(hall.join("a/machine.kdl"), b"machine a {\n    axis Y { rail a { segment 1200 } }\n}\n\xff\xfe\n")
        .expect("written");
    let release = || {
        let arguments = [&AGAIN[..], &["2026-05-10", "--date", "2026-05-10"]].concat();
        let (out, err, code) = run(&hall.join("slide"), &arguments);
        (code, out + &err)
    };
    let (code, text) = release();
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("a/machine.kdl: ") && text.contains("nothing was written"), "{text}");
    std::fs::remove_dir_all(hall.join("a")).expect("gone");
    let (code, text) = release();
    assert_eq!(code, Some(0), "{text}");
}
