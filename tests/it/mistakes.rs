//! Typical mistakes in the ledger of a large machine: what is told of each fits a screen and begins with its cause.

mod table;

use rayon::prelude::*;
use regex::{Captures, Regex};
use wayledger::format::{FINDINGS_FORMATS, OutputOptions};
use wayledger::lint::Judged;

use crate::common::fixes::{Files, judge};
use crate::common::machines::quarry_saw;
use table::{EVERYWHERE, FITTED, JOINTS, MACHINE, ONCE, SHIMS, SHOP, SURVEY, VERIFIED};

/// No more lines than a tall terminal has.
const MOST_LINES: usize = 60;

/// The saw as it conforms, with its shop.
fn saw() -> Files {
    let saw = quarry_saw();
    let files = saw.files.into_iter().map(|(name, text)| (format!("m/{name}"), text));
    std::iter::once((SHOP.to_string(), saw.shop)).chain(files).collect()
}

fn text<'f>(files: &'f mut Files, name: &str) -> &'f mut String {
    &mut files.iter_mut().find(|(file, _)| file == name).expect("the file is there").1
}

/// Writes each match of a pattern anew.
fn rewrite(files: &mut Files, name: &str, pattern: &str, write: impl Fn(&Captures) -> String) {
    let text = text(files, name);
    let now = Regex::new(pattern).expect("a pattern").replace_all(text, write).into_owned();
    assert_ne!(*text, now, "{pattern}");
    *text = now;
}

const STATION: &str = r"(?m)^(    (?:at|closure) \S+ )(-?\d+\.\d+)$";
const TORQUES: &str = r"(?m)^    at (\S+) (1\d\..*)$";
const GROOVE: &str = r"(?m)^    ([UL][LR]) (\S+) -> (\S+)$";

/// Numbers of a text, a space between two, each changed.
fn numbers(text: &str, change: impl Fn(f64) -> String) -> String {
    let number = |word: &str| change(word.parse().expect("a number"));
    text.split(' ').map(number).collect::<Vec<_>>().join(" ")
}

fn micrometres(reading: f64) -> String {
    format!("{:.0}", reading * 1000.0)
}

fn stations(files: &mut Files, name: &str, change: impl Fn(f64) -> String) {
    rewrite(files, name, STATION, |row| format!("{}{}", &row[1], numbers(&row[2], &change)));
}

fn torques(files: &mut Files, name: &str, change: impl Fn(f64) -> String) {
    rewrite(files, name, TORQUES, |row| format!("    at {} {}", &row[1], numbers(&row[2], &change)));
}

fn steps(files: &mut Files, name: &str) {
    rewrite(files, name, GROOVE, |row| {
        format!("    {} {} -> {}", &row[1], numbers(&row[2], micrometres), numbers(&row[3], micrometres))
    });
}

fn without(files: &mut Files, name: &str) {
    files.retain(|(file, _)| file != name);
}

/// The same axis four times, with one gauge that is too coarse.
fn coarse_over_four_axes(files: &mut Files) {
    let axis = |piece: &str, number: usize, axis: &str| {
        let piece = piece.replace(" X.", &format!(" {axis}.")).replace("axis X", &format!("axis {axis}"));
        piece.replace("K-1", &format!("K-{}", number + 1)).replace("D-5521", &format!("D-552{}", number + 1))
    };
    let more = [(1, "Y"), (2, "Z"), (3, "W")];
    let records = files.iter().filter(|(name, _)| name != SHOP && name != MACHINE).cloned().collect::<Files>();
    for (number, letter) in more {
        let copy = |(name, text): &(String, String)| {
            (name.replacen("m/", &format!("m/{letter}/"), 1), axis(text, number, letter))
        };
        files.extend(records.iter().map(copy));
    }
    let machine = text(files, MACHINE);
    let start = machine.find("    axis X {").expect("an axis");
    let end = machine.trim_end().len() - 1;
    let copies: String = more.iter().map(|(number, letter)| axis(&machine[start..end], *number, letter)).collect();
    machine.insert_str(end, &copies);
    let shop = text(files, SHOP);
    *shop = shop.replacen("graduation=0.002", "graduation=0.02", 1);
}

/// What is mistaken, how it is made, and the rule and address told first.
type Deed = (&'static str, fn(&mut Files), &'static str);

const DEEDS: &[Deed] = &[
    (
        "two joints side by side",
        |files| {
            let text = text(files, MACHINE);
            let swapped = [
                ("segment 2520 serial=K-110", "segment 3960 serial=K-110"),
                ("segment 3960 serial=K-111", "segment 2520 serial=K-111"),
                ("omit S10 S11 S27", "omit S16 S17 S27"),
                ("joint-support J1 at=2520", "joint-support J1 at=3960"),
            ];
            swapped.iter().for_each(|(from, to)| *text = text.replacen(from, to, 1));
        },
        "length-mismatch X.right.seg1",
    ),
    ("one coarse gauge over four axes", coarse_over_four_axes, "gauge-graduation X.left.J1"),
    ("a verification forgotten", |files| without(files, VERIFIED), "inspection-stale X.right.J1"),
    ("no shims at all", |files| without(files, SHIMS), "shim-missing X.right"),
    (
        "no torque after shims",
        |files| {
            let text = text(files, SHIMS);
            text.truncate(text.find("fasten X.right").expect("it was fastened"));
        },
        "torque-after-shim X.right",
    ),
    ("a gap survey in micrometres", |files| stations(files, SURVEY, micrometres), "unit-mistaken X.right"),
    ("a verification in micrometres", |files| stations(files, VERIFIED, micrometres), "unit-mistaken X.right"),
    ("all steps in micrometres", |files| steps(files, JOINTS), "unit-mistaken X.left.J1"),
    ("steps of some joints in micrometres", |files| steps(files, VERIFIED), "unit-mistaken X.right.J1"),
    (
        "all torques in inch-pounds",
        |files| torques(files, FITTED, |torque| format!("{:.1}", torque * 8.8507)),
        "unit-mistaken X.left",
    ),
    (
        "torques after shims in inch-pounds",
        |files| torques(files, SHIMS, |torque| format!("{:.1}", torque * 8.8507)),
        "unit-mistaken X.right",
    ),
    (
        "all torques in foot-pounds",
        |files| torques(files, FITTED, |torque| format!("{:.1}", torque * 0.73756)),
        "torque-window X.left.J1",
    ),
    (
        "all torques in kilogram-force centimetres",
        |files| torques(files, FITTED, |torque| format!("{:.1}", torque * 10.197)),
        "unit-mistaken X.left",
    ),
    (
        "all torques a tenth",
        |files| torques(files, FITTED, |torque| format!("{:.2}", torque / 10.0)),
        "torque-window X.left.J1",
    ),
    ("all torques of snug", |files| torques(files, FITTED, |_| "1.5".into()), "torque-window X.left.J1"),
    ("all torques too low", |files| torques(files, FITTED, |_| "8.5".into()), "torque-window X.left.J1"),
    (
        "the first torque of each support alone",
        |files| {
            rewrite(files, FITTED, TORQUES, |row| {
                format!("    at {} {}", &row[1], row[2].split(' ').next().unwrap_or_default())
            });
        },
        "torque-missing X.left",
    ),
    (
        "all signs of a survey turned",
        |files| stations(files, SURVEY, |reading| format!("{:.2}", -reading)),
        "shim-total X.right.S50",
    ),
    (
        "all shims in micrometres",
        |files| {
            rewrite(files, SHIMS, r"(?m)^    at (\S+) (0\..*)$", |row| {
                format!("    at {} {}", &row[1], numbers(&row[2], micrometres))
            });
        },
        "unit-mistaken X.right",
    ),
    (
        "all commas of a survey",
        |files| rewrite(files, SURVEY, r"(\d)\.(\d\d)\b", |number| format!("{},{}", &number[1], &number[2])),
        "unreadable",
    ),
    (
        "all commas in torques",
        |files| rewrite(files, FITTED, r"(\d)\.(\d)\b", |number| format!("{},{}", &number[1], &number[2])),
        "unreadable",
    ),
    (
        "a survey in inches",
        |files| stations(files, SURVEY, |reading| format!("{:.4}", reading / 25.4)),
        "shim-total X.right.S1",
    ),
    (
        "all supports with a letter wrong",
        |files| rewrite(files, SURVEY, r"at S(\d+)", |name| format!("at U{}", &name[1])),
        "unknown-reference X.right",
    ),
    (
        "all supports one further",
        |files| {
            rewrite(files, SURVEY, r"at S(\d+)", |name| {
                format!("at S{}", name[1].parse::<usize>().expect("a number") + 1)
            });
        },
        "unknown-reference X.right",
    ),
    (
        "all joints one less",
        |files| {
            rewrite(files, JOINTS, r"inspect X\.(\w+)\.J(\d)", |name| {
                format!("inspect X.{}.J{}", &name[1], name[2].parse::<usize>().expect("a number") - 1)
            });
        },
        "unknown-reference X.left.J0",
    ),
];

/// The ledger with each mistake of this page in turn, what it is, and the rule and address told first.
pub(crate) fn mistaken() -> Vec<(&'static str, Files, &'static str)> {
    let slip = |replace: fn(&str, &str, &str) -> String| {
        move |(what, name, from, to, first): &table::Slip| {
            let mut files = saw();
            let text = text(&mut files, name);
            assert!(text.contains(from), "{what}: {from:?} does not stand in {name}");
            *text = replace(text, from, to);
            (*what, files, *first)
        }
    };
    let deed = |(what, make, first): &Deed| {
        let mut files = saw();
        make(&mut files);
        (*what, files, *first)
    };
    let once = ONCE.iter().map(slip(|text, from, to| text.replacen(from, to, 1)));
    let everywhere = EVERYWHERE.iter().map(slip(|text, from, to| text.replace(from, to)));
    once.chain(everywhere).chain(DEEDS.iter().map(deed)).collect()
}

/// What a person is shown of some files.
fn shown(files: &Files) -> String {
    let mut out = Vec::new();
    judge(files, |judged: Judged| {
        let pieces = FINDINGS_FORMATS[0].ledger(&judged, &OutputOptions::default()).expect("written to memory");
        out.extend(pieces.into_iter().flatten());
    });
    String::from_utf8(out).expect("text")
}

#[test]
fn the_saw_conforms() {
    assert_eq!(quarry_saw().plan.rails.iter().map(|rail| rail.supports.len()).sum::<usize>(), 114);
    let shown = shown(&saw());
    assert!(shown.ends_with("m: clean and complete, 1 declared not applicable\n"), "{shown}");
}

/// Two findings at one place that say the same of the same are one, or lack what tells them apart.
#[test]
fn no_two_findings_of_a_mistake_have_the_same_words_at_one_place() {
    let all = mistaken();
    let wrong = all.par_iter().filter_map(|(what, files, _)| {
        let mut alike = Vec::new();
        judge(files, |judged: Judged| {
            let mut said = std::collections::BTreeSet::new();
            let same = judged
                .findings
                .iter()
                .filter(|it| !said.insert((it.at.place, it.rule.as_str(), &it.address, &it.message)));
            alike.extend(same.map(|it| format!("{} {}: {}", it.rule, it.address, it.message)));
        });
        (!alike.is_empty()).then(|| format!("{what}: {}", alike.join("; ")))
    });
    let wrong: Vec<String> = wrong.collect();
    assert!(wrong.is_empty(), "{} are wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn what_is_told_of_one_mistake_fits_a_screen_and_begins_with_its_cause() {
    let all = mistaken();
    assert!(all.len() >= 150, "{}", all.len());
    let wrong = all.par_iter().filter_map(|(what, files, first)| {
        let shown = shown(files);
        let mut heads = shown.lines().filter_map(|line| {
            let (grade, head) = line.split_once(": ")?;
            ["nonconformity", "outstanding", "observation"].contains(&grade).then_some(head)
        });
        let head = heads.next().unwrap_or_default();
        let lines = shown.lines().count();
        (lines > MOST_LINES || head != *first).then(|| format!("{what}: {lines} lines, first {head:?}, not {first:?}"))
    });
    let wrong: Vec<String> = wrong.collect();
    assert!(wrong.is_empty(), "{} are wrong:\n{}", wrong.len(), wrong.join("\n"));
}
