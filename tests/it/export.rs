//! The flat table of readings: nothing missing, nothing twice, nothing a spreadsheet would run.

use std::collections::BTreeMap;
use std::path::Path;

use assert_cmd::Command;
use wayledger::files::{self, Disk, find_all};
use wayledger::format::ReadingFormat;
use wayledger::lint::lint;
use wayledger::papers::{self, ExactNumber, Reading, ReadingVerdict};

use crate::common::{judge, program};

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

/// What was read, in short: `torque rail 1`, `groove UL before`.
fn what(reading: &Reading) -> String {
    let bolt = reading.bolt.map_or(String::new(), |bolt| bolt.to_string());
    let parts = [reading.quantity.as_str(), reading.groove, reading.side, reading.interface, &bolt];
    parts.iter().filter(|part| !part.is_empty()).copied().collect::<Vec<_>>().join(" ")
}

fn number(reading: &Reading) -> &str {
    reading.value.as_ref().map_or("", |value| value.0.as_str())
}

fn cell<'r>(row: &'r csv::StringRecord, column: &str) -> &'r str {
    &row[Reading::COLUMNS.iter().position(|it| *it == column).expect("a column")]
}

fn verdicts(records: &str) -> Vec<(String, String, ReadingVerdict)> {
    let row = |reading: Reading| (format!("{} {}", reading.address, what(&reading)), reading.written, reading.verdict);
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
            is("X.port.S1 torque rail 1", "10.40", ReadingVerdict::Conforming),
            is("X.port.S1 torque rail 2", "11.5", ReadingVerdict::Nonconforming),
            is("X.port.S2 torque rail 1", "(in-lbf)92", ReadingVerdict::Stale),
            is("X.port.S3 torque rail 1", "10.5", ReadingVerdict::Replaced),
            is("X.port.S3 torque rail 2", "10.5", ReadingVerdict::Conforming),
            is("X.port.S3 torque rail 1", "10.6", ReadingVerdict::Conforming),
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
    assert_eq!(of("step UL"), [ReadingVerdict::Replaced, ReadingVerdict::Nonconforming]);
    assert_eq!(of("step UR"), [ReadingVerdict::Conforming]);
    assert_eq!(of("groove UR before"), [ReadingVerdict::Conforming]);
    assert_eq!(of("groove LL after"), [ReadingVerdict::Void]);
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
    let row = |it: &str| all.iter().find(|reading| what(reading) == it).expect(it);
    // 1 in-lbf = 0.0254 m × 4.4482216152605 N (NIST SP 811, appendix B).
    assert_eq!(number(row("torque rail 1")), "10.3946042705407364");
    assert_eq!((number(row("groove UL before")), row("groove UL before").unit), ("-0.004", "mm"));
    assert_eq!(number(row("step UL")), "0.014");
    assert_eq!(number(row("temperature")), "20");
    assert_eq!((row("groove UL before").line, row("groove UL before").file.as_str()), (2, "m/day.kdl"));
}

#[test]
fn quotes_and_commas_come_back_whole_and_line_breaks_written_out() {
    let serial = "=HYPERLINK(\\\"x\\\"),\\n\\\"K\\\"";
    let records = format!(
        "receive date=\"2026-03-30\" by=inspector-1 {{ part serial=\"{serial}\" length=1200 }}\n\
         fasten X.port date=\"2026-04-14\" by=\"a,b\" wrench=\"@T\" stage=full {{ at S1 10.5 }}"
    );
    let judged = judge(&[("machine.kdl", MACHINE), ("day.kdl", &records)], &[SHOP]);
    let all = papers::readings(&judged);
    let mut bytes = ReadingFormat::Delimited.head().into_bytes();
    bytes.extend(ReadingFormat::Delimited.rows(&judged).expect("written to memory"));
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    assert_eq!(reader.headers().expect("names"), Reading::COLUMNS.as_slice());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), all.len());
    assert_eq!(cell(&rows[0], "address"), "'=HYPERLINK(\"x\"),\\u{a}\"K\"");
    assert_eq!(cell(&rows[1], "instrument"), "'@T");
    assert_eq!(cell(&rows[1], "by"), "a,b");
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
        let of = |column: &str| cell(&row, column);
        if !["setting", "step"].contains(&of("quantity")) && !of("value").is_empty() && of("record") != "receive" {
            *counted.entry(of("record").to_owned()).or_default() += 1;
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
                serde_json::Value::Bool(is) => is.to_string(),
                other => other.to_string(),
            };
            let number = Reading::NUMBERS.contains(column);
            assert!(said == cell || number && said.parse::<f64>().ok() == cell.parse().ok(), "{column}: {said} {cell}");
        }
    }
    assert_eq!(run(&["export", "example-ledgers/faults", "--format", "jsonl", "--today", "2026-11-01"]).0, lines);
}

/// What rows share is spelt once: each line of JSON is still what `serde` makes of its reading.
#[test]
fn a_row_says_what_its_reading_says() {
    let disk = Disk::at(Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers")).expect("the examples");
    let found = find_all(&disk, &["boatyard", "faults"].map(|path| files::Path(path.into()))).expect("ledgers").found;
    let mut count = 0;
    lint(&disk, &found, jiff::civil::date(2026, 11, 1), |judged| {
        let lines = ReadingFormat::JsonLines.rows(&judged).expect("written to memory");
        let lines = String::from_utf8(lines).expect("text");
        let readings = papers::readings(&judged);
        assert_eq!(lines.lines().count(), readings.len());
        for (line, reading) in lines.lines().zip(&readings) {
            assert_eq!(line, serde_json::to_string(reading).expect("JSON"));
        }
        count += readings.len();
    });
    assert!(count > 2000, "{count}");
}

/// The columns are the fields of a row, and each says what it holds.
#[test]
fn the_columns_are_the_fields_of_a_row() {
    let formats = wayledger::format::JSON_FORMATS;
    let row = formats.iter().find(|it| it.format.starts_with("wayledger-reading-")).expect("a row");
    let schema = row.schema();
    let fields = schema.get("properties").and_then(|all| all.as_object()).expect("fields");
    let names: Vec<&str> = fields.keys().map(String::as_str).filter(|name| *name != "format").collect();
    assert_eq!(names, Reading::COLUMNS);
    for (name, of) in fields {
        assert!(of["description"].as_str().is_some_and(|text| text.len() > 8), "{name}");
    }
    let is_number = |of: &serde_json::Value| {
        let ty = of.get("type").or_else(|| of.get("anyOf")).map(ToString::to_string).unwrap_or_default();
        ty.contains("number") || ty.contains("integer")
    };
    let numbers: Vec<&str> = fields.iter().filter(|(_, of)| is_number(of)).map(|(name, _)| name.as_str()).collect();
    assert_eq!(numbers, Reading::NUMBERS);
}

/// Each row of all examples has an id of its own, and it stays when other lines move.
#[test]
fn an_id_names_one_reading_and_stays() {
    let mut seen = std::collections::BTreeSet::new();
    for folder in ["example-ledgers/boatyard", "example-ledgers/faults"] {
        let (table, _) = run(&["export", folder, "--today", "2026-11-01"]);
        for row in csv::Reader::from_reader(table.as_bytes()).records() {
            let id = cell(&row.expect("a row"), "id").to_owned();
            assert!(seen.insert(id.clone()), "{id}");
        }
    }
    assert!(seen.len() > 2000, "{}", seen.len());

    let records = "fasten X.port date=\"2026-04-14\" by=fitter-2 stage=full { at S1 10.4 10.5; at S1 10.6 }\n\
        fasten X.port date=\"2026-04-14\" by=fitter-2 stage=full { at S1 10.4 }\n\
        inspect X.port.J1 date=\"2026-04-14T10:00\" by=inspector-1 { UL 0 -> 0.004 0 -> 0.005 }\n";
    let ids = |text: &str| readings(text).into_iter().map(|it| it.id).collect::<Vec<_>>();
    let was = ids(records);
    assert_eq!(
        was,
        [
            "m|fasten full|X.port|2026-04-14|1|X.port.S1|torque rail 1|1",
            "m|fasten full|X.port|2026-04-14|1|X.port.S1|torque rail 2|1",
            "m|fasten full|X.port|2026-04-14|1|X.port.S1|torque rail 1|2",
            "m|fasten full|X.port|2026-04-14|2|X.port.S1|torque rail 1|1",
            "m|inspect|X.port.J1|2026-04-14T10:00|1|X.port.J1|groove UL before|1",
            "m|inspect|X.port.J1|2026-04-14T10:00|1|X.port.J1|groove UL after|1",
            "m|inspect|X.port.J1|2026-04-14T10:00|1|X.port.J1|step UL|1",
            "m|inspect|X.port.J1|2026-04-14T10:00|1|X.port.J1|groove UL before|2",
            "m|inspect|X.port.J1|2026-04-14T10:00|1|X.port.J1|groove UL after|2",
            "m|inspect|X.port.J1|2026-04-14T10:00|1|X.port.J1|step UL|2",
        ]
    );
    let more =
        format!("// a remark\nfasten X.port date=\"2026-04-13\" by=fitter-2 stage=snug {{ at S1 2 2 }}\n{records}");
    assert!(was.iter().all(|id| ids(&more).contains(id)));
    // Another stage of the same day is another record.
    let more = format!("fasten X.port date=\"2026-04-14\" by=fitter-2 stage=snug {{ at S1 2 2 }}\n{records}");
    assert!(was.iter().all(|id| ids(&more).contains(id)));
}

/// What proves nothing is not in force, though nothing came after it.
#[test]
fn what_proves_nothing_is_not_in_force() {
    let records = "inspect X.port.J1 date=\"2026-04-15\" by=inspector-1 gauge=DI-4 stage=aligning { UL 0 -> 0.01 }\n\
        inspect X.port.J1 date=\"2026-04-16\" by=inspector-1 gauge=DI-4 { UR 0 -> 0.01 }\n\
        inspect X.port.J1 date=\"2027-04-16\" by=inspector-1 gauge=DI-4 { LL 0 -> 0.01 }\n\
        inspect X.port.J1 date=\"2026-04-17\" by=inspector-1 { LR 0 -> 0.01 }\n";
    let all = readings(records);
    let in_force =
        |groove: &str| all.iter().find(|it| it.quantity == "step" && it.groove == groove).expect("read").in_force;
    assert_eq!(["UL", "UR", "LL", "LR"].map(in_force), [false, true, false, false]);
}

/// Limits and uncertainties are numbers in the unit of the value.
#[test]
fn limits_and_uncertainties_are_numbers() {
    let shop = SHOP
        .replace("    profile", "    wrench TW-2 kind=indicating least=4 most=20 permissible-error=(%)4 { calibrated \"2026-01-12\" due=\"2027-01-12\" }\n    profile");
    let machine =
        MACHINE.replace("segment 1200\n            segment", "segment 1200 serial=K-1 lot=A\n            segment");
    let records = "fasten X.port date=\"2026-04-14T08:10\" by=fitter-2 wrench=TW-2 stage=full { at S1 10.5; at S9 10.5 }\n\
        inspect X.port.J1 date=\"2026-04-15\" by=inspector-1 gauge=DI-4 stylus=horizontal { UL 0 -> -0.01 }\n";
    let all = papers::readings(&judge(&[("machine.kdl", &machine), ("day.kdl", records)], &[&shop]));
    let row = |it: &str| all.iter().find(|reading| what(reading) == it).expect(it);
    let text = |it: &Option<ExactNumber>| it.as_ref().map_or(String::new(), |it| it.0.clone());
    let torque = row("torque rail 1");
    assert_eq!(
        (text(&torque.least), text(&torque.most), text(&torque.uncertainty)),
        ("10".into(), "11".into(), "0.42".into())
    );
    assert_eq!(
        (torque.day.as_str(), torque.time.as_str(), torque.position_mm.as_ref()),
        ("2026-04-14", "08:10", Some(&ExactNumber("120".into())))
    );
    assert_eq!((torque.serial.as_str(), torque.lot.as_str(), torque.in_force), ("K-1", "A", true));
    let step = row("step UL");
    // Across the flank at 45 degrees: 10 µm / √2, rounded up to a nanometre.
    assert_eq!((number(step), text(&step.most)), ("-0.007072", "0.02".into()));
    // The gauge's local error of 2 µm as a rectangle, and twice its graduation of 2 µm as a rectangle (GUM F.2.2.1, F.2.3.3):
    // u² = 2²/3 + 2·(1²/3), U = 2u.
    let u = (4.0_f64 / 3.0 + 2.0 / 3.0).sqrt();
    assert!((text(&step.uncertainty).parse::<f64>().expect("a number") * 1000.0 - 2.0 * u).abs() < 0.002, "{step:?}");
    assert_eq!((step.time.as_str(), step.calibration.as_str()), ("", "2026-01-12"));
    assert_eq!((step.joint.as_str(), step.serial.as_str()), ("J1", "K-1"));
}

/// A folder of files holds the rows of the one table, ledger by ledger, and is never mixed with an earlier one.
#[test]
fn a_folder_holds_the_rows_of_the_table() {
    let place = tempfile::tempdir().expect("a folder");
    let folder = place.path().join("all");
    let folder = folder.to_str().expect("a path");
    for format in ["csv", "jsonl"] {
        let own = format!("{folder}-{format}");
        let arguments = ["export", "example-ledgers/boatyard", "--today", "2026-11-01", "--format", format];
        let (whole, _) = run(&arguments);
        let (said, code) = run(&[&arguments[..], &["--output", &own]].concat());
        assert_eq!((said.as_str(), code), ("", Some(0)));
        let mut parts = String::new();
        for ledger in ["hull-gantry", "mast-router", "plank-planer"] {
            let file = format!("{own}/example-ledgers/boatyard/{ledger}/readings.{format}");
            let text = std::fs::read_to_string(&file).unwrap_or_else(|why| panic!("{file}: {why}"));
            let head = if format == "csv" { text.find('\n').expect("a head") + 1 } else { 0 };
            parts += if parts.is_empty() { &text } else { &text[head..] };
        }
        assert_eq!(parts, whole);
        assert_eq!(run(&[&arguments[..], &["--output", &own]].concat()).1, Some(2), "it is there");
    }
    // A place that can be no folder is named.
    let file = place.path().join("file");
    std::fs::write(&file, "x").expect("a file");
    let below = file.join("below").display().to_string();
    let (out, err, code) = program::run(
        Path::new(env!("CARGO_MANIFEST_DIR")),
        &["export", "example-ledgers/boatyard", "--today", "2026-11-01", "--format", "csv", "--output", &below],
    );
    assert_eq!((out.as_str(), code), ("", Some(2)), "{err}");
    assert!(err.contains(&format!("{below} cannot be made as a folder")), "{err}");
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
