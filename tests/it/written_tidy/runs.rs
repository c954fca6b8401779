//! What is run: each command that writes into ledgers, in a yard that it can write to.

use std::fs;
use std::path::Path;

use assert_cmd::Command;

use crate::common::program::{IMPORT_TORQUES, LAID_OUT, START_SAW};

/// One run of a command that writes.
pub(super) struct Run {
    pub arguments: Vec<&'static str>,
    pub answers: &'static str,
    /// What is in the way of the run and is taken out of the examples first.
    pub without: &'static [&'static str],
}

fn of(arguments: &[&'static str], answers: &'static str) -> Run {
    Run { arguments: arguments.to_vec(), answers, without: &[] }
}

/// A sitting for each kind of record.
fn sitting(kind: &str) -> Run {
    let (rest, answers): (&[&str], &str) = match kind {
        "fasten" => (&["X.left", "--wrench", "TW-2"], "full\n20\n10.4 10.50 - 10.6\n9.5 10\n.\n"),
        "inspect" => (&["X.left.J1"], "DI-4\n20.5\n40\n15\nnone\n0 0.01\n-0.010 0\n0 0.01\n0 0.01\n"),
        "survey" => (&["X.right"], "gap\n\nDI-6\n21\n0\n-0.01\n\n.\n0\n"),
        "loosen" => (&["X.left", "--note", "a remark"], "wrong seat\nS1 S2\n"),
        "shim" => (&["X.right"], "S2 0.05 0.02\nS12 0.020\n\n"),
        "receive" => (&[], "part   length=2400 serial=K-901   lot=\"7731\"\n\n"),
        "running-force" => (&["X"], "FG-1\nat 600 14\nat 90 15.5\n\n"),
        "service" => (&["X"], "lubricate\n12\n"),
        other => panic!("`record {other}` needs a sitting here"),
    };
    let mut arguments = vec![
        "record",
        ["fasten", "inspect", "survey", "loosen", "shim", "receive", "running-force", "service"]
            .into_iter()
            .find(|known| *known == kind)
            .expect("known"),
    ];
    arguments.extend(rest);
    arguments.extend([
        "--ledger",
        "mast-router",
        "--by",
        "fitter-3",
        "--date",
        "2026-10-27T10:30",
        "--today",
        "2026-10-27",
    ]);
    Run { arguments, answers, without: &[] }
}

/// The runs of a command, by what the program calls it; none where it has no place here yet.
pub(super) fn runs(command: &str) -> Vec<Run> {
    match command {
        "start" => vec![
            of(
                &[&START_SAW[..], &["--rail", "left", "--pieces", "6000", "--carriage", "none"], &LAID_OUT].concat(),
                "",
            ),
            of(
                &[
                    &START_SAW[..],
                    &["--rail", "left", "--rail", "right", "--pieces", "3000 3000", "--carriage", "480"],
                    &["--blocks=-180 180", "--block-length", "78", "--title", "A saw"],
                ]
                .concat(),
                "",
            ),
        ],
        "record" => words(&help(&["record", "--help"]), "Possible values:").iter().map(|kind| sitting(kind)).collect(),
        "import" => vec![of(
            &[
                &IMPORT_TORQUES[..],
                &["--date", "2026-04-14T08:10", "--ledger", "saw", "--write", "--temperature=-3.50"],
            ]
            .concat(),
            "",
        )],
        "layout" => vec![of(&["layout", "X", "--ledger", "gantry", "--write", "--replace"], "")],
        "shims" => vec![Run {
            without: &["hull-gantry/2026-04-17", "hull-gantry/2026-04-18"],
            ..of(
                &[
                    "shims",
                    "--ledger",
                    "hull-gantry",
                    "--today",
                    "2026-04-17",
                    "--date",
                    "2026-04-17T15:05",
                    "--write",
                    "--by",
                    "fitter-2",
                ],
                "",
            )
        }],
        "release" => vec![Run {
            without: &["plank-planer/2026-05-08", "plank-planer/2026-10"],
            ..of(
                &[
                    "release",
                    "X",
                    "--by",
                    "engineer-2",
                    "--today",
                    "2026-05-08",
                    "--date",
                    "2026-05-08T16:40",
                    "--ledger",
                    "plank-planer",
                ],
                "",
            )
        }],
        _ => Vec::new(),
    }
}

pub(super) fn help(arguments: &[&str]) -> String {
    let output = Command::cargo_bin("wayledger").expect("built").args(arguments).output().expect("it runs");
    String::from_utf8(output.stdout).expect("text")
}

/// The names listed below a heading of a help text: the first word of each item, up to the next heading.
pub(super) fn words(help: &str, heading: &str) -> Vec<String> {
    let below = help.lines().skip_while(|line| line.trim() != heading).skip(1);
    let items = below.take_while(|line| line.starts_with("  ") || line.trim().is_empty());
    let mut names: Vec<String> = Vec::new();
    let mut depth = None;
    for line in items.take_while(|line| !line.trim().is_empty()) {
        let indent = line.len() - line.trim_start().len();
        if *depth.get_or_insert(indent) == indent {
            let word = line.trim().trim_start_matches("- ").split([' ', ':']).next().unwrap_or_default();
            names.push(word.to_owned());
        }
    }
    names
}

const MAPPING: &str = "shop \"Slip 2\" {
    wrench TW-2 kind=indicating least=4 most=20 { calibrated \"2026-02-02\" due=\"2027-02-02\" }
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward least-segment=240 {
        stock 1200 1440 2400 2880 3000
        cutting grid=60 kerf=3 ends=sawn
    }
    block B20 length=78
    readings-file bench record=fasten wrench=TW-2 separator=\";\" decimal=comma {
        column Pos holds=support
        column Wert holds=reading unit=N.m
    }
}
";
const SAW: &str = "machine saw {
    axis X {
        rail port profile=R20 {
            segment 1200
            segment 1200
            supports S first=120 pitch=240 count=9 length=80
            joint-support J1 at=1200 length=200
        }
    }
}
";
const GANTRY: &str = "// a gantry
machine gantry {
    axis X {
        run from=0 to=6600
        stroke from=360 to=6240 overtravel=40
        beam front material=steel { piece 3600; piece 3000 } // spliced in the middle
        rail port beam=front profile=R20 datum=left {
            segment 960 owned=#true // a rest
            supports S first=240 pitch=240 count=26 length=80 // cast feet
        }
        rail starboard beam=front profile=R20 datum=right follows=port {
            supports S first=240 pitch=240 count=26 length=80
        }
        carriage length=480 { block port at=-180 type=B20; block port at=180 type=B20 }
    }
}
";

/// The boatyard, a saw with an export of its wrench, and a gantry without segments.
pub(super) fn yard(without: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    for entry in walkdir::WalkDir::new(&examples).into_iter().map(|entry| entry.expect("an entry")) {
        let name = entry.path().strip_prefix(&examples).expect("inside").to_string_lossy().into_owned();
        if entry.file_type().is_file() && !without.iter().any(|start| name.starts_with(start)) {
            let to = folder.path().join(&name);
            fs::create_dir_all(to.parent().expect("a folder")).expect("made");
            fs::copy(entry.path(), to).expect("copied");
        }
    }
    for (name, text) in [
        ("saw/shop.kdl", MAPPING),
        ("saw/machine.kdl", SAW),
        ("gantry/machine.kdl", GANTRY),
        ("out.csv", "Pos;Wert\nS2;10,5\nS2;11,50\nS3;9,5\n"),
    ] {
        fs::create_dir_all(folder.path().join(name).parent().expect("a folder")).expect("made");
        fs::write(folder.path().join(name), text).expect("written");
    }
    folder
}
