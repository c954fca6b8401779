//! The flat table of readings: nothing missing, nothing twice, nothing a spreadsheet would run.

use std::collections::BTreeMap;

use assert_cmd::Command;
use wayledger::format::Delimited;
use wayledger::papers::{self, Reading, ReadingVerdict};

use crate::common::judge;

const SHOP: &str = r#"
shop "Slip 2" {
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.003 local-error=0.002 plus=outward {
        calibrated "2026-01-12" due="2027-01-12"
    }
    profile R20 hole-pitch=60 end-distance=30
    fastener rb thread=M6 class="10.9" into=steel
}
"#;

const MACHINE: &str = r#"
machine saw {
    axis X {
        rail port profile=R20 rail-bolt=rb {
            segment 1200
            segment 1200
            supports S first=120 pitch=240 count=9 length=80
            joint-support J1 at=1200 length=160
        }
    }
}
"#;

fn readings(records: &str) -> Vec<Reading> {
    papers::readings(&judge(&[("machine.kdl", MACHINE), ("day.kdl", records)], &[SHOP]))
}

fn verdicts(records: &str) -> Vec<(String, String, ReadingVerdict)> {
    let row = |reading: Reading| (format!("{} {}", reading.address, reading.what), reading.written, reading.verdict);
    readings(records).into_iter().map(row).collect()
}

fn is(what: &str, written: &str, verdict: ReadingVerdict) -> (String, String, ReadingVerdict) {
    (what.into(), written.into(), verdict)
}

#[test]
fn torques_have_the_verdict_of_what_the_bolt_holds_now() {
    let found = verdicts(
        r#"
fasten X.port date="2026-04-14" by=fitter-2 stage=full {
    at S1 10.40 11.5
    at S2 (in-lbf)92 #null
    at S3 10.5 10.5
}
fasten X.port date="2026-04-15" by=fitter-2 stage=full { at S3 10.6 #null }
loosen X.port.S2 date="2026-04-16" by=fitter-2
"#,
    );
    assert_eq!(
        found,
        [
            is("X.port.S1 bolt 1", "10.40", ReadingVerdict::Conforming),
            is("X.port.S1 bolt 2", "11.5", ReadingVerdict::Nonconforming),
            is("X.port.S2 bolt 1", "(in-lbf)92", ReadingVerdict::Stale),
            is("X.port.S3 bolt 1", "10.5", ReadingVerdict::Replaced),
            is("X.port.S3 bolt 2", "10.5", ReadingVerdict::Conforming),
            is("X.port.S3 bolt 1", "10.6", ReadingVerdict::Conforming),
        ]
    );
}

#[test]
fn steps_say_whether_they_conform_and_a_withdrawn_record_says_so() {
    let found = verdicts(
        r#"
inspect X.port.J1 date="2026-04-14" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0.004 }
inspect X.port.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0.03; UR -0.002 -> 0.002 }
inspect X.port.J1 date="2026-04-16" by=inspector-1 gauge=DI-4 { LL 0 -> 0.05 }
void inspect X.port.J1 of="2026-04-16" date="2026-04-17" by=inspector-1 reason="wrong joint"
"#,
    );
    let of = |what: &str| -> Vec<ReadingVerdict> {
        found.iter().filter(|(name, ..)| name == &format!("X.port.J1 {what}")).map(|(.., verdict)| *verdict).collect()
    };
    assert_eq!(of("UL difference"), [ReadingVerdict::Replaced, ReadingVerdict::Nonconforming]);
    assert_eq!(of("UR difference"), [ReadingVerdict::Conforming]);
    assert_eq!(of("UR before"), [ReadingVerdict::Conforming]);
    assert_eq!(of("LL after"), [ReadingVerdict::Void]);
    assert_eq!(of("light"), [ReadingVerdict::Replaced, ReadingVerdict::Conforming]);
}

#[test]
fn a_torque_without_a_window_is_not_called_conforming() {
    let machine = MACHINE.replace(" rail-bolt=rb", "");
    let record = "fasten X.port date=\"2026-04-14\" by=fitter-2 stage=full { at S1 10.4 40 }";
    let all = papers::readings(&judge(&[("machine.kdl", &machine), ("day.kdl", record)], &[SHOP]));
    let said: Vec<ReadingVerdict> = all.iter().map(|reading| reading.verdict).collect();
    assert_eq!(said, [ReadingVerdict::Unjudged, ReadingVerdict::Unjudged]);
}

#[test]
fn values_are_exact_and_in_plain_units() {
    let all = readings(
        "fasten X.port date=\"2026-04-14\" by=fitter-2 stage=full { at S1 (in-lbf)92 }\n\
         inspect X.port.J1 date=\"2026-04-14\" by=inspector-1 gauge=DI-4 temperature=(degF)68 { UL (um)-4 -> 0.010 }",
    );
    let row = |what: &str| all.iter().find(|reading| reading.what == what).expect(what);
    // 1 in-lbf = 0.0254 m × 4.4482216152605 N (NIST SP 811, appendix B).
    assert_eq!(row("bolt 1").value.as_deref(), Some("10.3946042705407364"));
    assert_eq!((row("UL before").value.as_deref(), row("UL before").unit), (Some("-0.004"), "mm"));
    assert_eq!(row("UL difference").value.as_deref(), Some("0.014"));
    assert_eq!(row("temperature").value.as_deref(), Some("20"));
    assert_eq!((row("UL before").line, row("UL before").file.as_str()), (2, "m/day.kdl"));
}

#[test]
fn quotes_and_commas_come_back_whole_and_line_breaks_written_out() {
    let serial = "=HYPERLINK(\\\"x\\\"),\\n\\\"K\\\"";
    let all = readings(&format!(
        "receive date=\"2026-03-30\" by=inspector-1 {{ part serial=\"{serial}\" length=1200 }}\n\
         fasten X.port date=\"2026-04-14\" by=\"a,b\" wrench=\"@T\" stage=full {{ at S1 10.5 }}"
    ));
    let mut bytes = Vec::new();
    let mut table = Delimited::new(&mut bytes).expect("a table");
    for reading in &all {
        table.row(reading).expect("a row");
    }
    table.finish().expect("a table");
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    assert_eq!(reader.headers().expect("names"), Reading::COLUMNS.as_slice());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), all.len());
    assert_eq!(&rows[0][2], "'=HYPERLINK(\"x\"),\\u{a}\"K\"");
    assert_eq!(&rows[1][9], "'@T");
    assert_eq!(&rows[1][10], "a,b");
}

fn run(arguments: &[&str]) -> (String, Option<i32>) {
    let output = Command::cargo_bin("wayledger")
        .expect("the program is built")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(arguments)
        .output()
        .expect("it runs");
    (String::from_utf8(output.stdout).expect("text"), output.status.code())
}

#[test]
fn every_number_of_the_example_is_in_the_table() {
    let folder = "example-ledgers/boatyard/hull-gantry";
    let (table, code) = run(&["export", folder, "--today", "2026-11-01"]);
    assert_eq!(code, Some(0));
    let mut counted: BTreeMap<String, usize> = BTreeMap::new();
    for row in csv::Reader::from_reader(table.as_bytes()).records() {
        let row = row.expect("a row");
        if !row[5].contains("clicked") && !row[5].contains("difference") && !row[7].is_empty() && &row[3] != "receive" {
            *counted.entry(row[3].to_owned()).or_default() += 1;
        }
    }
    // Counted from the text alone: numbers behind the first word of `at`, `closure` and groove rows, and temperatures.
    let mut expected: BTreeMap<String, usize> = BTreeMap::new();
    let files = std::fs::read_dir(format!("{}/{folder}", env!("CARGO_MANIFEST_DIR"))).expect("the example is there");
    for file in files {
        let file = file.expect("a file").path();
        if file.ends_with("machine.kdl") {
            continue;
        }
        let mut record = String::new();
        for line in std::fs::read_to_string(file).expect("a text").lines() {
            let words: Vec<&str> = line.split_whitespace().collect();
            if !line.starts_with([' ', '}']) && !words.is_empty() {
                record = words[0].to_owned();
            }
            let numbers = |from: usize| words.iter().skip(from).filter(|word| word.parse::<f64>().is_ok()).count();
            let count = match words.first().copied().unwrap_or("") {
                "at" | "closure" => numbers(2),
                "UL" | "UR" | "LL" | "LR" => numbers(1),
                _ => words.iter().filter(|word| word.starts_with("temperature=")).count(),
            };
            if count > 0 {
                *expected.entry(record.clone()).or_default() += count;
            }
        }
    }
    assert!(expected.values().sum::<usize>() > 300);
    assert_eq!(counted, expected);
}

#[test]
fn json_lines_say_the_same_as_the_table() {
    let (lines, _) = run(&["export", "example-ledgers/faults", "--format", "jsonl", "--today", "2026-11-01"]);
    let (table, _) = run(&["export", "example-ledgers/faults", "--today", "2026-11-01"]);
    let rows: Vec<csv::StringRecord> =
        csv::Reader::from_reader(table.as_bytes()).records().map(|row| row.expect("a row")).collect();
    assert_eq!(lines.lines().count(), rows.len());
    for (line, row) in lines.lines().zip(&rows) {
        let object: serde_json::Value = serde_json::from_str(line).expect("a line is JSON");
        for (i, column) in Reading::COLUMNS.iter().enumerate() {
            let cell = row[i].strip_prefix('\'').unwrap_or(&row[i]);
            let said = match &object[column] {
                serde_json::Value::String(text) => text.clone(),
                serde_json::Value::Array(all) => {
                    all.iter().filter_map(|one| one.as_str()).collect::<Vec<_>>().join(" ")
                }
                serde_json::Value::Null => String::new(),
                other => other.to_string(),
            };
            let number = Reading::NUMBERS.contains(column);
            assert!(said == cell || number && said.parse::<f64>().ok() == cell.parse().ok(), "{column}: {said} {cell}");
        }
    }
    assert_eq!(run(&["export", "example-ledgers/faults", "--format", "jsonl", "--today", "2026-11-01"]).0, lines);
}

#[test]
fn completions_and_manual_name_every_command() {
    let (help, _) = run(&["--help"]);
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| line.starts_with("  "))
        .filter_map(|line| line.strip_prefix("  ").filter(|line| !line.starts_with(' '))?.split_whitespace().next())
        .collect();
    assert!(commands.contains(&"lint") && commands.contains(&"export"), "{commands:?}");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (script, code) = run(&["completions", shell]);
        assert_eq!(code, Some(0));
        for command in &commands {
            assert!(script.contains(command), "{shell} lacks {command}");
        }
    }
    let (page, _) = run(&["manual"]);
    for command in &commands {
        let escaped = command.replace('-', "\\-");
        assert!(page.contains(&format!("wayledger\\-{escaped}(1)")), "the manual lacks {command}");
        let (page, code) = run(&["manual", command]);
        assert_eq!(code, Some(0));
        assert!(page.contains(&format!(".TH wayledger-{command} 1")), "{page}");
    }
    assert_eq!(run(&["manual", "lnit"]).1, Some(2));
    assert_eq!(run(&["completions", "abacus"]).1, Some(2));
}

/// Whoever reads the output may stop: that is no fault of a ledger, and the command comes to its verdict all the same. A
/// disk that is full is one.
#[test]
#[cfg(target_os = "linux")]
fn a_reader_that_stops_is_no_fault() {
    let boatyard = concat!(env!("CARGO_MANIFEST_DIR"), "/example-ledgers/boatyard");
    let run = |arguments: &str, to: &str| {
        let line = format!("exec '{}' {arguments} {to}", env!("CARGO_BIN_EXE_wayledger"));
        std::process::Command::new("sh").args(["-c", &line]).current_dir(boatyard).output().expect("it runs")
    };
    for arguments in [
        "export",
        "export --format jsonl",
        "report --today 2026-11-01",
        "lint --today 2026-11-01",
        "lint --format json --today 2026-11-01",
        "rules",
        "--help",
        "lint --help",
        "--version",
        "manual",
        "completions bash",
    ] {
        let whole = run(arguments, "");
        // The reading end is gone before a byte is written.
        let line =
            format!("{{ '{}' {arguments}; echo $? >&3; }} 3>&2 | true; sleep 0.1", env!("CARGO_BIN_EXE_wayledger"));
        let cut = std::process::Command::new("sh").args(["-c", &line]).current_dir(boatyard).output().expect("it runs");
        let said = String::from_utf8_lossy(&cut.stderr).trim().to_string();
        assert_eq!(said, whole.status.code().expect("a code").to_string(), "{arguments}");
        let full = run(arguments, "> /dev/full");
        let said = String::from_utf8_lossy(&full.stderr).into_owned();
        assert_eq!(full.status.code(), Some(2), "{arguments}: {said}");
        assert!(said.contains("cannot write the output"), "{arguments}: {said}");
    }
}
