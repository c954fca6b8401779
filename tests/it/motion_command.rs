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
    let angle = of("EBX").expect("told")["angle"].as_f64().expect("a number");
    assert!((spread(&column("EBX_urad")) - angle).abs() <= 1.1, "{angle}");
    let zone = number(&of("tool-head-height").expect("told")["zone"]);
    assert!((spread(&column("tool-head-height_mm")) - zone).abs() <= 2e-6, "{zone}");
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
    let (_, err, code) = motion(&["--every", "0"]);
    assert!(code == Some(2) && err.contains("above 0"), "{err}");
}

#[test]
fn what_has_no_loads_says_what_is_lacking() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let (out, err, code) = run(root, &["motion", "example-ledgers/boatyard/plank-planer", "--today", "2026-11-01"]);
    assert_eq!((out.as_str(), code), ("", Some(2)));
    assert!(err.contains("neither a mass nor a load"), "{err}");
}

/// The texts of a shop and of a machine with two rails that are read sideways, and two blocks on each.
fn texts(axis: &str, tracks: &str, more: &str, to: usize) -> [String; 2] {
    let shop = "shop {
    block B20 length=78 C=(kN)18.1 C0=(kN)29.5 stiffness=(\"N/um\")200
    gauge DI-6 kind=dial-indicator graduation=0.002 range=5 permissible-error=0.005 local-error=0.003 {
        calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=\"Q-312\"
    }
}
";
    let rail = "{ segment 1200; supports S first=100 pitch=200 count=6 length=80 }";
    let rows: Vec<String> = (1..=to).map(|n| format!("at S{n} {}", if n == 3 { "0.06" } else { "0" })).collect();
    let records = ["a", "b"].map(|rail| {
        format!(
            "fasten {axis}.{rail} date=\"2026-05-04\" by=fitter-2 stage=full setting=10.5 {{ clicked S1..S6 }}
survey straightness {axis}.{rail} date=\"2026-05-05\" by=inspector-1 gauge=DI-6 plus=left stage=verification {{ {} }}
",
            rows.join("; ")
        )
    });
    let machine = format!(
        "machine m {{
    axis {axis} {{
        stroke from=300 to=900
        rail a {rail}
        rail b {rail}
        carriage mass=80 {{
            block a at=-100 type=B20
            block a at=100 type=B20
            block b at=-100 type=B20
            block b at=100 type=B20
            {tracks}
            {more}
        }}
    }}
}}
{}",
        records.concat()
    );
    [shop.into(), machine]
}

const LEVEL: &str = "track a y=-300; track b y=300";

#[test]
fn a_tool_is_judged_by_what_was_surveyed_as_it_takes() {
    let over = |tracks: &str, more: &str, to: usize| -> Vec<String> {
        let [shop, machine] = texts("X", tracks, more, to);
        let judged = crate::common::judge(&[("machine.kdl", &machine)], &[&shop]);
        let of = judged.findings.iter().filter(|it| it.rule.as_str() == "tool-error");
        of.map(|it| format!("{}: {}", it.grade.name(), it.message)).collect()
    };
    let told = over(LEVEL, "tool head most-side=0.01", 6);
    assert!(matches!(&told[..], [one] if one.starts_with("nonconformity: tool head wanders sideways by")), "{told:?}");
    assert_eq!(over(LEVEL, "tool head most-side=0.1", 6), [""; 0]);
    // Nobody surveyed upright: a tool above the blocks, blocks of two heights, blocks not at the height of the tool. And some
    // stations at one end are no survey of the stroke.
    for (tracks, tool, to) in [
        (LEVEL, "tool head z=100 most-side=0.1", 6),
        ("track a y=-300; track b y=300 z=-50", "tool head most-side=0.1", 6),
        ("track a y=-300 z=-200; track b y=300 z=-200", "tool head most-side=0.1", 6),
        (LEVEL, "tool head most-height=0.1", 6),
        (LEVEL, "tool head most-side=0.1", 2),
        (LEVEL, "tool head most-side=0.1", 4),
    ] {
        let told = over(tracks, tool, to);
        assert!(matches!(&told[..], [one] if one.starts_with("not judged")), "{tracks}, {tool}, {to}: {told:?}");
    }
}

/// Along Y, left is minus X: the path by its ISO name has the other sign.
#[test]
fn an_error_of_axis_y_has_the_sign_of_its_name() {
    let yard = tempfile::tempdir().expect("a folder");
    let path = |axis: &str, name: &str| -> Vec<f64> {
        let folder = yard.path().join(axis);
        std::fs::create_dir_all(folder.join("m")).expect("made");
        let [shop, machine] = texts(axis, LEVEL, "", 6);
        std::fs::write(folder.join("shop.kdl"), shop).expect("written");
        std::fs::write(folder.join("m/machine.kdl"), machine).expect("written");
        let (out, err, code) = run(&folder, &["motion", "m", "--today", "2026-11-01", "--format", "csv"]);
        assert_eq!(code, Some(0), "{err}");
        let mut rows = csv::Reader::from_reader(out.as_bytes());
        let at = rows.headers().expect("names").iter().position(|it| it == name).expect("a column");
        rows.records().map(|row| row.expect("cells")[at].parse().expect("a number")).collect()
    };
    let (x, y) = (path("X", "EYX_mm"), path("Y", "EXY_mm"));
    assert!(spread(&x) > 0.01, "it is bent: {x:?}");
    assert!(x.iter().zip(&y).all(|(x, y)| (x + y).abs() < 1e-9), "{x:?} {y:?}");
}

/// The rails that are drawn are those that were read: a hand calculation from the records of the gantry.
#[test]
fn the_rails_are_told_as_they_were_read() {
    let whole = json();
    let rails = whole["rails"].as_array().expect("a list");
    let places = |rail: usize| rails[rail]["places"].as_array().expect("a list").iter();
    let at = |rail: usize, position: &str| -> Vec<&Value> {
        places(rail).filter(|place| place["position"] == position).collect()
    };
    assert_eq!((rails[0]["rail"].as_str(), rails[1]["rail"].as_str()), (Some("port"), Some("starboard")));
    // Where a survey has its zero and which way its line of sight runs is taken off: second differences of three stations 240 mm
    // apart stay what was read.
    let bend = |rail: usize, way: &str, from: i64| {
        let value = |position: i64| {
            let [place] = at(rail, &position.to_string())[..] else { panic!("one place at {position}") };
            number(&place[way])
        };
        value(from) - 2.0 * value(from + 240) + value(from + 480)
    };
    // S5 to S7 of port read 0.010, 0.010 and 0.011 to the right, S3 to S5 0, -0.005 and -0.008 up.
    near_to(bend(0, "to_left", 1200), -0.001);
    near_to(bend(0, "up", 720), 0.002);
    // Starboard lies right of it: its gap at S2 to S4 is 0, -0.02 and -0.01, where port is straight; its height at S3 to S5 is
    // -0.002, -0.002 and -0.005 more than that of port.
    near_to(bend(1, "to_left", 480), -0.03);
    near_to(bend(1, "up", 720), 0.002 - 0.003);
    // At a joint both ends are told: their mean is what was read, half of the joint's offset lies on either side. J1 of port has
    // groove steps of 0.012, 0.008, 0.006 and -0.008: height (0.012 + 0.008 - 0.006 + 0.008) / 4 · √2, side
    // (-0.012 + 0.008 - 0.006 - 0.008) / 4 · √2.
    let [before, after] = at(0, "2400")[..] else { panic!("two ends") };
    let root = std::f64::consts::SQRT_2;
    near_to(number(&after["up"]) - number(&before["up"]), 0.022 / 4.0 * root);
    near_to(number(&after["to_left"]) - number(&before["to_left"]), 0.018 / 4.0 * root);
    // Beside it were read 0.010 and 0.008, at it 0.010.
    let [[near], [far]] = ["2160", "2640"].map(|position| <[&Value; 1]>::try_from(at(0, position)).expect("one place"));
    let mean = number(&after["to_left"]) + number(&before["to_left"]);
    near_to(number(&near["to_left"]) - mean + number(&far["to_left"]), 0.002);
}

#[track_caller]
fn near_to(found: f64, expected: f64) {
    assert!((found - expected).abs() < 2e-6, "{found} {expected}");
}

/// What a picture shows is said in words too, and no name in it is cut.
#[test]
fn pictures_say_what_they_show() {
    let (page, err, code) = motion(&["--format", "html"]);
    assert_eq!((err.as_str(), code), ("", Some(0)));
    for words in [
        "Rails of X as measured, sideways",
        "Rails of X as measured, upright",
        "times larger than what lies along the axis",
        "Life of the blocks of X, block by block",
        "required 20000 km",
        "starboard, block at 180 mm: ",
        "all blocks together: ",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains('…'), "a name is cut");
    assert!(page.matches("times larger</text>").count() == 2, "both planes say how much");
}
