//! `wayledger motion`: what is printed place by place agrees with what is said of the whole stroke, and with the readings.

use serde_json::Value;

use crate::common::program::run;

const GANTRY: &str = "example-ledgers/boatyard/hull-gantry";

fn motion(more: &[&str]) -> (String, String, Option<i32>) {
    run(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")),
        &[&["motion", GANTRY, "--today", "2026-11-01"], more].concat(),
    )
}

fn table() -> (Vec<String>, Vec<Vec<String>>) {
    let (out, err, code) = motion(&["--format", "csv"]);
    assert_eq!((err.as_str(), code), ("", Some(0)));
    let mut rows = csv::Reader::from_reader(out.as_bytes());
    let head = rows.headers().expect("a row of names").iter().map(str::to_owned).collect();
    (head, rows.records().map(|row| row.expect("as many cells").iter().map(str::to_owned).collect()).collect())
}

fn column(name: &str) -> Vec<f64> {
    let (head, rows) = table();
    let at = head.iter().position(|it| it == name).unwrap_or_else(|| panic!("{name}: {head:?}"));
    rows.iter().filter_map(|row| row[at].parse().ok()).collect()
}

fn json() -> Value {
    let (out, err, code) = motion(&["--format", "json", "--every", "500"]);
    assert_eq!((err.as_str(), code), ("", Some(0)));
    serde_json::from_str(&out).expect("JSON")
}

/// An exact decimal, which JSON holds as a text.
fn number(value: &Value) -> f64 {
    value.as_str().and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("{value} is no number"))
}

fn spread(values: &[f64]) -> f64 {
    values.iter().fold(f64::MIN, |a, b| a.max(*b)) - values.iter().fold(f64::MAX, |a, b| a.min(*b))
}

#[test]
fn every_place_lies_within_what_is_said_of_the_whole_stroke() {
    let whole = json();
    let of = |name: &str| whole["life"]["motion"].as_array().expect("a list").iter().find(|it| it["name"] == name);
    let zone = number(&of("EYX").expect("told")["zone"]);
    assert!((spread(&column("EYX_mm")) - zone).abs() <= 2e-6, "{zone}");
    let angle = of("ECX").expect("told")["angle"].as_f64().expect("a number");
    assert!((spread(&column("ECX_urad")) - angle).abs() <= 1.1, "{angle}");
    // Nobody surveyed how the rails lie upright.
    assert!(column("EZX_mm").is_empty() && column("EAX_urad").is_empty());
    for peak in whole["peaks"].as_array().expect("a list") {
        let name = format!(
            "load_{}_{}_as_measured_N",
            peak["rail"].as_str().expect("a name"),
            peak["block_position"].as_str().expect("a place")
        );
        let loads = column(&name);
        let greatest = loads.iter().fold(0.0, |most: f64, load| most.max(*load));
        assert_eq!(Some(greatest), peak["greatest_load"].as_f64(), "{name}");
        let at = loads.iter().position(|load| *load == greatest).expect("it is there");
        assert!((column("position_mm")[at] - number(&peak["position"])).abs() < 10.0, "{name}");
    }
}

/// The mean of the path is the least-squares line's: what is left has no sum and no slope.
#[test]
fn a_path_is_told_from_its_least_squares_line() {
    let (at, off) = (column("position_mm"), column("EYX_mm"));
    let count = off.len() as f64;
    let middle = at.iter().sum::<f64>() / count;
    let sum: f64 = off.iter().sum();
    let slope: f64 = at.iter().zip(&off).map(|(at, off)| (at - middle) * off).sum();
    assert!(sum.abs() / count < 1e-6, "{sum}");
    assert!(slope.abs() / count < 1e-2, "{slope}");
    assert_eq!(column("ECX_urad")[0], 0.0);
}

#[test]
fn places_lie_no_farther_apart_than_asked() {
    let whole = json();
    let at: Vec<f64> = whole["course"].as_array().expect("a list").iter().map(|row| number(&row["position"])).collect();
    assert!(at.windows(2).all(|pair| pair[1] - pair[0] <= 500.0 && pair[1] > pair[0]), "{at:?}");
    assert_eq!((at[0], at[at.len() - 1]), (360.0, 6840.0), "both ends of the stroke");
    let (_, err, code) = motion(&["--every", "-5"]);
    assert!(code == Some(2) && err.contains("above 0"), "{err}");
}

#[test]
fn what_has_no_loads_says_what_is_lacking() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let (out, err, code) = run(root, &["motion", "example-ledgers/boatyard/plank-planer", "--today", "2026-11-01"]);
    assert_eq!((out.as_str(), code), ("", Some(2)));
    assert!(err.contains("neither a mass nor a load"), "{err}");
}
