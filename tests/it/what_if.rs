//! A ledger as it would be is judged over all that the ledger was read from, attached files included, so that nothing is
//! told as new that was there before.

use std::fs;
use std::path::Path;

use crate::common::program::run;

/// A copy of the fault ledger with the changed attachment, conceded.
fn conceded(folder: &Path) {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/faults/attachment-changed");
    fs::create_dir(folder.join("slide")).expect("made");
    for entry in fs::read_dir(from).expect("listed") {
        let entry = entry.expect("an entry");
        fs::copy(entry.path(), folder.join("slide").join(entry.file_name())).expect("copied");
    }
    let text = "concession attachment-changed X.right date=\"2026-05-08\" by=engineer-1 until=\"2027-05-08\" \
                reason=\"the photo was cropped\"\n";
    fs::write(folder.join("slide/2026-05-08-engineer-1.kdl"), text).expect("written");
    let mut shop = fs::read_to_string(folder.join("slide/machine.kdl")).expect("there");
    shop = shop.replace(
        "    profile R20",
        "    readings-file m record=fasten wrench=TW-2 { column a holds=support; column b holds=reading }\n    profile R20",
    );
    fs::write(folder.join("slide/machine.kdl"), shop).expect("written");
}

/// A valid concession of what an attached file shows stays valid while a record is judged.
#[test]
fn a_record_beside_a_conceded_attachment_advises_to_void_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    conceded(folder.path());
    let (out, _, _) = run(folder.path(), &["lint", "--today", "2026-06-01", "--format", "json"]);
    assert!(out.contains("attachment-changed") && !out.contains("concession-idle"), "{out}");
    let record = [
        "record",
        "service",
        "X",
        "--by",
        "f-1",
        "--task",
        "lubricate",
        "--travelled",
        "1",
        "--today",
        "2026-06-01",
        "--date",
        "2026-06-01T10:00",
        "--ledger",
        "slide",
    ];
    let (out, err, code) = run(folder.path(), &record);
    assert_eq!(code, Some(0), "{err}");
    assert!(!format!("{out}{err}").contains("concession"), "{out}{err}");
    fs::write(folder.path().join("out.csv"), "a,b\nS1,10.5\n").expect("written");
    let import = "import out.csv --as m --on X.left --stage full --by f-1 --date 2026-06-02T08:00 --ledger slide";
    let (out, err, _) = run(folder.path(), &import.split(' ').collect::<Vec<_>>());
    assert!(!format!("{out}{err}").contains("concession"), "{out}{err}");
}
