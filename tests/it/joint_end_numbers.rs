//! What is reckoned from the ends in a joint: where they lie, how the rail is straight there, what shims do to them, and what is
//! said of one that was read again. Every figure by hand.

use wayledger::lint::Judged;
use wayledger::papers::{readings, report};

use crate::common::yard::Yard;
use crate::common::{judge, today};

/// Two rails of two segments, a support under the joint of each; the second follows the first. With a gauge for each survey.
fn judged(limits: &str, records: &str) -> Judged {
    let limits: String = limits.split("; ").map(|limit| format!("{limit} reason=\"drawing 12\"; ")).collect();
    let rail = "segment 1200; segment 1200; supports S first=240 pitch=240 count=9 { omit S5 }; joint-support J1 at=1200 length=200";
    let text = format!(
        r#"
shop {{
    shim-stock {{ leaf 0.02; leaf 0.05 }}
    gauge DI-6 graduation=0.001 permissible-error=0.005 local-error=0.003 plus=wider
}}
machine m {{
    rulebook {{ {limits} }}
    axis X {{
        rail a {{ {rail} }}
        rail b follows=a shims=widen {{ {rail} }}
    }}
}}
{records}
"#
    );
    judge(&[("machine.kdl", &text)], &[])
}

fn gap(day: u32, stage: &str, rows: &str) -> String {
    format!(
        "survey gap X.b date=\"2026-04-{day}\" by=inspector-1 gauge=DI-6 temperature=20 stage={stage} {{ {rows}; closure S1 0 }}\n"
    )
}

/// Every support as it reads, and some rows at the joint.
fn rows(supports: [&str; 8], joint: &str) -> String {
    let at = |number: usize| format!("at S{} {}", number + 1 + usize::from(number > 3), supports[number]);
    let [near, far] = [0..4, 4..8].map(|numbers| numbers.map(at).collect::<Vec<_>>().join("; "));
    format!("{near}; {joint}; {far}")
}

fn of_rule<'j>(judged: &'j Judged, rule: &'static str) -> Vec<&'j str> {
    judged.findings.iter().filter(|it| it.rule.as_str() == rule).map(|it| it.message.as_str()).collect()
}

/// From S3 at 720 mm to J1+ at 1200 mm there are 480 mm, and 240 mm from S4: half of that.
#[test]
fn an_end_lies_as_far_off_as_its_joint() {
    let read = rows(["0", "0", "0", "0.03", "0.06", "0.06", "0.06", "0.06"], "at J1- 0.03; at J1+ 0.06");
    for (over, says) in [(480, Some("the gap differs by 0.06 mm between S3 and J1+, 480 mm apart")), (479, None)] {
        let of =
            judged(&format!("gap-range most=0.1; gap-local most=0.05 over={over}"), &gap(16, "verification", &read));
        assert_eq!(of_rule(&of, "gap-local"), Vec::from_iter(says), "{over}");
        let report = serde_json::to_value(report(&of, today())).expect("JSON");
        let unseen = &report["axes"][0]["rails"][1]["gap"]["local"]["unseen_because"];
        assert_eq!(unseen.is_null(), over == 480, "{unseen}");
    }
    // What proves a limit looks as far: 0.04 mm is within 0.05 mm, and no gauge is as sure as all of that.
    let read = rows(["0", "0", "0", "0.02", "0.04", "0.04", "0.04", "0.04"], "at J1- 0.02; at J1+ 0.04");
    let of = judged("gap-range most=0.1; gap-local most=0.0401 over=480", &gap(16, "verification", &read));
    let found = of_rule(&of, "gap-local-unproven");
    assert!(matches!(&found[..], [one] if one.contains("0.04 mm between S3 and J1+")), "{found:?}");
}

/// All others lie on one line, 0.01 mm up at each support; at the joint it passes 0.04 mm.
#[test]
fn a_zone_at_a_joint_is_no_wider_than_it_is() {
    for (joint, zone) in [
        ("at J1 0.06", "0.02"),
        ("at J1- 0.04; at J1+ 0.06", "0.02"),
        ("at J1- 0.03; at J1+ 0.05", "0.02"),
        ("at J1- 0.05; at J1+ 0.03", "0.02"),
        ("at J1- 0.05; at J1+ 0.07", "0.03"),
    ] {
        let read = rows(["0", "0.01", "0.02", "0.03", "0.05", "0.06", "0.07", "0.08"], joint);
        let survey = format!(
            "survey straightness X.a date=\"2026-04-15\" by=inspector-1 stage=as-fitted plus=left {{ {read} }}\n"
        );
        let of = judged("straightness most=0.02; straightness-local most=0.02 over=960", &survey);
        let rules = ["straightness-range", "straightness-local"];
        assert_eq!(rules.map(|rule| of_rule(&of, rule).len()), [usize::from(zone != "0.02"); 2], "{joint}");
        let report = serde_json::to_value(report(&of, today())).expect("JSON");
        let survey = &report["axes"][0]["rails"][0]["surveys"][0];
        assert_eq!((&survey["zone"], &survey["local"]["worst"]), (&zone.into(), &zone.into()), "{joint}");
    }
}

/// The mean read −0.08 mm and 0.05 mm came under it, so that −0.03 mm is to be expected.
#[test]
fn both_ends_tell_what_became_of_their_mean() {
    let after = |joint: &str| {
        let records = gap(16, "as-fitted", &rows(["0"; 8], "at J1 -0.08"))
            + "shim X.b date=\"2026-04-17\" by=fitter-2 { at J1 0.05 }\n"
            + &gap(18, "verification", &rows(["0"; 8], joint));
        judged("gap-range most=0.05", &records)
    };
    let seated = after("at J1- -0.02; at J1+ -0.04");
    assert_eq!(of_rule(&seated, "shim-not-seated"), [""; 0]);
    let hollow = after("at J1- -0.06; at J1+ -0.04");
    let found = of_rule(&hollow, "shim-not-seated");
    assert!(matches!(&found[..], [one] if one.contains("the gap at J1 lies 0.02 mm from")), "{found:?}");
    // One end alone tells nothing of the mean.
    assert_eq!(of_rule(&after("at J1- -0.09"), "shim-not-seated"), [""; 0]);
    let read = |of: &Judged| {
        let report = serde_json::to_value(report(of, today())).expect("JSON");
        let stations = report["axes"][0]["rails"][1]["gap"]["stations"].as_array().expect("a list").clone();
        let at_joint = stations.iter().filter(|it| it["position"] == "1200");
        at_joint.map(|it| format!("{} {} {}", it["name"], it["predicted"], it["after"])).collect::<Vec<_>>()
    };
    let of_mean = "\"J1\" \"-0.03\" \"-0.03\"".to_string();
    let ends = ["\"J1-\" null \"-0.02\"", "\"J1+\" null \"-0.04\""].map(String::from);
    let mut all = read(&seated);
    all.sort();
    let mut expected = vec![of_mean];
    expected.extend(ends);
    expected.sort();
    assert_eq!(all, expected);
}

/// 0.01 mm from support to support is 0.08 mm in all, and 0.02 mm within 480 mm.
#[test]
fn what_shims_are_still_to_change_need_not_be_proven() {
    let slope = rows(["-0.09", "-0.08", "-0.07", "-0.06", "-0.04", "-0.03", "-0.02", "-0.01"], "at J1 -0.05");
    let slope = slope.replace("closure S1 0", "closure S1 -0.09");
    for (range, stage, told) in [("0.05", "as-fitted", 0), ("0.1", "as-fitted", 1), ("0.05", "verification", 1)] {
        let limits = format!("gap-range most={range}; gap-local most=0.0201 over=500");
        let of = judged(&limits, &gap(16, stage, &slope));
        assert_eq!(of_rule(&of, "gap-local-unproven").len(), told, "{range} {stage}");
    }
}

#[test]
fn a_mean_is_replaced_by_both_its_ends_and_by_neither_alone() {
    let verdicts = |joint: &str| {
        let records = gap(16, "verification", &rows(["0"; 8], "at J1 -0.01"))
            + &gap(18, "verification", &rows(["0.1"; 8], joint));
        let of = judged("gap-range most=0.05", &records.replace("closure S1 0 }\nsurvey", "}\nsurvey"));
        let all = readings(&of).into_iter().filter(|it| it.address.starts_with("X.b.J1") && it.quantity == "gap");
        all.map(|it| format!("{} {}", it.address, it.verdict.word() == "replaced")).collect::<Vec<_>>()
    };
    let both = verdicts("at J1- 0.09; at J1+ 0.08");
    assert_eq!(both, ["X.b.J1 true", "X.b.J1- false", "X.b.J1+ false"]);
    assert_eq!(verdicts("at J1+ 0.08"), ["X.b.J1 false", "X.b.J1+ false"]);
    assert_eq!(verdicts("at J1 0.09"), ["X.b.J1 true", "X.b.J1 false"]);
}

#[test]
fn the_report_says_that_shims_came_after_what_it_shows() {
    let before = gap(16, "as-fitted", &rows(["0"; 8], "at J1- -0.07; at J1+ -0.09"));
    let local = |records: &str| {
        let of = judged("gap-range most=0.05; gap-local most=0.04 over=500", records);
        let report = serde_json::to_value(report(&of, today())).expect("JSON");
        report["axes"][0]["rails"][1]["gap"]["local"]["unseen_because"].clone()
    };
    assert!(local(&before).is_null());
    let shimmed = before + "shim X.b date=\"2026-04-17\" by=fitter-2 { at J1 0.05 }\n";
    assert_eq!(local(&shimmed), "it was read before shims");
    let verified = shimmed + &gap(18, "verification", &rows(["0"; 8], "at J1- -0.02; at J1+ -0.04"));
    assert!(local(&verified).is_null());
}

/// A segment was cut in two since, so that the joint behind it is the third today.
#[test]
fn an_end_is_called_as_its_joint_is_today() {
    let of = judge(
        &[(
            "machine.kdl",
            r#"
machine m { axis X { rail a {
    segment 600 until="2026-05-02"; segment 300 since="2026-05-02"; segment 300 since="2026-05-02"; segment 600; segment 600
    supports S first=100 pitch=200 count=9
} } }
survey straightness X.a date="2026-04-16" by=inspector-1 stage=verification plus=left { at S9 0; at J2- 0.01; at J2+ 0.02 }
"#,
        )],
        &[],
    );
    let all: Vec<String> = readings(&of).into_iter().map(|it| format!("{} {}", it.address, it.joint)).collect();
    assert_eq!(all, ["X.a.S9 ", "X.a.J3- J3", "X.a.J3+ J3"]);
}

#[test]
fn a_support_called_like_an_end_is_told() {
    for (name, found) in [("J1-", 1), ("J2-", 0), ("K1-", 0)] {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ segment 1200; segment 1200; support {name} at=300; support S1 at=1200 }} }} }}"
        );
        let of = judge(&[("machine.kdl", &text)], &[]);
        let told = of_rule(&of, "duplicate-name");
        assert_eq!(told, vec!["support `J1-` is called like the end before joint J1"; found], "{name}");
    }
}

/// A shim of 0.05 mm under every support takes the whole rail along: what the carriage does stays as it was. The joint lies on a
/// support (1320 mm) or between two (1440 mm).
#[test]
fn a_rail_that_is_shimmed_all_over_runs_as_before() {
    for joint in [1320, 1440] {
        let rail = format!("segment {joint}; segment {}; supports S first=120 pitch=240 count=10", 2400 - joint);
        let read = (1..=10).map(|at| format!("at S{at} 0")).collect::<Vec<_>>().join("; ")
            + "; at J1- 0; at J1+ 0.004; closure S1 0";
        let head = "date=\"2026-04-16\" by=i-1 temperature=20 stage=as-fitted";
        let machine = format!(
            r#"
shop {{
    shim-stock {{ leaf 0.05 }}
    gauge DI kind=dial-indicator graduation=0.01 range=5 permissible-error=0.012 local-error=0.005 plus=wider {{ calibrated "2026-01-12" due="2027-01-12" certificate="C-2212" }}
    gauge LA kind=laser graduation=0.001 range=3 permissible-error=0.005 plus=right {{ calibrated "2025-11-03" due="2026-11-03" certificate="C-2107" }}
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 second-moment=6600 lateral-second-moment=8900 contact=outward least-segment=240
    block B20 length=78 C=(kN)18.1 C0=(kN)29.5 stiffness=180 lateral-stiffness=120 preload-share=(%)5 friction=0.002 seal-drag=1.2
}}
machine m {{ axis X {{
    run from=0 to=2400
    stroke from=360 to=2040
    rail a profile=R20 {{ {rail} }}
    rail b profile=R20 follows=a shims=widen {{ {rail} }}
    carriage length=480 mass=60 acceleration=1.5 {{
        block a at=-180 type=B20; block a at=180 type=B20; block b at=-180 type=B20; block b at=180 type=B20
        track a y=-600; track b y=600; drive y=-560 z=-60; tool head x=0 y=600 z=0
    }}
}} }}
survey straightness X.a gauge=LA {head} {{ {read} }}
survey gap X.b gauge=DI {head} {{ {read} }}
"#
        );
        let course = |shims: &str| {
            let yard = Yard::empty();
            yard.write("m/machine.kdl", format!("{machine}{shims}"));
            let ran = yard.wayledger(&["motion", "m", "X", "--today", "2026-06-01"]);
            let told = |line: &&str| ["EYX ", "ECX ", "tool-head-side "].iter().any(|of| line.trim().starts_with(of));
            ran.out.lines().filter(told).map(String::from).collect::<Vec<_>>()
        };
        let under = |supports: &str| format!("shim X.b date=\"2026-04-17\" by=f-1 {{ {supports} }}\n");
        let all: Vec<String> = (1..=10).map(|at| format!("at S{at} 0.05")).collect();
        let plain = course("");
        assert!(plain.len() > 2, "{plain:?}");
        assert_eq!(course(&under(&all.join("; "))), plain, "{joint}");
        assert_ne!(course(&under(&all[..5].join("; "))), plain, "{joint}");
    }
}
