//! The commands that write, each with a yard to write to.

use std::fs;
use std::path::Path;
use std::process::Command;

use super::scene::{Again, Scene};
use crate::common::program::{IMPORT_TORQUES, LAID_OUT, START_SAW};

fn example(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard").join(name)
}

/// A ledger of the boatyard without the files whose names begin with one of these, and its shop.
fn copy(yard: &Path, ledger: &str, without: &[&str]) {
    fs::copy(example("shop.kdl"), yard.join("shop.kdl")).expect("copied");
    fs::create_dir(yard.join(ledger)).expect("made");
    for entry in fs::read_dir(example(ledger)).expect("listed") {
        let entry = entry.expect("an entry");
        let name = entry.file_name();
        if !without.iter().any(|start| name.to_string_lossy().starts_with(start)) {
            fs::copy(entry.path(), yard.join(ledger).join(&name)).expect("copied");
        }
    }
}

fn repository(yard: &Path) {
    let status = Command::new("git").args(["init", "-q", "--template="]).arg(yard).status().expect("git runs");
    assert!(status.success());
}

fn hooked(yard: &Path) {
    repository(yard);
    let status = Command::new(super::scene::PROGRAM).arg("hook").current_dir(yard).output().expect("it runs").status;
    assert!(status.success());
}

const FASTEN: &[&str] = &[
    "record",
    "fasten",
    "X.left",
    "--by",
    "fitter-3",
    "--wrench",
    "TW-2",
    "--stage",
    "full",
    "--temperature=20",
    "--ledger",
    "mast-router",
    "--today",
    "2026-10-27",
    "--date",
    "2026-10-27T10:30",
    "--row",
    "at J1 10.4 10.5 10.50 10.6",
    "--row",
    "at S2 10.4 10.4",
];
const SERVICE: &str = "// kept \u{b5}\r\nservice X date=\"2026-10-27\" by=fitter-3 task=lubricate // no line end";
const DAY: &str = "mast-router/2026-10-27-fitter-3.kdl";

/// The rest of what `START_SAW` begins.
const ONE_RAIL: [&str; 6] = ["--rail", "left", "--pieces", "6000", "--carriage", "none"];

const LAYOUT: &[&str] =
    &["layout", "X", "--ledger", "gantry", "--write", "--replace", "--csv", "holes.csv", "--dxf", "x.dxf"];
const GANTRY: &str = "machine gantry {
    axis X {
        run from=0 to=3600
        stroke from=360 to=3240 overtravel=40
        beam front material=steel { piece 1800; piece 1800 } // spliced in the middle
        rail port beam=front profile=R20 datum=left {
            supports S first=240 pitch=240 count=14 length=80 // cast feet
        }
        carriage length=480 { block port at=-180 type=B20; block port at=180 type=B20 }
    }
}
";

const MAPPING: &str = "shop \"Slip 2\" {
    wrench TW-2 kind=indicating least=4 most=20 { calibrated \"2026-02-02\" due=\"2027-02-02\" }
    profile R20 hole-pitch=60 end-distance=30
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

const UNTIDY: &str = "machine   saw {\naxis X{ rail port   profile=R20 {segment 1200 // kept\n}}\n}\n";

/// All commands that write to a disk.
pub(crate) fn all() -> Vec<Scene> {
    vec![
        Scene::new("start", Again::Refused, &[&START_SAW[..], &ONE_RAIL, &LAID_OUT].concat(), "", |_| {}),
        Scene::new("record, a new file", Again::Adds, FASTEN, "", |yard| copy(yard, "mast-router", &[])),
        Scene::new("record, a file more", Again::Adds, FASTEN, "", |yard| {
            copy(yard, "mast-router", &[]);
            fs::write(yard.join(DAY), SERVICE).expect("written");
        }),
        Scene::new("record, through a link", Again::Adds, FASTEN, "", |yard| {
            copy(yard, "mast-router", &[]);
            fs::write(yard.join("../elsewhere/day.kdl"), SERVICE).expect("written");
            std::os::unix::fs::symlink("../../elsewhere/day.kdl", yard.join(DAY)).expect("linked");
        }),
        Scene::new(
            "release",
            Again::Refused,
            &[
                "release",
                "X",
                "--by",
                "engineer-2",
                "--today",
                "2026-05-08",
                "--date",
                "2026-05-08",
                "--ledger",
                "plank-planer",
            ],
            "",
            |yard| copy(yard, "plank-planer", &["2026-05-08", "2026-10"]),
        ),
        Scene::new(
            "shims",
            Again::Refused,
            &["shims", "--ledger", "hull-gantry", "--today", "2026-04-17", "--write", "--by", "fitter-2"],
            "",
            |yard| copy(yard, "hull-gantry", &["2026-04-17", "2026-04-18"]),
        ),
        Scene::new(
            "import",
            Again::Refused,
            &[&IMPORT_TORQUES[..], &["--date", "2026-04-14T08:10", "--ledger", "saw", "--write"]].concat(),
            "",
            |yard| {
                fs::create_dir(yard.join("saw")).expect("made");
                fs::write(yard.join("shop.kdl"), MAPPING).expect("written");
                fs::write(yard.join("saw/machine.kdl"), SAW).expect("written");
                fs::write(yard.join("out.csv"), "Pos;Wert\nS2;10,5\nS2;11,5\nS3;10,5\n").expect("written");
            },
        ),
        Scene::new("tidy", Again::Same, &["tidy", "."], "", |yard| {
            for name in ["one", "two", "three"] {
                fs::create_dir(yard.join(name)).expect("made");
                fs::write(yard.join(name).join("machine.kdl"), UNTIDY).expect("written");
            }
        }),
        Scene::new("layout", Again::Same, LAYOUT, "", |yard| {
            fs::create_dir(yard.join("gantry")).expect("made");
            fs::copy(example("shop.kdl"), yard.join("shop.kdl")).expect("copied");
            fs::write(yard.join("gantry/machine.kdl"), GANTRY).expect("written");
        }),
        Scene::new(
            "report",
            Again::Same,
            &["report", "hull-gantry", "--format", "html", "--today", "2026-11-01", "-o", "hull.html"],
            "",
            |yard| {
                copy(yard, "hull-gantry", &[]);
                let older = ["report", "hull-gantry", "--format", "html", "--today", "2026-05-01", "-o", "hull.html"];
                let output =
                    Command::new(super::scene::PROGRAM).args(older).current_dir(yard).output().expect("it runs");
                assert!(output.status.success());
            },
        ),
        Scene::new("trace", Again::Same, &["trace", "7731", "--format", "markdown", "-o", "lot.md"], "", |yard| {
            copy(yard, "hull-gantry", &[])
        }),
        Scene::new("hook", Again::Same, &["hook"], "", repository),
        Scene::new("hook --remove", Again::Same, &["hook", "--remove"], "", hooked),
    ]
}
