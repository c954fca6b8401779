//! Records of one day in two files, without a time: whichever file comes first by its name, the same is said of them, or
//! the time is asked for.

use std::collections::BTreeSet;

use wayledger::lint::Grade;

use crate::common::judge;
use crate::common::machines::Dice;

const MACHINE: &str = r#"
machine m {
    axis X {
        run from=0 to=2400
        service-interval re-torque months=1
        service-interval lubricate travelled=(km)500
        rail a { segment 1200 serial=K-1 lot=L1; segment 1200 serial=K-2 lot=L1; supports S first=200 pitch=400 count=6; joint-support J1 at=1200 length=200 }
        rail b follows=a shims=widen { segment 1200; segment 1200; supports S first=200 pitch=400 count=6; joint-support J1 at=1200 length=200 }
    }
}
shop { rulebook { gap-range most=0.02 reason="carriage"; straightness most=0.02 reason="carriage"; height-range most=0.02 reason="carriage" } }
"#;

/// What was done the days before.
const BEFORE: &str = r#"
receive date="2026-04-01" by=store-1 { part serial=K-1 lot=L1 }
fasten X.a date="2026-04-10" by=f stage=snug setting=1.5 { clicked J1 S3..S1 S4..S6 }
fasten X.a date="2026-04-10" by=f stage=full setting=10.5 { clicked J1 S3..S1 S4..S6 }
fasten X.b date="2026-04-10" by=f stage=snug setting=1.5 { clicked J1 S3..S1 S4..S6 }
fasten X.b date="2026-04-10" by=f stage=full setting=10.5 { clicked J1 S3..S1 S4..S6 }
survey gap X.b date="2026-04-11" by=i stage=as-fitted { at S1 0; at S2 0; at S3 0; at S4 0; at S5 0; at S6 0 }
inspect X.a.J1 date="2026-04-11" by=i { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
inspect X.b.J1 date="2026-04-11" by=i { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
hold X.b date="2026-04-12" by=e reason="it rattles"
"#;

/// Records of each kind that differ in what they say; `DATE` stands for their date.
const RECORDS: [&str; 42] = [
    "fasten X.a date=DATE by=f stage=full { at S2 10.5 10.5 }",
    "fasten X.a date=DATE by=g stage=full { at S2 14.5 10.5 }",
    "fasten X.a date=DATE by=g stage=full setting=10.5 { clicked S1..S3 J1 }",
    "fasten X.a date=DATE by=g stage=full setting=10.5 { clicked S1..S3; missed S2 bolt=1 }",
    "fasten X.a date=DATE by=f stage=snug setting=1.5 { clicked S2 S3 }",
    "fasten X.a date=DATE by=f stage=snug setting=3.5 { clicked S2 S3 }",
    "fasten X.a date=DATE by=f stage=full interface=base { at S2 10.5 10.5 }",
    "fasten X.b date=DATE by=f stage=full setting=10.5 { clicked J1 S4 }",
    "loosen X.a date=DATE by=f { at S2 }",
    "loosen X.a date=DATE by=g { at J1 S4 }",
    "loosen X.a date=DATE by=g interface=base { at S2 }",
    "loosen X.b.S4 date=DATE by=g",
    "shim X.b date=DATE by=f { at S4 0.05 }",
    "shim X.b date=DATE by=g { at S4 0.02; at S2 0.05 }",
    "inspect X.a.J1 date=DATE by=i { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }",
    "inspect X.a.J1 date=DATE by=j { light none; UL 0 -> 0.05; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }",
    "inspect X.a.J1 date=DATE by=j { light seen }",
    "inspect X.b.J1 date=DATE by=i { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }",
    "survey gap X.b date=DATE by=i stage=as-fitted { at S1 0; at S2 0; at S3 0.01; at S4 -0.05; at S5 0; at S6 0 }",
    "survey gap X.b date=DATE by=i stage=verification { at S1 0; at S2 0; at S3 0; at S4 0; at S5 0; at S6 0 }",
    "survey gap X.b date=DATE by=j stage=verification { at S1 0; at S2 0.06; at S3 0; at S4 0; at S5 0; at S6 0 }",
    "survey straightness X.a date=DATE by=i stage=verification { at S1 0; at S3 0.01; at S6 0 }",
    "survey straightness X.a date=DATE by=j stage=verification { at S1 0; at S3 0.09; at S6 0 }",
    "survey height X.b date=DATE by=i stage=verification { at S1 0; at S3 0.09; at S6 0 }",
    "receive date=DATE by=s { part serial=K-1 lot=L1 }",
    "receive date=DATE by=t { part serial=K-1 lot=L2 state=rejected }",
    "running-force X date=DATE by=i { at 600 14 }",
    "running-force X date=DATE by=j { at 600 400 }",
    "service X date=DATE by=f task=re-torque",
    "service X date=DATE by=f task=lubricate travelled=(km)100",
    "service X date=DATE by=g task=reading travelled=(km)900",
    "release X date=DATE by=e",
    "concession joint-step X.a.J1 date=DATE by=e accepts=0.05 reason=\"as agreed\"",
    "hold X.a.J1 date=DATE by=e reason=\"it is what was read\"",
    "hold X.b date=DATE by=e reason=\"it rattles\"",
    "lift X.b date=DATE by=e disposition=rework reason=\"seat cleaned\"",
    "attach X.a.J1 date=DATE by=i file=\"J1.jpg\" sha256=\"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855\"",
    "void inspect X.b.J1 of=\"2026-04-11\" date=DATE by=e reason=\"read on another joint\"",
    "inspect X.a.J1 date=DATE by=j replaces=\"2026-04-11\" { light none; UL 0 -> 0.03; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }",
    "survey gap X.b date=DATE by=j replaces=\"2026-04-11\" stage=as-fitted { at S1 0; at S2 0; at S3 0; at S4 -0.03; at S5 0; at S6 0 }",
    "service X date=DATE by=g task=re-inspect travelled=(km)100",
    "release X date=DATE by=g",
];

/// The kinds of record that the language has.
#[test]
fn every_kind_of_record_is_among_them() {
    let schema = include_str!("../../schema/records.kdl");
    let kinds: BTreeSet<&str> =
        schema.lines().filter_map(|line| line.strip_prefix("node ")?.strip_suffix(" {")).collect();
    let tried: BTreeSet<&str> = RECORDS.iter().filter_map(|text| text.split(' ').next()).collect();
    assert_eq!(tried, kinds);
}

/// What is found beside observations, and whether the time was asked for.
fn said(files: &[(&str, String)]) -> (BTreeSet<String>, bool) {
    let mut all: Vec<(&str, &str)> = vec![("0-before.kdl", BEFORE), ("machine.kdl", MACHINE)];
    all.extend(files.iter().map(|(name, text)| (*name, text.as_str())));
    let judged = judge(&all, &[]);
    assert_eq!(judged.ledger.text_findings, []);
    let asked = judged.findings.iter().any(|finding| finding.rule.as_str() == "date-order");
    let findings =
        judged.findings.iter().filter(|it| it.rule.as_str() != "date-order" && it.grade != Grade::Observation);
    let said = findings.map(|it| {
        format!(
            "{} {} {} {:?} {:?}",
            it.rule,
            it.grade.name(),
            it.address,
            it.found,
            it.held.as_ref().map(|held| &held.since)
        )
    });
    (said.collect(), asked)
}

const DAY: &str = "\"2026-04-20\"";

#[test]
fn every_pair_of_kinds_says_the_same_in_either_order_or_is_asked_for_its_time() {
    let (mut faults, mut asked_for, mut silent) = (Vec::new(), 0, 0);
    for (at, one) in RECORDS.iter().enumerate() {
        for other in &RECORDS[at + 1..] {
            let [x, y] = [one, other].map(|text| text.replace("DATE", DAY) + "\n");
            let (first, asked) = said(&[("p.kdl", x.clone()), ("q.kdl", y.clone())]);
            let (second, again) = said(&[("p.kdl", y), ("q.kdl", x)]);
            match (asked, again) {
                (true, true) => asked_for += 1,
                (false, false) if first == second => silent += 1,
                _ => faults.push(format!(
                    "{one}\n{other}\n  asked {asked}, {again}; {:?}",
                    first.symmetric_difference(&second)
                )),
            }
        }
    }
    assert!(faults.is_empty(), "{} pairs:\n{}", faults.len(), faults.join("\n"));
    // Neither always nor never.
    assert!(asked_for > 60 && silent > 300, "{asked_for} asked for, {silent} not");
}

#[test]
fn what_touches_nothing_in_common_is_not_asked_for_its_time() {
    let quiet = [(0, 7), (8, 11), (0, 12), (14, 17), (14, 26), (21, 23), (24, 26), (8, 9), (14, 32), (31, 32), (0, 24)];
    for (one, other) in quiet {
        let [x, y] = [one, other].map(|at: usize| RECORDS[at].replace("DATE", DAY) + "\n");
        let (_, asked) = said(&[("p.kdl", x), ("q.kdl", y)]);
        assert!(!asked, "{}\n{}", RECORDS[one], RECORDS[other]);
    }
}

/// A day of several records in two files, some with a time.
#[test]
fn days_at_random_say_the_same_whatever_their_files_are_called() {
    let (mut asked_for, mut silent) = (0, 0);
    for seed in 0..500 {
        let mut dice = Dice::new(seed);
        let mut file = |minutes: i64| {
            let mut minute = minutes;
            let mut text = String::new();
            for _ in 0..dice.roll(1..=3) {
                minute += dice.roll(1..=20);
                let date = match dice.chance(50) {
                    true => format!("\"2026-04-20T10:{minute:02}\""),
                    false => DAY.to_string(),
                };
                text += &(dice.pick(&RECORDS).replace("DATE", &date) + "\n");
            }
            text
        };
        let [x, y] = [file(0), file(0)];
        let (first, asked) = said(&[("p.kdl", x.clone()), ("q.kdl", y.clone())]);
        let (second, again) = said(&[("p.kdl", y.clone()), ("q.kdl", x.clone())]);
        assert_eq!(asked, again, "seed {seed}\n{x}--\n{y}");
        match asked {
            true => asked_for += 1,
            false => {
                silent += 1;
                assert_eq!(first, second, "seed {seed}\n{x}--\n{y}");
            }
        }
    }
    assert!(asked_for > 100 && silent > 100, "{asked_for} asked for, {silent} not");
}

#[test]
fn a_record_without_a_time_has_not_that_of_the_one_above_it() {
    let inspected = "inspect X.a.J1 date=\"2026-04-20T10:00\" by=i { feeler 0 }\n";
    let loosened = "loosen X.a date=\"2026-04-20\" by=f { at J1 }\n";
    let read = |time: &str| RECORDS[14].replace("DATE", &format!("\"2026-04-20T{time}\"")) + "\n";
    let asked = |time: &str, mine: String| said(&[("p.kdl", mine), ("q.kdl", read(time))]).1;
    let below = || format!("{inspected}{loosened}");
    // Loosened at ten or later: certainly after nine, perhaps before eleven.
    assert!(!asked("09:00", below()));
    assert!(asked("10:00", below()));
    assert!(asked("11:00", below()));
    let above = || format!("{loosened}{inspected}");
    assert!(asked("09:00", above()));
    assert!(!asked("11:00", above()));
    // Another day says nothing of this one.
    assert!(asked("11:00", format!("{}{loosened}", inspected.replace("04-20T10:00", "04-19T10:00"))));
}
