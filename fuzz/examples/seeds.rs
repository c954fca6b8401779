//! Writes what fuzzing starts from: `cargo run --example seeds -- FOLDER` makes FOLDER/TARGET with pieces of the example
//! ledgers, and FOLDER/words, the dictionary, from the definition of the language.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

fn main() -> io::Result<()> {
    let out = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "corpus".into()));
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let target = |name: &str| -> io::Result<PathBuf> {
        fs::create_dir_all(out.join(name))?;
        Ok(out.join(name))
    };
    let (reader, edits, lint) = (target("reader")?, target("edits")?, target("lint")?);
    let (quantities, import, typing) = (target("quantities")?, target("import")?, target("typing")?);
    let mut number = 0;
    let mut put = |folder: &Path, bytes: &[u8]| -> io::Result<()> {
        number += 1;
        fs::write(folder.join(format!("seed-{number:04}")), bytes)
    };
    let shop = fs::read(top.join("example-ledgers/boatyard/shop.kdl"))?;
    let mut numbers = BTreeSet::new();
    for folder in ledgers(&top.join("example-ledgers"))? {
        let mut parts = vec![fs::read(folder.join("machine.kdl"))?];
        for entry in sorted(&folder)? {
            if entry.extension().is_some_and(|ending| ending == "kdl") && !entry.ends_with("machine.kdl") {
                parts.push(fs::read(entry)?);
            }
        }
        for part in &parts {
            let text = String::from_utf8_lossy(part);
            numbers.extend(
                text.split_whitespace().map(|word| word.rsplit_once('=').map_or(word, |(_, value)| value).to_owned()),
            );
            for piece in text.split("\n\n") {
                put(&reader, piece.as_bytes())?;
                put(&edits, format!("{piece}\n\u{1f}note \"a \\\"word\\\"\"\u{1f}\u{1}\u{2}\u{3}\u{5}").as_bytes())?;
            }
        }
        if folder.starts_with(top.join("example-ledgers/boatyard")) {
            parts.push(shop.clone());
        }
        put(&lint, &parts.join(&0x1f))?;
        // Each request once, at some place of each file.
        let acts: Vec<u8> = (0..24).flat_map(|at| [at, at, 3 * at, 5 * at, at, at]).collect();
        let records = parts.get(1).map_or(&[][..], Vec::as_slice);
        put(&typing, &[&parts[0], records, &shop, &acts].join(&0x1f))?;
    }
    for word in numbers {
        let amount = match word.strip_prefix('(').and_then(|rest| rest.split_once(')')) {
            Some((unit, raw)) => format!("{unit}|{raw}"),
            None => word.trim_matches('"').to_owned(),
        };
        put(&quantities, amount.as_bytes())?;
    }
    for (mapping, export) in IMPORTS {
        put(&import, format!("{mapping}\u{1f}{export}").as_bytes())?;
    }
    fs::write(out.join("words"), dictionary(&top)?)
}

/// The folders with a machine's file.
fn ledgers(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in sorted(folder)?.into_iter().filter(|entry| entry.is_dir()) {
        found.extend(ledgers(&entry)?);
        if entry.join("machine.kdl").is_file() {
            found.push(entry);
        }
    }
    Ok(found)
}

fn sorted(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut entries = fs::read_dir(folder)?.map(|entry| Ok(entry?.path())).collect::<io::Result<Vec<_>>>()?;
    entries.sort();
    Ok(entries)
}

/// Every word that the language's definition cites or defines, and the marks of KDL.
fn dictionary(top: &Path) -> io::Result<String> {
    let mut words = BTreeSet::new();
    for file in ["machine.kdl", "records.kdl", "shop.kdl"] {
        let text = fs::read_to_string(top.join("schema").join(file))?;
        let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
        words.extend(text.split(|c| !plain(c)).filter(|word| (2..24).contains(&word.len())).map(str::to_owned));
    }
    let marks = [
        "/-",
        "/*",
        "*/",
        "//",
        "{",
        "}",
        "\\\"",
        "\\\"\\\"\\\"",
        "#true",
        "#null",
        "#inf",
        "\\\\\\x0a",
        "(um)",
        "(in)",
        "(in-lbf)",
        "(degF)",
        "(%)",
        " -> ",
        "..",
        "\\x1f",
        "\\xef\\xbb\\xbf",
        "2026-04-14",
        "T08:10",
        "X.left.J1",
        "X.left",
        "J1",
        "S1",
        "S1..S9",
        "1e9",
        "-0.04",
        "9223372036854775807",
        "0.000001",
    ];
    words.extend(marks.map(str::to_owned));
    Ok(words.into_iter().map(|word| format!("\"{word}\"\n")).collect())
}

/// A mapping and an export it reads.
const IMPORTS: [(&str, &str); 6] = [
    (
        "readings-file bench record=fasten wrench=TW-2 separator=\";\" decimal=comma { column Pos holds=support\ncolumn Nm holds=reading unit=N.m }",
        "Pos;Nm\nS1;10,4\nS1;10,5\nS2;10,6\nS5;10,1\n",
    ),
    (
        "readings-file bench record=fasten wrench=TW-2 separator=tab skip=2 header=#false { column 1 holds=support\ncolumn 2 holds=bolt\ncolumn 3 holds=reading }",
        "serial 7\nexport\nJ1\t1\t10.4\nJ1\t2\t10.5\nS9\t99\t10\n",
    ),
    (
        "readings-file bench record=survey gauge=DI-4 closure=#true dates=day-month-year { column at holds=station\ncolumn mm holds=reading unit=um\ncolumn day holds=date }",
        "at,mm,day\n240,-20,14.04.2026\n480,10,14.04.2026\n240,-19,14.04.2026\n",
    ),
    (
        "readings-file bench record=survey repeats=#true { column at holds=station\ncolumn mm holds=reading\nrow one is=S1 }",
        "at,mm\none,0.01\nS2,0.02\n\"S2\",0.03\n\"S3,0.04\n",
    ),
    (
        "readings-file bench record=inspect gauge=DI-4 { column g holds=groove\ncolumn b holds=before\ncolumn a holds=after\ncolumn who holds=person\ncolumn j holds=joint }",
        "g,b,a,who,j\nUL,-0.04,-0.03,fitter-2,J1\nUR,1e-2,.5,fitter-2,J1\nLL,0,0,fitter-3,J2\n",
    ),
    (
        "readings-file bench record=survey encoding=utf-16 { column at holds=station\ncolumn mm holds=reading }",
        "a\0t\0,\0m\0m\0\n\x001\0,\0000\0\n\0",
    ),
];
