//! Somebody says that an instrument was wrong for a time: what that takes back, what stays, and how it is cured.

use crate::common::lint_text;
use crate::rules_fitting::of_rule;

/// Two joints, read with G at 18 and 5 µm against 20 (common practice, no source); `more` stands in the shop.
fn ledger(more: &str, records: &str) -> String {
    format!(
        "shop {{
    gauge G kind=dial-indicator plus=outward {{ calibrated \"2026-01-12\" due=\"2027-01-12\" }}
    gauge F kind=force-gauge {{ calibrated \"2026-01-12\" due=\"2027-01-12\" }}
    wrench W kind=indicating least=4 most=20 {{ calibrated \"2026-01-12\" due=\"2027-01-12\" }}
    fastener b thread=M6 class=\"10.9\" head=socket-cap into=steel {{ friction 0.12 0.14 }}
    {more}
}}
machine m {{ axis X {{ rail a rail-bolt=b {{ segment 1200; segment 1200; segment 1200; support S1 at=240 }} }} }}
fasten X.a date=\"2026-04-14\" by=f wrench=W stage=full {{ at S1 10.3 }}
inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G {{ UL 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}
inspect X.a.J2 date=\"2026-04-15\" by=i gauge=G {{ UL 0 -> 0.005; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}
{records}"
    )
}

fn doubted(doubt: &str) -> Vec<String> {
    of_rule(&ledger(&format!("doubt G date=\"2026-09-01\" by=e {doubt} reason=\"bent\""), ""), "gauge-calibration")
}

#[test]
fn without_an_error_all_that_was_read_in_between_stops_counting() {
    let told = ["outstanding X.a.J1: 2 records made with G while it is said to have been wrong"];
    // Both ends are among its days; without an end it lasts until a calibration.
    for days in
        ["from=\"2026-03-01\"", "from=\"2026-04-15\" to=\"2026-04-15\"", "from=\"2026-03-01\" to=\"2026-06-01\""]
    {
        assert_eq!(doubted(days), told, "{days}");
    }
    for days in ["from=\"2026-04-16\"", "from=\"2026-03-01\" to=\"2026-04-14\""] {
        assert_eq!(doubted(days), [""; 0], "{days}");
    }
}

#[test]
fn with_an_error_what_it_could_turn_stops_and_the_rest_is_noted() {
    // A step is a difference: twice the error. 18 + 2 · 1 = 20 is still inside, 18 + 2 · 1.001 is not.
    let stays = |count: &str| {
        format!(
            "observation X.a.J1: {count} made with G while it was wrong still count: the error that is stated could turn no result of them"
        )
    };
    assert_eq!(doubted("from=\"2026-03-01\" error=0.001"), [stays("2 records")]);
    assert_eq!(
        doubted("from=\"2026-03-01\" error=0.001001"),
        [
            "outstanding X.a.J1: 1 record made with G while it is said to have been wrong, whose result its error could turn",
            "observation X.a.J2: 1 record made with G while it was wrong still counts: the error that is stated could turn no result of it",
        ]
    );
    assert_eq!(
        doubted("from=\"2026-03-01\" error=0.0076"),
        [
            "outstanding X.a.J1: 2 records made with G while it is said to have been wrong, whose result its error could turn"
        ]
    );
    // Of a wrench a share: 10.3 · 0.97 = 9.991 is under the window of 10 to 11.
    let wrench = |share: &str| {
        let doubt = format!("doubt W date=\"2026-09-01\" by=e from=\"2026-03-01\" error=(%){share} reason=\"spring\"");
        of_rule(&ledger(&doubt, ""), "gauge-calibration").concat().starts_with("outstanding X.a: 1 record made with W")
    };
    assert_eq!((wrench("3"), wrench("2.9")), (true, false));
}

#[test]
fn each_record_is_told_with_what_is_left_to_its_limit() {
    let text = ledger("doubt G date=\"2026-09-01\" by=e from=\"2026-03-01\" error=0.01 reason=\"bent\"", "");
    let all = lint_text(&text);
    let found = all.iter().find(|finding| finding.rule.as_str() == "gauge-calibration").expect("a finding");
    let labels: Vec<&str> = std::iter::once(&found.at).chain(&found.also).map(|label| label.text.as_str()).collect();
    assert_eq!(
        labels,
        [
            "used on 2026-04-15: step UL 0.018 mm, 0.002 mm inside at most 0.02 mm",
            "wrong from 2026-03-01, by at most 0.01 mm, says e on 2026-09-01: bent",
            "used on 2026-04-15: step UL 0.005 mm, 0.015 mm inside at most 0.02 mm",
        ]
    );
}

#[test]
fn what_is_read_again_counts_record_by_record() {
    let doubt = "doubt G date=\"2026-09-01\" by=e from=\"2026-03-01\" to=\"2026-06-01\" reason=\"bent\"";
    let again = |joint: &str| {
        format!(
            "inspect X.a.{joint} date=\"2026-09-02\" by=i gauge=G {{ UL 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
        )
    };
    let left = |records: String| of_rule(&ledger(doubt, &records), "gauge-calibration");
    assert_eq!(left(again("J1")), ["outstanding X.a.J2: 1 record made with G while it is said to have been wrong"]);
    assert_eq!(left(again("J1") + &again("J2")), [""; 0]);
}

#[test]
fn it_ends_with_a_calibration_since_or_is_taken_back() {
    // Calibrated in order on the day of the reading: that reading is no longer in doubt, what was read before is.
    let with = |calibration: &str, stated: &str| {
        let shop = format!("doubt G date=\"{stated}\" by=e from=\"2026-03-01\" reason=\"bent\"");
        let text =
            ledger(&shop, "").replacen("due=\"2027-01-12\" }", &format!("due=\"2027-01-12\"; {calibration} }}"), 1);
        of_rule(&text, "gauge-calibration").len()
    };
    assert_eq!(with("calibrated \"2026-04-15\" due=\"2027-04-15\" as-found=within", "2026-04-01"), 0);
    assert_eq!(with("calibrated \"2026-04-16\" due=\"2027-04-16\" as-found=within", "2026-04-01"), 1);
    // One that was there when the doubt was stated did not end it.
    assert_eq!(with("calibrated \"2026-04-15\" due=\"2027-04-15\" as-found=within", "2026-09-01"), 1);
    // One that lies before the first doubted day did not end it either, nor one of which nobody can tell that it came later.
    let early = "calibrated \"2026-02-15\" due=\"2027-02-15\" as-found=within";
    assert_eq!(with(early, "2026-02-01"), 1);
    assert_eq!(with(early, "2026-02-31"), 1);
    let void = "doubt G date=\"2026-09-01\" by=e from=\"2026-03-01\" reason=\"bent\" { void date=\"2026-09-02\" by=e reason=\"another gauge\" }";
    assert_eq!(of_rule(&ledger(void, ""), "gauge-calibration"), [""; 0]);
}

#[test]
fn a_doubt_about_nothing_or_by_no_error_is_found() {
    let found = |doubt: &str, rule: &str| of_rule(&ledger(doubt, ""), rule);
    let says = "date=\"2026-09-01\" by=e from=\"2026-03-01\" reason=\"bent\"";
    assert_eq!(
        found(&format!("doubt GG {says}"), "unknown-reference"),
        ["nonconformity : there is no instrument `GG`"]
    );
    for (instrument, error) in [("G", "(N)1"), ("G", "0"), ("F", "(mm)0.1"), ("W", "(mm)0.1"), ("G", "(%)6")] {
        assert_eq!(
            found(&format!("doubt {instrument} {says} error={error}"), "wrong-value"),
            [format!("nonconformity : this cannot be the error of {instrument}")],
            "{error}"
        );
    }
    for (instrument, error) in [("G", "(um)6"), ("F", "0.5"), ("W", "(%)6")] {
        assert_eq!(found(&format!("doubt {instrument} {says} error={error}"), "wrong-value"), [""; 0], "{error}");
    }
}

#[test]
fn a_doubt_that_ends_before_it_begins_is_found() {
    let found = |days: &str| {
        let doubt = format!("doubt G date=\"2026-09-01\" by=e {days} reason=\"bent\"");
        of_rule(&ledger(&doubt, ""), "wrong-value")
    };
    assert_eq!(found("from=\"2026-06-01\" to=\"2026-03-01\""), ["nonconformity : `from` of `doubt` lies after `to`"]);
    assert_eq!(found("from=\"2026-03-01\" to=\"2026-03-01\""), [""; 0]);
}

#[test]
fn a_name_of_two_sorts_is_doubted_as_both() {
    let found = |error: &str, rule: &str| {
        let doubt = format!("doubt G date=\"2026-09-01\" by=e from=\"2026-03-01\" {error} reason=\"which?\"");
        of_rule(&ledger(&doubt, "").replace(" W ", " G ").replace("wrench=W", "wrench=G"), rule)
    };
    assert_eq!(
        found("", "gauge-calibration"),
        [
            "outstanding X.a: 1 record made with G while it is said to have been wrong",
            "outstanding X.a.J1: 2 records made with G while it is said to have been wrong",
        ]
    );
    // An error that one of them can have is that of this one; of the other nothing is said.
    assert_eq!(found("error=(um)0.1", "wrong-value"), [""; 0]);
    assert!(found("error=(um)0.1", "gauge-calibration").iter().any(|it| it.starts_with("outstanding X.a:")));
}

/// A doubt stops a release, and tightening again with a wrench that is in order lets it go on.
#[test]
fn a_release_does_not_rest_on_doubted_torques() {
    let yard = crate::hold::released_as("machine slide { axis X { rail left { segment 600; support S1 at=120 } } }\n");
    let machine = yard.read("slide/machine.kdl");
    for file in std::fs::read_dir(yard.root.join("slide")).expect("listed") {
        let path = file.expect("a file").path();
        if path.file_name().is_some_and(|name| name.to_string_lossy().starts_with("2026-05-08")) {
            std::fs::remove_file(path).expect("the release of the scene");
        }
    }
    let doubt = |more: &str| {
        let said = format!(
            "    doubt TW-2 date=\"2026-05-06\" by=office from=\"2026-03-01\" to=\"2026-05-05\"{more} reason=\"dropped\"\n"
        );
        machine.replacen("    wrench TW-1", &format!("{said}    wrench TW-1"), 1)
    };
    yard.write("slide/machine.kdl", doubt(""));
    let refused = yard.release("slide", "2026-05-08");
    assert_eq!(refused.code, 1, "{refused:?}");
    let said = "gauge-calibration X.left: 1 record made with TW-2 while it is said to have been wrong";
    assert!(refused.out.contains(said), "{}", refused.out);
    // It was taken back: nothing is in doubt.
    let void = "{ void date=\"2026-05-07\" by=office reason=\"another wrench\" }\n    wrench TW-1";
    yard.write(
        "slide/machine.kdl",
        doubt("").replace("reason=\"dropped\"\n    wrench TW-1", &format!("reason=\"dropped\" {void}")),
    );
    assert_eq!(yard.release("slide", "2026-05-08").code, 0);
    // Or tightened again since.
    let yard = crate::hold::released_as("machine slide { axis X { rail left { segment 600; support S1 at=120 } } }\n");
    yard.write("slide/machine.kdl", doubt(""));
    let again = "void release X of=\"2026-05-08\" date=\"2026-05-09\" by=engineer-2 reason=\"TW-2 is in doubt\"
fasten X.left date=\"2026-05-10T08:00\" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S1 }
fasten X.left date=\"2026-05-10T09:00\" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 }
lift X date=\"2026-05-11\" by=engineer-2 disposition=rework reason=\"tightened again\"
";
    yard.write("slide/again.kdl", again);
    let released = yard.release("slide", "2026-05-12");
    assert_eq!(released.code, 0, "{released:?}");
}
