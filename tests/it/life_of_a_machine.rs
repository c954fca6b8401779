//! The whole life of a machine through the commands alone: start and plan, traveler, fitting, inspection, survey, shims,
//! verification, re-inspection, release, service; clean at the end, and every file still pleasant to read.

use std::cell::Cell;
use std::fs;
use std::path::Path;

use assert_cmd::Command;

/// A folder in which commands are run, and what they print.
struct Shop(tempfile::TempDir, Cell<u32>);

impl Shop {
    fn path(&self) -> &Path {
        self.0.path()
    }

    /// Runs a command that must succeed.
    fn run(&self, day: &str, arguments: &[&str], answers: &str) -> String {
        let mut command = Command::cargo_bin("wayledger").expect("the program is built");
        command.current_dir(self.path()).args(arguments);
        if arguments[0] != "start" {
            command.args(["--today", day]);
        }
        let output = command.write_stdin(answers).output().expect("it runs");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{arguments:?}: {told}{}", String::from_utf8_lossy(&output.stdout));
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    fn record(&self, day: &str, by: &str, arguments: &[&str], answers: &str) -> String {
        // One record after the other.
        self.1.set(self.1.get() + 1);
        let moment = format!("{day}T09:{:02}", self.1.get());
        let rest = ["--by", by, "--ledger", "bridge", "--date", &moment];
        let all: Vec<&str> = ["record"].iter().chain(arguments).copied().chain(rest).collect();
        self.run(day, &all, answers)
    }
}

const SHOP: &str = "\
// Telescope shop: what all its machines share.
shop Telescopes {
    not-applicable straightness-range date=\"2026-02-02\" by=office reason=\"pushed to a ground edge\"
    not-applicable parts-mixed date=\"2026-02-02\" by=office reason=\"one lot a machine\"
    not-applicable torque-window date=\"2026-02-02\" by=office reason=\"window of the maker\"
    not-applicable snug-window date=\"2026-02-02\" by=office reason=\"window of the maker\"
    not-applicable torque-window-fit date=\"2026-02-02\" by=office reason=\"window of the maker\"
    gauge DI-1 kind=dial-indicator graduation=0.002 range=0.8 permissible-error=0.005 local-error=0.003 plus=outward {
        calibrated \"2026-01-12\" due=\"2027-12-12\"
    }
    gauge DI-2 kind=dial-indicator graduation=0.01 range=5 permissible-error=0.012 local-error=0.005 plus=wider {
        calibrated \"2026-01-12\" due=\"2027-12-12\"
    }
    wrench TW-1 kind=setting least=0.5 most=5 { calibrated \"2026-02-02\" due=\"2027-12-02\" }
    wrench TW-2 kind=indicating least=4 most=20 graduation=0.1 { calibrated \"2026-02-02\" due=\"2027-12-02\" }
    shim-stock { leaf 0.02; leaf 0.03; leaf 0.05 }
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward { stock 1200 2400 }
}
";

#[test]
fn from_the_first_line_to_the_first_service() {
    let shop = Shop(tempfile::tempdir().expect("a folder"), Cell::new(0));
    fs::write(shop.path().join("shop.kdl"), SHOP).expect("written");

    // Start, laid out by the planner: 3600 of bars of 1200 and 2400, joints staggered.
    shop.run(
        "2026-05-01",
        &[
            "start",
            "bridge",
            "--title",
            "Polishing bridge",
            "--length",
            "3600",
            "--rail",
            "left",
            "--rail",
            "right",
            "--pieces",
            "3600",
            "--profile",
            "R20",
            "--support-pitch",
            "240",
            "--support-length",
            "80",
            "--joint-support-length",
            "200",
            "--carriage",
            "400",
            "--blocks",
            "-150 150",
            "--block-length",
            "78",
            "--plan",
        ],
        "",
    );
    let machine = fs::read_to_string(shop.path().join("bridge/machine.kdl")).expect("there");
    let joint = |rail: &str| {
        let of = &machine[machine.find(&format!("rail {rail} ")).expect("a rail")..];
        let at = &of[of.find("joint-support J1 at=").expect("a joint") + "joint-support J1 at=".len()..];
        at.split(' ').next().expect("a place").to_string()
    };
    assert!(["1200", "2400"].contains(&joint("left").as_str()) && joint("left") != joint("right"), "{machine}");

    // The traveler asks for everything.
    let paper = shop.run("2026-05-02", &["traveler", "X", "--ledger", "bridge", "--remaining"], "");
    for part in ["HOLD POINT", "Fit rail X.left", "Joint X.right.J1", "UL | ______", "TW-2", "gap of X.right"] {
        assert!(paper.contains(part), "{part}: {paper}");
    }

    // Fitting: snug by clicking, full by reading, as the questions come.
    for rail in ["X.left", "X.right"] {
        shop.record("2026-05-02", "fitter-2", &["fasten", rail, "--wrench", "TW-1"], "snug\n1.5\n20\n\n");
        // J1 has four bolts, the others two each.
        let answers = format!("20\n10.5 10.4 10.6 10.5\n{}", "10.4 10.5\n".repeat(13));
        shop.record("2026-05-03", "fitter-2", &["fasten", rail, "--wrench", "TW-2", "--stage", "full"], &answers);
    }

    // Inspection of the only open joints, one after the other.
    let grooves = [
        "-0.040 -0.028\n0.012 0.020\n0.000 0.006\n0.020 0.012\n",
        "0.004 0.010\n-0.010 -0.004\n0.016 0.008\n0.006 0.002\n",
    ];
    for (joint, grooves) in ["X.left.J1", "X.right.J1"].iter().zip(grooves) {
        shop.record(
            "2026-05-04",
            "inspector-1",
            &["inspect", joint, "--gauge", "DI-1"],
            &format!("20\n40\n15\nnone\n{grooves}"),
        );
    }

    // The gap narrows at the far end: 0.06 at the last station.
    let supports = machine.matches("supports S").count();
    assert_eq!(supports, 2);
    let paper = shop.run("2026-05-05", &["traveler", "X", "--ledger", "bridge", "--remaining"], "");
    assert!(!paper.contains("Fit rail") && !paper.contains("## Inspect"), "fitted and inspected: {paper}");
    let gap = "0\n0\n0\n0\n0\n0\n0\n0\n-0.01\n-0.02\n-0.03\n-0.04\n-0.05\n-0.06\n";
    shop.record(
        "2026-05-05",
        "inspector-1",
        &["survey", "X.right", "--reads", "gap", "--gauge", "DI-2"],
        &format!("\n20\n{gap}0\n"),
    );
    let paper = shop.run("2026-05-06", &["traveler", "X", "--ledger", "bridge", "--remaining"], "");
    assert!(paper.contains("Shim rail X.right") && paper.contains("Leaves to add"), "{paper}");

    // Shims as planned, support by support.
    let plan = shop.run("2026-05-06", &["shims", "X", "--ledger", "bridge"], "");
    let record = shop.record("2026-05-06", "fitter-2", &["shim"], &"\n".repeat(14));
    let rows: Vec<String> = record
        .lines()
        .filter(|line| line.trim_start().starts_with("at S"))
        .map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    assert!(
        !rows.is_empty() && rows.iter().all(|row| plan.lines().any(|line| line.split_whitespace().eq(row.split(' ')))),
        "{plan}\n{record}"
    );
    let row = |arguments: &[&str]| shop.record("2026-05-06", "fitter-2", arguments, "");
    let shimmed: Vec<&str> = rows.iter().filter_map(|row| row.split_whitespace().nth(1)).collect();
    let clicked = format!("clicked {}", shimmed.join(" "));
    row(&["fasten", "X.right", "--stage", "snug", "--wrench", "TW-1", "--setting", "1.5", "--row", &clicked]);
    let torques: Vec<String> = shimmed.iter().map(|name| format!("at {name} 10.5 10.5")).collect();
    let mut arguments = vec!["fasten", "X.right", "--stage", "full", "--wrench", "TW-2"];
    torques.iter().for_each(|torque| arguments.extend(["--row", torque.as_str()]));
    row(&arguments);

    // Verification: reading before plus shim, at every support.
    let leaf = |name: &str| -> i64 {
        let row = rows.iter().find(|row| row.split_whitespace().nth(1) == Some(name));
        row.map_or(0, |row| {
            row.split_whitespace()
                .skip(2)
                .map(|leaf| (leaf.parse::<f64>().expect("a leaf") * 1000.0).round() as i64)
                .sum()
        })
    };
    let survey = fs::read_to_string(shop.path().join("bridge/2026-05-05-inspector-1.kdl")).expect("there");
    let verified: String = survey
        .lines()
        .filter_map(|line| line.trim().strip_prefix("at "))
        .map(|row| {
            let (name, value) = row.split_once(' ').expect("a row");
            let before = (value.trim().parse::<f64>().expect("a reading") * 1000.0).round() as i64;
            // The gauge shows hundredths.
            format!("{}\n", ((before + leaf(name)) as f64 / 10.0).round() / 100.0)
        })
        .collect();
    let answers = format!("verification\n20\n{verified}0\n");
    shop.record("2026-05-07", "inspector-1", &["survey", "X.right", "--reads", "gap", "--gauge", "DI-2"], &answers);

    // The joint beside the shims is read again, where the ledger asks for it.
    let paper = shop.run("2026-05-07", &["traveler", "X", "--ledger", "bridge", "--remaining"], "");
    if paper.contains("Joint X.right.J1") {
        let answers = format!("20\n40\n15\nnone\n{}", grooves[1].replace("0.016 0.008", "0.016 0.010"));
        shop.record("2026-05-08", "inspector-1", &["inspect", "X.right.J1", "--gauge", "DI-1"], &answers);
    }

    // Nothing is left open: the axis is released by somebody else, and serviced a year later.
    shop.run("2026-05-09", &["lint", "bridge", "--complete"], "");
    shop.run("2026-05-09", &["release", "X", "--by", "engineer-1", "--ledger", "bridge", "--date", "2026-05-09"], "");
    shop.record("2027-05-02", "fitter-2", &["service", "X", "--task", "lubricate", "--travelled", "480"], "");
    shop.run("2027-05-02", &["lint", "bridge", "--complete"], "");

    // Every record lies in the file of its day and author, one statement a line.
    let mut names: Vec<String> = fs::read_dir(shop.path().join("bridge"))
        .expect("listed")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(names[0], "2026-05-02-fitter-2.kdl");
    for name in &names {
        let text = fs::read_to_string(shop.path().join("bridge").join(name)).expect("text");
        assert!(text.ends_with('\n') && !text.contains("\n\n\n"), "{name}");
        // Facts and digests under a seal are as long as they are.
        let sealed =
            |line: &str| ["fact ", "sealed ", "release "].iter().any(|word| line.trim_start().starts_with(word));
        let short = |line: &str| line.chars().count() <= 120 || sealed(line);
        assert!(text.lines().all(|line| short(line) && line.trim_end() == line), "{name}");
    }
}
