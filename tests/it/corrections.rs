//! Wrong records put right: corrections, voids, voids of voids, and bad readings taken back by who made them.

use std::collections::BTreeSet;

use wayledger::lint::{Finding, Grade};

use crate::common::{judge, lint_text};

const MACHINE: &str = r#"
machine m {
    axis X {
        run from=0 to=2402
        service-interval lubricate travelled=(km)500
        rail a rail-bolt=rb { segment 1200 serial=K-1 lot=L1; segment 1200; supports S first=200 pitch=400 count=6; joint-support J1 at=1200 length=200 }
        rail b follows=a shims=widen { segment 1200; segment 1200; supports S first=200 pitch=400 count=6; joint-support J1 at=1200 length=200 }
    }
}
shop {
    fastener rb thread=M6 class="10.9" into=steel
    gauge DI-4 kind=dial-indicator graduation=0.001 permissible-error=0.002 local-error=0.001 plus=outward { calibrated "2026-01-12" due="2027-01-12" }
    gauge DI-6 kind=dial-indicator graduation=0.001 permissible-error=0.002 plus=wider { calibrated "2026-01-12" due="2027-01-12" }
    gauge FG-1 kind=force-gauge { calibrated "2026-01-12" due="2027-01-12" }
    wrench TW-2 kind=indicating least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" }
    rulebook { gap-range most=0.02 reason="carriage"; straightness most=0.02 reason="carriage"; running-force most=20 reason="drive" }
}
"#;

/// Kind, what is wrong, what is right: rest of the head and block.
const TABLE: [(&str, &str, &str); 11] = [
    ("fasten X.a", "stage=full { at S2 14.5 10.5 }", "stage=full { at S2 10.5 10.5 }"),
    ("inspect X.a.J1", "{ light none; UL 0 -> 0.5 }", "{ light none; UL 0 -> 0.005 }"),
    (
        "survey gap X.b",
        "stage=service { at S1 0; at S2 0.9; at S3 0 }",
        "stage=service { at S1 0; at S2 0.01; at S3 0 }",
    ),
    (
        "survey straightness X.a",
        "stage=service { at S1 0; at S2 0.9; at S3 0 }",
        "stage=service { at S1 0; at S2 0; at S3 0 }",
    ),
    ("loosen X.a", "{ at S1..S6 }", "{ at S6 }"),
    ("shim X.b", "{ at S2 0.05 }", "{ at S4 0.05 }"),
    ("receive", "{ part serial=K-1 lot=L2 }", "{ part serial=K-1 lot=L1 }"),
    ("running-force X", "{ at 600 400 }", "{ at 600 14 }"),
    ("service X", "task=reading travelled=(km)9000", "task=reading travelled=(km)90"),
    ("concession run-length X.a", "accepts=1 reason=\"typed\"", "accepts=2 reason=\"typed\""),
    ("void inspect X.b.J1", "of=\"2026-04-11\" reason=\"typed\"", "of=\"2026-04-12\" reason=\"typed\""),
];

const AROUND: &str = r#"
fasten X.a date="2026-04-10" by=f stage=full setting=10.5 { clicked J1 S3..S1 S4..S6 }
fasten X.b date="2026-04-10" by=f stage=full setting=10.5 { clicked J1 S3..S1 S4..S6 }
inspect X.b.J1 date="2026-04-11" by=i { light none; UL 0 -> 0.01 }
inspect X.b.J1 date="2026-04-12" by=j { light none; UL 0 -> 0.05 }
release X date="2026-04-13" by=e
"#;
const LATER: &str = r#"
loosen X.a date="2026-04-18" by=f { at S5 }
"#;

/// Findings by what they say; places differ.
fn said(text: &str) -> BTreeSet<String> {
    let say = |it: &Finding| {
        let (grade, conceded) = (it.grade.name(), it.conceded.is_some());
        format!("{} {grade} {} {} {:?} {conceded}", it.rule, it.address, it.message, it.found)
    };
    lint_text(text).iter().map(say).collect()
}

/// The wrong record stays in the text, the right one is written at the end of the file days later; all is judged as if the
/// right one had been written at once.
#[test]
fn a_correction_of_any_kind_counts_in_the_place_of_what_it_corrects() {
    for (head, wrong, right) in TABLE {
        let record = |rest: &str, more: &str| format!("{head} date=\"2026-04-15\" by=w {more} {rest}\n");
        let at_once = format!("{MACHINE}{AROUND}{}{LATER}", record(right, ""));
        let uncorrected = format!("{MACHINE}{AROUND}{}{LATER}", record(wrong, ""));
        assert_ne!(said(&uncorrected), said(&at_once), "{head}: what is wrong makes no difference");
        // By somebody else: what counts of one's own has a test below.
        let by = if head.starts_with("void") { "w" } else { "v" };
        let correction = format!("{head} date=\"2026-04-25\" by={by} replaces=\"2026-04-15\" {right}\n");
        assert_eq!(said(&format!("{uncorrected}{correction}")), said(&at_once), "{head}");
        // Withdrawn first and then written anew, in either order.
        let bare = head
            .strip_prefix("survey ")
            .map_or(head.to_string(), |rest| format!("survey {}", rest.split(' ').next_back().expect("a rail")));
        let bare = bare.strip_prefix("concession ").map_or(bare.clone(), |_| "concession X.a".into());
        let bare = bare.strip_prefix("void inspect ").map_or(bare.clone(), |on| format!("void {on}"));
        let void = format!("void {bare} of=\"2026-04-15\" date=\"2026-04-24\" by=e reason=\"typed\"\n");
        for both in [format!("{void}{correction}"), format!("{correction}{void}")] {
            let found = said(&format!("{uncorrected}{both}"));
            let text: Vec<_> = found.iter().filter(|it| it.contains("void") || it.contains("date-order")).collect();
            assert!(text.is_empty(), "{head}: {text:?}");
            if !head.starts_with("void") {
                let expected = said(&at_once);
                let other: Vec<_> =
                    found.symmetric_difference(&expected).filter(|it| !it.starts_with("date-order")).collect();
                assert!(other.is_empty(), "{head}: {other:?}");
            }
        }
        // The last of two corrections counts, wherever they stand.
        let first = correction.replace(right, wrong).replace("04-25", "04-23").replace("by=v", "by=u");
        assert_eq!(said(&format!("{uncorrected}{first}{correction}")), said(&at_once), "{head}");
        assert_eq!(said(&format!("{uncorrected}{correction}{first}")), said(&at_once), "{head}");
    }
}

fn unknown(text: &str) -> Vec<Finding> {
    lint_text(text).into_iter().filter(|finding| finding.rule.as_str() == "unknown-reference").collect()
}

#[test]
fn a_correction_names_a_record_that_is_there_and_is_older() {
    let good = "inspect X.a.J1 date=\"2026-04-15\" by=i { light none }\n";
    let correction = |when: &str, of: &str| {
        let text = format!("{MACHINE}{good}inspect X.a.J1 date=\"{when}\" by=i replaces=\"{of}\" {{ light seen }}\n");
        let of_text =
            |finding: &Finding| matches!(finding.rule.as_str(), "unknown-reference" | "wrong-value" | "date-order");
        lint_text(&text).into_iter().filter(of_text).map(|finding| finding.message).collect::<Vec<_>>()
    };
    assert_eq!(correction("2026-04-20", "2026-04-15"), [""; 0]);
    assert_eq!(correction("2026-04-15", "2026-04-15"), [""; 0], "the same day");
    assert_eq!(correction("2026-04-20", "2026-04-16"), ["there is no record `inspect X.a.J1 of 2026-04-16`"]);
    let early = correction("2026-04-14", "2026-04-15");
    assert_eq!(early, ["this correction of 2026-04-14 is dated before what it corrects, 2026-04-15"]);
    let ahead = correction("2027-04-14", "2026-04-15");
    assert!(ahead.len() == 1 && ahead[0].contains("ahead of today"), "{ahead:?}");
    // Two corrections of one day in two files: the later one counts, so its time is asked for.
    let of =
        |by: &str| format!("inspect X.a.J1 date=\"2026-04-20\" by={by} replaces=\"2026-04-15\" {{ light seen }}\n");
    let text = format!("{MACHINE}{good}");
    let judged = judge(&[("a.kdl", &of("i")), ("b.kdl", &of("j")), ("machine.kdl", &text)], &[]);
    assert!(judged.findings.iter().any(|finding| finding.rule.as_str() == "date-order"));
    let timed = of("j").replace("04-20\"", "04-20T10:00\"");
    let earlier = of("i").replace("04-20\"", "04-20T09:00\"");
    let judged = judge(&[("a.kdl", &earlier), ("b.kdl", &timed), ("machine.kdl", &text)], &[]);
    assert!(judged.findings.iter().all(|finding| finding.rule.as_str() != "date-order"));
}

#[test]
fn what_could_mean_several_is_told_apart_by_what_the_finding_proposes() {
    let cases = [
        (
            "void fasten X.a",
            "fasten X.a DATE stage=snug setting=1.5 { clicked S1 }\nfasten X.a DATE stage=full setting=10.5 { clicked S1 }",
        ),
        (
            "void fasten X.a",
            "fasten X.a DATE stage=full setting=10.5 { clicked S1 }\nfasten X.a DATE stage=full interface=base setting=10.5 { clicked S1 }",
        ),
        (
            "void survey X.b",
            "survey gap X.b DATE stage=service { at S1 0 }\nsurvey height X.b DATE stage=service { at S1 0 }",
        ),
        (
            "void survey X.b",
            "survey gap X.b DATE stage=service { at S1 0 }\nsurvey gap X.b DATE stage=verification { at S1 0 }",
        ),
        ("void loosen X.a", "loosen X.a DATE { at S1 }\nloosen X.a DATE interface=rail { at S2 }"),
        (
            "void concession X.a",
            "concession run-length X.a DATE accepts=1 reason=\"a\"\nconcession joint-stagger X.a DATE accepts=1 reason=\"a\"",
        ),
        ("void service X", "service X DATE task=lubricate\nservice X DATE task=re-torque"),
        (
            "void inspect X.a.J1",
            "inspect X.a.J1 DATE { light none }\ninspect X.a.J1 DATE { light seen }\ninspect X.a.J1 DATE { feeler 0 }",
        ),
        ("void inspect X.a.J1", "inspect X.a.J1 DATE { light none }\n//\ninspect X.a.J1 DATE { light seen }"),
        (
            "void inspect X.a.J1",
            "inspect X.a.J1 DATE { light none }\ninspect X.a.J1 DATE { feeler 0 }\n//\ninspect X.a.J1 DATE { light seen }\ninspect X.a.J1 DATE { feeler 1 }",
        ),
        ("void receive", "receive DATE { part serial=K-1 }\nreceive DATE { part serial=K-1 lot=L9 }"),
        ("void shim X.b", "shim X.b DATE { at S1 0.05 }\nshim X.b DATE { at S2 0.05 }"),
    ];
    for (void, records) in cases {
        let records = records.replace("DATE", "date=\"2026-04-15\" by=f");
        let mut files: Vec<(String, String)> = records
            .split("//\n")
            .zip(["c.kdl", "d.kdl"])
            .map(|(text, name)| (name.to_string(), text.to_string()))
            .collect();
        files.push(("machine.kdl".into(), MACHINE.into()));
        let judged = |word: &str| {
            let void = format!("{void} of=\"2026-04-15\" {word} date=\"2026-04-20\" by=e reason=\"typed\"\n");
            let mut all = vec![("a-void.kdl", void.as_str())];
            all.extend(files.iter().map(|(name, text)| (name.as_str(), text.as_str())));
            let judged = judge(&all, &[]);
            let unknown = judged.findings.iter().find(|finding| finding.rule.as_str() == "unknown-reference").cloned();
            let withdrawn: Vec<usize> =
                (0..judged.ledger.records.len()).filter(|at| !judged.ledger.records[*at].counts()).collect();
            (unknown, withdrawn)
        };
        let (finding, withdrawn) = judged("");
        let finding = finding.unwrap_or_else(|| panic!("{void} is not clear: {records}"));
        assert!(finding.message.contains("could mean") && withdrawn.is_empty(), "{finding:?}");
        let proposed = finding.next.strip_prefix("say which: ").unwrap_or_else(|| panic!("{finding:?}"));
        let mut each = BTreeSet::new();
        for word in proposed.split(" or ") {
            let (finding, withdrawn) = judged(word);
            assert!(finding.is_none() && withdrawn.len() == 1, "{void} {word}: {finding:?}");
            each.extend(withdrawn);
        }
        assert_eq!(each.len(), records.lines().filter(|line| !line.starts_with("//")).count(), "{proposed}");
    }
}

#[test]
fn a_withdrawn_record_is_judged_for_being_readable_only() {
    let gone = [
        ("fasten X.a", "wrench=TW-99 stage=full { at S19 14.5 10.5; at S2 10.5 10.5 10.5 10.5 10.5 }"),
        ("fasten X.zz", "stage=full { at S1 10.5 }"),
        ("fasten X.a", "stage=fool colour=red { at S1 10.5; bt S2 10.5 }"),
        ("inspect X.a.J7", "gauge=DI-99 { light none; UL 0 -> (N)1 }"),
        ("survey X.b", "gauge=DI-99 stage=service { at S19 0; closure S19 0 }"),
        ("loosen X.a.S19", ""),
        ("shim X.b", "{ at S19 -0.05 }"),
        ("running-force Q", "gauge=FG-9 { at 1 2 }"),
        ("attach X.a.S19", "file=\"a.txt\" sha256=\"00\""),
        ("service Q", "task=re-torque"),
    ];
    for (head, rest) in gone {
        let written = head.replace("survey X.b", "survey gap X.b");
        let record = format!("{written} date=\"2026-04-15\" by=f {rest}\n");
        let text = format!("{MACHINE}{record}");
        let clean = said(MACHINE);
        assert!(!said(&text).is_subset(&clean), "{head} {rest}: nothing is wrong with it");
        let void = format!("void {head} of=\"2026-04-15\" date=\"2026-04-20\" by=e reason=\"the part is gone\"\n");
        assert_eq!(said(&format!("{text}{void}")), clean, "{head} {rest}");
    }
    // What cannot be read is still said.
    let broken = "inspect X.a.J1 date=\"2026-04-15\" by=i { UL 0,01 -> 0 }\n";
    let void = "void inspect X.a.J1 of=\"2026-04-15\" date=\"2026-04-20\" by=e reason=\"typed\"\n";
    assert!(lint_text(&format!("{MACHINE}{broken}{void}")).iter().any(|finding| finding.rule.as_str() == "unreadable"));
}

/// A chain of voids of voids: the record counts where their number is even, whatever the files are called.
#[test]
fn the_void_of_a_void_puts_the_record_back() {
    let record = "inspect X.a.J1 date=\"2026-04-15\" by=i { light seen }\n".to_string();
    let void = "void inspect X.a.J1 of=\"2026-04-15\" date=\"2026-04-16\" by=e reason=\"wrong joint\"\n".to_string();
    let again = |of: i32| {
        format!(
            "void void X.a.J1 of=\"2026-04-{of}\" date=\"2026-04-{}\" by=e reason=\"it was the right one\"\n",
            of + 1
        )
    };
    let chain = [record, void, again(16), again(17), again(18)];
    for names in [["a", "b", "c", "d", "e"], ["e", "d", "c", "b", "a"], ["c", "a", "e", "b", "d"]] {
        for count in 1..=chain.len() {
            let named: Vec<String> = names.iter().map(|name| format!("{name}.kdl")).collect();
            let mut files: Vec<(&str, &str)> =
                named.iter().zip(&chain).take(count).map(|(name, text)| (name.as_str(), text.as_str())).collect();
            files.push(("machine.kdl", MACHINE));
            files.sort();
            let judged = judge(&files, &[]);
            assert_eq!(judged.ledger.text_findings, []);
            let seen = judged.findings.iter().any(|finding| finding.rule.as_str() == "light-through-joint");
            assert_eq!(seen, count % 2 == 1, "{count} in {names:?}");
        }
    }
    // Voids that mean each other mean nothing, and say so.
    let first = "void void X.a.J1 of=\"2026-04-17\" date=\"2026-04-16\" by=e reason=\"as agreed\"\n";
    let second = "void void X.a.J1 of=\"2026-04-16\" date=\"2026-04-17\" by=e reason=\"as said\"\n";
    let found = unknown(&format!("{MACHINE}{first}{second}"));
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(found.iter().all(|finding| finding.message.contains("withdraw each other")), "{found:?}");
}

/// What is outstanding at an address by `void-self`.
fn open(text: &str) -> Vec<String> {
    let own = |finding: &Finding| finding.rule.as_str() == "void-self" && finding.grade == Grade::Outstanding;
    lint_text(text).into_iter().filter(own).map(|finding| finding.address).collect()
}

/// What its author corrects is as open as if they had withdrawn it, whether or not the correction reads it again.
#[test]
fn a_correction_by_the_same_author_takes_back_nothing() {
    let four = |step: &str| format!("{{ light none; UL 0 -> {step}; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}");
    // What was good before, so that nothing else is open.
    let good = format!(
        "inspect X.a.J1 date=\"2026-04-15\" by=i gauge=DI-4 {}\n\
         fasten X.a date=\"2026-04-14\" by=f wrench=TW-2 stage=full {{ at J1 S3..S1 S4..S6 }}\n\
         running-force X date=\"2026-04-15\" by=i gauge=FG-1 {{ at 600 10; at 700 10 }}\n",
        four("0")
    )
    .replace("at J1 S3..S1 S4..S6", "at J1 10.5 10.5; at S3 10.5 10.5; at S2 10.5 10.5; at S1 10.5 10.5; at S4 10.5 10.5; at S5 10.5 10.5; at S6 10.5 10.5");
    let cases: [(&str, &str, String, &[&str], String); 4] = [
        ("inspect X.a.J1", "gauge=DI-4", four("0.05"), &["{ light none }", "{ UR 0 -> 0; LL 0 -> 0 }"], four("0.005")),
        ("inspect X.a.J1", "gauge=DI-4", "{ light seen }".into(), &["{ UL 0 -> 0 }"], "{ light none }".into()),
        (
            "fasten X.a",
            "wrench=TW-2 stage=full",
            "{ at S2 14.5 10.5 }".into(),
            &["{ at S3 10.5 10.5 }", "{ at S2 #null #null }"],
            "{ at S2 10.5 10.5 }".into(),
        ),
        ("running-force X", "gauge=FG-1", "{ at 600 90 }".into(), &["{ at 700 10 }"], "{ at 600 10 }".into()),
    ];
    for (head, with, bad, leave_out, again) in cases {
        let record = format!("{head} date=\"2026-04-16T09:00\" by=i {with} {bad}\n");
        let correction = |by: &str, rest: &str| {
            format!("{head} replaces=\"2026-04-16T09:00\" date=\"2026-04-18T10:00\" by={by} {with} {rest}\n")
        };
        let both = |by: &str, rest: &str| {
            // In one file whichever stands first.
            let (one, other) = (record.clone(), correction(by, rest));
            [format!("{MACHINE}{good}{one}{other}"), format!("{MACHINE}{good}{other}{one}")].map(|text| open(&text))
        };
        for rest in leave_out.iter().copied().chain([again.as_str()]) {
            for open in both("i", rest) {
                assert_eq!(open.len(), 1, "{head} {rest}: {open:?}");
            }
            for open in both("e", rest) {
                assert_eq!(open, [""; 0], "{head} {rest}: somebody else judged it");
            }
        }
        // Of a bolt over its torque that is its loosening, and its torque then.
        let loosened =
            if head.starts_with("fasten") { "loosen X.a date=\"2026-04-18T11:00\" by=i { at S2 }\n" } else { "" };
        let later = format!("{loosened}{head} date=\"2026-04-18T12:00\" by=i {with} {again}\n");
        for rest in leave_out {
            let text = format!("{MACHINE}{good}{record}{}{later}", correction("i", rest));
            assert_eq!(open(&text), [""; 0], "{head} {rest}: read again");
        }
    }
}

#[test]
fn a_bad_reading_is_not_taken_back_by_who_made_it() {
    let cases = [
        ("inspect X.a.J1", "X.a.J1", "{ light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }", "{ UL 0 -> 0.05 }"),
        ("inspect X.a.J1", "X.a.J1", "{ light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }", "{ light seen }"),
        (
            "fasten X.a",
            "X.a",
            "stage=full { at S1 10.5; at S2 10.5; at S3 10.5; at S4 10.5; at S5 10.5; at S6 10.5; at J1 10.5 }",
            "stage=full { at S2 14.5 }",
        ),
        (
            "survey X.b",
            "X.b",
            "stage=as-fitted { at S1 0; at S2 0; at S3 0; at J1 0; at S4 0; at S5 0; at S6 0 }",
            "stage=verification { at S1 0; at S2 0.9; at S3 0; at J1 0; at S4 0; at S5 0; at S6 0 }",
        ),
    ];
    for (head, address, good, bad) in cases {
        let instrument = match address {
            "X.a.J1" => "gauge=DI-4",
            "X.a" => "wrench=TW-2",
            _ => "gauge=DI-6 temperature=20",
        };
        let written = format!("{} {instrument}", head.replace("survey X.b", "survey gap X.b"));
        let record = |day: u32, by: &str, rest: &str| format!("{written} date=\"2026-04-{day}\" by={by} {rest}\n");
        let void = |of: u32, day: u32, by: &str| {
            format!("void {head} of=\"2026-04-{of}\" date=\"2026-04-{day}\" by={by} reason=\"typed\"\n")
        };
        let ledger = format!("{MACHINE}{}{}", record(15, "i", good), record(16, "i", bad));
        let within = |all: Vec<String>| all.iter().all(|it| it.starts_with(address)) && all.len() == 1;
        assert_eq!(open(&ledger), [""; 0]);
        assert!(
            within(open(&format!("{ledger}{}", void(16, 17, "i")))),
            "{head}: {:?}",
            open(&format!("{ledger}{}", void(16, 17, "i")))
        );
        assert_eq!(open(&format!("{ledger}{}", void(16, 17, "e"))), [""; 0], "{head}: somebody else");
        let seconded = format!("{ledger}{}{}", void(16, 17, "i"), void(16, 18, "e"));
        assert_eq!(open(&seconded), [""; 0], "{head}: somebody else as well");
        let again = record(18, "i", &good.replace("as-fitted", "verification"));
        // Tightening takes nothing off a bolt.
        let loosened = if address == "X.a" { "loosen X.a date=\"2026-04-18\" by=i { at S2 }\n" } else { "" };
        let read_again = format!("{ledger}{}{loosened}{again}", void(16, 17, "i"));
        assert_eq!(open(&read_again), [""; 0], "{head}: read again");
        let harmless = format!("{MACHINE}{}{}{}", record(15, "i", good), record(16, "i", good), void(16, 17, "i"));
        assert_eq!(open(&harmless), [""; 0], "{head}: what was withdrawn broke nothing");
        // A bad one before a good one, both withdrawn: the good one hides nothing.
        let both = format!(
            "{ledger}{}{}{}",
            record(17, "i", &good.replace("as-fitted", "verification")),
            void(16, 18, "i"),
            void(17, 19, "i")
        );
        assert!(within(open(&both)), "{head}: {:?}", open(&both));
    }
}
