//! Values that make no sense: each is told once, at its edge and just beyond it, and what only follows from it is not.
//! Expected numbers are worked out by hand; 1 N·m is 8.8507 in·lbf (ISO 80000-4 with the international pound and inch).

use wayledger::lint::{Case, Finding, Grade, before_release};

use crate::common::{judge, lint_text, today};

const NOTHING: [&str; 0] = [];

/// A machine of one axis from 0 to 2400, and what else is said.
fn machine(inside: &str, records: &str) -> String {
    format!(
        "shop {{ fastener b thread=M6 class=\"10.9\" head=socket-cap into=steel {{ friction 0.12 0.14 }} }}
         machine m {{ {inside}
             axis X {{ rail a rail-bolt=b {{ segment 1200; segment 1200; supports S first=240 pitch=240 count=4 }}
                      rail b follows=a {{ segment 2400; supports S first=240 pitch=240 count=4 }} }} }}
         {records}"
    )
}

/// The messages of one rule.
fn of(rule: &str, text: &str) -> Vec<String> {
    lint_text(text).into_iter().filter(|it| it.rule.as_str() == rule).map(|it| it.message).collect()
}

/// The rules that say something of the values of a record.
fn about_values(text: &str) -> Vec<&'static str> {
    let of_values = |it: &Finding| it.found.is_some_and(|found| ["mm", "N·m"].contains(&found.unit()));
    let measured = |it: &Finding| of_values(it) && it.grade != Grade::Observation;
    let mut all: Vec<_> = lint_text(text).iter().filter(|it| measured(it)).map(|it| it.rule.as_str()).collect();
    all.dedup();
    all
}

#[test]
fn a_temperature_is_told_beyond_either_end_of_the_span() {
    let at = |temperature: &str| {
        let inspect = format!("inspect X.a.J1 date=\"2026-04-15\" by=i temperature={temperature} {{ light none }}");
        let all = lint_text(&machine("", &inspect));
        let own = all.into_iter().filter(|it| it.rule.as_str() == "temperature-span");
        own.map(|it| (it.message, it.next)).collect::<Vec<_>>()
    };
    for inside in ["-15", "0", "45", "(degF)5", "(degF)113"] {
        assert_eq!(at(inside), [], "{inside}");
    }
    let correct = "correct the temperature or its unit".to_string();
    let above = "rails at 45.001 °C: 0.001 K above what is in force".to_string();
    // 45.001 °F are 7.22 °C: a plausible reading.
    assert_eq!(at("45.001")[0].0, above);
    assert_eq!(at("-15.001"), [("rails at -15.001 °C: 0.001 K below what is in force".into(), correct.clone())]);
    assert_eq!(at("200"), [("rails at 200 °C: 155 K above what is in force".into(), correct)]);
    let fahrenheit = "68 °F would be 20 °C: if degrees Fahrenheit were meant, write temperature=(degF)68";
    assert_eq!(at("68"), [("rails at 68 °C: 23 K above what is in force".into(), fahrenheit.into())]);
    // A cold store says so.
    let book = "rulebook { record-temperature least=-30 most=10 reason=\"cold store\" }";
    let inspect = "inspect X.a.J1 date=\"2026-04-15\" by=i temperature=-25 { light none }";
    assert_eq!(of("temperature-span", &machine(book, inspect)), NOTHING);
}

#[test]
fn torques_in_inch_pounds_are_one_finding() {
    let full = |rows: &str| machine("", &format!("fasten X.a date=\"2026-04-14\" by=f stage=full {{ {rows} }}"));
    // 10.4 to 10.6 N·m are 92.0 to 93.8 in·lbf.
    let text = full("at S1 92 93; at S2 93.5 92.5; at S3 93 93; at S4 92.2 93.8");
    assert_eq!(of("unit-mistaken", &text), ["all torques are far above their window; 93 in-lbf would be 10.5075… N·m"]);
    assert_eq!(about_values(&text), ["unit-mistaken"]);
    // In newton centimetres too.
    let text = full("at S1 1040 1050; at S2 1050 1060");
    assert_eq!(of("unit-mistaken", &text), ["all torques are far above their window; 1050 N.cm would be 10.5 N·m"]);
    // One that fits as it is, and a torque that fits no unit.
    for text in [full("at S1 92 93; at S2 10.5 92.5"), full("at S1 14.5 14.5; at S2 14.5 14.5")] {
        assert_eq!(of("unit-mistaken", &text), NOTHING);
        assert!(about_values(&text).contains(&"torque-window"), "{:?}", about_values(&text));
    }
    let said = full("at S1 (in-lbf)92 (in-lbf)93");
    assert_eq!((of("unit-mistaken", &said), of("torque-window", &said)), (vec![], vec![]));
    // By the kilogram-force: 10.4 to 10.6 N·m are 106.05 to 108.09 kgf·cm (1 kgf = 9.80665 N, CGPM 1901).
    let text = full("at S1 107 107; at S2 107.5 106.5");
    assert_eq!(
        of("unit-mistaken", &text),
        ["all torques are far above their window; 107 kgf-cm would be 10.4931… N·m"]
    );
    assert_eq!(about_values(&text), ["unit-mistaken"]);
    // 10.5 N·m are 7.744 ft·lbf. That may also be too small a torque: it hides nothing.
    let text = full("at S1 7.75 7.75; at S2 7.75 7.75");
    assert_eq!(
        of("unit-mistaken", &text),
        ["all torques are far below their window; 7.75 ft-lbf would be 10.5075… N·m"]
    );
    assert!(about_values(&text).contains(&"torque-window"), "{:?}", about_values(&text));
    assert_eq!(of("unit-mistaken", &full("at S1 7.75 7.75; at S2 7.75 5")), NOTHING, "one that fits no unit");
    // A wrench that clicked at what it was set to.
    let clicked = "fasten X.a date=\"2026-04-14\" by=f stage=full setting=93 { clicked S1..S4 }";
    assert_eq!(about_values(&machine("", clicked)), ["unit-mistaken"]);
}

#[test]
fn readings_in_micrometres_are_one_finding() {
    let inspect =
        |rows: &str| machine("", &format!("inspect X.a.J1 date=\"2026-04-15\" by=i {{ light none; {rows} }}"));
    let text = inspect("UL -40 -> -30; UR 10 -> 50; LL 0 -> -10; LR 20 -> 10");
    assert_eq!(of("unit-mistaken", &text), ["a step of 40 mm, and all readings are whole: they look like micrometres"]);
    assert_eq!(about_values(&text), ["unit-mistaken"]);
    // Ten times the limit is no thousandfold; as micrometres it must make sense.
    for rows in ["UL 0 -> 0.2; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0", "UL 0 -> 201; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0"] {
        assert_eq!(of("unit-mistaken", &inspect(rows)), NOTHING, "{rows}");
        assert!(about_values(&inspect(rows)).contains(&"joint-step"), "{rows}");
    }
    // One reading that is not whole was read in millimetres.
    let one = "UL 0 -> 40; UR 0.01 -> 0; LL 0 -> 0; LR 0 -> 0";
    assert_eq!(of("unit-mistaken", &inspect(one)), NOTHING);
    let survey =
        |rows: &str| machine("", &format!("survey gap X.b date=\"2026-04-16\" by=i stage=verification {{ {rows} }}"));
    let text = survey("at S1 0; at S2 -70; at S3 20; at S4 0");
    assert_eq!(
        of("unit-mistaken", &text),
        ["stations differ by 90 mm, and all readings are whole: they look like micrometres"]
    );
    assert_eq!(about_values(&text), ["unit-mistaken"]);
    // An absolute reading that is the same everywhere says nothing of its unit.
    assert_eq!(of("unit-mistaken", &survey("at S1 40; at S2 40; at S3 40; at S4 40")), NOTHING);
}

#[test]
fn shims_in_micrometres_are_one_finding() {
    let shop = "shop { shim-stock { leaf 0.02; leaf 0.05 } }";
    let shim = |rows: &str| machine("", &format!("{shop}\nshim X.b date=\"2026-04-16\" by=f {{ {rows} }}"));
    let text = shim("at S2 50 20; at S3 20");
    assert_eq!(
        of("unit-mistaken", &text),
        ["a shim leaf of 50 mm, and all leaves are whole: they look like micrometres"]
    );
    assert!(!about_values(&text).contains(&"shim-stock"), "{:?}", about_values(&text));
    // A leaf that is in stock by no unit, and leaves in millimetres.
    for rows in ["at S2 50 30", "at S2 0.05 0.02", "at S2 50 0.02"] {
        assert_eq!(of("unit-mistaken", &shim(rows)), NOTHING, "{rows}");
    }
}

#[test]
fn whole_readings_look_like_micrometres_whatever_the_gauge_can_show() {
    let text = machine(
        "",
        "shop { gauge DI-4 kind=dial-indicator range=0.8 { calibrated \"2026-01-12\" due=\"2027-01-12\" } }
         inspect X.a.J1 date=\"2026-04-15\" by=i gauge=DI-4 { light none; UL -40 -> -30; UR 10 -> 50; LL 0 -> -10; LR 20 -> 10 }",
    );
    assert_eq!((of("unit-mistaken", &text).len(), of("gauge-range", &text).len()), (1, 0));
}

#[test]
fn a_place_is_told_beyond_either_end_of_the_axis() {
    let force =
        |at: &str| machine("", &format!("running-force X date=\"2026-04-19\" by=i {{ at 600 14; at {at} 15 }}"));
    for inside in ["0", "2400"] {
        assert_eq!(of("place-off-axis", &force(inside)), NOTHING, "{inside}");
    }
    assert_eq!(of("place-off-axis", &force("-0.001")), ["the force is read at -0.001 mm, 0.001 mm off the axis"]);
    assert_eq!(of("place-off-axis", &force("(m)24")), ["the force is read at 24000 mm, 21600 mm off the axis"]);
    // One finding a record: the one farthest off, and how many there are.
    assert_eq!(
        of("place-off-axis", &force("2401 12; at 2500 13; at 2450")),
        ["the force is read at 2500 mm, 100 mm off the axis; 2 more lie off it"]
    );
    let survey = "survey straightness X.a date=\"2026-04-16\" by=i stage=service { at 100 0; at 1200 0; at 2410 0; closure 100 0 }";
    assert_eq!(of("place-off-axis", &machine("", survey)), ["a station is read at 2410 mm, 10 mm off the axis"]);
    // The run counts as well as the rails; supports are described.
    let axis = |run: &str, supports: &str| {
        of("place-off-axis", &format!("machine m {{ axis X {{ {run}; rail a {{ segment 1200; {supports} }} }} }}"))
    };
    assert_eq!(axis("run from=0 to=2400", "support S1 at=2400"), NOTHING);
    assert_eq!(axis("", "support S1 at=1200; support S2 at=0"), NOTHING);
    assert_eq!(
        axis("", "support S1 at=-10; support S2 at=1201"),
        ["a support lies at -10 mm, 10 mm off the axis; 1 more lie off it"]
    );
    // Where nothing says where the axis lies, nobody can tell.
    assert_eq!(of("place-off-axis", "machine m { axis X { rail a { support S1 at=9000 } } }"), NOTHING);
}

#[test]
fn a_limit_is_told_beyond_the_factor() {
    let said = |book: &str| of("limit-loosened", &machine(&format!("rulebook {{ {book} }}"), ""));
    let as_agreed = |limit: &str| said(&format!("{limit} reason=\"as agreed\""));
    for within in [
        "joint-step most=0.2",
        "joint-step most=0.001",
        "full-torque least=80 most=90",
        "straightness most=0.5",
        "calibration-months most=120",
        "joint-bolts least=1",
        "proof is=required",
        "static-safety least=0.1",
    ] {
        assert_eq!(as_agreed(within), NOTHING, "{within}");
    }
    assert_eq!(
        as_agreed("joint-step most=20"),
        ["joint-step is at most 20 mm: about 1000 times as wide as the default (at most 0.02 mm)"]
    );
    for beyond in [
        "joint-step most=0.2001",
        "straightness most=0.6",
        "height-range most=20",
        "toe-in most=20",
        "full-torque least=1 most=12",
        "calibration-months most=121",
        "limit-loosening most=101",
    ] {
        assert_eq!(as_agreed(beyond).len(), 1, "{beyond}");
    }
    // The factor itself can be stated, with a reason.
    let wider = "joint-step most=0.5 reason=\"a crane\"; limit-loosening most=30 reason=\"a crane\"";
    assert_eq!(said(wider), NOTHING);
    // Of a limit of the machine and one of the shop only the one in force counts.
    let text = "shop { rulebook { joint-step most=20 reason=\"as agreed\" } }\n".to_string()
        + &machine("rulebook { joint-step most=0.03 reason=\"as agreed\" }", "");
    assert_eq!(of("limit-loosened", &text), NOTHING);
}

#[test]
fn a_reason_has_a_word_in_it_wherever_one_is_asked_for() {
    let loosened =
        |reason: &str| machine("", &format!("loosen X.a date=\"2026-05-02\" by=f reason=\"{reason}\" {{ at S2 }}"));
    for word in ["ok", "seat cleaned", "№ 7 as agreed", "清", "é à là"] {
        assert_eq!(of("reason-wordless", &loosened(word)), NOTHING, "{word}");
    }
    for none in ["", "-", "x", "x y z", "7.5", "…", "n/a"] {
        assert_eq!(of("reason-wordless", &loosened(none)).len(), 1, "{none}");
    }
    let day = "date=\"2026-05-03\" by=e reason=\"-\"";
    let loosen = "loosen X.a date=\"2026-05-02\" by=f { at S2 }";
    for (rest, what) in [
        (format!("{loosen}\nvoid loosen X.a of=\"2026-05-02\" {day}"), "the reason of this `void` has no word in it"),
        (format!("hold X.a {day}"), "the reason of this `hold` has no word in it"),
        (
            format!("hold X.a date=\"2026-05-02\" by=e reason=\"it rattles\"\nlift X.a disposition=rework {day}"),
            "the reason of this `lift` has no word in it",
        ),
    ] {
        assert_eq!(of("reason-wordless", &machine("", &rest)), [what]);
    }
    let window =
        machine("", "").replace("friction 0.12 0.14", "friction 0.12 0.14; full least=10 most=11 reason=\"-\"");
    assert_eq!(of("reason-wordless", &window), ["the reason of full window of `b` has no word in it"]);
    let book = machine("rulebook { joint-step most=0.03 reason=\"-\" }", "");
    assert_eq!(of("reason-wordless", &book), ["the reason of joint-step has no word in it"]);
}

#[test]
fn a_distance_runs_backwards_within_one_release_only() {
    let service = |date: &str, km: &str| format!("service X date=\"{date}\" by=f task=reading travelled=(km){km}\n");
    let said = |records: &[String]| of("travel-backwards", &machine("", &records.concat()));
    let (first, less) = (service("2026-06-01", "480"), service("2026-07-01", "479.9"));
    assert_eq!(said(&[first.clone(), service("2026-07-01", "480")]), NOTHING);
    assert_eq!(said(&[first.clone(), less.clone()]), ["479.9 km travelled, and 480 km before: 0.1 km less"]);
    // What came after the wrong one is held against it, so that one slip is told once.
    let slip =
        [first.clone(), service("2026-06-10", "4900"), service("2026-07-01", "490"), service("2026-08-01", "500")];
    assert_eq!(said(&slip), ["490 km travelled, and 4900 km before: 4410 km less"]);
    let released = "release X date=\"2026-06-15\" by=e\n".to_string();
    assert_eq!(said(&[first, released, less]), NOTHING);
    let negative = service("2026-06-01", "-5");
    assert_eq!(of("wrong-value", &machine("", &negative)).len(), 1);
}

#[test]
fn a_stylus_does_not_travel_backwards() {
    let inspect = |travel: &str| {
        let carrier = format!("carrier reach=40 travel={travel}; UL 0 -> 0");
        of("wrong-value", &machine("", &format!("inspect X.a.J1 date=\"2026-04-15\" by=i {{ light none; {carrier} }}")))
    };
    assert_eq!((inspect("15"), inspect("0")), (vec![], vec![]));
    assert_eq!(inspect("-15").len(), 1);
}

/// A survey of so many stations on a day, the reading growing along them.
fn day(date: &str, stations: usize, reading: impl Fn(usize) -> String) -> String {
    let rows: Vec<String> = (0..stations).map(|at| format!("at {} {}", 100 * at, reading(at))).collect();
    format!("survey straightness X.a date=\"{date}\" by=i stage=service {{ {} }}\n", rows.join("; "))
}

#[test]
fn a_day_with_the_readings_of_another_is_an_observation() {
    let copied = |records: &[String]| {
        let all = lint_text(&machine("", &records.concat()));
        let own: Vec<Finding> = all.into_iter().filter(|it| it.rule.as_str() == "readings-copied").collect();
        assert!(own.iter().all(|it| it.grade == Grade::Observation));
        own.into_iter().map(|it| it.message).collect::<Vec<_>>()
    };
    let grows = |at: usize| format!("0.00{}", at % 7);
    let [monday, tuesday] = ["2026-04-20", "2026-04-21"];
    let told = ["12 readings of 2026-04-21 are those of 2026-04-20, to the last digit"];
    assert_eq!(copied(&[day(monday, 12, grows), day(tuesday, 12, grows)]), told);
    assert_eq!(copied(&[day(monday, 11, grows), day(tuesday, 11, grows)]), NOTHING);
    for same in ["0", "0.004"] {
        assert_eq!(copied(&[day(monday, 14, |_| same.into()), day(tuesday, 14, |_| same.into())]), NOTHING, "{same}");
    }
    // Another digit, another day's worth of records, the same day, a correction.
    let other = |at: usize| if at == 11 { "0.009".into() } else { grows(at) };
    assert_eq!(copied(&[day(monday, 12, grows), day(tuesday, 12, other)]), NOTHING);
    assert_eq!(copied(&[day(monday, 12, grows), day(monday, 12, grows)]), NOTHING);
    let correction = day(tuesday, 12, grows).replace("by=i", "by=i replaces=\"2026-04-20\"");
    assert_eq!(copied(&[day(monday, 12, grows), correction]), NOTHING);
    // Several records of a day count together: yesterday's file with another date.
    let joints = |date: &str| -> String {
        let rows = "UL 0 -> 0.01; UR 0 -> 0.002; LL 0 -> 0; LR 0 -> 0.003";
        let torques = "at S1 10.4 10.5; at S2 10.6 10.5";
        format!(
            "inspect X.a.J1 date=\"{date}T10:00\" by=i {{ light none; {rows} }}
             fasten X.b date=\"{date}T11:00\" by=f stage=full {{ {torques} }}\n"
        )
    };
    assert_eq!(copied(&[joints(monday), joints(tuesday)]), told);
}

const PERSONS: &str = "shop { person fitter-2; person inspector-1; person inspector-10 }";

#[test]
fn where_persons_are_declared_every_record_is_by_one_of_them() {
    let loosen = |by: &str| format!("loosen X.a date=\"2026-05-02\" by={by} reason=\"seat cleaned\" {{ at S2 }}");
    let said = |shop: &str, records: &str| of("person-unknown", &machine("", &format!("{shop}\n{records}")));
    assert_eq!(said("", &loosen("anybody")), NOTHING);
    assert_eq!(said(PERSONS, &loosen("fitter-2")), NOTHING);
    assert_eq!(said(PERSONS, &loosen("fitter-3")), ["the shop has no person `fitter-3`"]);
    // A record that was withdrawn resolves no names; who withdrew it is one.
    let void = |by: &str| {
        format!(
            "{}\nvoid loosen X.a of=\"2026-05-02\" date=\"2026-05-03\" by={by} reason=\"a wrong name\"",
            loosen("fitter-3")
        )
    };
    assert_eq!(said(PERSONS, &void("inspector-1")), NOTHING);
    assert_eq!(said(PERSONS, &void("fitter-4")), ["the shop has no person `fitter-4`"]);
    assert_eq!(of("duplicate-name", &machine("", "shop { person a1; person a1 }")).len(), 1);
}

#[test]
fn a_file_named_after_somebody_else_is_an_observation() {
    let text = machine("", "");
    let said = |name: &str, by: &str, shop: &str| {
        let record = |day: &str, by: &str| {
            format!("loosen X.a date=\"2026-05-{day}\" by={by} reason=\"seat cleaned\" {{ at S2 }}\n")
        };
        let records = record("02", "inspector-1") + &record("03", by) + &record("04", by);
        let judged = judge(&[("machine.kdl", &text), (name, &records)], &[shop]);
        let own = judged.findings.into_iter().filter(|it| it.rule.as_str() == "person-file");
        own.map(|it| (it.grade, it.message)).collect::<Vec<_>>()
    };
    let told = [(Grade::Observation, "a record by `fitter-2` in a file that is named after `inspector-1`".to_string())];
    for name in ["inspector-1.kdl", "2026-05-02-inspector-1.kdl", "inspector-1_may.kdl"] {
        assert_eq!(said(name, "fitter-2", PERSONS), told, "{name}");
        assert_eq!(said(name, "inspector-1", PERSONS), [], "{name}");
        assert_eq!(said(name, "fitter-2", "shop {}"), [], "{name}: nobody is declared");
    }
    for free in ["may.kdl", "2026-05-02.kdl", "inspector.kdl", "inspector-1-and-fitter-2.kdl", "xinspector-1.kdl"] {
        assert_eq!(said(free, "fitter-2", PERSONS), [], "{free}");
    }
    // A longer name is another person's.
    assert_eq!(said("inspector-10.kdl", "inspector-10", PERSONS).len(), 1);
}

/// It stands at no axis, and yet no axis is released by it. Where all are released, the seal's own limits hold.
#[test]
fn a_loosened_limit_keeps_every_axis_from_release() {
    let text = |book: &str, more: &str| {
        format!(
            "machine m {{ rulebook {{ {book} }}\n axis X {{ rail a {{ segment 1200 }} }}; axis Y {{ rail a {{ segment 600 }} }} }}\n{more}"
        )
    };
    let refused = |book: &str, axis: usize| {
        let judged = judge(&[("machine.kdl", &text(book, ""))], &[]);
        let found = before_release(&Case::new(&judged.ledger, today()), axis, "engineer-1");
        let own =
            found.iter().map(|it| it.rule.as_str()).filter(|rule| ["limit-loosened", "reason-wordless"].contains(rule));
        own.collect::<Vec<_>>()
    };
    for axis in [0, 1] {
        assert_eq!(refused("gap-range most=20 reason=\"as agreed\"", axis), ["limit-loosened"]);
        assert_eq!(refused("gap-range most=0.06 reason=\"-\"", axis), ["reason-wordless"]);
        assert_eq!(refused("gap-range most=0.06 reason=\"as agreed\"", axis), NOTHING);
    }
    let released = |axes: &[&str]| {
        let records: String = axes.iter().map(|axis| format!("release {axis} date=\"2026-06-15\" by=e\n")).collect();
        of("limit-loosened", &text("gap-range most=20 reason=\"as agreed\"", &records)).len()
    };
    assert_eq!((released(&["X"]), released(&["X", "Y"])), (1, 0));
}
