//! Straightness added up from angles: what counts, what is told of a slip, and what the papers say of it.

use std::fs;

use assert_cmd::Command;

use crate::common::lint_text;

/// A machine that is clean and complete, its reference rail read with a level in steps of 120 mm from support to support.
const SLIDE: &str = r#"
shop "Slip 2" {
    gauge LV-1 kind=level graduation=(um.m-1)1 range=(mm.m-1)2 permissible-error=(um.m-1)4 repeatability=(um.m-1)1 plus=up {
        calibrated "2026-01-12" due="2027-01-12" certificate="C-2213"
    }
    gauge AC-1 kind=autocollimator graduation=(arcsec)0.1 range=(arcsec)300 permissible-error=(arcsec)0.5 repeatability=(arcsec)0.2 plus=up {
        calibrated "2026-01-12" due="2027-01-12" certificate="C-2214"
    }
    gauge DI-6 kind=dial-indicator graduation=0.002 range=5 permissible-error=0.005 local-error=0.003 plus=wider {
        calibrated "2026-01-12" due="2027-01-12" certificate="C-2212"
    }
    wrench TW-1 kind=setting least=0.5 most=5 { calibrated "2026-02-02" due="2027-02-02" certificate="C-2238" }
    wrench TW-2 kind=setting least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" certificate="C-2239" }
    shim-stock { leaf 0.02; leaf 0.05; leaf 0.10 count=4 }
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 { stock 600 }
    fastener rail-bolt thread=M6 class="10.9" head=socket-cap into=steel { friction 0.12 0.14 }
    not-applicable overtravel date="2026-05-01" by=engineer-1 reason="it has no carriage yet"
}
machine slide {
    rulebook { straightness most=0.02 reason="drawing 204-2" }
    axis X {
        run from=0 to=600
        rail left profile=R20 rail-bolt=rail-bolt {
            segment 600 serial=K-201
            supports S first=60 pitch=120 count=5 length=80
        }
        rail right profile=R20 rail-bolt=rail-bolt follows=left shims=widen {
            segment 600 serial=K-202
            supports S first=60 pitch=120 count=5 length=80
        }
    }
}
fasten X.left date="2026-05-04" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S1..S5 }
fasten X.left date="2026-05-04" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1..S5 }
fasten X.right date="2026-05-04" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S1..S5 }
fasten X.right date="2026-05-04" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1..S5 }
survey straightness X.left date="2026-05-04" by=inspector-1 gauge=LV-1 temperature=20 stage=as-fitted {
    angles from=S1 base=120
    at S2 (um.m-1)50
    at S3 (mm.m-1)0.05
    at S4 (um.m-1)-50
    at S5 (urad)-50
    closure S2 (um.m-1)51
}
survey gap X.right date="2026-05-05" by=inspector-1 gauge=DI-6 temperature=20 stage=as-fitted {
    at S1 0
    at S2 -0.01
    at S3 -0.01
    at S4 -0.02
    at S5 -0.02
    closure S1 0
}
"#;

/// The slide with one piece of text in place of another.
fn slide(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(SLIDE.to_string(), |text, (was, now)| {
        assert!(text.contains(was), "{was}");
        text.replace(was, now)
    })
}

/// What is said of it beyond what was said of the slide as it is: nothing at all.
fn said(changes: &[(&str, &str)]) -> Vec<String> {
    let told = |it: &wayledger::lint::Finding| format!("{} {}: {}", it.rule, it.address, it.message);
    lint_text(&slide(changes)).iter().map(told).collect()
}

/// The one finding that begins so.
fn one(changes: &[(&str, &str)], rule: &str) -> wayledger::lint::Finding {
    let all = lint_text(&slide(changes));
    let found: Vec<_> = all.iter().filter(|it| it.rule.as_str() == rule).collect();
    assert_eq!(found.len(), 1, "{changes:?}: {all:#?}");
    found[0].clone()
}

#[test]
fn a_survey_of_angles_makes_a_machine_clean_and_complete() {
    assert_eq!(said(&[]), [""; 0]);
    let lint = run(&["lint", "--complete"], "");
    assert!(lint.contains("clean and complete"), "{lint}");
    // Four steps of 0.05 mm/m over 120 mm: 12 µm at the middle, with which a limit of 12 µm is just kept. The curvature of
    // 480 mm is 4.5 nm (L²/8R).
    let kink = [("most=0.02 reason", "most=0.013 reason")];
    assert_eq!(said(&kink).iter().filter(|it| it.starts_with("straightness-range X")).count(), 0);
    let broken = one(&[("most=0.02 reason", "most=0.012 reason")], "straightness-range");
    assert_eq!(broken.message, "the rail is straight within 0.012005 mm: S3 stands farthest out");
    // The same with an autocollimator, which sees no curvature, in arc seconds: 10.3132″ are 50 µm/m.
    let collimated = [
        ("gauge=LV-1", "gauge=AC-1"),
        ("closure S2 (um.m-1)51", "closure S2 (um.m-1)50"),
        ("most=0.02 reason", "most=0.012 reason"),
    ];
    assert_eq!(said(&collimated).iter().filter(|it| it.starts_with("straightness-range X")).count(), 0);
}

#[test]
fn typical_slips_are_told_with_what_to_write() {
    // A length in place of an angle, which is never taken for one.
    let length = one(&[("at S3 (mm.m-1)0.05", "at S3 0.05")], "wrong-value");
    assert_eq!(length.message, "this is a length, and this survey reads angles");
    assert!(length.next.starts_with("write the angle with its unit, as (um.m-1)12"), "{}", length.next);
    let millimetres = one(&[("at S3 (mm.m-1)0.05", "at S3 (mm)0.05")], "wrong-value");
    assert_eq!(millimetres.message, "this is a length, and this survey reads angles");
    // Angles without the steps that they are of.
    let bare = one(&[("    angles from=S1 base=120\n", "")], "wrong-value");
    assert_eq!(bare.message, "this is an angle, and this survey reads lengths, and so are 4 more");
    assert!(bare.next.contains("angles from=… base=…"), "{}", bare.next);
    // A step that is not the base, a station left out, and steps from the wrong end.
    let off = one(&[("base=120", "base=100")], "wrong-value");
    assert_eq!(off.message, "the step from S1 to S2 is 120 mm, and the base is 100 mm");
    let left_out = one(&[("    at S3 (mm.m-1)0.05\n", "")], "wrong-value");
    assert_eq!(left_out.message, "the step from S2 to S4 is 240 mm, 2 times the base of 120 mm");
    assert!(left_out.next.starts_with("read every step between S2 and S4"), "{}", left_out.next);
    let turned = one(&[("from=S1", "from=S5")], "wrong-value");
    assert_eq!(turned.message, "S2 does not lie behind S5, where the steps begin");
    // An end in a joint: a step stands on both sides of it.
    let joint = [
        ("segment 600 serial=K-201", "segment 300 serial=K-201\n            segment 300 serial=K-203"),
        ("at S3 (mm.m-1)0.05", "at J1- (mm.m-1)0.05"),
    ];
    let end = one(&joint, "wrong-value");
    assert_eq!(end.message, "J1- is one end in a joint, and an angle does not tell the two apart");
    assert!(end.next.starts_with("write J1;"), "{}", end.next);
    // What is not said, and what is misspelt.
    assert!(one(&[(" base=120", "")], "missing-part").message.contains("base"));
    let unit = one(&[("(um.m-1)50", "(\"um per m\")50")], "wrong-unit");
    assert!(unit.next.contains("um.m-1") && unit.next.contains("units of an angle"), "{}", unit.next);
    let misspelt = one(&[("(um.m-1)50", "(arcseconds)50")], "wrong-unit");
    assert_eq!(misspelt.next, "write (arcsec)50");
    // A gap is not added up.
    let gap = one(
        &[
            ("    at S1 0\n    at S2 -0.01", "    angles from=S1 base=120\n    at S2 (um.m-1)1"),
            ("    at S3 -0.01\n    at S4 -0.02\n    at S5 -0.02\n    closure S1 0\n", ""),
        ],
        "wrong-value",
    );
    assert_eq!(gap.message, "a gap is not added up from angles: only straightness is");
}

#[test]
fn a_gauge_of_lengths_reads_no_angles_and_one_of_angles_no_lengths() {
    let dial = one(&[("gauge=LV-1 temperature", "gauge=DI-6 plus=up temperature")], "instrument-unsuited");
    assert_eq!(dial.message, "DI-6, a dial-indicator, cannot read angles: this record does not count");
    assert!(dial.next.ends_with("level, autocollimator, laser-angle"), "{}", dial.next);
    let level = one(&[("gauge=DI-6 temperature", "gauge=LV-1 plus=wider temperature")], "instrument-unsuited");
    assert_eq!(level.message, "LV-1, a level, cannot read a gap: this record does not count");
    // A level follows gravity: it tells nothing of left and right. An autocollimator does.
    let lateral = one(&[("gauge=LV-1 temperature", "gauge=LV-1 plus=left temperature")], "instrument-unsuited");
    assert!(lateral.message.starts_with("LV-1, a level, follows gravity"), "{}", lateral.message);
    assert_eq!(
        said(&[
            ("gauge=LV-1 temperature", "gauge=AC-1 plus=left temperature"),
            ("closure S2 (um.m-1)51", "closure S2 (um.m-1)50")
        ])
        .iter()
        .filter(|it| it.contains("unsuited"))
        .count(),
        0
    );
    // What does not count is outstanding.
    let all = said(&[("gauge=LV-1 temperature", "gauge=LV-1 plus=left temperature")]);
    assert!(all.iter().any(|it| it.starts_with("instrument-unsuited")), "{all:?}");
    // The figures of a gauge are of its kind.
    for (was, now) in [("graduation=(um.m-1)1 ", "graduation=0.001 "), ("range=(mm.m-1)2", "range=(N)2")] {
        let figure = one(&[(was, now)], "wrong-value");
        assert_eq!(figure.message, "this cannot be a figure of LV-1", "{now}");
        assert!(figure.next.starts_with("write an angle, as (um.m-1)5"), "{}", figure.next);
    }
    let of_length = one(&[("graduation=0.002 range=5", "graduation=(um.m-1)2 range=5")], "wrong-value");
    assert!(of_length.next.starts_with("write a length"), "{}", of_length.next);
}

#[test]
fn what_a_gauge_of_angles_cannot_show_is_told() {
    let range = one(&[("range=(mm.m-1)2", "range=(um.m-1)49")], "gauge-range");
    assert!(range.message.starts_with("LV-1 cannot show 51 µm/m, nor "), "{}", range.message);
    // One mark is 50 µm over 1 m: over 120 mm it lets a step rise by 6 µm.
    let coarse = one(
        &[
            ("graduation=(um.m-1)1 ", "graduation=(um.m-1)50 "),
            ("permissible-error=(um.m-1)4", "permissible-error=(um.m-1)200"),
            ("most=0.02 reason", "most=0.011 reason"),
            ("closure S2 (um.m-1)51", "closure S2 (um.m-1)50"),
        ],
        "gauge-graduation",
    );
    assert!(
        coarse.message.contains("lets a step of 120 mm rise by 0.006 mm is too coarse for a limit of 0.011 mm"),
        "{}",
        coarse.message
    );
    let between = one(&[("at S2 (um.m-1)50", "at S2 (um.m-1)50.5")], "gauge-graduation");
    assert_eq!(between.message, "50.5 µm/m is finer than the 1 µm/m the instrument shows");
    // Arc seconds lie on their marks, though each is rounded by itself.
    let seconds = [
        ("gauge=LV-1", "gauge=AC-1"),
        ("(um.m-1)50", "(arcsec)10.3"),
        ("(mm.m-1)0.05", "(arcsec)7.7"),
        ("(um.m-1)-50", "(arcsec)-10.3"),
        ("(urad)-50", "(arcsec)-9.9"),
        ("(um.m-1)51", "(arcsec)10.3"),
    ];
    assert_eq!(said(&seconds), [""; 0]);
    // A drift of 160 µm/m over 480 mm bends the line by 9.6 µm.
    let drift = one(&[("closure S2 (um.m-1)51", "closure S2 (um.m-1)210")], "survey-closure");
    assert_eq!(
        drift.message,
        "the as-fitted straightness survey does not close: the step to S2 changed by 160 µm/m, which bends the line by 0.0096 mm"
    );
    // Repeats that lie apart, and an error that was found afterwards.
    let apart = one(&[("at S2 (um.m-1)50", "at S2 (um.m-1)50 (um.m-1)70 (um.m-1)60")], "repeats-apart");
    assert!(apart.message.contains("20 µm/m apart, from 50 µm/m to 70 µm/m"), "{}", apart.message);
}

#[test]
fn a_doubt_of_an_angle_stops_only_what_it_could_turn() {
    // ± e in each of 4 steps of 120 mm bends the line by up to e · 0.24 m: 8 µm are left to the limit, that is e = 33 µm/m.
    let doubt = |error: &str| {
        let text = format!(
            "    doubt LV-1 date=\"2026-06-01\" by=inspector-1 from=\"2026-05-01\" error={error} reason=\"a foot was loose\"\n    profile R20 hole"
        );
        said(&[("    profile R20 hole", &text)])
    };
    let told = |error: &str| {
        let of_it: Vec<String> = doubt(error).into_iter().filter(|it| it.starts_with("gauge-calibration")).collect();
        assert_eq!(of_it.len(), 1, "{of_it:?}");
        of_it[0].contains("could turn no result")
    };
    assert!(told("(um.m-1)32"));
    assert!(!told("(um.m-1)35"));
    // An error of a length is none of a level.
    assert_eq!(
        one(&[("    profile R20 hole", "    doubt LV-1 date=\"2026-06-01\" by=inspector-1 from=\"2026-05-01\" error=0.01 reason=\"a foot was loose\"\n    profile R20 hole")], "wrong-value").message,
        "this cannot be the error of LV-1"
    );
}

/// Straightness of a rail of 25 supports, read again in part after one of them was set anew; and a doubt of one of the gauges.
fn read_again(most: &str, rows: [&str; 2], doubted: &str, error: &str) -> Vec<String> {
    let all = lint_text(&text_read_again(most, rows, doubted, error));
    let all: Vec<String> = all.iter().map(|it| format!("{} {}: {}", it.rule, it.address, it.message)).collect();
    assert!(!all.iter().any(|it| it.starts_with("wrong-") || it.contains("not tied")), "{all:#?}");
    all.into_iter().filter(|it| it.starts_with("gauge-calibration") && it.contains(doubted)).collect()
}

fn text_read_again(most: &str, rows: [&str; 2], doubted: &str, error: &str) -> String {
    let [first, again] = rows;
    format!(
        r#"
shop {{
    gauge LV-1 kind=autocollimator graduation=(um.m-1)1 permissible-error=(um.m-1)4 repeatability=(um.m-1)1 plus=up {{ calibrated "2026-01-12" due="2027-01-12" certificate="C-1" }}
    gauge LV-2 kind=autocollimator graduation=(um.m-1)1 permissible-error=(um.m-1)0.5 repeatability=(um.m-1)0.5 plus=up {{ calibrated "2026-01-12" due="2027-01-12" certificate="C-2" }}
    gauge DI-1 kind=dial-indicator graduation=0.001 permissible-error=0.002 repeatability=0.001 plus=up {{ calibrated "2026-01-12" due="2027-01-12" certificate="C-3" }}
    gauge DI-2 kind=dial-indicator graduation=0.001 permissible-error=0.002 repeatability=0.001 plus=up {{ calibrated "2026-01-12" due="2027-01-12" certificate="C-4" }}
    doubt {doubted} date="2026-06-01" by=inspector-1 from="2026-05-01" error={error} reason="it was dropped"
}}
machine m {{
    rulebook {{ straightness most={most} reason="drawing 204-2" }}
    axis X {{ rail left {{ segment 3000; supports S first=60 pitch=120 count=25 }} }}
}}
fasten X.left date="2026-05-04" by=fitter-2 stage=full setting=10.5 {{ clicked S1..S25 }}
survey straightness X.left date="2026-05-04" by=inspector-1 stage=as-fitted {first}
loosen X.left date="2026-05-06" by=fitter-2 reason="set anew" {{ at S8 }}
fasten X.left date="2026-05-06" by=fitter-2 stage=full setting=10.5 {{ clicked S8 }}
survey straightness X.left date="2026-05-07" by=inspector-1 stage=service {again}
"#
    )
}

#[test]
fn an_error_is_held_against_what_tied_surveys_say_together() {
    let could_turn = |most: &str, rows: [&str; 2], doubted: &str, error: &str| {
        let found = read_again(most, rows, doubted, error);
        assert_eq!(found.len(), 1, "{found:?}");
        let stays = found[0].contains("could turn no result");
        assert!(stays || found[0].contains("whose result its error could turn"), "{found:?}");
        !stays
    };
    let rows = |range: std::ops::RangeInclusive<usize>, of: &dyn Fn(usize) -> String| {
        range.map(|at| format!("at S{at} {}; ", of(at))).collect::<String>()
    };
    // Seven steps up by 1 µm/m, ten level, seven down: 0.84 µm by steps of 120 mm. S8 lies 0.36 µm higher when it is read
    // again, over 1.08 m in which 1 µm/m bends the line by 0.54 µm.
    let before = rows(2..=25, &|at| {
        format!(
            "(um.m-1){}",
            if at <= 8 {
                1
            } else if at <= 18 {
                0
            } else {
                -1
            }
        )
    });
    let after = rows(5..=12, &|at| format!("(um.m-1){}", [1, 1, 1, 4, -4, 0, 0, 0][at - 5]));
    let angles = [
        format!("gauge=LV-1 {{ angles from=S1 base=120; {before} }}"),
        format!("gauge=LV-2 {{ angles from=S4 base=120; {after} }}"),
    ];
    let angles = angles.each_ref().map(String::as_str);
    assert!(could_turn("0.0013", angles, "LV-2", "(um.m-1)1"));
    assert!(!could_turn("0.01", angles, "LV-2", "(um.m-1)1"));
    // The one of the first survey: ± 4 µm/m over 2.88 m are 5.8 µm.
    assert!(could_turn("0.0065", angles, "LV-1", "(um.m-1)4"));
    assert!(!could_turn("0.03", angles, "LV-1", "(um.m-1)4"));
    // Lengths: the rail is bowed by 0.019 mm where it was read first only; what was read again by itself is straight.
    let bowed = rows(1..=25, &|at| if at == 20 { "0.019".into() } else { "0".into() });
    let flat = rows(4..=12, &|_| "0".into());
    let lengths = [format!("gauge=DI-1 {{ {bowed} }}"), format!("gauge=DI-2 {{ {flat} }}")];
    let lengths = lengths.each_ref().map(String::as_str);
    assert!(could_turn("0.02", lengths, "DI-2", "0.001"));
    assert!(!could_turn("0.03", lengths, "DI-2", "0.001"));
    // The other way round: the first survey is straight, and S8 stands out in the second.
    let straight = rows(1..=25, &|_| "0".into());
    let out = rows(4..=12, &|at| if at == 8 { "0.019".into() } else { "0".into() });
    let lengths = [format!("gauge=DI-1 {{ {straight} }}"), format!("gauge=DI-2 {{ {out} }}")];
    let lengths = lengths.each_ref().map(String::as_str);
    assert!(could_turn("0.02", lengths, "DI-1", "0.001"));
    assert!(!could_turn("0.03", lengths, "DI-1", "0.001"));
}

#[test]
fn nothing_is_proven_by_a_bend_that_was_not_seen() {
    // ± 40 µm/m in each of 4 steps of 120 mm is 9.6 µm at the middle, U = 2 · 9.6/√3 = 11.1 µm at least, whatever was read.
    for readings in [["0", "0", "0", "0"], ["1", "0", "0", "0"]] {
        let rows = readings.iter().zip(2..).map(|(read, at)| format!("    at S{at} (um.m-1){read}\n"));
        let rows: String = rows.collect();
        let read = "    at S2 (um.m-1)50\n    at S3 (mm.m-1)0.05\n    at S4 (um.m-1)-50\n    at S5 (urad)-50\n";
        let closure = format!("closure S2 (um.m-1){}", readings[0]);
        let changes = |most: &'static str| {
            [
                (read, rows.clone()),
                ("closure S2 (um.m-1)51", closure.clone()),
                ("permissible-error=(um.m-1)4 ", "permissible-error=(um.m-1)40 ".to_string()),
                ("straightness most=0.02 reason=\"drawing 204-2\"", most.to_string()),
            ]
        };
        let found = |most: &'static str| {
            let changes = changes(most);
            said(&changes.each_ref().map(|(was, now)| (*was, now.as_str())))
        };
        let unproven = |most: &'static str| found(most).iter().filter(|it| it.contains("-unproven X.left")).count();
        assert_eq!(unproven("straightness most=0.011 reason=\"drawing\"; proof is=required reason=\"drawing\""), 1);
        assert_eq!(unproven("straightness most=0.012 reason=\"drawing\"; proof is=required reason=\"drawing\""), 0);
        // Within 240 mm, two steps of half the length.
        let local = "straightness-local most=0.005 over=240 reason=\"drawing\"; proof is=required reason=\"drawing\"";
        assert_eq!(unproven(local), 1, "{:?}", found(local));
    }
}

/// The slide on disk, and what a command says of it.
fn run(arguments: &[&str], stdin: &str) -> String {
    run_on(SLIDE, arguments, stdin)
}

fn run_on(text: &str, arguments: &[&str], stdin: &str) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("machine.kdl"), text).expect("written");
    let out = Command::cargo_bin("wayledger")
        .expect("the program is built")
        .current_dir(folder.path())
        .args(arguments)
        .args(["--today", "2026-06-01"])
        .write_stdin(stdin)
        .output()
        .expect("it runs");
    String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr)
}

#[test]
fn the_papers_tell_of_each_survey_of_angles_that_is_tied() {
    // Level steps by a level over 2.88 m, and nine of them again over 1.08 m, S8 lifted by 0.24 µm.
    let rows = |range: std::ops::RangeInclusive<usize>, lifted: &str, after: &str| {
        let of = |at| match at {
            8 => lifted.to_string(),
            9 => after.to_string(),
            _ => "0".to_string(),
        };
        range.map(|at| format!("at S{at} (um.m-1){}; ", of(at))).collect::<String>()
    };
    let first = format!("gauge=LV-1 {{ angles from=S1 base=120; {} }}", rows(2..=25, "0", "0"));
    let again = format!("gauge=LV-2 {{ angles from=S4 base=120; {} }}", rows(5..=13, "2", "-2"));
    let text = text_read_again("0.02", [&first, &again], "LV-2", "(um.m-1)1");
    let text = text.replace("kind=autocollimator", "kind=level");
    let how = run_on(&text, &["how", "X.left", "straightness"], "");
    // Geometry: L²/(8R) of 1.08 m is 0.023 µm, and of 2.88 m 0.163 µm, rounded up.
    for part in [
        "height of S8 in its survey",
        "S8 as tied to the survey before",
        "base of a step",
        "step to S8",
        "0.000163 mm",
        "0.000023 mm",
        "with its tie",
    ] {
        assert!(how.contains(part), "{part} in\n{how}");
    }
    let report = run_on(&text, &["report", "--format", "markdown"], "");
    for part in [
        "angles of 24 steps of 120 mm, read on 2026-05-04 by inspector-1",
        "angles of 9 steps of 120 mm, read on 2026-05-07 by inspector-1",
        "0.000163 mm at the middle of the span is taken off, read on 2026-05-04",
        "0.000023 mm at the middle of the span is taken off, read on 2026-05-07",
    ] {
        assert!(report.contains(part), "{part} in\n{report}");
    }
}

#[test]
fn the_papers_say_what_was_added_up_and_what_was_taken_off() {
    let how = run(&["how", "X.left", "straightness"], "");
    for part in ["0.012005 mm", "base of a step", "step to S3", "50 µm/m", "L²/(8R)", "R = 6371 km", "u² n/4 + e² n²/4"]
    {
        assert!(how.contains(part), "{part} in\n{how}");
    }
    let report = run(&["report", "--format", "markdown"], "");
    for part in ["angles of 4 steps of 120 mm", "0.000005 mm at the middle of the span is taken off"] {
        assert!(report.contains(part), "{part} in\n{report}");
    }
    let table = run(&["export"], "");
    let slopes = table.lines().filter(|line| line.contains(",slope,") && line.contains("µm/m")).count();
    assert_eq!(slopes, 4, "{table}");
    assert_eq!(table.lines().filter(|line| line.contains(",slope-closure,")).count(), 1, "{table}");
}

#[test]
fn what_lies_behind_a_break_is_named_as_not_known() {
    let blank = one(&[("at S3 (mm.m-1)0.05", "at S3 #null")], "station-missing");
    assert_eq!(
        blank.message,
        "the as-fitted straightness survey has no reading at S3, and does not tell the height of S4, S5, behind the blank at S3"
    );
    assert!(blank.next.starts_with("read the steps to S3 and add the rows"), "{}", blank.next);
    // Nothing lies behind the last one.
    let last = one(&[("at S5 (urad)-50", "at S5 #null")], "station-missing");
    assert_eq!(last.message, "the as-fitted straightness survey has no reading at S5");
    // However often each was read: the sum of 24 means has the product of 24 primes below its line, and is known.
    let primes = (2..90).filter(|it: &u32| (2..*it).all(|by| !it.is_multiple_of(by)));
    let rows = primes.zip(1..).map(|(times, step)| {
        let repeats: Vec<String> = (0..times).map(|at| format!("(arcsec)10.{}", at % 7 + 1)).collect();
        format!("    at {} {}\n", 60 + 20 * step, repeats.join(" "))
    });
    let rows: Vec<String> = rows.collect();
    assert_eq!(rows.len(), 24);
    let read = "    at S2 (um.m-1)50\n    at S3 (mm.m-1)0.05\n    at S4 (um.m-1)-50\n    at S5 (urad)-50\n";
    let all = [
        ("gauge=LV-1 temperature", "gauge=AC-1 temperature"),
        (read, &rows.concat()),
        ("from=S1 base=120", "from=S1 base=20"),
        ("    closure S2 (um.m-1)51\n", ""),
    ];
    let many = said(&all);
    assert_eq!(
        many.iter().filter(|it| it.starts_with("station-missing") || it.starts_with("wrong-")).count(),
        0,
        "{many:?}"
    );
}

#[test]
fn a_level_with_a_figure_in_lengths_is_told_what_reads_a_staff() {
    let level = one(&[("kind=level graduation=(um.m-1)1", "kind=level graduation=0.001")], "wrong-value");
    assert!(
        level.next.ends_with("one that reads a staff in lengths is kind=other with `reads height`"),
        "{}",
        level.next
    );
    let collimator = one(&[("graduation=(arcsec)0.1", "graduation=0.001")], "wrong-value");
    assert!(!collimator.next.contains("staff"), "{}", collimator.next);
}

#[test]
fn each_unit_that_is_offered_can_be_written() {
    let first = asked("120\nS1\num/m\num.m-1\n.\n").1;
    let offered = first.split("In which unit are the angles? (").nth(1).and_then(|it| it.split(')').next());
    let offered: Vec<&str> = offered.expect("it is asked").split(", ").collect();
    assert!(offered.len() >= 4 && offered.contains(&"arcsec"), "{offered:?}");
    for unit in offered {
        let (text, told) = asked(&format!("120\nS1\n{unit}\n0.5\n0.5\n0.5\n0.5\n0.5\n"));
        assert!(text.contains(&format!("({unit})0.5")), "{unit}: {told}\n{text}");
    }
}

/// What is written of a survey that is asked for, and what was said.
fn asked(answers: &str) -> (String, String) {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("machine.kdl"), SLIDE).expect("written");
    let out = Command::cargo_bin("wayledger")
        .expect("the program is built")
        .current_dir(folder.path())
        .args(["record", "survey", "X.left", "--reads", "straightness", "--stage", "service", "--gauge", "LV-1"])
        .args(["--temperature", "20", "--by", "inspector-2", "--date", "2026-06-01T10:30", "--today", "2026-06-01"])
        .write_stdin(answers)
        .output()
        .expect("it runs");
    let written = fs::read_dir(folder.path()).expect("listed").filter_map(|entry| {
        let path = entry.expect("an entry").path();
        (!path.ends_with("machine.kdl")).then(|| fs::read_to_string(path).expect("read"))
    });
    let told = String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr);
    (written.collect(), told)
}

#[test]
fn angles_are_asked_for_step_by_step() {
    let (text, told) = asked("120\nS1\num.m-1\n50\n(mm.m-1)0.05 (mm.m-1)0.051\n-50\n-50\n50\n");
    assert!(!text.is_empty(), "{told}");
    for row in [
        "angles from=60 base=120",
        "at S2 (um.m-1)50",
        "at S3 (mm.m-1)0.05 (mm.m-1)0.051",
        "at S5 (um.m-1)-50",
        "closure S2 (um.m-1)50",
    ] {
        let spaces: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(spaces.contains(row), "{row} in\n{text}");
    }
}

#[test]
fn a_file_of_an_autocollimator_becomes_a_survey_of_angles() {
    let folder = tempfile::tempdir().expect("a folder");
    let import = |columns: &str, rows: &str| {
        let file = format!("    readings-file bench record=survey gauge=AC-1 closure=#true {columns}\n    wrench TW-1");
        fs::write(folder.path().join("machine.kdl"), slide(&[("    wrench TW-1", &file)])).expect("written");
        fs::write(folder.path().join("out.csv"), format!("Pos,Value\n{rows}")).expect("written");
        let out = Command::cargo_bin("wayledger")
            .expect("the program is built")
            .current_dir(folder.path())
            .args([
                "import",
                "out.csv",
                "--as",
                "bench",
                "--on",
                "X.left",
                "--by",
                "inspector-2",
                "--survey",
                "straightness",
            ])
            .args(["--stage", "service", "--date", "2026-06-01", "--temperature", "20"])
            .output()
            .expect("it runs");
        String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr)
    };
    let rows = "S2,10.3\nS3,10.3\nS4,-10.3\nS5,-10.3\nS2,10.3\n";
    let angles = "base=120 { column \"Pos\" holds=station; column \"Value\" holds=reading unit=arcsec }";
    let out = import(angles, rows);
    let spaces: String = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(spaces.contains("5 rows in out.csv: 5 fit"), "{out}");
    for row in ["angles from=60 base=120", "at S2 (arcsec)10.3", "at S5 (arcsec)-10.3", "closure S2 (arcsec)10.3"] {
        assert!(spaces.contains(row), "{row} in\n{out}");
    }
    // Numbers without a unit are no angles, and angles no lengths.
    let bare = "base=120 { column \"Pos\" holds=station; column \"Value\" holds=reading }";
    assert!(import(bare, rows).contains("an angle needs its unit"), "{}", import(bare, rows));
    let lengths = "{ column \"Pos\" holds=station; column \"Value\" holds=reading unit=arcsec }";
    assert!(import(lengths, rows).contains("has the unit `arcsec`, but this is a length"), "{}", import(lengths, rows));
}
