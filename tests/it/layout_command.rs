//! From a description without segments to a layout that is planned, can be ordered, and lints clean.

use wayledger::lint::{Case, Judged};
use wayledger::model::Target;
use wayledger::papers::quantities;

use crate::common::yard::Yard;
use crate::common::{judge, today};

pub(crate) const SHOP: &str = "shop \"Slip 2\" {
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward least-segment=240 {
        stock 1440 2400 2880
        cutting grid=60 kerf=3 ends=sawn
    }
    block B20 length=80
}
";

/// What a designer writes before anything is laid out.
pub(crate) const GANTRY: &str = "machine gantry {
    axis X {
        run from=0 to=7200
        stroke from=360 to=6840 overtravel=40
        beam front material=steel { piece 3600; piece 3600 } // spliced in the middle
        beam rear material=steel { piece 3000; piece 4200 }

        // the reference
        rail port beam=front profile=R20 datum=left {
            // one support every 240
            supports S first=240 pitch=240 count=29 length=80 // cast feet
        }
        rail starboard beam=rear profile=R20 datum=right follows=port shims=widen { supports S first=240 pitch=240 count=29 length=80 }

        carriage length=480 {
            block port at=-180 type=B20
            block port at=180 type=B20
            block starboard at=-180 type=B20
            block starboard at=180 type=B20
        }
    }
}
";

pub(crate) fn yard(machine: &str) -> Yard {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP).write("gantry/machine.kdl", machine);
    yard
}

/// The lines that are in `after` and not in `before`; every line of `before` must still be there, in order.
#[track_caller]
fn added<'t>(before: &str, after: &'t str) -> Vec<&'t str> {
    let mut left = before.lines().peekable();
    let added = after.lines().filter(|line| left.next_if(|next| next == line).is_none()).collect();
    assert_eq!(left.next(), None, "a line is gone: {after}");
    added
}

#[test]
fn a_designer_goes_from_a_description_to_a_clean_layout() {
    let yard = yard(GANTRY);
    let shown = yard.wayledger(&["layout", "X", "--ledger", "gantry"]);
    assert_eq!(shown.code, 0, "{shown:?}");
    // By hand: 7200 is no bar, two bars make 5760 at most, so three segments and two joints on each rail.
    assert!(shown.out.contains("2 rails, 6 segments, 4 joints"), "{}", shown.out);
    assert!(shown.out.contains("no layout that keeps every requirement has fewer"), "{}", shown.out);
    assert!(shown.out.contains("The layout rules find nothing in it."), "{}", shown.out);
    assert_eq!(yard.read("gantry/machine.kdl"), GANTRY, "showing writes nothing");

    let written =
        yard.wayledger(&["layout", "X", "--ledger", "gantry", "--write", "--csv", "holes.csv", "--dxf", "x.dxf"]);
    assert_eq!(written.code, 0, "{written:?}");
    let after = yard.read("gantry/machine.kdl");
    for kept in ["// spliced in the middle", "// the reference", "// one support every 240", "// cast feet"] {
        assert!(after.contains(kept), "{after}");
    }
    assert_eq!(after.matches("            segment ").count() + after.matches("{ segment ").count(), 4, "{after}");
    let lint = yard.wayledger(&["lint", "gantry"]);
    assert_eq!((lint.code, lint.out.contains("nonconformit")), (0, false), "{}", lint.out);

    // What is described like the plan is planned alike, and written again changes nothing.
    let again = yard.wayledger(&["layout", "X", "--ledger", "gantry"]);
    assert!(again.out.contains("The machine is described like this already."), "{}", again.out);
    let written = yard.wayledger(&["layout", "X", "--ledger", "gantry", "--write"]);
    assert_eq!((written.code, yard.read("gantry/machine.kdl")), (0, after), "{written:?}");
}

#[test]
fn the_order_and_the_cuts_add_up_to_the_run() {
    let yard = yard(GANTRY);
    let shown = yard.wayledger(&["layout", "--ledger", "gantry", "--format", "json"]);
    assert_eq!(shown.code, 0, "{shown:?}");
    let plan: serde_json::Value = serde_json::from_str(&shown.out).expect("JSON");
    let mm = |value: &serde_json::Value| value.as_str().and_then(|text| text.parse::<f64>().ok()).expect("a length");
    let rails = plan["rails"].as_array().expect("rails");
    for rail in rails {
        let sum: f64 =
            rail["segments"].as_array().expect("segments").iter().map(|segment| mm(&segment["length"])).sum();
        assert_eq!(sum, 7200.0);
    }
    let bought: f64 = plan["order"]
        .as_array()
        .expect("order")
        .iter()
        .map(|line| mm(&line["length"]) * line["count"].as_f64().expect("a count"))
        .sum();
    assert_eq!(bought - 2.0 * 7200.0, mm(&plan["waste"]["length"]));
    for cut in plan["cuts"].as_array().expect("cuts") {
        let mut free = 0.0;
        for piece in cut["pieces"].as_array().expect("pieces") {
            assert!(mm(&piece["from"]) >= free, "{cut}");
            free = mm(&piece["to"]) + 3.0;
        }
        assert!(free - 3.0 <= mm(&cut["length"]), "{cut}");
    }
}

#[test]
fn every_hole_has_its_place_in_the_drilling_list() {
    let yard = yard(GANTRY);
    let ran = yard.wayledger(&["layout", "--ledger", "gantry", "--csv", "holes.csv"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    let text = yard.read("holes.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    for rail in ["X.port", "X.starboard"] {
        let holes: Vec<i64> = rows
            .iter()
            .filter(|row| &row[0] == rail && &row[1] == "hole")
            .map(|row| row[3].parse().expect("whole millimetres"))
            .collect();
        // Handbook formula for drilling: a pitch of 60 over 7200 gives 120 holes, the first and last 30 from the ends.
        assert_eq!(holes.len(), 120);
        assert_eq!((holes[0], holes[119]), (30, 7170));
        assert!(holes.windows(2).all(|pair| pair[1] - pair[0] == 60), "{holes:?}");
        let under: Vec<&str> = rows
            .iter()
            .filter(|row| &row[0] == rail && &row[1] == "hole" && row[6].starts_with('J'))
            .map(|row| row.get(6).unwrap_or(""))
            .collect();
        assert_eq!(under, ["J1", "J1", "J1", "J1", "J2", "J2", "J2", "J2"], "two bolts of each rail end");
    }
    // An earlier list is replaced, anything else is not.
    assert_eq!(yard.wayledger(&["layout", "--ledger", "gantry", "--csv", "holes.csv"]).code, 0);
    let ran = yard.wayledger(&["layout", "--ledger", "gantry", "--csv", "shop.kdl"]);
    assert_eq!((ran.code, yard.read("shop.kdl")), (2, SHOP.to_string()), "{ran:?}");
}

#[test]
fn what_cannot_be_is_explained_by_the_rules_that_forbid_it() {
    // Two bars of 3600 meet at 3600, right over the seam of the beam, and there is no other way.
    let shop =
        SHOP.replace("stock 1440 2400 2880", "stock 3600").replace("        cutting grid=60 kerf=3 ends=sawn\n", "");
    let yard = yard(GANTRY);
    yard.write("shop.kdl", &shop);
    let ran = yard.wayledger(&["layout", "--ledger", "gantry"]);
    assert_eq!(ran.code, 2, "{ran:?}");
    assert!(ran.out.contains("This alone cannot be met"), "{}", ran.out);
    assert!(ran.out.contains("joint-over-seam") || ran.out.contains("joint-stagger"), "{}", ran.out);
    // A run that no bars make up: the nearest ones are named. By hand: 3600 twice is 7200, thrice 10800.
    yard.write("gantry/machine.kdl", GANTRY.replace("to=7200", "to=7000"));
    let ran = yard.wayledger(&["layout", "--ledger", "gantry"]);
    assert_eq!(ran.code, 2, "{ran:?}");
    assert!(ran.out.contains("3600 mm and 7200 mm"), "{}", ran.out);
}

#[test]
fn segments_that_are_there_are_not_taken_out_unasked() {
    let described = GANTRY.replace(
        "            // one support every 240\n",
        "            segment 2400 // from the rack\n            segment 2400 serial=K-9 owned=#true // paid for\n            segment 2400\n            // one support every 240\n",
    );
    let yard = yard(&described);
    let ran = yard.wayledger(&["layout", "--ledger", "gantry", "--write"]);
    assert_eq!((ran.code, yard.read("gantry/machine.kdl")), (2, described.clone()), "{ran:?}");
    assert!(ran.err.contains("machine.kdl:10") && ran.err.contains("--replace"), "{}", ran.err);
    let ran = yard.wayledger(&["layout", "--ledger", "gantry", "--write", "--replace"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    let after = yard.read("gantry/machine.kdl");
    assert!(after.contains("segment 2400 serial=K-9 owned=#true // paid for"), "{after}");
    assert!(after.contains("// from the rack"), "comments stay: {after}");
    let lint = yard.wayledger(&["lint", "gantry"]);
    assert_eq!((lint.code, lint.out.contains("nonconformit")), (0, false), "{}\n{after}", lint.out);
}

/// What a plan cannot say is told before it goes, and what a record names does not go unless that is said.
#[test]
fn what_goes_with_the_old_segments_is_listed() {
    let described = GANTRY.replace(
        "            // one support every 240\n",
        "            segment 3600 serial=K-31 lot=\"7731\" // chip near S4\n            segment 3540\n            segment 60 mark=b\n",
    );
    let yard = yard(&described);
    let listed =
        ["X.port.seg1: segment 3600 serial=K-31 lot=\"7731\" // chip near S4", "X.port.seg3: segment 60 mark=b"];
    let shown = yard.wayledger(&["layout", "--ledger", "gantry"]);
    assert!(shown.out.contains("What --write --replace takes out says more than a plan does:"), "{}", shown.out);
    let written = yard.wayledger(&["layout", "--ledger", "gantry", "--write", "--replace"]);
    assert_eq!(written.code, 0, "{written:?}");
    assert!(written.out.contains("What was taken out said more than a plan does:"), "{}", written.out);
    for line in listed {
        assert!(shown.out.contains(line) && written.out.contains(line), "{line}: {}", shown.out);
    }
    assert!(!shown.out.contains("seg2:"), "{}", shown.out);
    assert!(!yard.read("gantry/machine.kdl").contains("K-31"));

    for record in [
        "receive date=\"2026-04-10\" by=store-1 { part serial=K-31 lot=\"7731\" length=3600 }\n",
        "receive date=\"2026-04-10\" by=store-1 { part serial=K-30 length=3600; note \"K-31 has a chip\" }\n",
    ] {
        yard.write("gantry/machine.kdl", &described).write("gantry/day.kdl", record);
        let ran = yard.wayledger(&["layout", "--ledger", "gantry", "--write", "--replace"]);
        assert_eq!((ran.code, yard.read("gantry/machine.kdl")), (2, described.clone()), "{ran:?}");
        assert!(ran.err.contains("day.kdl:1: a record names `K-31`, the serial number of X.port.seg1"), "{}", ran.err);
        let ran = yard.wayledger(&["layout", "--ledger", "gantry", "--write", "--replace", "--drop-named"]);
        assert_eq!(ran.code, 0, "{ran:?}");
        assert!(!yard.read("gantry/machine.kdl").contains("K-31"));
    }
    // Another number that begins alike is another one.
    yard.write("gantry/machine.kdl", &described)
        .write("gantry/day.kdl", "receive date=\"2026-04-10\" by=store-1 { part serial=K-31-2 length=3600 }\n");
    assert_eq!(yard.wayledger(&["layout", "--ledger", "gantry", "--write", "--replace"]).code, 0);
}

#[test]
fn a_rail_that_is_being_built_is_not_laid_out_anew() {
    let described = GANTRY
        .replace("            // one support every 240\n", "            segment 2400\n            segment 4800\n");
    let yard = yard(&described);
    yard.write("gantry/day.kdl", "inspect X.port.J1 date=\"2026-04-15\" by=inspector-1 { light none }\n");
    let ran = yard.wayledger(&["layout", "--ledger", "gantry", "--write", "--replace"]);
    assert_eq!((ran.code, yard.read("gantry/machine.kdl")), (2, described), "{ran:?}");
    assert!(ran.err.contains("records rest on X.port"), "{}", ran.err);
}

#[test]
fn only_missing_supports_change_where_lines_are_added() {
    let yard = yard(GANTRY);
    assert_eq!(yard.wayledger(&["layout", "--ledger", "gantry", "--write"]).code, 0);
    let after = yard.read("gantry/machine.kdl");
    // The rail written on one line stays on one line, the other gets one node a line; rows gain their `omit`.
    let without_omit: Vec<String> = after
        .lines()
        .map(|line| match (line.find(" { omit"), line.find("rail starboard")) {
            (Some(at), None) => line[..at].to_string() + line[at..].split_once('}').map_or("", |(_, rest)| rest),
            _ => line.to_string(),
        })
        .filter(|line| !line.contains("rail starboard"))
        .collect();
    let before: Vec<&str> = GANTRY.lines().filter(|line| !line.contains("rail starboard")).collect();
    let new = added(&before.join("\n"), &without_omit.join("\n")).len();
    assert_eq!(new, 3 + 2, "three segments and two joint supports: {after}");
}

#[test]
fn a_cut_that_loses_nothing_is_stated() {
    // Two rails of a bar and a half each: the halves come from one bar if the cut loses nothing.
    let machine = "machine m { axis X { run from=0 to=3600
        rail a profile=R20; rail b profile=R20 } }";
    let cut = |kerf: &str| {
        let yard = Yard::empty();
        let profile = "profile R20 hole-pitch=60 end-distance=30 bolt-edge=10";
        let shop = format!("shop \"Slip 2\" {{ {profile} {{ stock 2400; cutting grid=60{kerf} ends=sawn }} }}\n");
        yard.write("shop.kdl", shop).write("m/machine.kdl", machine);
        yard.wayledger(&["layout", "X", "--ledger", "m"]).out
    };
    let without = cut(" kerf=0");
    assert!(without.contains("3 bars to order, waste 0 mm") && !without.contains("no kerf"), "{without}");
    let usual = cut("");
    assert!(usual.contains("4 bars to order") && usual.contains("states no kerf"), "{usual}");
}

#[test]
fn an_owned_bar_with_a_sawn_end_lies_at_an_end() {
    let rail =
        |ends: &str| GANTRY.replace("// one support every 240", &format!("segment 2880 owned=#true serial=K-7 {ends}"));
    for (ends, first) in [("near-end=sawn", true), ("far-end=sawn", false)] {
        let yard = yard(&rail(ends));
        let shown = yard.wayledger(&["layout", "X", "--ledger", "gantry", "--steps", "60000", "--format", "json"]);
        let plan: serde_json::Value = serde_json::from_str(&shown.out).expect("JSON");
        assert_eq!((shown.code, &plan["kept"]), (0, &serde_json::Value::Bool(true)), "{ends}: {shown:?}");
        let segments = plan["rails"][0]["segments"].as_array().expect("segments");
        let owned: Vec<bool> = segments.iter().map(|it| it.to_string().contains("owned")).collect();
        assert_eq!(owned.iter().position(|owned| *owned), Some(if first { 0 } else { owned.len() - 1 }), "{plan}");
    }
    // Sawn at both ends it can lie nowhere in a rail of several segments.
    let yard = yard(
        "machine m { axis X { run from=0 to=7200; rail a profile=R20 {
            segment 2880 owned=#true near-end=sawn far-end=sawn } } }",
    );
    let shown = yard.wayledger(&["layout", "X", "--ledger", "gantry"]);
    assert!(shown.code == 2 && shown.out.contains("joint-end"), "{shown:?}");
}

/// A layout that the lint finds fault with for what no segments can change is not told as one that keeps every rule.
#[test]
fn a_layout_that_breaks_a_rule_is_not_called_kept() {
    let yard = yard(&GANTRY.replace("overtravel=40", "overtravel=400"));
    let shown = yard.wayledger(&["layout", "X", "--ledger", "gantry"]);
    assert_eq!(shown.code, 1, "{shown:?}");
    assert!(
        shown.out.contains("This layout does not keep every rule.") && shown.out.contains("overtravel"),
        "{shown:?}"
    );
    assert!(!shown.out.contains("keeps every requirement"), "{shown:?}");
}

/// One joint under two blocks of its rail is no coincidence, and caps no slack: rule, planner and `how` agree.
#[test]
fn a_joint_does_not_meet_itself() {
    // Two blocks of 80 that stand 60 apart are over one joint together.
    let one = "shop { block B20 length=80 }
        machine m { axis X { rail a { segment 1200; segment 1200 }
            stroke from=300 to=2100; carriage { block a at=-30 type=B20; block a at=30 type=B20 } } }";
    assert_eq!(crate::common::found(one).iter().filter(|it| it.starts_with("joint-meeting")).count(), 0);
    let judged = judge(&[("machine.kdl", one)], &[]);
    let of_joint = |judged: &Judged, address: &str| {
        let target = Target::find(&judged.ledger.machine, address).expect("a joint");
        quantities(&Case::new(&judged.ledger, today()), target)
    };
    assert!(!of_joint(&judged, "X.a.J1").iter().any(|it| it.word == "meeting-slack"));
    // Two joints of one rail count: 60 apart, they come under both blocks.
    let two = one.replace("segment 1200; segment 1200", "segment 1200; segment 60; segment 1140");
    assert_ne!(crate::common::found(&two).iter().filter(|it| it.starts_with("joint-meeting")).count(), 0);

    // The slack that a plan tells is the least that `how` tells of its joints, whatever the number of blocks.
    let yard = yard(GANTRY);
    let shown = yard.wayledger(&["layout", "X", "--ledger", "gantry", "--write", "--format", "json"]);
    let plan: serde_json::Value = serde_json::from_str(&shown.out).expect("JSON");
    let judged = judge(&[("machine.kdl", &yard.read("gantry/machine.kdl"))], &[SHOP]);
    let mut slacks = Vec::new();
    for (id, _, rail) in judged.ledger.machine.rails() {
        for joint in 0..rail.joints.len() {
            let all = of_joint(&judged, &judged.ledger.machine.joint_address(id, joint));
            let slack = all.iter().filter(|it| it.word.ends_with("-slack"));
            slacks.extend(slack.map(|it| it.how.result.parse::<f64>().expect("a length")));
        }
    }
    let least = slacks.iter().copied().reduce(f64::min).expect("joints");
    let told = plan["slack"]["length"].as_str().unwrap_or_default().parse::<f64>();
    assert_eq!(told, Ok(least), "{plan}");
}

/// Bars that are all sold out are no bars, and cuts that are ground may lie in a joint: by hand, 7500 takes four bars of
/// 2400 or pieces of them on each rail, and seven bars of 2400 are the fewest metres for both.
#[test]
fn sold_out_bars_do_not_mislead_the_search() {
    let yard = Yard::empty();
    let profile = "profile R20 hole-pitch=60 end-distance=30 bolt-edge=10";
    let shop = format!(
        "shop \"Slip 2\" {{ {profile} {{ stock 2400; stock 3000 count=0; cutting grid=60 kerf=3 ends=ground }} }}\n"
    );
    let machine = "machine m { axis X { run from=0 to=7500; rail a profile=R20; rail b profile=R20 } }";
    yard.write("shop.kdl", shop).write("m/machine.kdl", machine);
    let shown = yard.wayledger(&["layout", "X", "--ledger", "m", "--steps", "100000"]);
    assert_eq!(shown.code, 0, "{shown:?}");
    assert!(shown.out.contains("6 joints, 7 bars to order, waste 1800 mm"), "{}", shown.out);
    assert!(shown.out.contains("no layout that keeps every requirement has fewer"), "{}", shown.out);
    assert!(
        shown.out.contains("It is proven that with these joints and this slack no order wastes less."),
        "{}",
        shown.out
    );
}

/// Ctrl-C ends a long search: the best so far is told, and nothing is written.
#[cfg(target_os = "linux")]
#[test]
fn a_search_that_is_ended_tells_the_best_so_far() {
    use std::process::{Command, Stdio};
    let shop = SHOP.replace("stock 1440 2400 2880", "stock 2100 count=24; stock 2700 count=20; stock 3600 count=35");
    let rails: String = ["a", "b", "c", "d"].map(|rail| format!("rail {rail} beam={rail} profile=R20\n")).concat();
    let beams: String = [("a", 9000), ("b", 10_200), ("c", 11_400), ("d", 12_600)]
        .map(|(beam, piece)| {
            format!("beam {beam} material=steel {{ piece {piece}; piece 12000; piece {} }}\n", 28_020 - piece)
        })
        .concat();
    let machine = format!("machine m {{ axis X {{ run from=0 to=40020\n{beams}{rails}}} }}\n");
    let yard = Yard::empty();
    yard.write("shop.kdl", shop).write("m/machine.kdl", &machine);
    let mut command = yard.command(env!("CARGO_BIN_EXE_wayledger"), ".");
    command.args(["layout", "X", "--ledger", "m", "--steps", "1000000000000", "--write"]);
    let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program");
    std::thread::sleep(std::time::Duration::from_secs(4));
    let kill = Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill");
    assert!(kill.success(), "the search was over already");
    let ended = child.wait_with_output().expect("output");
    let out = String::from_utf8_lossy(&ended.stdout);
    assert_eq!(ended.status.code(), Some(2), "{out}");
    assert!(out.contains("The search was ended before"), "{out}");
    assert_eq!(yard.read("m/machine.kdl"), machine);
}

/// The folder of the ledger stands before the axis, alone, or behind `--ledger`, as people name it for `lint`.
#[test]
fn the_ledger_is_named_before_the_axis_or_by_an_option() {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP);
    yard.write("gantry/machine.kdl", GANTRY);
    let named = yard.wayledger(&["layout", "X", "--ledger", "gantry"]);
    assert!(named.code == 0 && named.out.contains("gantry"), "{named:?}");
    for words in [&["layout", "gantry", "X"][..], &["layout", "gantry"], &["layout", "gantry/machine.kdl", "X"]] {
        let ran = yard.wayledger(words);
        assert_eq!((ran.code, &ran.out), (0, &named.out), "{words:?}: {ran:?}");
    }
    let shims = yard.wayledger(&["shims", "gantry", "X"]);
    assert_eq!(shims.out, yard.wayledger(&["shims", "X", "--ledger", "gantry"]).out);
    assert!(!shims.err.contains("unexpected"), "{shims:?}");
    let twice = yard.wayledger(&["layout", "gantry", "X", "--ledger", "gantry"]);
    assert!(twice.code == 2 && twice.err.contains("named twice"), "{twice:?}");
}

/// Bars that another axis of the machine lies on are there no more.
#[test]
fn bars_of_other_axes_are_not_planned_with() {
    let plan = |bars: u32, other: &str| {
        let yard = Yard::empty();
        let shop = format!("shop {{ profile R20 hole-pitch=60 end-distance=30 {{ stock 1200 count={bars} }} }}\n");
        let machine = format!(
            "machine m {{ axis X {{ run from=0 to=2400; rail a profile=R20 }}
             axis Y {{ run from=0 to=1200; rail a profile=R20 {{ {other} }} }} }}\n"
        );
        yard.write("shop.kdl", shop).write("m/machine.kdl", machine);
        yard.wayledger(&["layout", "X", "--ledger", "m", "--today", "2021-04-17"])
    };
    assert_eq!(plan(2, "").code, 0, "{:?}", plan(2, ""));
    assert_eq!(plan(2, "segment 1200").code, 2, "{:?}", plan(2, "segment 1200"));
    assert_eq!(plan(3, "segment 1200").code, 0);
    // An owned bar is none of those in stock.
    assert_eq!(plan(2, "segment 1200 owned=#true").code, 0);
}

/// A bar that lay on a rail and went is in no stock any more; one that was owned never was.
#[test]
fn scrapped_bars_are_not_planned_with() {
    let plan = |bars: u32, gone: &str| {
        let yard = Yard::empty();
        let shop = format!("shop {{ profile R20 hole-pitch=60 end-distance=30 {{ stock 1200 count={bars} }} }}\n");
        let machine = format!(
            "machine m {{ axis X {{ run from=0 to=2400; rail a profile=R20 }}
             axis Y {{ run from=0 to=1200; rail a profile=R20 {{
                 segment 1200 serial=K-1 {gone} until=\"2021-04-02\"
                 segment 1200 serial=K-2 since=\"2021-04-02\" }} }} }}\n"
        );
        yard.write("shop.kdl", shop).write("m/machine.kdl", machine);
        yard.wayledger(&["layout", "X", "--ledger", "m", "--today", "2021-04-17"])
    };
    assert_eq!(plan(3, "").code, 2, "one lies on Y, one went: {:?}", plan(3, ""));
    assert_eq!(plan(4, "").code, 0, "{:?}", plan(4, ""));
    assert_eq!(plan(3, "owned=#true").code, 0, "{:?}", plan(3, "owned=#true"));
}
