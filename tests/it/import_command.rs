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
    assert!(out.contains("3 rows in out.csv: 2 fit, 1 does not\n  line 4: rail `port` has no support `S99`"), "{out}");
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
    assert!(out.contains("3 rows in out.csv: 1 fits, 2 do not"), "{out}");
    assert!(out.contains("line 3: it has 3 cells") && out.contains("line 4: it has 3 cells"), "{out}");
    assert!(!file("saw/2026-04-14-i-1.kdl").exists());
}

/// Before anything is written the first rows are told as they were understood, and how to write what fits.
#[test]
fn the_first_rows_are_shown_as_they_were_understood() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name);
    std::fs::create_dir(file("saw")).expect("a folder");
    let shop = "shop {
    gauge DI-4 graduation=0.01
    wrench TW-2 kind=indicating
    readings-file t record=fasten wrench=TW-2 separator=\";\" decimal=comma header=#false { column \"1\" holds=support; column \"2\" holds=reading }
    readings-file s record=survey gauge=DI-4 { column at holds=station; column v holds=reading unit=um }
    readings-file g record=inspect { column g holds=groove; column a holds=before; column b holds=after }
    readings-file n record=survey header=#false { column \"1\" holds=station; column \"2\" holds=reading }
}
";
    std::fs::write(file("shop.kdl"), shop).expect("written");
    std::fs::write(file("saw/machine.kdl"), MACHINE).expect("written");
    let said = |mapping: &str, on: &str, rest: &str, text: &str| {
        std::fs::write(file("out.csv"), text).expect("written");
        let line = format!("import out.csv --as {mapping} --on {on} --by i-1 --date 2026-04-14T08:10 {rest}");
        run(folder.path(), &line.split_whitespace().collect::<Vec<_>>())
    };
    let gap = "--stage as-fitted --survey gap";
    let (out, err, code) = said("t", "X.port", "--stage full", "S2;10,5\n");
    assert!(out.starts_with("1 row in out.csv: 1 fits, 0 do not\n\nThe rows as understood"), "{out}{err}");
    assert!(out.contains("\n  line 1: X.port.S2: 10.5 N·m, TW-2\n"), "{out}");
    assert!(out.ends_with("Nothing was written. Add --write to record this.\n"), "{out}");
    assert_eq!(code, Some(0));

    let many: String = (1..=6).map(|at| format!("{},{at}0\n", at * 100)).collect();
    let (out, ..) = said("s", "X.port", gap, &format!("at,v\n{many}"));
    assert!(out.contains("\nThe first rows as understood"), "{out}");
    assert!(out.contains("\n  line 2: X.port at 100 mm: 10 um, DI-4\n"), "{out}");
    assert!(out.contains("\n  line 6: X.port at 500 mm: 50 um, DI-4\n\n"), "{out}");

    let (out, ..) = said("g", "X.port.J1", "", "g,a,b\nUL,-0.04,-0.03\nXX,0,0\n");
    assert!(out.starts_with("2 rows in out.csv: 1 fits, 1 does not\n"), "{out}");
    assert!(
        out.contains("\n  line 2: X.port.J1.UL: -0.04 mm before, -0.03 mm after, no instrument is named\n"),
        "{out}"
    );
    assert!(out.contains("add --write --leave-out to record what fits"), "{out}");
    assert!(!out.contains("line 3: X.port"), "{out}");

    // Without a header as with one: a decimal comma is told, with what it would mean and how it is said.
    let (out, err, code) = said("n", "X.port", gap, "S1,0,00\nS2,10,4\n");
    assert_eq!(code, Some(2), "{out}");
    assert!(out.starts_with("2 rows in out.csv: 0 fit, 2 do not\n"), "{out}");
    assert!(out.contains("with a decimal comma it would be `2` 10.4"), "{out}");
    assert!(out.contains("separator=\";\" decimal=comma"), "{out}");
    assert!(
        !out.contains("as understood") && err.contains("no row of the file fits; nothing was written"),
        "{out}{err}"
    );
}

/// The same reading exported twice is one reading; the same file taken in again is told.
#[test]
fn no_row_is_written_twice() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name);
    std::fs::create_dir(file("saw")).expect("a folder");
    let shop = "shop {
    wrench TW-2 kind=indicating
    readings-file t record=fasten wrench=TW-2 { column p holds=support; column v holds=reading; column d holds=date }
}
";
    std::fs::write(file("shop.kdl"), shop).expect("written");
    std::fs::write(file("saw/machine.kdl"), MACHINE).expect("written");
    let said = |time: &str, text: &str| {
        std::fs::write(file("out.csv"), text).expect("written");
        let line = format!(
            "import out.csv --as t --on X.port --by f-1 --stage full --date 2026-04-14T{time} --write --leave-out"
        );
        run(folder.path(), &line.split_whitespace().collect::<Vec<_>>())
    };
    let twice = "p,v,d\nS2,10.5,2026-04-14 08:00:01\nS2,10.5,2026-04-14 08:00:09\nS2,10.5,2026-04-14 08:00:01\n";
    let (out, err, code) = said("08:10", twice);
    assert_eq!(code, Some(1), "{out}{err}");
    assert!(out.contains("line 4: it is line 2 once more, time of day and all"), "{out}");
    let written = || std::fs::read_to_string(file("saw/2026-04-14-f-1.kdl")).expect("the record");
    assert!(written().contains("at S2 10.5 10.5\n"), "{}", written());
    let before = written();

    let (out, err, code) = said("09:30", twice);
    assert_eq!(code, Some(2), "{out}{err}");
    assert!(err.contains("these very rows of that day at saw/2026-04-14-f-1.kdl:1"), "{err}");
    assert_eq!(written(), before);
    // Without a time of day, or to the minute, two bolts of one torque are two readings.
    let (out, err, code) = said("09:40", "p,v,d\nS3,10.5,2026-04-14 08:00\nS3,10.5,2026-04-14 08:00\n");
    assert_eq!(code, Some(0), "{out}{err}");
    assert!(written().contains("at S3 10.5 10.5\n"), "{}", written());
}
