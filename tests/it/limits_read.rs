//! Silence proves nothing: what is not described is named, and a stated limit is read.

use wayledger::amounts::Dimension;
use wayledger::lint::{Finding, Grade, LIMITS, LimitType};

use crate::common::lint_text;
use crate::common::program::{LAID_OUT, START_SAW, run};

/// The findings of one rule: address and message.
fn of<'f>(rule: &str, findings: &'f [Finding]) -> Vec<(&'f str, &'f str)> {
    let own = findings.iter().filter(|finding| finding.rule.as_str() == rule);
    own.map(|finding| (finding.address.as_str(), finding.message.as_str())).collect()
}

fn found(rule: &str, text: &str) -> Vec<(String, String)> {
    let all = lint_text(text);
    of(rule, &all).into_iter().map(|(address, message)| (address.to_string(), message.to_string())).collect()
}

#[test]
fn a_rail_without_segments_is_outstanding() {
    let findings = lint_text(
        r#"
shop { profile R20 hole-pitch=60 end-distance=30; gauge DI-7 kind=dial-indicator graduation=0.002 range=0.8 plus=outward { calibrated "2026-01-02" due="2027-01-02" } }
machine m { axis X { run from=0 to=2400
    beam b { piece 2400 }
    rail a beam=b profile=R20 datum=left { supports S first=240 pitch=240 count=9 length=80 } } }
fasten X.a date="2026-05-11T08:00" by=fitter-2 stage=snug setting=1.5 { clicked S1..S9 }
fasten X.a date="2026-05-11T09:00" by=fitter-2 stage=full setting=10.5 { clicked S1..S9 }
"#,
    );
    let finding = findings.iter().find(|finding| finding.rule.as_str() == "not-described").expect("it is told");
    assert_eq!((finding.address.as_str(), finding.grade), ("X.a", Grade::Outstanding));
    assert_eq!(finding.message, "no segments are described");
}

#[test]
fn whatever_is_empty_is_named() {
    let cases = [
        ("machine m", "missing-part", ""),
        ("machine m { title \"Slide\" }", "missing-part", ""),
        ("machine m { axis X }", "not-described", "X"),
        ("machine m { axis X { run from=0 to=2400; beam b { piece 2400 } } }", "not-described", "X"),
        ("machine m { axis X { rail a } }", "not-described", "X.a"),
        ("machine m { axis X { rail a { segment 1200 } } }", "not-described", "X.a"),
        ("machine m { axis X { rail a { support S1 at=300 } } }", "not-described", "X.a"),
        (
            "machine m { axis X { rail a { supports S first=120 pitch=240 count=1 { omit S1 }; segment 240 } } }",
            "not-described",
            "X.a",
        ),
    ];
    for (text, rule, address) in cases {
        let findings = lint_text(text);
        let told: Vec<_> = findings.iter().filter(|finding| finding.rule.as_str() == rule).collect();
        assert_eq!(told.len(), 1, "{text}: {findings:#?}");
        assert!(told[0].grade != Grade::Observation, "{text}");
        assert!(address.is_empty() || told[0].address == address, "{text}");
        // Nothing else is said first.
        let first = findings.iter().find(|finding| finding.grade != Grade::Observation);
        assert_eq!(first.map(|finding| finding.rule.as_str()), Some(rule), "{text}");
    }
}

#[test]
fn one_bar_without_a_joint_lacks_nothing() {
    let text = r#"
machine m { axis X { rail a { segment 600; supports S first=120 pitch=240 count=2 } } }
fasten X.a date="2026-05-11T08:00" by=fitter-2 stage=snug setting=1.5 { clicked S1 S2 }
fasten X.a date="2026-05-11T09:00" by=fitter-2 stage=full setting=10.5 { clicked S1 S2 }
"#;
    assert!(found("not-described", text).is_empty());
    assert!(found("limit-unread", text).is_empty());
}

#[test]
fn what_the_text_tells_only_half_is_not_called_undescribed() {
    let texts = [
        "machine m { axis X { rial a { segment 1200; support S1 at=300 } } }",
        "machine m { axis X { rail a { segmnt 1200; support S1 at=300 } } }",
        "machine m { axis X { rail a { segment 1200,5; support S1 at=300 } } }",
        "machine m { axis X { rail a { segment 1200; suport S1 at=300 } } }",
        "machine m { axis X { rail a { segment 1200; supports S first=1,5 pitch=240 count=3 } } }",
    ];
    for text in texts {
        let findings = lint_text(text);
        assert!(of("not-described", &findings).is_empty(), "{text}: {findings:#?}");
        assert!(findings.iter().any(|finding| finding.grade == Grade::Nonconformity), "{text}");
    }
}

#[test]
fn a_new_ledger_is_told_what_to_describe_first() {
    let folder = tempfile::tempdir().expect("a folder");
    let given = ["--rail", "left", "--rail", "right", "--pieces", "6000", "--carriage", "none"];
    let (_, told, code) = run(folder.path(), &[&START_SAW[..], &given].concat());
    assert_eq!(code, Some(0), "{told}");
    let closing = told.find("first of all, X.left, X.right: no segments are described").expect(&told);
    assert!(told.find("outstanding; see").is_some_and(|at| at > closing), "{told}");
    let (said, _, _) = run(folder.path(), &["lint", "saw", "--today", "2026-11-01"]);
    assert!(said.trim_start().starts_with("outstanding: not-described X.left"), "{said}");
    assert!(!said.contains("clean and complete"), "{said}");

    // With a plan the bars are described.
    let folder = tempfile::tempdir().expect("a folder");
    let (_, told, code) = run(folder.path(), &[&START_SAW[..], &given, &LAID_OUT].concat());
    assert!(code == Some(0) && !told.contains("first of all"), "{told}");
}

/// Two rails of which everything was read that a limit can be stated for; `stated` is its rulebook.
fn fully_read(stated: &str) -> String {
    format!(
        r#"
machine m {{
    rulebook {{ {stated} }}
    axis X {{
        rail a {{ segment 1200 serial=K-1; segment 1200 serial=K-2; supports S first=240 pitch=240 count=9 length=80 {{ omit S5 }}; joint-support J1 at=1200 length=200 }}
        rail b follows=a shims=widen {{ segment 2400 serial=K-3; supports S first=300 pitch=900 count=3 length=80 }}
    }}
}}
receive date="2026-04-01" by=inspector-1 {{ part serial=K-1 length=1200; part serial=K-2 length=1200; part serial=K-3 length=2400 }}
fasten X.a date="2026-04-14T08:00" by=fitter-2 stage=snug setting=1.5 {{ clicked J1 S4..S1 S6..S9 }}
fasten X.a date="2026-04-14T09:00" by=fitter-2 stage=full setting=10.5 {{ clicked J1 S4..S1 S6..S9 }}
fasten X.b date="2026-04-14T10:00" by=fitter-2 stage=snug setting=1.5 {{ clicked S1..S3 }}
fasten X.b date="2026-04-14T11:00" by=fitter-2 stage=full setting=10.5 {{ clicked S1..S3 }}
inspect X.a.J1 date="2026-04-15T08:00" by=inspector-1 {{ light none; feeler 0; UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}
survey straightness X.a date="2026-04-15T09:00" by=inspector-1 stage=as-fitted plus=right {{ at S1 0; at S4 0.01; at S9 0; closure S1 0 }}
survey gap X.b date="2026-04-15T10:00" by=inspector-1 temperature=20 stage=as-fitted plus=wider {{ at S1 0; at S2 0; at S3 -0.07; closure S1 0 }}
shim X.b date="2026-04-16T08:00" by=fitter-2 {{ at S3 0.07 }}
fasten X.b date="2026-04-16T09:00" by=fitter-2 stage=snug setting=1.5 {{ clicked S3 }}
fasten X.b date="2026-04-16T10:00" by=fitter-2 stage=full setting=10.5 {{ clicked S3 }}
survey gap X.b date="2026-04-17T08:00" by=inspector-1 temperature=20 stage=verification plus=wider {{ at S1 0; at S2 0; at S3 0; closure S1 0 }}
survey height X.b date="2026-04-17T09:00" by=inspector-1 stage=as-fitted plus=up {{ at S1 0; at S2 0; at S3 0.01; closure S1 0 }}
running-force X date="2026-04-17T10:00" by=inspector-1 {{ at 300 14; at 1200 15 }}
"#
    )
}

/// A limit as stated, and what to take out of the records so that nothing is left that it limits: each line that holds
/// the first text, or where a second is given, the first wherever it stands.
struct Read {
    stated: &'static str,
    without: &'static str,
    line: bool,
}

/// What each entry of the rulebook limits: a reading, or something that is read nowhere.
fn what_it_limits(entry: &str) -> Result<Read, &'static str> {
    let line = |stated, without| Ok(Read { stated, without, line: true });
    let word = |stated, without| Ok(Read { stated, without, line: false });
    match entry {
        "joint-step" => line("joint-step most=0.02", "inspect "),
        "gap-range" => line("gap-range most=0.05", "survey gap"),
        "straightness" => line("straightness most=0.03", "survey straightness"),
        "height-range" => line("height-range most=0.04", "survey height"),
        "gap-local" => line("gap-local most=0.02 over=2000", "survey gap"),
        "straightness-local" => line("straightness-local most=0.02 over=2000", "survey straightness"),
        "height-local" => line("height-local most=0.02 over=2000", "survey height"),
        "toe-in" => line("toe-in most=0.05", "survey gap"),
        "full-torque" => line("full-torque least=10 most=11", "stage=full"),
        "snug-torque" => line("snug-torque least=1 most=2", "stage=snug"),
        "running-force" => line("running-force most=20", "running-force X"),
        "received-length" => line("received-length most=1", "receive "),
        "light-gap" => word("light-gap most=0.02", "light none; "),
        "feeler" => word("feeler most=0.05", "feeler 0; "),
        "survey-closure" => word("survey-closure most=0.02", "; closure S1 0"),
        "joint-bolts"
        | "joint-support-offset"
        | "stagger"
        | "meeting-margin"
        | "seam-clearance"
        | "hole-pitch-tolerance"
        | "bolt-hole-offset"
        | "support-spacing"
        | "segment-length"
        | "static-safety"
        | "expansion"
        | "proof-load-share"
        | "sawn-ends"
        | "leaf-thickness"
        | "window-span"
        | "bolt-friction"
        | "beam-share"
        | "load-ratings"
        | "block-length"
        | "dynamic-rating"
        | "block-preload"
        | "rating-share" => Err("the description: nothing is read"),
        "survey-temperature" => Err("every survey, whether or not it is stated"),
        "gauge-graduation" | "calibration-months" | "calibration-cycles" | "error-graduations"
        | "local-error-share" | "range-graduations" | "wrench-error" | "wrench-span" | "dial-graduations" => {
            Err("the instruments, not the machine")
        }
        "due-soon" => Err("the calendar"),
        "proof"
        | "proof-of-step"
        | "proof-of-gap"
        | "proof-of-straightness"
        | "proof-of-height"
        | "proof-of-running-force"
        | "proof-of-torque"
        | "guard-band" => Err("how readings are judged"),
        "self-release" => Err("who may release"),
        "signed-release" => Err("what a release carries"),
        "record-temperature" | "temperature-jump" | "carrier-travel" | "carrier-reach" => {
            Err("what a record says beside its readings")
        }
        "force-jump" | "repeat-spread" => Err("what other readings of the record say"),
        "limit-loosening" => Err("the rulebook itself"),
        other => panic!("say what `{other}` limits: if a reading, it is asked for once the limit is stated"),
    }
}

/// Rule and address of what is broken or outstanding.
fn open(text: &str) -> Vec<String> {
    let all = lint_text(text);
    let open = all.iter().filter(|finding| finding.grade != Grade::Observation);
    open.map(|finding| format!("{} {}", finding.rule, finding.address)).collect()
}

#[test]
fn every_stated_limit_asks_for_what_it_limits() {
    let mut tried = 0;
    for entry in LIMITS {
        let Ok(Read { stated, without, line }) = what_it_limits(entry.name) else { continue };
        let whole = fully_read(&format!("{stated} reason=\"drawing 118-1\""));
        assert!(whole.contains(without), "{}", entry.name);
        let lacking = match line {
            true => whole.lines().filter(|line| !line.contains(without)).map(|line| format!("{line}\n")).collect(),
            false => whole.replace(without, ""),
        };
        let (before, after) = (open(&whole), open(&lacking));
        assert!(!before.iter().any(|it| it.starts_with("limit-unread")), "{}: {before:?}", entry.name);
        let new: Vec<_> = after.iter().filter(|it| !before.contains(it)).collect();
        assert!(!new.is_empty(), "{}: nobody asks for it; {after:?}", entry.name);
        tried += 1;
    }
    assert_eq!(tried, 15);
}

#[test]
fn stated_limits_without_a_reading_and_a_force_beyond_its_limit() {
    let findings = lint_text(
        r#"
machine m {
    rulebook {
        straightness most=0.03 reason="drawing 12"
        height-range most=0.04 reason="drawing 12"
        running-force most=20 reason="drive sized for 20 N"
    }
    axis X {
        rail a { segment 1200; supports S first=120 pitch=240 count=3 }
        rail b follows=a { segment 1200; supports S first=120 pitch=240 count=3 }
    }
}
fasten X.a date="2026-04-14T08:00" by=fitter-2 stage=snug setting=1.5 { clicked S1..S3 }
fasten X.a date="2026-04-14T08:10" by=fitter-2 stage=full setting=10.5 { clicked S1..S3 }
fasten X.b date="2026-04-14T08:20" by=fitter-2 stage=snug setting=1.5 { clicked S1..S3 }
fasten X.b date="2026-04-14T08:30" by=fitter-2 stage=full setting=10.5 { clicked S1..S3 }
survey gap X.b date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.02 }
running-force X date="2026-04-16" by=inspector-1 { at 300 14; at 600 400 }
"#,
    );
    assert_eq!(
        of("limit-unread", &findings),
        [
            ("X.a", "the straightness of X.a is limited and not surveyed"),
            ("X.b", "the height of X.b is limited and not surveyed")
        ]
    );
    assert_eq!(
        of("running-force", &findings),
        [("X", "it takes 400 N to push the carriage at 600 mm, 380 N over the limit")]
    );
}

#[test]
fn straightness_is_asked_of_the_rails_that_others_follow_or_of_all() {
    let with = |rails: &str, records: &str| {
        let book = "rulebook { straightness most=0.03 reason=\"drawing 12\" }";
        let all = found("limit-unread", &format!("machine m {{ {book}; axis X {{ {rails} }} }}\n{records}"));
        all.into_iter().map(|(address, _)| address).collect::<Vec<_>>()
    };
    let rail = |name: &str| format!("rail {name} {{ segment 1200; supports S first=120 pitch=240 count=5 }};");
    assert_eq!(with(&rail("a"), ""), ["X.a"]);
    assert_eq!(with(&format!("{}{}", rail("a"), rail("b")), ""), ["X.a", "X.b"]);
    assert_eq!(with(&format!("{}{}", rail("a"), rail("b follows=a")), ""), ["X.a"]);
    let three = format!("{}{}{}", rail("a"), rail("b follows=a"), rail("c follows=b"));
    assert_eq!(with(&three, ""), ["X.a", "X.b"]);
    // Any two places lie on a line, and a blank is no reading.
    let survey = |rows: &str| {
        format!("survey straightness X.a date=\"2026-04-15\" by=inspector-1 stage=as-fitted plus=right {{ {rows} }}")
    };
    assert_eq!(with(&rail("a"), &survey("at S1 0; at S5 0")), ["X.a"]);
    assert_eq!(with(&rail("a"), &survey("at S1 0; at S3 #null; at S5 0")), ["X.a"]);
    assert_eq!(with(&rail("a"), &survey("at S1 0; at S3 0; at S5 0")), [""; 0]);
    assert_eq!(with(&rail("a"), &survey("at S1 0; at S3 0; at S5 0").replace("as-fitted", "service")), [""; 0]);
}

#[test]
fn height_is_asked_of_rails_that_follow_and_needs_one_that_does() {
    let with = |follows: &str, records: &str| {
        let rail = "{ segment 1200; supports S first=120 pitch=240 count=5 }";
        let book = "rulebook { height-range most=0.04 reason=\"drawing 12\" }";
        let text = format!("machine m {{ {book}; axis X {{ rail a {rail}; rail b {follows} {rail} }} }}\n{records}");
        found("limit-unread", &text).into_iter().map(|(address, _)| address).collect::<Vec<_>>()
    };
    assert_eq!(with("follows=a", ""), ["X.b"]);
    assert_eq!(with("", ""), ["X"]);
    let survey = |rows: &str| {
        format!("survey height X.b date=\"2026-04-15\" by=inspector-1 stage=as-fitted plus=up {{ {rows} }}")
    };
    assert_eq!(with("follows=a", &survey("at S1 0")), ["X.b"]);
    assert_eq!(with("follows=a", &survey("at S1 0; at S5 0.01")), [""; 0]);
}

/// What the rules say of running forces of at most 20 N.
fn forces(records: &str) -> (Vec<String>, Vec<String>) {
    let text = format!(
        r#"
shop {{ gauge FG-1 kind=force-gauge {{ calibrated "2026-01-02" due="2027-01-02" }} }}
machine m {{
    rulebook {{ running-force most=20 reason="drive sized for 20 N" }}
    axis X {{ rail a {{ segment 1200; supports S first=120 pitch=240 count=5 }} }}
    axis Y {{ rail a {{ segment 1200; supports S first=120 pitch=240 count=5 }} }}
}}
running-force Y date="2026-04-01" by=inspector-1 {{ at 300 14 }}
{records}"#
    );
    let findings = lint_text(&text);
    let messages = |rule| of(rule, &findings).into_iter().map(|(_, message)| message.to_string()).collect();
    (messages("running-force"), messages("limit-unread"))
}

#[test]
fn each_force_is_held_to_the_limit_and_the_latest_at_its_place_counts() {
    let run = |day: u32, rows: &str| {
        format!("running-force X date=\"2026-05-{day:02}\" by=inspector-1 gauge=FG-1 {{ {rows} }}\n")
    };
    let over = |found: &str, at: u32, over: &str| {
        format!("it takes {found} N to push the carriage at {at} mm, {over} N over the limit")
    };
    let none: Vec<String> = Vec::new();
    assert_eq!(forces(&run(1, "at 300 20; at 600 -20")), (none.clone(), none.clone()));
    assert_eq!(forces(&run(1, "at 300 20.001; at 600 -21")).0, [over("20.001", 300, "0.001"), over("21", 600, "1")]);
    // A later record of other places clears nothing.
    let broken = run(1, "at 300 14; at 600 40");
    assert_eq!(forces(&(broken.clone() + &run(2, "at 300 12; at 900 12"))).0, [over("40", 600, "20")]);
    assert_eq!(forces(&(broken.clone() + &run(2, "at 300 12; at 900 30"))).0.len(), 2);
    assert_eq!(forces(&(broken.clone() + &run(2, "at 600 12"))).0, none);
    // A gauge that cannot vouch for it clears nothing, and what it shows is told all the same.
    let unnamed = |day, rows: &str| run(day, rows).replace(" gauge=FG-1", "");
    assert_eq!(forces(&(broken.clone() + &unnamed(2, "at 600 12"))).0, [over("40", 600, "20")]);
    assert_eq!(forces(&(run(1, "at 600 12") + &unnamed(2, "at 600 40"))).0, [over("40", 600, "20")]);
    assert_eq!(forces(&(unnamed(1, "at 600 40") + &run(2, "at 600 12"))).0, none);
    // In whichever order they stand in the text.
    assert_eq!(forces(&(run(2, "at 600 12") + &broken)).0, none);
    assert_eq!(forces(&(run(2, "at 600 40") + &run(1, "at 600 12"))).0, [over("40", 600, "20")]);
    // Twice in one record: what is broken does not vanish.
    assert_eq!(forces(&run(1, "at 600 40; at 600 12")).0, [over("40", 600, "20")]);
    assert_eq!(forces(&run(1, "at 600 12; at 600 40")).0, [over("40", 600, "20")]);
    // A withdrawn record says nothing.
    let void = "void running-force X of=\"2026-05-01\" date=\"2026-05-02\" by=inspector-1 reason=\"brake was on\"\n";
    assert_eq!(
        forces(&(broken.clone() + void)),
        (none.clone(), vec!["the running force of X is limited and not read".into()])
    );
    // What was read before a rail was loosened is to be read again, and what it showed stays.
    let loosen = "loosen X.a date=\"2026-05-03\" by=fitter-2 reason=\"seat cleaned\" { at S2 }\n";
    assert_eq!(
        forces(&(broken.clone() + loosen)),
        (vec![over("40", 600, "20")], vec!["the running force of X was read before X.a was loosened at S2".into()])
    );
    assert_eq!(forces(&(broken + loosen + &run(4, "at 300 12; at 600 12"))), (none.clone(), none));
}

#[test]
fn a_difference_of_temperatures_is_converted_without_the_zero_of_its_scale() {
    // Surveys at 18 and 20.5 °C: 2.5 K are 4.5 degrees Fahrenheit (5/9 K each, ISO 80000-5).
    let surveys = |most: &str| {
        let text = format!(
            "machine m {{ rulebook {{ survey-temperature most={most} reason=\"hall\" }}; axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=2 }} }} }}
survey gap X.b date=\"2026-04-16\" by=i temperature=18 stage=as-fitted {{ at S1 0; at S2 -0.07 }}
shim X.b date=\"2026-04-17\" by=f {{ at S2 0.05 }}
fasten X.b date=\"2026-04-17\" by=f stage=full setting=10.5 {{ clicked S2 }}
survey gap X.b date=\"2026-04-18\" by=i temperature=20.5 stage=verification {{ at S1 0; at S2 -0.01 }}"
        );
        found("survey-temperature", &text).iter().filter(|(_, said)| said.contains("before the shims")).count()
    };
    let records = |most: &str| {
        let text = format!(
            "machine m {{ rulebook {{ temperature-jump most={most} reason=\"hall\" }}; axis X {{ rail a {{ segment 1200; segment 1200; segment 1200 }} }} }}
inspect X.a.J1 date=\"2026-04-15T09:00\" by=i temperature=18 {{ light none }}
inspect X.a.J2 date=\"2026-04-15T09:30\" by=i temperature=20.5 {{ light none }}"
        );
        found("temperature-jump", &text).len()
    };
    for (most, found) in [("(degF)4.5", 0), ("(degF)4.4", 1), ("(K)2.5", 0), ("2.4", 1), ("(degC)2.5", 0)] {
        assert_eq!([surveys(most), records(most)], [found; 2], "{most}");
    }
    // Whatever its description calls a difference is kept as one.
    for entry in LIMITS {
        let LimitType::Amount(of @ (Dimension::Temperature | Dimension::TemperatureDifference)) = entry.holds else {
            continue;
        };
        let difference = entry.what.starts_with("the difference");
        assert_eq!(difference, of == Dimension::TemperatureDifference, "{}", entry.name);
    }
}
