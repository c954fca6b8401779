//! A station at a joint names its end: `J1-` the one before, `J1+` the one behind; unnamed it is the mean of both.

use wayledger::lint::{Grade, Judged};
use wayledger::papers::{readings, report};

use crate::common::exports;
use crate::common::program::run;
use crate::common::yard::Yard;
use crate::common::{judge, today};

/// Two rails of two segments, a support under the joint of each; the second follows the first.
fn machine(limit: &str, records: &str) -> String {
    format!(
        r#"
shop {{ shim-stock {{ leaf 0.02; leaf 0.05 }} }}
machine m {{
    rulebook {{ {limit} }}
    axis X {{
        rail a {{ segment 1200; segment 1200; supports S first=240 pitch=240 count=9 {{ omit S5 }}; joint-support J1 at=1200 length=200 }}
        rail b follows=a shims=widen {{ segment 1200; segment 1200; supports S first=240 pitch=240 count=9 {{ omit S5 }}; joint-support J1 at=1200 length=200 }}
    }}
}}
{records}
"#
    )
}

fn straightness(day: u32, rows: &str) -> String {
    format!("survey straightness X.a date=\"2026-04-{day}\" by=inspector-1 stage=as-fitted plus=left {{ {rows} }}\n")
}

fn gap(day: u32, stage: &str, rows: &str) -> String {
    format!("survey gap X.b date=\"2026-04-{day}\" by=inspector-1 stage={stage} {{ {rows} }}\n")
}

fn judged(limit: &str, records: &str) -> Judged {
    judge(&[("machine.kdl", &machine(limit, records))], &[])
}

/// What a rule says: its grade, message and next step.
fn said(judged: &Judged, rule: &str) -> Vec<String> {
    let of = judged.findings.iter().filter(|finding| finding.rule.as_str() == rule);
    of.map(|it| format!("{}: {}; {}", it.grade.name(), it.message, it.next)).collect()
}

const STRAIGHT: &str = "straightness most=0.03 reason=\"drawing 12\"";
const GAP: &str = "gap-range most=0.05 reason=\"drawing 12\"";

#[test]
fn a_wrong_name_is_told_what_is_there() {
    for (row, says) in [
        ("at J1- 0", None),
        ("at J1+ 0", None),
        ("at J1 0", None),
        ("at \"J1+\" 0", None),
        ("closure J1- 0", None),
        ("at J9- 0", Some("there is no joint `J9-`; did you mean `J1-`?")),
        ("at J2+ 0", Some("there is no joint `J2+`; did you mean `J1+`?")),
        ("at J- 0", Some("there is no joint `J-`; did you mean `J1-`?")),
        ("closure J9+ 0", Some("there is no joint `J9+`; did you mean `J1+`?")),
        (
            "at S3- 0",
            Some(
                "`S3-` is no station: a support has no sides, only a joint has an end on either side; write `S3`, the support",
            ),
        ),
        (
            "at S3+ 0",
            Some(
                "`S3+` is no station: a support has no sides, only a joint has an end on either side; write `S3`, the support",
            ),
        ),
    ] {
        let found = said(&judged("", &straightness(15, &format!("at S1 0; {row}; at S9 0"))), "unknown-reference");
        let says: Vec<String> = says.into_iter().map(|says| format!("nonconformity: {says}")).collect();
        assert_eq!(found, says, "{row}");
    }
    // What is bolted, loosened or shimmed is the support.
    for record in [
        "loosen X.a date=\"2026-04-15\" by=f reason=\"seat\" { at J1- }",
        "shim X.a date=\"2026-04-15\" by=f { at J1- 0.02 }",
        "fasten X.a date=\"2026-04-15\" by=f stage=full { at J1- 10.5 10.5 }",
    ] {
        let found = said(&judged("", record), "unknown-reference");
        assert!(matches!(&found[..], [one] if one.contains("no support `J1-`; did you mean `J1`?")), "{found:?}");
    }
}

/// By hand: the two parallel lines of least distance about (240, 0), (1200, 0), (1200, 0.04), (2160, 0.04) lie 0.04 apart; their
/// mean at the joint lies on one line with the others.
#[test]
fn both_ends_are_stations_of_the_minimum_zone() {
    let mean = judged(STRAIGHT, &straightness(15, "at S1 0; at J1 0.02; at S9 0.04"));
    assert_eq!(said(&mean, "straightness-range"), [""; 0]);
    let ends = judged(STRAIGHT, &straightness(15, "at S1 0; at J1- 0; at J1+ 0.04; at S9 0.04"));
    let found = said(&ends, "straightness-range");
    assert!(matches!(&found[..], [one] if one.contains("the rail is straight within 0.04 mm")), "{found:?}");
    assert_eq!(said(&ends, "repeated-row"), [""; 0], "each is a station of its own");
    let report = serde_json::to_value(report(&ends, today())).expect("JSON");
    let survey = &report["axes"][0]["rails"][0]["surveys"][0];
    assert_eq!(survey["zone"], "0.04");
    let stations = survey["stations"].as_array().expect("a list").iter();
    let stations: Vec<String> =
        stations.map(|it| format!("{} {} {}", it["name"], it["position"], it["reading"])).collect();
    assert_eq!(
        stations,
        ["\"S1\" \"240\" \"0\"", "\"J1-\" \"1200\" \"0\"", "\"J1+\" \"1200\" \"0.04\"", "\"S9\" \"2160\" \"0.04\"",]
    );
    // Within a stretch as short as that between neighbours, the offset is there too.
    let local =
        judged("straightness-local most=0.03 over=480 reason=\"drawing 12\"", &straightness(15, &all("0", "0.04")));
    let found = said(&local, "straightness-local");
    assert!(matches!(&found[..], [one] if one.contains("straight within 0.04 mm")), "{found:?}");
}

/// Every support of rail a, and both ends at the joint.
fn all(before: &str, behind: &str) -> String {
    let near: Vec<String> = (1..5).map(|at| format!("at S{at} {before}")).collect();
    let far: Vec<String> = (6..10).map(|at| format!("at S{at} {behind}")).collect();
    format!("{}; at J1- {before}; at J1+ {behind}; {}", near.join("; "), far.join("; "))
}

#[test]
fn both_ends_are_as_good_as_their_mean_and_one_is_not() {
    let missing = |rows: &str| said(&judged(GAP, &gap(16, "as-fitted", rows)), "station-missing");
    let without = all("0", "0").replace("at J1- 0; at J1+ 0; ", "");
    assert_eq!(missing(&all("0", "0")), [""; 0]);
    assert_eq!(missing(&format!("{without}; at J1 0")), [""; 0]);
    for rows in [format!("{without}; at J1- 0"), format!("{without}; at J1+ 0"), without.clone()] {
        let found = missing(&rows);
        assert!(matches!(&found[..], [one] if one.contains("has no reading at J1;")), "{rows}: {found:?}");
    }
    // Read again: the mean of both is known by the ends, and neither end by the mean.
    let again = |first: &str, then: &str| {
        let records = gap(16, "verification", first) + &gap(17, "verification", then);
        let all = said(&judged(GAP, &records), "station-missing");
        all.into_iter().filter(|it| it.contains("partial")).collect::<Vec<_>>()
    };
    let mean = format!("{without}; at J1 0");
    // From another zero, so that what does not stand alone is no mere copy; rail a was never tightened, nothing moved.
    assert_eq!(again(&mean, &all("0.01", "0.01")), [""; 0]);
    assert_eq!(again(&all("0", "0"), &all("0.01", "0.01")), [""; 0]);
    // Tied by the others, the ends of before stand beside the new mean.
    assert_eq!(again(&all("0", "0.02"), &mean.replace("at J1 0", "at J1 0.01").replace("S6 0", "S6 0.02")).len(), 1);
}

/// A later survey of the ends alone is tied by them: they lay where they lay.
#[test]
fn ends_tie_a_partial_survey() {
    let first = gap(16, "verification", &all("0", "0.02"));
    let part = |rows: &str| {
        let found = said(&judged(GAP, &(first.clone() + &gap(17, "verification", rows))), "station-missing");
        found.into_iter().filter(|it| it.contains("partial")).collect::<Vec<_>>()
    };
    assert_eq!(part("at S1 0.1; at J1- 0.1; at J1+ 0.12; at S9 0.12"), [""; 0]);
    let misfit = part("at S1 0.1; at J1- 0.1; at J1+ 0.1; at S9 0.12");
    assert!(matches!(&misfit[..], [one] if one.contains("J1+ misfits by")), "{misfit:?}");
    let few = part("at J1+ 0.12");
    assert!(matches!(&few[..], [one] if one.contains("1 station of both")), "{few:?}");
}

#[test]
fn the_table_names_the_end_its_joint_and_where_that_lies() {
    let of =
        judged(STRAIGHT, &straightness(15, "at S1 0; at J1- 0.001; at J1 0.002; at J1+ 0.003; at S9 0; closure J1- 0"));
    let all = readings(&of);
    let rows = all.iter().filter(|it| it.joint == "J1" || it.support == "J1");
    let rows: Vec<String> = rows
        .map(|it| {
            let position = it.position_mm.as_ref().map_or("", |position| &position.0);
            format!("{} {} {position} {} {} {}", it.address, it.quantity, it.written, it.joint, it.support)
        })
        .collect();
    assert_eq!(
        rows,
        [
            "X.a.J1- straightness 1200 0.001 J1 ",
            "X.a.J1 straightness 1200 0.002  J1",
            "X.a.J1+ straightness 1200 0.003 J1 ",
            "X.a.J1- straightness-closure 1200 0 J1 ",
        ]
    );
}

/// The planner takes the mean of both ends for what the support needs, and keeps each end within the range: both go with the
/// support under them.
#[test]
fn shims_move_both_ends_with_the_support() {
    let plan = |rows: &str| {
        let yard = Yard::empty();
        yard.write("m/machine.kdl", machine(GAP, &gap(16, "as-fitted", rows)));
        let ran = yard.wayledger(&["shims", "X", "--ledger", "m", "--today", "2026-05-06"]);
        (format!("{}{}", ran.out, ran.err), ran.code)
    };
    let narrow = |before: &str, behind: &str| {
        all("0", "0").replace("at J1- 0; at J1+ 0", &format!("at J1- {before}; at J1+ {behind}"))
    };
    let (said, code) = plan(&narrow("-0.07", "-0.09"));
    assert!(said.contains("at J1 0.05\n") && code == 0, "{said}");
    let row = |name: &str| {
        said.lines().find(|line| line.trim().starts_with(name)).unwrap_or("").split_whitespace().collect::<Vec<_>>()
    };
    assert_eq!(
        (&row("J1-")[..4], &row("J1+")[..4]),
        (&["J1-", "1200", "-0.07", "0.07"][..], &["J1+", "1200", "-0.09", "0.09"][..])
    );
    // The mean lies within the range, one end does not.
    let (said, code) = plan(&narrow("-0.03", "-0.06"));
    assert!(said.contains("at J1 0.02\n") && code == 0, "{said}");
    // An offset wider than the range is cured by no shim.
    let (said, code) = plan(&narrow("0", "-0.06"));
    assert!(code != 0 && !said.contains("no plan is better"), "{said}");
    // What the shims were to do and what came of it agree, end by end.
    let records = gap(16, "as-fitted", &narrow("-0.07", "-0.09"))
        + "shim X.b date=\"2026-04-17\" by=fitter-2 { at J1 0.05 }\n"
        + &gap(18, "verification", &narrow("-0.02", "-0.04"));
    let after = judged(GAP, &records);
    for rule in ["shim-total", "shim-not-seated", "gap-range"] {
        let wrong = after.findings.iter().filter(|it| it.rule.as_str() == rule && it.grade == Grade::Nonconformity);
        assert_eq!(wrong.count(), 0, "{rule}");
    }
    let report = serde_json::to_value(report(&after, today())).expect("JSON");
    let gap = &report["axes"][0]["rails"][1]["gap"];
    let ends = gap["stations"].as_array().expect("a list").iter().filter(|it| it["position"] == "1200");
    let ends: Vec<String> =
        ends.map(|it| format!("{} {} {} {}", it["name"], it["before"], it["predicted"], it["after"])).collect();
    assert_eq!(ends, ["\"J1-\" \"-0.07\" \"-0.02\" \"-0.02\"", "\"J1+\" \"-0.09\" \"-0.04\" \"-0.04\""]);
}

#[test]
fn an_instrument_file_holds_ends_too() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name);
    std::fs::create_dir(file("saw")).expect("a folder");
    std::fs::write(file("shop.kdl"), exports::SHOP).expect("written");
    std::fs::write(file("saw/machine.kdl"), exports::MACHINE).expect("written");
    std::fs::write(file("out.csv"), "station,mm\nS1,0\nJ1-,-0.01\nJ1+,0.01\nJ1-,-0.01\nJ9+,0\n+5,0\n")
        .expect("written");
    let arguments = [
        "import",
        "out.csv",
        "--as",
        "repeats",
        "--on",
        "X.port",
        "--by",
        "inspector-1",
        "--date",
        "2026-04-14",
        "--survey",
        "straightness",
        "--stage",
        "as-fitted",
        "--ledger",
        "saw",
    ];
    let (out, err, _) = run(folder.path(), &arguments);
    let rows: Vec<String> = out.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    for row in ["at J1- -0.01 -0.01", "at J1+ 0.01", "at 5 0", "line 6: rail `port` has no support `J9+`"] {
        assert!(rows.iter().any(|it| it == row), "{row}: {out}{err}");
    }
}

/// In a terminal both ends are one answer; where there is no joint, there are no two ends.
#[test]
fn both_ends_are_one_answer() {
    let yard = Yard::empty();
    yard.write("m/machine.kdl", machine(STRAIGHT, ""));
    let record = |answers: &str| {
        let output = assert_cmd::Command::cargo_bin("wayledger")
            .expect("the program is built")
            .current_dir(&yard.root)
            .args(["record", "survey", "X.a", "--by", "i-1", "--reads", "straightness", "--ledger", "m"])
            .args(["--today", "2026-05-06", "--date", "2026-05-06T10:30", "--stage", "as-fitted", "--temperature=20"])
            .write_stdin(answers.to_owned())
            .output()
            .expect("it runs");
        (String::from_utf8_lossy(&output.stderr).into_owned(), output.status.success())
    };
    let (told, is_written) = record("\n0\n0\n0 / 0.01\n0\n0\n0.004 0.006 / 0.01\n.\n0\n");
    assert!(told.contains("S3 at 720 mm is no joint") || told.contains("S3 is no joint"), "{told}");
    assert!(is_written || told.contains("no joint"), "{told}");
    let (told, is_written) = record("\n0\n0\n0\n0\n0.004 0.006 / 0.01\n.\n0\n");
    assert!(is_written, "{told}");
    let text = std::fs::read_to_string(yard.root.join("m/2026-05-06-i-1.kdl")).expect("the record");
    assert!(text.contains("at J1- 0.004 0.006\n") && text.contains("at J1+ 0.01\n"), "{text}");
}
