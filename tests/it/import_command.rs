//! `import` as a command: it previews first, writes one record, and calls no file fit that is not.

use crate::common::exports::{MACHINE, SHOP};
use crate::common::program::{IMPORT_TORQUES, run};

#[test]
fn the_command_previews_first_and_writes_one_record() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name);
    std::fs::create_dir(file("saw")).expect("a folder");
    std::fs::write(file("shop.kdl"), SHOP).expect("written");
    std::fs::write(file("saw/machine.kdl"), MACHINE).expect("written");
    std::fs::write(file("out.csv"), "Pos;Wert\nS2;10,5\nS2;11,5\nS99;10,5\n").expect("written");
    let day = file("saw/2026-04-14-fitter-2.kdl");
    let with = |more: &[&'static str]| -> (String, String, Option<i32>) {
        let arguments: Vec<&str> = IMPORT_TORQUES.iter().copied().chain(more.iter().copied()).collect();
        run(folder.path(), &arguments)
    };

    let (out, err, code) = with(&["--date", "2026-04-14T08:10"]);
    assert_eq!((code, err.as_str()), (Some(1), ""), "{out}");
    assert!(out.contains("3 rows in out.csv: 2 fit, 1 do not\n  line 4: rail `port` has no support `S99`"), "{out}");
    assert!(out.contains("torque-window:"), "{out}");
    assert!(out.contains("Nothing was written"), "{out}");
    assert!(!day.exists());

    let (out, _, code) = with(&["--date", "2026-04-14T08:10", "--write"]);
    assert_eq!(code, Some(1), "{out}");
    assert!(!day.exists());

    let (out, _, code) = with(&["--date", "2026-04-14T08:10", "--write", "--leave-out"]);
    assert_eq!(code, Some(1), "{out}");
    let first = std::fs::read_to_string(&day).expect("the record");
    assert_eq!(
        first,
        "fasten X.port date=\"2026-04-14T08:10\" by=fitter-2 wrench=TW-2 stage=full {\n    at S2 (N.m)10.5 (N.m)11.5\n}\n"
    );

    // The same file again is no second record.
    let (_, err, code) = with(&["--date", "2026-04-14T08:10", "--write", "--leave-out"]);
    assert_eq!(code, Some(2));
    assert!(err.contains("2026-04-14-fitter-2.kdl:1"), "{err}");

    // Later that day it is, below the first one; the file stays tidy and keeps every byte it had.
    std::fs::write(file("out.csv"), "Pos;Wert\nS3;10,5\nS3;10,5\n").expect("written");
    let (out, err, code) = with(&["--date", "2026-04-14T09:10", "--write"]);
    assert_eq!(code, Some(0), "{out}{err}");
    let both = std::fs::read_to_string(&day).expect("the records");
    assert!(both.starts_with(&format!("{first}\nfasten ")), "{both}");
    assert_eq!(run(folder.path(), &["tidy", "--check", "saw/2026-04-14-fitter-2.kdl"]).2, Some(0));

    assert_eq!(with(&["--date", "14.4.2026"]).2, Some(2));
    assert_eq!(
        run(
            folder.path(),
            &["import", "out.csv", "--as", "nothing", "--on", "X.port", "--by", "a", "--date", "2026-04-14"]
        )
        .2,
        Some(2)
    );
    assert_eq!(
        run(
            folder.path(),
            &[
                "import",
                "no.csv",
                "--as",
                "bench",
                "--on",
                "X.port",
                "--stage",
                "full",
                "--by",
                "a",
                "--date",
                "2026-04-14"
            ]
        )
        .2,
        Some(2)
    );
    assert_eq!(
        run(
            folder.path(),
            &[
                "import",
                "out.csv",
                "--as",
                "bench",
                "--on",
                "X.port.J1",
                "--stage",
                "full",
                "--by",
                "a",
                "--date",
                "2026-04-14"
            ]
        )
        .2,
        Some(2)
    );
    assert_eq!(
        run(
            folder.path(),
            &[
                "import",
                "out.csv",
                "--as",
                "bench",
                "--on",
                "X.port",
                "--by",
                "a/../b",
                "--stage",
                "full",
                "--date",
                "2026-04-14"
            ]
        )
        .2,
        Some(2)
    );
}

#[test]
fn the_command_does_not_call_such_a_file_fit() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name);
    std::fs::create_dir(file("saw")).expect("a folder");
    let shop = "shop { readings-file m record=survey { column station holds=station; column mm holds=reading } }\n";
    std::fs::write(file("shop.kdl"), shop).expect("written");
    std::fs::write(file("saw/machine.kdl"), MACHINE).expect("written");
    std::fs::write(file("out.csv"), "station,mm\nS1,0\nS2,-0,09\nS3,0,01\n").expect("written");
    let arguments =
        "import out.csv --as m --on X.port --by i-1 --stage as-fitted --survey gap --date 2026-04-14 --write";
    let (out, err, code) = run(folder.path(), &arguments.split(' ').collect::<Vec<_>>());
    assert_eq!((code, err.as_str()), (Some(1), ""), "{out}");
    assert!(out.contains("3 rows in out.csv: 1 fit, 2 do not"), "{out}");
    assert!(out.contains("line 3: it has 3 cells") && out.contains("line 4: it has 3 cells"), "{out}");
    assert!(!file("saw/2026-04-14-i-1.kdl").exists());
}
