//! Taking in exported files: every row is recorded or reported, nothing is guessed, and nothing that a file can hold
//! makes the program stop. The expected rows are written out by hand.

use crate::ledger::{Ledger, TextFile};
use crate::quantity::Moment;
use crate::world;
use crate::writing::import::decode::{Encoding, decode};
use crate::writing::import::{Built, ImportError, ImportRows, Mapping, Misfit, RecordHead, build, find, read};
use proptest::prelude::*;

use crate::testing::exports::{MACHINE, SHOP};

fn ledger() -> Ledger {
    let file = |name: &str, text: &str| TextFile::read(world::Path(name.into()), text.as_bytes().to_vec());
    Ledger::new(world::Path("m".into()), vec![file("m/machine.kdl", MACHINE)], &[file("shop.kdl", SHOP)])
}

fn mapping(name: &str) -> Mapping {
    find(&ledger(), name).expect("the mapping is right")
}

fn head(on: &str) -> RecordHead {
    RecordHead {
        on: on.into(),
        joint: on.strip_prefix("X.port.").map(str::to_owned),
        date: Moment::read("2026-04-14").expect("a date"),
        by: "fitter-2".into(),
        // The stage of torques: of joints none is said here.
        stage: (!on.starts_with("X.port.")).then(|| "full".into()),
        survey: Some("gap".into()),
        temperature: None,
    }
}

fn take(name: &str, on: &str, bytes: &[u8]) -> (ImportRows, Built) {
    let (mapping, ledger) = (mapping(name), ledger());
    let rows = read(bytes, &mapping).expect("the file can be used");
    let rail = &ledger.machine.axes[0].rails[0];
    let built = build(&rows.rows, &mapping, &head(on), rail).expect("a record");
    assert_eq!(rows.lines, built.taken + rows.misfits.len() + built.misfits.len(), "every row ends somewhere");
    (rows, built)
}

fn lines(misfits: &[Misfit]) -> Vec<u64> {
    misfits.iter().map(|misfit| misfit.line).collect()
}

#[test]
fn torques_become_one_fastening_record() {
    let (rows, built) =
        take("bench", "X.port", b"Nr;Pos;Wert\r\n1;J1;10,40\r\n2;J1;10,5\r\n3;P 01;10,6\r\n4;J1;9,9\r\n");
    assert_eq!((rows.misfits.len(), built.misfits.len()), (0, 0));
    assert_eq!(
        built.text,
        "fasten X.port date=\"2026-04-14\" by=fitter-2 wrench=TW-2 stage=full {\n    \
         at J1 (N.m)10.40 (N.m)10.5 (N.m)9.9\n    at S1 (N.m)10.6\n}\n"
    );
}

#[test]
fn columns_by_number_bolts_and_units() {
    let (_, built) = take(
        "numbered",
        "X.port",
        b"export\t2026\nmore\nS1\t2\t92\nS1\t1\t93.5\nS2\t2\t90\nS2\t2\t91\nS2\t9\t91\nS99\t1\t92\n",
    );
    assert_eq!(
        built.text,
        "fasten X.port date=\"2026-04-14\" by=fitter-2 wrench=TW-2 stage=full {\n    \
         at S1 (in-lbf)93.5 (in-lbf)92\n    at S2 #null        (in-lbf)90\n}\n"
    );
    assert_eq!(lines(&built.misfits), [6, 7, 8]);
    assert!(built.misfits[0].why.contains("line 5 has it already"), "{:?}", built.misfits);
    assert!(built.misfits[1].why.contains("bolt 9 of S2"));
    assert!(built.misfits[2].why.contains("no support `S99`"));
}

#[test]
fn a_survey_with_its_closure_and_rows_of_another_day() {
    let (_, built) = take(
        "gap",
        "X.port",
        b"station,mm,day\nS1,0,14.04.2026\nS2,-0.02,14.04.2026\n1250,+0.010,14/04/2026 09:15\nS3,0.5,15.04.2026\nS2,0,14.04.2026\nS1,0.002,14-04-2026\n",
    );
    assert_eq!(
        built.text,
        "survey gap X.port date=\"2026-04-14\" by=fitter-2 gauge=DI-4 stage=full {\n    \
         at S1    0\n    at S2   -0.02\n    at 1250  0.010\n    closure S1 0.002\n}\n"
    );
    assert_eq!(lines(&built.misfits), [5, 6]);
    assert!(built.misfits[0].why.contains("2026-04-15"));
    let (_, built) = take("repeats", "X.port", b"station,mm\nS1,0\nS2,1\nS1,0.5\n");
    assert!(built.text.contains("at S1 0 0.5\n"), "{}", built.text);
}

#[test]
fn grooves_from_utf_16() {
    let text = "joint,groove,before,after\r\nJ1,UL,-4,2\r\nJ1,UR,0,1\r\nJ2,UL,9,9\r\nJ1,XX,1,1\r\nJ1,UL,5,5\r\n";
    for big in [false, true] {
        let mark = std::iter::once('\u{FEFF}').chain(text.chars()).collect::<String>();
        let bytes: Vec<u8> =
            mark.encode_utf16().flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect();
        let (_, built) = take("grooves", "X.port.J1", &bytes);
        assert_eq!(
            built.text,
            "inspect X.port.J1 date=\"2026-04-14\" by=fitter-2 gauge=DI-4 {\n    \
             UL (um)-4 -> (um)2\n    UR  (um)0 -> (um)1\n}\n"
        );
        assert_eq!(lines(&built.misfits), [4, 5, 6]);
    }
}

#[test]
fn encodings_are_what_the_mapping_says() {
    // ISO 8859-1: ü is FC, ö is F6, ß is DF.
    let bytes = b"St\xFCtze,Gr\xF6\xDFe\nS1,0.5\n";
    let (_, built) = take("latin", "X.port", bytes);
    assert!(built.text.contains("at S1 0.5"));
    assert!(matches!(decode(bytes, Encoding::Utf8), Err(crate::writing::import::decode::DecodeError::NotUtf8(2))));
    assert!(decode(&[0xFF, 0xFE, 0x41], Encoding::Utf8).is_err());
    assert_eq!(decode(&[0xFF, 0xFE, 0x41, 0x00], Encoding::Utf16).as_deref(), Ok("A"));
    // Half a letter, and half a pair.
    assert!(decode(&[0x41], Encoding::Utf16).is_err());
    assert!(decode(&[0x00, 0xD8, 0x41, 0x00], Encoding::Utf16).is_err());
    assert!(decode(&[0x93], Encoding::Latin1).is_err());
    assert_eq!(decode(b"\xEF\xBB\xBFa", Encoding::Utf8).as_deref(), Ok("a"));
}

#[test]
fn what_is_no_number_is_reported_and_never_guessed() {
    let cells = [
        "10.5", "1.234,5", "10,5 Nm", "=1+1", "ten", "", "10,", "1 0", "0x10", "1e9999", "NaN", "10,5,1", "\"10", "--1",
    ];
    for cell in cells {
        let text = format!("Pos;Wert\nS1;{cell}\n");
        let mapping = mapping("bench");
        let rows = read(text.as_bytes(), &mapping).expect("the file can be used");
        assert_eq!((rows.rows.len(), rows.misfits.len()), (0, 1), "{cell:?} was taken: {:?}", rows.rows);
    }
    for (cell, raw) in
        [("10,50", "10.50"), ("\u{2212}0,5", "-0.5"), ("+3", "3"), (",5", "0.5"), ("1,05E+01", "1.05e+01")]
    {
        let rows = read(format!("Pos;Wert\nS1;{cell}\n").as_bytes(), &mapping("bench")).expect("the file can be used");
        assert_eq!(rows.rows[0].reading.as_ref().map(|number| number.raw.as_str()), Some(raw));
    }
}

#[test]
fn broken_and_huge_files_are_refused_or_reported() {
    let bench = mapping("bench");
    assert!(matches!(read(b"", &bench), Err(ImportError::NoHeader)));
    assert!(matches!(read(b"Pos;Value\nS1;1\n", &bench), Err(ImportError::NoColumn { .. })));
    assert!(matches!(read(b"Pos;Wert;Wert\nS1;1;2\n", &bench), Err(ImportError::TwiceTheColumn(_))));
    assert!(matches!(read(&vec![b'a'; (16 << 20) + 1], &bench), Err(ImportError::TooLarge { .. })));
    assert!(matches!(
        read(format!("Pos;Wert\n{}", "S1;1\n".repeat(100_001)).as_bytes(), &bench),
        Err(ImportError::TooManyRows { .. })
    ));
    // A quote that is not closed swallows the rest: that row is reported, not taken.
    let rows = read(b"Pos;Wert\nS1;10,5\n\"S2;10,5\nS3;10,5\n", &bench).expect("the file can be used");
    assert_eq!((rows.rows.len(), lines(&rows.misfits)), (1, vec![3]));
    // Too few columns; blank lines are no rows.
    let rows = read(b"Pos;Wert\n\nS1\n;\nS2;1\n", &bench).expect("the file can be used");
    assert_eq!((rows.rows.len(), lines(&rows.misfits)), (1, vec![3]));
    // Quoted cells with the separator inside.
    let rows = read(b"Pos;Wert;Note\n\"S1\";\"10,5\";\"a;\"\"b\"\"\"\n", &bench).expect("the file can be used");
    assert_eq!(rows.rows.len(), 1);
}

#[test]
fn a_mapping_that_cannot_work_says_why() {
    let bad = |node: &str| {
        let file = |name: &str, text: &str| TextFile::read(world::Path(name.into()), text.as_bytes().to_vec());
        let shop = format!("shop {{\n{node}\n}}\n");
        let ledger =
            Ledger::new(world::Path("m".into()), vec![file("m/machine.kdl", MACHINE)], &[file("shop.kdl", &shop)]);
        find(&ledger, "a").expect_err("the mapping is wrong")
    };
    assert!(bad("readings-file b record=survey").contains("known: b"));
    assert!(bad("readings-file a").contains("what rows become"));
    assert!(bad("readings-file a record=fasten").contains("holds=support"));
    assert!(bad("readings-file a record=fasten separator=\";;\"").contains("one ASCII character"));
    assert!(bad("readings-file a record=fasten decimal=comma").contains("state the separator"));
    assert!(
        bad("readings-file a record=fasten { column x holds=reading; column y holds=reading }").contains("already")
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]

    /// Whatever bytes come: rows or problems, and each row of the file in exactly one of the two.
    #[test]
    fn any_bytes_end_in_rows_or_problems(
        body in prop::collection::vec(
            prop_oneof![
                4 => prop::sample::select(vec!["S1", "S2", "J1", ";", ";", "\n", "\r\n", "10,5", "-0,1", "\"", "P 01", "\t", ",", "UL"])
                    .prop_map(|text| text.as_bytes().to_vec()),
                1 => prop::collection::vec(any::<u8>(), 0..4),
            ],
            0..60,
        ),
        with_header in any::<bool>(),
    ) {
        let mut bytes = if with_header { b"Pos;Wert\n".to_vec() } else { Vec::new() };
        bytes.extend(body.concat());
        let ledger = ledger();
        for name in ["bench", "numbered", "gap", "grooves", "latin"] {
            let mapping = mapping(name);
            let on = if name == "grooves" { "X.port.J1" } else { "X.port" };
            let Ok(rows) = read(&bytes, &mapping) else { continue };
            let built = build(&rows.rows, &mapping, &head(on), &ledger.machine.axes[0].rails[0]);
            let built = built.expect("what is built can always be laid out");
            prop_assert_eq!(rows.lines, built.taken + rows.misfits.len() + built.misfits.len());
            prop_assert_eq!(built.taken > 0, !built.text.is_empty());
        }
    }
}
