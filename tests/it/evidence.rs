//! What counts as proof: for every kind of record and every reason not to count, what is said of it, alone, before and
//! after one that counts. What is expected is the table of verdicts, written down here by hand.

use wayledger::lint::{Finding, Grade};

use crate::common::{judge, lint_text};

/// Whether a kind of record counts is judged by these rules alone.
const EVIDENCE: [&str; 5] =
    ["instrument-missing", "instrument-unsuited", "gauge-calibration", "gauge-range", "wrench-range"];

/// Two rails, one joint, all supports snugged and tightened on 2026-04-14.
const MACHINE: &str = "
machine m {
    rulebook {
        full-torque least=10 most=11 reason=\"drawing 12\"
        snug-torque least=1 most=2 reason=\"drawing 12\"
        straightness most=0.03 reason=\"drawing 12\"
        height-range most=0.03 reason=\"drawing 12\"
        running-force most=20 reason=\"drive sized for 20 N\"
    }
    axis X {
        rail a { segment 1200; segment 1200; support S1 at=300; joint-support J1 at=1200 length=80; support S2 at=2100 }
        rail b follows=a { segment 2400; support S1 at=300; support S2 at=1200; support S3 at=2100 }
    }
}
";

const TIGHTENED: &str = "
fasten X.a date=\"2026-04-14T08:00\" by=f wrench=TW-1 stage=snug setting=1.5 { clicked J1 S1 S2 }
fasten X.a date=\"2026-04-14T08:10\" by=f wrench=TW-2 stage=full { at J1 10.5; at S1 10.5; at S2 10.5 }
fasten X.b date=\"2026-04-14T08:20\" by=f wrench=TW-1 stage=snug setting=1.5 { clicked S1..S3 }
fasten X.b date=\"2026-04-14T08:30\" by=f wrench=TW-2 stage=full { at S1 10.5; at S2 10.5; at S3 10.5 }
";

const HELD: &str = "calibrated \"2026-01-12\" due=\"2027-01-12\"";

/// A kind of record: how it is written, which rule it can break, and the instruments that are good for it and are not.
struct Kind {
    rule: &'static str,
    /// With `DATE`, `WITH` and `VALUE` in it.
    text: &'static str,
    conforming: &'static str,
    breaking: &'static str,
    /// The good instrument, without its calibration.
    good: &'static str,
    /// Why another one does not vouch for it, with the rule that says so.
    bad: &'static [(&'static str, &'static str)],
}

const NOT_CALIBRATED: [&str; 7] = [
    "",
    "calibrated \"2025-01-12\" due=\"2026-01-12\"",
    "calibrated \"2026-09-01\" due=\"2027-09-01\"",
    "calibrated \"2026-01-12\" result=failed",
    // Good on the day, and found wrong afterwards.
    "calibrated \"2026-01-12\" due=\"2027-01-12\"; calibrated \"2026-09-01\" result=failed",
    "calibrated \"2026-01-12\" due=\"2027-01-12\"; calibrated \"2026-09-01\" as-found=outside",
    "calibrated \"2026-01-12\" due=\"2027-01-12\"; calibrated \"2026-09-01\" as-found=outside result=adjusted",
];

const KINDS: [Kind; 6] = [
    Kind {
        rule: "joint-step",
        text: "inspect X.a.J1 date=\"DATE\" by=i WITH { light none; UL 0 -> VALUE; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }",
        conforming: "0.01",
        breaking: "0.05",
        good: "gauge G kind=dial-indicator plus=outward",
        bad: &[
            ("gauge B kind=force-gauge plus=outward", "instrument-unsuited"),
            ("gauge B kind=level plus=outward", "instrument-unsuited"),
            ("gauge B kind=dial-indicator plus=wider", "instrument-unsuited"),
            ("gauge B kind=dial-indicator plus=outward range=0.009", "gauge-range"),
            ("gauge B kind=dial-indicator plus=outward graduation=0.02", "gauge-graduation"),
        ],
    },
    Kind {
        rule: "straightness-range",
        text: "survey straightness X.a date=\"DATE\" by=i WITH stage=as-fitted { at S1 0; at J1 VALUE; at S2 0 }",
        conforming: "0.01",
        breaking: "0.05",
        good: "gauge G kind=laser plus=right",
        bad: &[
            ("gauge B kind=force-gauge plus=right", "instrument-unsuited"),
            ("gauge B kind=laser plus=wider", "instrument-unsuited"),
            ("gauge B kind=laser plus=right range=0.009", "gauge-range"),
            ("gauge B kind=laser plus=right graduation=0.02", "gauge-graduation"),
        ],
    },
    Kind {
        rule: "height-range",
        text: "survey height X.b date=\"DATE\" by=i WITH stage=as-fitted { at S1 0; at S2 VALUE; at S3 0 }",
        conforming: "0.01",
        breaking: "0.05",
        good: "gauge G kind=laser plus=up",
        bad: &[
            ("gauge B kind=autocollimator plus=up", "instrument-unsuited"),
            ("gauge B kind=laser plus=left", "instrument-unsuited"),
            ("gauge B kind=laser plus=up range=0.009", "gauge-range"),
            ("gauge B kind=laser plus=up graduation=0.02", "gauge-graduation"),
        ],
    },
    Kind {
        rule: "gap-range",
        text: "survey gap X.b date=\"DATE\" by=i WITH stage=verification { at S1 0; at S2 VALUE; at S3 0 }",
        conforming: "0.01",
        breaking: "0.08",
        good: "gauge G kind=micrometer plus=narrower",
        bad: &[
            ("gauge B kind=autocollimator plus=wider", "instrument-unsuited"),
            ("gauge B kind=micrometer plus=outward", "instrument-unsuited"),
            ("gauge B kind=micrometer plus=wider range=0.009", "gauge-range"),
            ("gauge B kind=micrometer plus=wider graduation=0.05", "gauge-graduation"),
        ],
    },
    Kind {
        rule: "running-force",
        text: "running-force X date=\"DATE\" by=i WITH { at 600 VALUE }",
        conforming: "14",
        breaking: "40",
        good: "gauge G kind=force-gauge",
        bad: &[
            ("gauge B kind=dial-indicator", "instrument-unsuited"),
            ("gauge B kind=force-gauge range=13", "gauge-range"),
            ("gauge B kind=force-gauge graduation=11", "gauge-graduation"),
        ],
    },
    Kind {
        rule: "torque-window",
        text: "fasten X.a date=\"DATE\" by=f WITH stage=full { at S1 VALUE }",
        conforming: "10.5",
        // Too little: what is too much is cured by no tightening.
        breaking: "9",
        good: "wrench G kind=indicating least=4 most=20",
        bad: &[("wrench B kind=indicating least=0.5 most=5", "wrench-range")],
    },
];

impl Kind {
    /// The instruments that cannot vouch, with what says so. Nothing stands for a record that names none.
    fn reasons(&self) -> Vec<(Option<String>, &'static str)> {
        let of_cause = self.bad.iter().map(|(bad, rule)| (Some(format!("{bad} {{ {HELD} }}")), *rule));
        let bad = self.good.replacen(" G ", " B ", 1);
        let days = NOT_CALIBRATED.iter().map(|days| (Some(format!("{bad} {{ {days} }}")), "gauge-calibration"));
        std::iter::once((None, "instrument-missing")).chain(of_cause).chain(days).collect()
    }

    fn word(&self) -> &'static str {
        self.good.split(' ').next().expect("gauge or wrench")
    }

    fn record(&self, day: u32, with: &str, breaking: bool) -> String {
        let value = if breaking { self.breaking } else { self.conforming };
        self.text.replace("DATE", &format!("2026-04-{day}")).replace("WITH", with).replace("VALUE", value)
    }

    /// The rules that speak of records of this kind, each once.
    fn told(&self, bad: Option<&str>, records: &[String]) -> Vec<&'static str> {
        let text = format!(
            "shop {{\n{} {{ {HELD} }}\n{}\n
             wrench TW-1 kind=setting least=0.5 most=5 {{ {HELD} }}
             wrench TW-2 kind=indicating least=4 most=20 {{ {HELD} }} }}
             {MACHINE}{TIGHTENED}{}\n",
            self.good,
            bad.unwrap_or_default(),
            records.join("\n")
        );
        let findings = lint_text(&text);
        let watched = |finding: &&Finding| {
            let coarse = finding.rule.as_str() == "gauge-graduation" && finding.grade == Grade::Nonconformity;
            EVIDENCE.contains(&finding.rule.as_str()) || coarse || finding.rule.as_str() == self.rule
        };
        let mut told: Vec<&str> = findings.iter().filter(watched).map(|finding| finding.rule.as_str()).collect();
        told.sort_unstable();
        told.dedup();
        told
    }
}

fn sorted(mut rules: Vec<&str>) -> Vec<&str> {
    rules.sort_unstable();
    rules
}

#[test]
fn what_does_not_count_makes_nothing_conform_and_clears_nothing() {
    let mut cases = 0;
    for kind in &KINDS {
        let good = |day, breaking| kind.record(day, &format!("{}=G", kind.word()), breaking);
        for (bad, reason) in kind.reasons() {
            let with = if bad.is_some() { format!("{}=B", kind.word()) } else { String::new() };
            let flawed = |day, breaking| kind.record(day, &with, breaking);
            let told = |records: &[String]| {
                cases += 1;
                kind.told(bad.as_deref(), records)
            };
            let mut told = told;
            let case = format!("{} with {}", kind.rule, bad.as_deref().unwrap_or("nothing named"));
            // Alone: what conforms is outstanding, a break is broken.
            assert_eq!(told(&[flawed(20, false)]), [reason], "{case}");
            assert_eq!(told(&[flawed(20, true)]), sorted(vec![reason, kind.rule]), "{case}: a break stays one");
            // A later one that counts makes it history, whatever it showed.
            for breaking in [false, true] {
                assert_eq!(told(&[flawed(20, breaking), good(21, false)]), [""; 0], "{case}: cured");
                assert_eq!(told(&[flawed(20, breaking), good(21, true)]), [kind.rule], "{case}: read again");
            }
            // After one that counts: nothing older revives, and what was broken stays so.
            assert_eq!(told(&[good(20, false), flawed(21, false)]), [reason], "{case}: the older does not revive");
            assert_eq!(told(&[good(20, true), flawed(21, false)]), sorted(vec![reason, kind.rule]), "{case}: cleared");
            assert_eq!(told(&[good(20, false), flawed(21, true)]), sorted(vec![reason, kind.rule]), "{case}: broken");
            assert_eq!(told(&[good(20, true), flawed(21, false), good(22, false)]), [""; 0], "{case}: all cured");
        }
        assert_eq!(kind.told(None, &[good(20, false)]), [""; 0], "{}", kind.rule);
        assert_eq!(kind.told(None, &[good(20, true)]), [kind.rule]);
    }
    assert!(cases > 400, "{cases}");
}

/// Everything but the wrench of the base is good; the records are given before the bolts are tightened or after.
fn of_rules(text: &str, rules: &[&str]) -> Vec<String> {
    let all = lint_text(text);
    let found = all.iter().filter(|finding| rules.contains(&finding.rule.as_str()));
    found.map(|finding| format!("{} {} {}", finding.grade.name(), finding.rule, finding.address)).collect()
}

fn shop(kind: &Kind) -> String {
    format!(
        "shop {{ {} {{ {HELD} }}
         wrench TW-1 kind=setting least=0.5 most=5 {{ {HELD} }}
         wrench TW-2 kind=indicating least=4 most=20 {{ {HELD} }} }}\n",
        kind.good
    )
}

#[test]
fn what_is_read_before_full_torque_is_outstanding_and_never_broken() {
    for kind in KINDS.iter().filter(|kind| kind.word() == "gauge") {
        let rules = ["reading-early", kind.rule];
        let address = kind.text.split(' ').find(|word| word.starts_with('X')).expect("an address");
        let ledger = |records: &[String]| format!("{}{MACHINE}{TIGHTENED}{}\n", shop(kind), records.join("\n"));
        for breaking in [false, true] {
            let early = kind.record(13, "gauge=G", breaking);
            let expected = [format!("outstanding reading-early {address}")];
            assert_eq!(of_rules(&ledger(std::slice::from_ref(&early)), &rules), expected, "{} {breaking}", kind.rule);
            let again = ledger(&[early.clone(), kind.record(15, "gauge=G", false)]);
            assert_eq!(of_rules(&again, &rules), [""; 0], "{}: read again", kind.rule);
            // Before any full torque is on record, torque-missing asks for it, and a break stands.
            let untorqued = format!("{}{MACHINE}{early}\n", shop(kind));
            let expected: &[String] = if breaking { &[format!("nonconformity {} {address}", kind.rule)] } else { &[] };
            assert_eq!(of_rules(&untorqued, &rules), expected, "{}", kind.rule);
        }
    }
}

#[test]
fn a_reading_rests_on_the_supports_beside_it_and_no_others() {
    // All is tight on the 14th but for one support, which follows on the 16th; read on the 15th.
    let late = |rail: &str, support: &str, record: &str, rules: &[&str]| {
        let name = format!("at {support} 10.5");
        let text = TIGHTENED.lines().map(|line| match line.starts_with(&format!("fasten X.{rail}")) {
            true => line.replace(&name, "").replace("{ ;", "{").replace("; ;", ";").replace("; }", "}"),
            false => line.to_string(),
        });
        let text: Vec<String> = text.collect();
        let after = format!("fasten X.{rail} date=\"2026-04-16\" by=f wrench=TW-2 stage=full {{ {name} }}");
        of_rules(&format!("{MACHINE}{}\n{record}\n{after}\n", text.join("\n")), rules)
    };
    let early = ["reading-early"];
    let straight = |at: &str| {
        format!("survey straightness X.a date=\"2026-04-15\" by=i stage=as-fitted plus=right {{ at {at} 0 }}")
    };
    // At a support that one, between two both, and no other.
    assert_eq!(late("a", "S2", &straight("S1"), &early), [""; 0]);
    assert_eq!(late("a", "S2", &straight("S2"), &early), ["outstanding reading-early X.a"]);
    assert_eq!(late("a", "S2", &straight("1500"), &early), ["outstanding reading-early X.a"]);
    assert_eq!(late("a", "S2", &straight("900"), &early), [""; 0]);
    // Gap and height rest on both rails.
    for survey in ["survey gap", "survey height"] {
        let at = |support: &str| {
            format!("{survey} X.b date=\"2026-04-15\" by=i stage=as-fitted plus=up {{ at {support} 0 }}")
        };
        assert_eq!(late("a", "S2", &at("S3"), &early), ["outstanding reading-early X.b"], "{survey}");
        assert_eq!(late("b", "S3", &at("S3"), &early), ["outstanding reading-early X.b"], "{survey}");
        assert_eq!(late("a", "S2", &at("S1"), &early), [""; 0], "{survey}");
    }
    // The force rests on all supports of the axis, a joint on its own and its neighbours.
    let force = "running-force X date=\"2026-04-15\" by=i { at 600 14 }";
    assert_eq!(late("b", "S3", force, &early), ["outstanding reading-early X"]);
    let joint = "inspect X.a.J1 date=\"2026-04-15\" by=i { light none }";
    for support in ["S1", "J1", "S2"] {
        assert_eq!(late("a", support, joint, &early), ["outstanding reading-early X.a.J1"], "{support}");
    }
    assert_eq!(late("b", "S1", joint, &early), [""; 0]);
}

#[test]
fn a_break_is_history_once_its_support_was_loosened() {
    let cases = [
        ("loosen X.a.S1 date=\"2026-04-21\" by=f", &KINDS[0], "inspection-stale"),
        ("loosen X.a date=\"2026-04-21\" by=f { at J1 }", &KINDS[1], "survey-stale"),
        ("loosen X.a date=\"2026-04-21\" by=f { at J1 }", &KINDS[2], "survey-stale"),
        ("loosen X.b date=\"2026-04-21\" by=f { at S2 }", &KINDS[3], "survey-stale"),
    ];
    for (loosen, kind, stale) in cases {
        let rules = [kind.rule, stale];
        let ledger =
            |more: &str| format!("{}{MACHINE}{TIGHTENED}{}\n{more}\n", shop(kind), kind.record(20, "gauge=G", true));
        let broken = of_rules(&ledger(""), &rules);
        assert!(broken.len() == 1 && broken[0].starts_with("nonconformity"), "{broken:?}");
        let open = of_rules(&ledger(loosen), &rules);
        assert!(open.len() == 1 && open[0].starts_with(&format!("outstanding {stale}")), "{open:?}");
    }
    // What lies too far from each other without the loosened station still does.
    let kind = &KINDS[1];
    let far = "survey straightness X.a date=\"2026-04-20\" by=i gauge=G stage=as-fitted { at S1 0; at 500 0.2; at 900 0; at S2 0 }";
    let text = format!("{}{MACHINE}{TIGHTENED}{far}\nloosen X.a.S2 date=\"2026-04-21\" by=f\n", shop(kind));
    assert_eq!(of_rules(&text, &[kind.rule]), ["nonconformity straightness-range X.a"]);
}

#[test]
fn where_nothing_says_which_came_first_the_time_is_asked_for() {
    let torque = "fasten X.a date=\"2026-04-14\" by=f stage=full { at J1 10.5; at S1 10.5; at S2 10.5 }";
    let read = "inspect X.a.J1 date=\"2026-04-14\" by=i { light none }";
    let early = |files: &[(&str, &str)]| -> Vec<String> {
        let judged = judge(&[&[("machine.kdl", MACHINE)], files].concat(), &[]);
        let found = judged.findings.iter().filter(|finding| finding.rule.as_str() == "reading-early");
        found.map(|finding| finding.message.clone()).collect()
    };
    let asked = ["nothing says whether J1 was read before X.a.S1 got full torque on 2026-04-14, or after"];
    assert_eq!(early(&[("a.kdl", torque), ("b.kdl", read)]), asked);
    assert_eq!(early(&[("a.kdl", read), ("b.kdl", torque)]), asked, "whatever the files are called");
    assert_eq!(early(&[("a.kdl", &format!("{torque}\n{read}"))]), [""; 0]);
    assert_eq!(early(&[("a.kdl", &format!("{read}\n{torque}"))]), ["J1 was read before full torque at X.a S1..S2"]);
    let timed = |text: &str, time: &str| text.replace("2026-04-14", &format!("2026-04-14T{time}"));
    assert_eq!(early(&[("a.kdl", &timed(torque, "08:00")), ("b.kdl", &timed(read, "09:00"))]), [""; 0]);
}

#[test]
fn a_record_may_state_its_own_plus_and_light_needs_no_gauge() {
    let machine = format!(
        "shop {{ gauge G kind=dial-indicator plus=wider {{ {HELD} }} }}
         machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}\n"
    );
    let told = |record: &str| of_rules(&format!("{machine}{record}"), &EVIDENCE);
    let read = |more: &str| told(&format!("inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G {more} {{ UL 0 -> 0.01 }}"));
    assert_eq!(read(""), ["outstanding instrument-unsuited X.a.J1"]);
    assert_eq!(read("plus=outward"), [""; 0]);
    assert_eq!(told("inspect X.a.J1 date=\"2026-04-15\" by=i { light none; feeler 0 }"), [""; 0]);
    assert_eq!(told("survey gap X.a date=\"2026-04-15\" by=i stage=as-fitted { at 100 #null }"), [""; 0]);
}

#[test]
fn no_axis_hides_behind_another() {
    // One gauge, run out, on two axes: each axis has its finding, since each is released by itself.
    let text = "shop { gauge G kind=dial-indicator { calibrated \"2025-01-12\" due=\"2026-01-12\" } }
        machine m {
            axis X { rail a { segment 1200; segment 1200 } }
            axis Y { rail a { segment 1200; segment 1200 } }
        }
        inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G { UL 0 -> 0.01 }
        inspect Y.a.J1 date=\"2026-04-15\" by=i gauge=G { UL 0 -> 0.01 }\n";
    let expected = ["outstanding gauge-calibration X.a.J1", "outstanding gauge-calibration Y.a.J1"];
    assert_eq!(of_rules(text, &EVIDENCE), expected);
}

/// What must be found in small ledgers that once passed, each as `grade rule address`; clean and complete is none.
fn seen(files: &[(&str, &str)], shops: &[&str]) -> Vec<String> {
    let judged = judge(files, shops);
    let open = |finding: &&Finding| finding.grade != Grade::Observation;
    assert!(judged.findings.iter().any(|finding| open(&finding)), "it is clean and complete");
    judged.findings.iter().map(|f| format!("{} {} {}", f.grade.name(), f.rule, f.address)).collect()
}

#[track_caller]
fn holds(found: &[String], expected: &[&str]) {
    for one in expected {
        assert!(found.iter().any(|line| line == one), "{one} is not in {found:#?}");
    }
}

#[test]
fn records_without_gauge_and_wrench_are_outstanding() {
    let text = r#"machine m {
    axis X {
        rail a { segment 1200; segment 1200; supports S first=120 pitch=240 count=2; joint-support J1 at=1200 length=200 }
    }
}
fasten X.a date="2026-04-14T08:05" by=fitter-2 stage=snug setting=1.5 { clicked J1 S2 S1 }
fasten X.a date="2026-04-14T08:10" by=fitter-2 stage=full { at J1 10 10 10 10; at S2 10.5 10.5; at S1 10.5 10.5 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0.01; LL 0 -> -0.01; LR 0 -> -0.01 }
"#;
    let mut found = seen(&[("machine.kdl", text)], &[]);
    found.retain(|line| !line.starts_with("not judged") && !line.contains("step-carrier"));
    assert_eq!(found, ["outstanding instrument-missing X.a", "outstanding instrument-missing X.a"]);
    let other = |finding: &Finding| finding.rule.as_str() != "step-carrier";
    let messages: Vec<String> = lint_text(text).into_iter().filter(other).map(|finding| finding.message).collect();
    assert_eq!(
        messages,
        [
            "2 fasten records of X.a name no wrench, and so cannot count",
            "1 inspect record of X.a names no gauge, and so cannot count",
        ]
    );
}

const TWO_RAILS: &str = r#"shop { profile R20 hole-pitch=60 end-distance=30 }
machine m { axis X {
    beam b { piece 2400 }
    rail a beam=b profile=R20 datum=left { segment 1200; segment 1200
        supports S first=240 pitch=240 count=9 length=80 { omit S5 }
        joint-support J1 at=1200 length=200 }
    rail c beam=d profile=R20 datum=right follows=a shims=widen { segment 2400; supports S first=240 pitch=240 count=9 length=80 }
    beam d { piece 2400 }
} }
"#;

const READ_TOO_EARLY: &str = r#"inspect X.a.J1 date="2026-01-05" by=inspector-1 {
    light none
    UL 0 -> 0.002
    UR 0 -> 0.004
    LL 0 -> -0.002
    LR 0 -> 0.006
}
"#;

const SURVEYED_TOO_EARLY: &str = r#"survey gap X.c date="2026-01-06" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.01; at S4 -0.02; at S5 -0.01; at S6 -0.02; at S7 -0.01; at S8 -0.02; at S9 -0.01 }
"#;

const TIGHTENED_IN_MAY: &str = r#"fasten X.a date="2026-05-11T08:00" by=fitter-2 stage=snug { at J1 1.5 1.5 1.5 1.5; at S4 1.5 1.5; at S3 1.5 1.5; at S2 1.5 1.5; at S1 1.5 1.5; at S6 1.5 1.5; at S7 1.5 1.5; at S8 1.5 1.5; at S9 1.5 1.5 }
fasten X.a date="2026-05-11T09:00" by=fitter-2 stage=full { at J1 10.5 10.5 10.5 10.5; at S4 10.5 10.5; at S3 10.5 10.5; at S2 10.5 10.5; at S1 10.5 10.5; at S6 10.5 10.5; at S7 10.5 10.5; at S8 10.5 10.5; at S9 10.5 10.5 }
fasten X.c date="2026-05-11T10:00" by=fitter-2 stage=snug { at S1 1.5 1.5; at S2 1.5 1.5; at S3 1.5 1.5; at S4 1.5 1.5; at S5 1.5 1.5; at S6 1.5 1.5; at S7 1.5 1.5; at S8 1.5 1.5; at S9 1.5 1.5 }
fasten X.c date="2026-05-11T11:00" by=fitter-2 stage=full { at S1 10.5 10.5; at S2 10.5 10.5; at S3 10.5 10.5; at S4 10.5 10.5; at S5 10.5 10.5; at S6 10.5 10.5; at S7 10.5 10.5; at S8 10.5 10.5; at S9 10.5 10.5 }
"#;

#[test]
fn joint_and_gap_read_in_january_and_tightened_in_may_are_outstanding() {
    let early = format!("{READ_TOO_EARLY}{SURVEYED_TOO_EARLY}");
    let found = seen(&[("machine.kdl", TWO_RAILS), ("a.kdl", &early), ("b.kdl", TIGHTENED_IN_MAY)], &[]);
    holds(
        &found,
        &[
            "outstanding reading-early X.a.J1",
            "outstanding reading-early X.c",
            "outstanding instrument-missing X.a",
            "outstanding instrument-missing X.c",
        ],
    );
}

#[test]
fn instruments_not_named_are_outstanding_where_nothing_else_is() {
    let machine = TWO_RAILS.replace(" follows=a shims=widen", "");
    let read = READ_TOO_EARLY.replace("2026-01-05", "2026-05-12");
    let found = seen(&[("machine.kdl", &machine), ("a.kdl", &read), ("b.kdl", TIGHTENED_IN_MAY)], &[]);
    // None of the rails follows the other, so that nobody measures how they lie to each other.
    let missing = ["outstanding instrument-missing X.a", "outstanding instrument-missing X.c"];
    holds(&found, &[&missing[..], &["not judged gap-range X", "not judged toe-in X"]].concat());
    assert!(!found.iter().any(|line| line.starts_with("outstanding reading-early")), "{found:?}");
}

#[test]
fn readings_of_4_8_and_40_mm_cannot_be_shown_on_a_range_of_0_8() {
    let text = r#"shop { profile R20 hole-pitch=60 end-distance=30; gauge DI-7 kind=dial-indicator graduation=0.002 range=0.8 plus=outward { calibrated "2026-01-02" due="2027-01-02" } }
machine m { axis X { beam b { piece 2400 }
    rail a beam=b profile=R20 datum=left { segment 1200; segment 1200
        supports S first=240 pitch=240 count=9 length=80 { omit S5 }
        joint-support J1 at=1200 length=200 } } }
inspect X.a.J1 date="2026-05-12" by=inspector-1 gauge=DI-7 { light none; UL 8.002 -> 8.004; UR 4 -> 4.002; LL 40 -> 40.002; LR 0 -> 0.002 }
"#;
    holds(&seen(&[("machine.kdl", text)], &[]), &["nonconformity gauge-range X.a.J1"]);
    let finding = lint_text(text).into_iter().find(|finding| finding.rule.as_str() == "gauge-range").expect("is found");
    assert_eq!(finding.message, "DI-7 cannot show 40.002 mm, nor 5 other readings of this record");
    assert_eq!(finding.limit.expect("has a limit").text, "at most 0.8 mm");
}

#[test]
fn a_force_gauge_reads_no_groove() {
    let shop = r#"shop {
 gauge FG-1 kind=force-gauge { calibrated "2026-02-02" due="2027-02-02" }
 gauge DI-4 kind=dial-indicator graduation=0.002 range=0.8 permissible-error=0.005 local-error=0.003 plus=outward { calibrated "2026-01-12" due="2027-01-12" }
}
"#;
    let machine = r#"machine m { axis X { rail a { segment 1200; segment 1200; segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=FG-1 { light none; UL 0 -> 0.01; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J2 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 4.000 -> 4.010; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J3 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J4 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0.009 0 -> -0.018 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
"#;
    let found = seen(&[("machine.kdl", machine)], &[shop]);
    holds(&found, &["outstanding instrument-unsuited X.a.J1", "nonconformity gauge-range X.a.J2"]);
}
