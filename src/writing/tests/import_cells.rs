//! A row with more cells than the file has columns is never taken: a decimal comma between commas makes two cells of one
//! number. The values that must come out are written out by hand.

use std::fmt::Write as _;

use crate::ledger::{Ledger, TextFile};
use crate::quantity::Moment;
use crate::world::Path;
use crate::writing::import::{RecordHead, build, find, read};

use crate::testing::exports::MACHINE;

/// One way in which a gauge's program writes a reading, and what it means.
#[derive(Clone, Copy)]
struct Sort {
    record: &'static str,
    on: &'static str,
    /// Columns of the file, in their order, with what they hold.
    columns: &'static [(&'static str, &'static str)],
    /// Cells of one row; `#` stands for the decimal mark.
    cells: &'static [&'static str],
    /// The row in the record.
    row: &'static str,
}

const SORTS: &[Sort] = &[
    Sort {
        record: "survey",
        on: "X.port",
        columns: &[("station", "station"), ("mm", "reading")],
        cells: &["S2", "-0#09"],
        row: "at S2 -0.09",
    },
    Sort {
        record: "survey",
        on: "X.port",
        columns: &[("mm", "reading"), ("station", "station")],
        cells: &["-0#09", "S2"],
        row: "at S2 -0.09",
    },
    Sort {
        record: "survey",
        on: "X.port",
        columns: &[("station", "station"), ("mm", "reading")],
        cells: &["1250#5", "0#25"],
        row: "at 1250.5 0.25",
    },
    Sort {
        record: "fasten",
        on: "X.port",
        columns: &[("station", "support"), ("Nm", "reading"), ("bolt", "bolt")],
        cells: &["S1", "10#4", "1"],
        row: "at S1 10.4",
    },
    Sort {
        record: "fasten",
        on: "X.port",
        columns: &[("station", "support"), ("Nm", "reading")],
        cells: &["S1", "10#4"],
        row: "at S1 10.4",
    },
    Sort {
        record: "inspect",
        on: "X.port.J1",
        columns: &[("groove", "groove"), ("a", "before"), ("b", "after")],
        cells: &["UL", "-0#04", "0#03"],
        row: "UL -0.04 -> 0.03",
    },
];

struct Taken {
    text: String,
    misfits: Vec<String>,
}

/// What a mapping makes of a file; nothing where the mapping itself is refused.
fn taken(sort: &Sort, separator: &str, comma: bool, header: bool, file: &str) -> Option<Taken> {
    let mut columns = String::new();
    for (at, (name, holds)) in sort.columns.iter().enumerate() {
        let name = if header { name.to_string() } else { (at + 1).to_string() };
        writeln!(columns, "column \"{name}\" holds={holds}").expect("a text");
    }
    let shop = format!(
        "shop {{ readings-file m record={} separator=\"{separator}\" decimal={} header=#{header} {{\n{columns}}} }}",
        sort.record,
        if comma { "comma" } else { "point" },
    );
    let text = |name: &str, text: &str| TextFile::read(Path(name.into()), text.as_bytes().to_vec());
    let ledger = Ledger::new(Path("m".into()), vec![text("m/machine.kdl", MACHINE)], &[text("shop.kdl", &shop)]);
    let mapping = find(&ledger, "m").ok()?;
    let rows = read(file.as_bytes(), &mapping).ok()?;
    let head = RecordHead {
        on: sort.on.into(),
        joint: sort.on.strip_prefix("X.port.").map(str::to_owned),
        date: Moment::read("2026-04-14").expect("a date"),
        by: "fitter-2".into(),
        stage: Some("full".into()),
        survey: Some("gap".into()),
        temperature: None,
    };
    let built = build(&rows.rows, &mapping, &head, &ledger.machine.axes[0].rails[0]).expect("a record");
    assert_eq!(rows.lines, built.taken + rows.misfits.len() + built.misfits.len(), "every row ends somewhere");
    let misfits = rows.misfits.iter().chain(&built.misfits).map(|it| it.why.clone()).collect();
    Some(Taken { text: built.text, misfits })
}

/// Every separator that ASCII has, both marks, with and without a header, quoted or not, with empty cells behind and with
/// a remark that some rows leave out: a row is taken for what it means, or it is told.
#[test]
fn no_separator_makes_another_number_of_what_was_written() {
    let mut refused = String::new();
    let (mut right, mut told) = (0, 0);
    for byte in (0x20..0x7F_u8).chain([b'\t']).filter(|byte| !matches!(byte, b'"' | b'\\')) {
        let separator = char::from(byte);
        let stated = if separator == '\t' { "tab".to_string() } else { separator.to_string() };
        for sort in SORTS {
            for (mark, comma, header, quoted) in
                (0..16).map(|n| (if n & 1 == 0 { ',' } else { '.' }, n & 2 == 0, n & 4 == 0, n & 8 == 0))
            {
                let cell = |text: &str| {
                    let text = text.replace('#', &mark.to_string());
                    if quoted { format!("\"{text}\"") } else { text }
                };
                let cells: Vec<String> = sort.cells.iter().map(|text| cell(text)).collect();
                let names: Vec<&str> = sort.columns.iter().map(|(name, _)| *name).collect();
                let join = |cells: &[&str]| cells.join(&separator.to_string());
                let row = join(&cells.iter().map(String::as_str).collect::<Vec<_>>());
                for (more, behind) in
                    [("", ""), ("", "E"), ("", "EE"), ("remark", ""), ("remark", "E"), ("remark", "Eok")]
                {
                    let behind = behind.replace('E', &separator.to_string());
                    let head = if more.is_empty() { join(&names) } else { join(&[&join(&names), more]) };
                    let head = if header { format!("{head}\n") } else { String::new() };
                    let file = format!("{head}{row}{behind}\n");
                    let Some(taken) = taken(sort, &stated, comma, header, &file) else {
                        if !refused.ends_with(separator) {
                            refused.push(separator);
                        }
                        continue;
                    };
                    let fits =
                        taken.text.lines().nth(1).map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
                    match fits {
                        Some(line) => {
                            assert_eq!(line, sort.row, "{stated:?} comma={comma}: {file}");
                            assert!(taken.misfits.is_empty(), "{:?}", taken.misfits);
                            right += 1;
                        }
                        None => {
                            assert_eq!(taken.misfits.len(), 1, "{stated:?} comma={comma}: {file}");
                            told += 1;
                        }
                    }
                    // What is written as the mapping says is taken.
                    let own = (mark == ',') == comma && (quoted || mark != separator && !row.contains(' '));
                    let remark = behind.ends_with("ok") && !header;
                    if own && !remark && mark != separator {
                        assert!(!taken.text.is_empty(), "{stated:?} comma={comma}: {file}: {:?}", taken.misfits);
                    }
                }
            }
        }
    }
    assert!(right > 5_000 && told > 5_000, "{right} right, {told} told");
    // Refused are the mappings by which numbers or names would be cut: a mark only with its own decimals.
    for cut in "+-09AZaz,.".chars() {
        assert!(refused.contains(cut), "{cut}: {refused}");
    }
    assert!(refused.chars().all(|it| it.is_ascii_alphanumeric() || "+-,.".contains(it)), "{refused}");
}

/// What a decimal comma would mean is told with its value and with the way to have it read.
#[test]
fn a_row_with_cells_left_over_says_what_a_decimal_comma_would_mean() {
    let [survey, _, position, _, fasten, inspect] = SORTS else { panic!("six sorts") };
    for (sort, file, says) in [
        (
            survey,
            "station,mm\nS2,-0,09\n",
            "it has 3 cells, and the header names 2 columns, so `09` is left over; with a decimal comma it would be `mm` -0.09:",
        ),
        (survey, "station,mm\nS2,-0,09,\n", "`mm` -0.09"),
        (survey, "station,mm,\nS2,-0,09\n", "`mm` -0.09"),
        (survey, "station,mm,remark\nS2,-0,09,ok\n", "`mm` -0.09"),
        (
            survey,
            "station,mm,remark\nS2,-0,09\n",
            "it can be read in two ways; with a decimal comma it would be `mm` -0.09:",
        ),
        (survey, "station,mm\nS2,\u{2212}0,09\n", "`mm` -0.09"),
        (
            survey,
            "station,mm\nS2,\"-0,09\"\n",
            "`-0,09` in `mm` is no number with a decimal point; with a decimal comma it would be -0.09:",
        ),
        (position, "station,mm\n1250,5,0,25\n", "`station` 1250.5, `mm` 0.25"),
        (fasten, "station,Nm\nS1,10,4\n", "`Nm` 10.4"),
        (inspect, "groove,a,b\nUL,-0,04,0,03\n", "`a` -0.04, `b` 0.03"),
        (inspect, "groove,a,b\nUL,-0,04,1\n", "`a` -0.04"),
        // Another column than the readings': nothing is made up.
        (survey, "station,mm\nS2,0.1,warm\n", "`warm` is left over; let the header name every column"),
    ] {
        let taken = taken(sort, ",", false, true, file).expect("a mapping");
        assert_eq!(taken.text, "", "{file}");
        assert!(taken.misfits.iter().all(|why| why.contains(says)), "{file}: {:?}", taken.misfits);
        if says.contains("comma it") {
            assert!(taken.misfits[0].contains("separator=\";\" decimal=comma"), "{:?}", taken.misfits);
        }
    }
    let told = taken(fasten, ",", false, false, "S1,10,4\n").expect("a mapping").misfits;
    assert!(told[0].contains("the mapping numbers 2 columns, so `4` is left over"), "{told:?}");
    let told = taken(survey, ";", false, true, "station;mm\nS2;-0,09\n").expect("a mapping").misfits;
    assert!(told[0].contains("with a decimal comma it would be -0.09: state decimal=comma in the mapping"), "{told:?}");
    let told = taken(survey, ";", true, true, "station;mm\nS2;-0.09\n").expect("a mapping").misfits;
    assert!(told[0].contains("with a decimal point it would be -0.09: leave decimal=comma out"), "{told:?}");
}

/// A column of whole numbers behind the readings is taken once the mapping says that it is one.
#[test]
fn a_column_that_is_spoken_of_is_a_column() {
    let counted = Sort { columns: &[("station", "station"), ("mm", "reading"), ("n", "ignored")], ..SORTS[0] };
    let file = "station,mm,n\nS2,1,3\nS3,0.5,4\n";
    let told = taken(&SORTS[0], ",", false, true, file).expect("a mapping");
    assert_eq!(told.misfits.len(), 1, "{:?}", told.misfits);
    assert!(told.text.contains("at S3 0.5"), "{}", told.text);
    let taken = taken(&counted, ",", false, true, file).expect("a mapping");
    assert!(taken.misfits.is_empty() && taken.text.contains("at S2 1\n"), "{} {:?}", taken.text, taken.misfits);
}
