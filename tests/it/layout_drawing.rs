//! The drawing of a layout: what must stand in it, and that a library which is not ours reads it without a complaint
//! (`layout_drawing/read.py`).

use crate::common::python::{PYTHON, install, run};
use crate::common::yard::Yard;
use crate::layout_command::{GANTRY, SHOP, yard};

/// The gantry with the width of its holes and a carriage whose tracks are described, drawn and listed.
fn drawn() -> Yard {
    let machine = GANTRY.replace(
        "carriage length=480 {",
        "carriage length=480 {\n            track port y=-300; track starboard y=300",
    );
    let yard = yard(&machine);
    yard.write("shop.kdl", SHOP.replace("end-distance=30", "end-distance=30 hole-diameter=7"));
    let ran = yard.wayledger(&[
        "layout",
        "--ledger",
        "gantry",
        "--dxf",
        "x.dxf",
        "--csv",
        "holes.csv",
        "--today",
        "2026-04-20",
    ]);
    assert_eq!(ran.code, 0, "{ran:?}");
    yard
}

/// A reader of DXF text that shares nothing with the writer: group codes in pairs, entities with their values.
fn entities(text: &str) -> Vec<(String, Vec<(i32, String)>)> {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len() % 2, 0, "group codes come in pairs");
    let pairs: Vec<(i32, &str)> =
        lines.chunks(2).map(|pair| (pair[0].trim().parse().expect("a group code"), pair[1])).collect();
    let start =
        pairs.windows(2).position(|two| two[0] == (0, "SECTION") && two[1] == (2, "ENTITIES")).expect("entities");
    let mut all: Vec<(String, Vec<(i32, String)>)> = Vec::new();
    for (code, value) in &pairs[start + 2..] {
        match (*code, *value) {
            (0, "ENDSEC") => break,
            (0, kind) => all.push((kind.to_string(), Vec::new())),
            (code, value) => all.last_mut().expect("an entity").1.push((code, value.to_string())),
        }
    }
    assert_eq!(pairs.last(), Some(&(0, "EOF")));
    all
}

fn value(entity: &(String, Vec<(i32, String)>), code: i32) -> String {
    entity.1.iter().find(|(known, _)| *known == code).map(|(_, value)| value.clone()).expect("a value")
}

#[test]
fn the_drawing_has_a_circle_for_every_hole() {
    let drawing = drawn().read("x.dxf");
    let all = entities(&drawing);
    let circles = || all.iter().filter(|entity| entity.0 == "CIRCLE" && value(entity, 8) == "HOLE");
    let holes: Vec<f64> = circles().map(|entity| value(entity, 10).parse().expect("a number")).collect();
    assert_eq!(holes.len(), 240);
    assert_eq!(holes.iter().sum::<f64>(), 2.0 * 120.0 * 3600.0, "they lie evenly about the middle of both rails");
    assert!(circles().all(|entity| value(entity, 40) == "3.5"), "the radius of a hole of 7");
    let joints = all.iter().filter(|entity| entity.0 == "LINE" && value(entity, 8) == "JOINT").count();
    assert_eq!(joints, 4);
    assert!(all.iter().all(|entity| ["LINE", "CIRCLE", "TEXT"].contains(&entity.0.as_str())));
    // Group 70 of $INSUNITS: 4 is millimetres (the table of header variables in the DXF reference).
    assert!(drawing.contains("\n9\n$INSUNITS\n70\n4\n"));
}

#[test]
fn each_part_is_named_once_and_the_sheet_says_what_it_shows() {
    let all = entities(&drawn().read("x.dxf"));
    let texts: Vec<(String, String)> =
        all.iter().filter(|it| it.0 == "TEXT").map(|it| (value(it, 8), value(it, 1))).collect();
    let on = |layer: &str| -> Vec<&str> {
        texts.iter().filter(|(of, _)| of == layer).map(|(_, text)| text.as_str()).collect()
    };
    let joints = on("JOINT");
    assert_eq!(joints.len(), 4, "{joints:?}");
    assert_eq!(joints.iter().filter(|text| text.starts_with("J1  at ")).count(), 2, "one on each rail: {joints:?}");
    assert!(on("JOINT-SUPPORT").is_empty(), "it has the joint's name");
    let dimensions = on("DIMENSION");
    assert_eq!(dimensions.iter().filter(|text| **text == "7200").count(), 2, "{dimensions:?}");
    for rail in dimensions.split(|text| *text == "7200").take(2) {
        let lengths = rail.iter().map(|text| text.split_once("  ").and_then(|(_, mm)| mm.parse::<f64>().ok()));
        assert_eq!(lengths.map(|mm| mm.expect("a length")).sum::<f64>(), 7200.0, "{rail:?}");
        assert!(rail[0].starts_with("seg1  ") && rail.len() == 3, "{rail:?}");
    }
    assert!(on("RAIL")[0].contains("X.port, at y = -300"), "{texts:?}");
    let title = on("TITLE").join("\n");
    for said in [
        "Machine gantry",
        "Layout of axis X, 0 to 7200 mm",
        ", as of 2026-04-20",
        concat!("wayledger ", env!("CARGO_PKG_VERSION")),
        "Profile R20: holes of 7 mm",
    ] {
        assert!(title.contains(said), "{said}: {title}");
    }
}

/// A circle of a width that nobody stated would be drilled.
#[test]
fn holes_of_no_stated_width_are_crosses() {
    let yard = yard(GANTRY);
    assert_eq!(yard.wayledger(&["layout", "--ledger", "gantry", "--dxf", "x.dxf"]).code, 0);
    let all = entities(&yard.read("x.dxf"));
    assert!(all.iter().all(|entity| entity.0 != "CIRCLE"));
    let crosses = all.iter().filter(|entity| value(entity, 8) == "HOLE").count();
    assert_eq!(crosses, 2 * 240);
    assert!(all.iter().any(|it| it.0 == "TEXT" && value(it, 1).contains("hole-diameter is not stated")));
}

#[test]
#[ignore = "needs Python and PyPI; .ci/run runs it"]
fn a_library_that_is_not_ours_reads_it() {
    let yard = drawn();
    install("ezdxf==1.4.5", &yard.root);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/layout_drawing/read.py");
    let said = run(PYTHON, &[script, "x.dxf", "holes.csv", "7", "0", "7200"], &yard.root);
    assert!(said.contains("240 holes"), "{said}");
}
