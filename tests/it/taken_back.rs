//! What was recorded against a part is not undone by a later line of the one who wrote it: a bolt over its torque, a support
//! that was loosened, a release that was withdrawn, a part that was scrapped; and two records of one minute.

use wayledger::lint::{Finding, Grade};

use crate::common::program::run;
use crate::common::{judge, lint_text};

const SHOP: &str = r#"
shop {
    profile R20 hole-pitch=60 end-distance=30
    fastener rb thread=M6 class="10.9" into=steel
    wrench TW-1 kind=setting least=0.8 most=12 { calibrated "2026-02-02" due="2027-02-02" }
    wrench TW-2 kind=indicating least=0.5 most=20 { calibrated "2026-02-02" due="2027-02-02" }
    gauge DI-4 kind=dial-indicator graduation=0.001 permissible-error=0.002 local-error=0.001 plus=outward { carrier reach=40 travel=15; calibrated "2026-01-12" due="2027-01-12" }
}
"#;
const RAIL: &str =
    "machine m { axis X { rail a profile=R20 rail-bolt=rb { segment 1200; support S1 at=240 length=80 } } }\n";
const JOINED: &str = "machine m { axis X { run to=2400; rail a profile=R20 rail-bolt=rb { segment 1200; segment 1200; supports S first=200 pitch=400 count=6; joint-support J1 at=1200 length=200 } } }\n";

fn told(text: &str, rule: &str) -> Vec<Finding> {
    lint_text(text).into_iter().filter(|finding| finding.rule.as_str() == rule).collect()
}

/// The torque findings of one bolt that was tightened so, day after day.
fn torques(rule: &str, records: &str) -> Vec<String> {
    let mut day = 10;
    let mut text = format!("{SHOP}{RAIL}");
    for record in records.split(" | ") {
        let (kind, rest) = record.trim().split_once(' ').expect("a kind and the rest");
        day += 1;
        let tool = match kind {
            "fasten" if rest.contains("clicked") => " wrench=TW-1",
            "fasten" => " wrench=TW-2",
            _ => "",
        };
        text += &format!("{kind} X.a date=\"2026-04-{day}\" by=fitter-2{tool} {rest}\n");
    }
    told(&text, rule).iter().map(|finding| finding.message.clone()).collect()
}

#[test]
fn a_bolt_does_not_lose_torque_by_being_tightened() {
    // The window is 10 to 11 N·m, full; 1 to 2, snug. That tightening takes nothing off a bolt is plain mechanics: no source.
    for (rule, stage, over, good, low) in
        [("torque-window", "full", "11.4", "10.5", "9"), ("snug-window", "snug", "2.5", "1.5", "0.6")]
    {
        let at = |torque: &str| format!("fasten stage={stage} {{ at S1 {torque} }}");
        let broken = |records: &str| torques(rule, records).len();
        let (high, good, low) = (at(over), at(good), at(low));
        assert_eq!(broken(&good), 0);
        assert_eq!(broken(&high), 1);
        assert_eq!(broken(&format!("{high} | {good}")), 1, "{stage}: a lower torque cures nothing");
        assert_eq!(broken(&format!("{high} | {good} | {good}")), 1);
        assert_eq!(broken(&format!("{high} | loosen {{ at S1 }} | {good}")), 0, "{stage}: loosened");
        let turned = good.replace(" }", "; turned S1 bolt=1 }");
        assert_eq!(broken(&format!("{high} | {turned}")), 0, "{stage}: it had come loose");
        // Too little is cured by tightening on.
        assert_eq!(broken(&format!("{low} | {good}")), 0);
        assert_eq!(broken(&format!("{good} | {low}")), 1, "{stage}: what it is found at counts");
        let clicked = |setting: &str| format!("fasten stage={stage} setting={setting} {{ clicked S1 }}");
        assert_eq!(broken(&format!("{} | {good}", clicked(over))), 1, "{stage}: set too high");
        assert_eq!(broken(&format!("{} | loosen {{ at S1 }} | {good}", clicked(over))), 0);
    }
}

/// Two good readings at a joint, whatever stands between them and later.
fn joint(records: &str) -> String {
    format!(
        "{SHOP}{JOINED}fasten X.a date=\"2026-04-09\" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 {{ clicked J1 S3..S1 S4..S6 }}\n\
         fasten X.a date=\"2026-04-10\" by=fitter-2 wrench=TW-1 stage=full setting=10.5 {{ clicked J1 S3..S1 S4..S6 }}\n\
         inspect X.a.J1 date=\"2026-04-11\" by=inspector-1 gauge=DI-4 {{ light none; UL 0 -> 0; UR 0 -> 0.001; LL 0 -> 0; LR 0 -> 0 }}\n{records}"
    )
}

#[test]
fn a_reading_corrected_by_its_author_stays_open() {
    let bad = "inspect X.a.J1 date=\"2026-04-12\" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0.05; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\n";
    let corrected = |by: &str| {
        let good =
            bad.replace("0.05", "0.005").replace("date=\"2026-04-12\"", "date=\"2026-04-13\" replaces=\"2026-04-12\"");
        joint(&format!("{bad}{}", good.replace("by=inspector-1", &format!("by={by}"))))
    };
    let open = told(&corrected("inspector-1"), "void-self");
    assert_eq!(open.len(), 1, "{open:?}");
    assert_eq!((open[0].grade, open[0].address.as_str()), (Grade::Outstanding, "X.a.J1"));
    assert!(open[0].message.contains("corrected their own `inspect`"), "{}", open[0].message);
    assert!(told(&corrected("inspector-2"), "void-self").is_empty(), "somebody else may");
    let again = bad.replace("0.05", "0.004").replace("04-12", "04-14");
    assert!(told(&format!("{}{again}", corrected("inspector-1")), "void-self").is_empty(), "it was read again");
    // A torque over the window too, which its correction would have hidden.
    let over = |by: &str| {
        let text = "fasten X.a date=\"2026-04-12\" by=fitter-2 wrench=TW-2 stage=full { at S1 11.4 10.5 }\n";
        let good =
            text.replace("11.4", "10.4").replace("date=\"2026-04-12\"", "date=\"2026-04-13\" replaces=\"2026-04-12\"");
        told(&joint(&format!("{text}{}", good.replace("by=fitter-2", &format!("by={by}")))), "void-self")
    };
    assert_eq!(over("fitter-2").len(), 1);
    assert!(over("inspector-1").is_empty());
}

#[test]
fn who_loosened_a_support_does_not_make_it_tight_by_a_void() {
    for (kind, record) in [
        ("loosen", "loosen X.a date=\"2026-04-12\" by=fitter-2 { at J1 }\n"),
        ("shim", "shim X.a date=\"2026-04-12\" by=fitter-2 { at J1 0.05 }\n"),
        (
            "fasten",
            "fasten X.a date=\"2026-04-12\" by=fitter-2 wrench=TW-2 stage=full { at J1 10.5 10.5 10.5; turned J1 bolt=2 }\n",
        ),
    ] {
        let voided = |by: &str| {
            joint(&format!(
                "{record}void {kind} X.a of=\"2026-04-12\" date=\"2026-04-13\" by={by} reason=\"wrong rail\"\n"
            ))
        };
        let open = told(&voided("fitter-2"), "void-self");
        assert!(!open.is_empty(), "{kind}");
        assert!(
            open.iter().all(|it| it.grade == Grade::Outstanding && it.message.contains("withdrew their own")),
            "{open:?}"
        );
        assert!(told(&voided("fitter_2"), "void-self").len() == open.len(), "{kind}: another spelling is nobody else");
        assert!(told(&voided("engineer-1"), "void-self").is_empty(), "{kind}: somebody else may");
    }
    // Corrected to the same supports it is told by the rules of what is stale, and by no other.
    let loosened = "loosen X.a date=\"2026-04-12\" by=fitter-2 { at J1 }\n";
    let reason =
        loosened.replace("date=\"2026-04-12\"", "date=\"2026-04-13\" replaces=\"2026-04-12\" reason=\"seat cleaned\"");
    assert!(told(&joint(&format!("{loosened}{reason}")), "void-self").is_empty());
}

#[test]
fn a_fitter_puts_no_release_back() {
    let story = |by: &str| {
        joint(&format!(
            "release X date=\"2026-04-20\" by=engineer-1\n\
             void release X of=\"2026-04-20\" date=\"2026-04-21\" by=engineer-2 reason=\"a chip at J1\"\n\
             void void X of=\"2026-04-21\" date=\"2026-04-22\" by={by} reason=\"no chip\"\n"
        ))
    };
    let own = told(&story("fitter-2"), "release-self");
    assert_eq!(own.len(), 1, "{own:?}");
    assert!(own[0].message.contains("put back the withdrawn release"), "{}", own[0].message);
    assert!(told(&story("engineer-2"), "release-self").is_empty());
    let both = "void void X of=\"2026-04-21\" date=\"2026-04-23\" by=engineer-1 reason=\"looked at\"\n";
    assert!(told(&format!("{}{both}", story("fitter-2")), "release-self").is_empty(), "somebody else did as well");
}

#[test]
fn a_release_in_force_is_replaced_by_none_that_does_not_say_so() {
    let first = "release X date=\"2026-04-20\" by=engineer-1\n";
    let count = |more: &str| {
        let all = told(&joint(&format!("{first}{more}")), "release-altered");
        all.iter().filter(|it| it.message.contains("while its release of 2026-04-20 was in force")).count()
    };
    let second = "release X date=\"2026-05-20\" by=engineer-1";
    assert_eq!(count(""), 0);
    assert_eq!(count(&format!("{second}\n")), 1);
    assert_eq!(count(&format!("{second} supersedes=\"2026-04-20\" reason=\"a service\"\n")), 0);
    assert_eq!(count(&format!("{second} supersedes=\"2026-04-21\" reason=\"a service\"\n")), 1);
    let void = "void release X of=\"2026-04-20\" date=\"2026-05-10\" by=engineer-1 reason=\"rework\"\n";
    assert_eq!(count(&format!("{void}{second}\n")), 0);
}

/// What is said of a hold on J1 of 2026-04-12 with these records behind it.
fn held(records: &str) -> Vec<(Grade, String)> {
    let text = joint(&format!("hold X.a.J1 date=\"2026-04-12\" by=inspector-1 reason=\"a chip\"\n{records}"));
    told(&text, "hold-in-force").into_iter().map(|it| (it.grade, it.message)).collect()
}

#[test]
fn what_is_scrapped_or_regraded_stays_held_until_it_is_exchanged() {
    let lift = |day: u8, how: &str| {
        format!("lift X.a.J1 date=\"2026-04-{day}\" by=engineer-1 disposition={how} reason=\"as agreed\"\n")
    };
    let read = |day: u8| {
        format!(
            "inspect X.a.J1 date=\"2026-04-{day}\" by=inspector-1 gauge=DI-4 {{ light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
        )
    };
    for how in ["scrap", "regrade"] {
        let open = held(&format!("{}{}", read(13), lift(14, how)));
        assert_eq!(open.len(), 1, "{how}: {open:?}");
        assert_eq!(open[0].0, Grade::Outstanding);
        assert!(held(&format!("{}{}{}", lift(14, how), read(15), lift(16, "rework"))).is_empty(), "{how}: exchanged");
        let text =
            joint(&format!("hold X.a.J1 date=\"2026-04-12\" by=inspector-1 reason=\"a chip\"\n{}", lift(14, how)));
        assert!(told(&text, "lift-idle").is_empty(), "{how}: it is about a hold");
    }
    for how in ["rework", "repair"] {
        assert_eq!(held(&lift(14, how)).len(), 1, "{how}: nothing shows it");
        assert!(held(&format!("{}{}", read(13), lift(14, how))).is_empty(), "{how}");
        assert!(held(&format!("{}{}", lift(14, how), read(15))).is_empty(), "{how}: read afterwards");
        let around = "fasten X.a date=\"2026-04-13\" by=fitter-2 wrench=TW-2 stage=full { at J1 10.5 10.5 10.5 }\n";
        assert!(held(&format!("{around}{}", lift(14, how))).is_empty(), "{how}: work on the rail");
    }
    assert!(held(&lift(14, "concession")).is_empty(), "accepted as it is");
}

#[test]
fn after_a_release_no_fitter_withdraws_a_hold_on_their_work() {
    let story = |released: bool, by: &str| {
        let release = if released { "release X date=\"2026-04-20\" by=engineer-1\n" } else { "" };
        joint(&format!(
            "{release}hold X.a date=\"2026-04-21\" by=fitter-2 reason=\"S1 was loose\"\n\
             void hold X.a of=\"2026-04-21\" date=\"2026-04-22\" by={by} reason=\"it was not\"\n"
        ))
    };
    let own = told(&story(true, "fitter-2"), "lift-self");
    assert_eq!(own.len(), 1);
    // There is nothing left to lift: somebody else withdraws it too, as the next step says.
    let line = "void hold X.a of=\"2026-04-21\" date=\"…\" by=… reason=\"…\"";
    assert!(own[0].next.ends_with(line), "{}", own[0].next);
    let line = line.replacen('…', "2026-04-23", 1).replacen('…', "engineer-1", 1).replacen('…', "it was not", 1);
    assert!(told(&format!("{}{line}\n", story(true, "fitter-2")), "lift-self").is_empty());
    assert!(told(&story(true, "engineer-1"), "lift-self").is_empty());
    assert!(told(&story(false, "fitter-2"), "lift-self").is_empty(), "the release looks at the whole");
}

#[test]
fn of_two_records_of_one_minute_nobody_knows_which_counts() {
    let read = |step: &str, at: &str| {
        format!(
            "inspect X.a.J1 date=\"{at}\" by=inspector-1 gauge=DI-4 {{ light none; UL 0 -> {step}; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
        )
    };
    let (noon, later) = ("2026-04-12T12:00", "2026-04-12T12:01");
    let told_of = |records: &str| {
        let all = told(&joint(records), "date-order");
        all.iter().filter(|it| it.message.contains("of one minute")).count()
    };
    assert_eq!(told_of(&format!("{}{}", read("0.05", noon), read("0.001", noon))), 1);
    assert_eq!(told_of(&format!("{}{}", read("0.001", noon), read("0.05", noon))), 1, "either way round");
    assert_eq!(told_of(&format!("{}{}", read("0.05", noon), read("0.001", later))), 0);
    // Of one day without a time the order in the file counts, as the language says.
    assert_eq!(told_of(&format!("{}{}", read("0.05", "2026-04-12"), read("0.001", "2026-04-12"))), 0);
    let rows = |row: &str| format!("fasten X.a date=\"{noon}\" by=fitter-2 wrench=TW-2 stage=full {{ at {row} }}\n");
    assert_eq!(told_of(&format!("{}{}", rows("S1 10.5 10.5"), rows("S2 10.5 10.5"))), 0, "other bolts");
    assert_eq!(told_of(&format!("{}{}", rows("S1 11.5 10.5"), rows("S1 10.5 10.5"))), 1);
    assert_eq!(told_of(&format!("{}{}", rows("S1 10.5 10.5"), rows("S1 10.5 10.5"))), 0, "they say the same");
}

#[test]
fn two_names_that_look_the_same_are_told() {
    // The look-alikes are from confusables.txt of Unicode 16: U+0406 and U+0410.
    let person = |name: &str| format!("shop {{ person fitter-2; person inspector-1; person {name} }}");
    let gauge = |name: &str| format!("shop {{ gauge DA-1 kind=dial-indicator; gauge {name} kind=dial-indicator }}");
    let wrench = |name: &str| format!("shop {{ wrench TA-1 kind=setting; wrench {name} kind=setting }}");
    let told_of = |shop: &str| {
        let all = told(&format!("{shop}\nmachine m {{ axis X {{ rail a }} }}\n"), "duplicate-name");
        assert!(all.iter().all(|it| it.grade == Grade::Observation && it.message.contains("looks like")), "{all:?}");
        all.len()
    };
    for name in ["Fitter-2", "fitter_2", "f\u{456}tter-2", "\"\u{456}nspector-1\""] {
        assert_eq!(told_of(&person(name)), 1, "{name}");
    }
    assert_eq!((told_of(&person("fitter-3")), told_of(&gauge("DB-1")), told_of(&gauge("DA-11"))), (0, 0, 0));
    assert_eq!((told_of(&gauge("D\u{410}-1")), told_of(&gauge("DA-l")), told_of(&wrench("T\u{410}-1"))), (1, 1, 1));
    assert_eq!(told_of(&gauge("DA1")), 0, "things are numbered: separators count");
}

#[test]
fn what_stands_behind_a_break_that_nobody_sees_is_told() {
    let record = "void inspect X.a.J1 of=\"2026-04-11\" date=\"2026-04-12\" by=engineer-1 reason=\"typed\"\n";
    for odd in ["\u{b}", "\u{c}", "\r", "\u{85}", "\u{2028}", "\u{2029}"] {
        let said = told(&joint(&format!("// looked at again{odd}{record}")), "unreadable");
        assert_eq!(said.len(), 1, "{odd:?}");
        assert!(said[0].message.contains(&format!("U+{:04X}", u32::from(odd.chars().next().expect("one")))));
        // In a file of its own, and in a shop file above.
        let other = format!("// seen{odd}{record}");
        let files = [("machine.kdl", joint("")), ("late.kdl", other)];
        let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let told = judge(&files, &[]).findings.into_iter().filter(|it| it.rule.as_str() == "unreadable").count();
        assert_eq!(told, 1, "{odd:?}");
    }
    assert!(told(&joint(&format!("// looked at again\n{record}")), "unreadable").is_empty());
}

#[test]
fn a_trace_finds_what_cannot_be_told_from_the_name_by_eye() {
    let folder = tempfile::tempdir().expect("a folder");
    // U+0406 and U+0410 look like I and A: confusables.txt of Unicode 16.
    let text = joint("").replacen("by=inspector-1 gauge=DI-4", "by=inspector-1 gauge=D\u{406}-4", 1)
        + "receive date=\"2026-04-01\" by=store-1 { part serial=K\u{410}-1 lot=L1 }\n";
    std::fs::write(folder.path().join("machine.kdl"), text).expect("written");
    for (name, like) in [
        ("DI-4", "made with gauge D\u{406}-4, which only looks like it"),
        ("KA-1", "received serial K\u{410}-1, which only looks like it"),
    ] {
        let (out, err, code) = run(folder.path(), &["trace", name]);
        assert_eq!(code, Some(0), "{err}");
        assert!(out.contains(like), "{name}: {out}");
    }
    let (_, err, code) = run(folder.path(), &["trace", "DI-5"]);
    assert_eq!(code, Some(2), "{err}");
}
