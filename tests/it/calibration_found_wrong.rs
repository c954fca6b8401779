//! A calibration that finds its instrument wrong takes back what was read with it since the last good one: all of it, or
//! what the error that it states could turn.

use crate::rules_fitting::of_rule;

/// Step, gap and torque of one day, with instruments G, H and W.
fn text([g, h, w]: [&str; 3], [step, gap, torque]: [&str; 3]) -> String {
    format!(
        "shop {{
    gauge G kind=dial-indicator plus=outward {{ calibrated \"2026-01-12\" due=\"2027-01-12\"; {g} }}
    gauge H kind=dial-indicator plus=wider {{ calibrated \"2026-01-12\" due=\"2027-01-12\"; {h} }}
    fastener b thread=M6 class=\"10.9\" head=socket-cap into=steel {{ friction 0.12 0.14 }}
    wrench W kind=indicating least=4 most=20 {{ calibrated \"2026-01-12\" due=\"2027-01-12\"; {w} }}
}}
machine m {{ axis X {{
    rail a rail-bolt=b {{ segment 1200; segment 1200; support S1 at=240 }}
    rail b follows=a {{ segment 2400; supports S first=120 pitch=240 count=3 }}
}} }}
fasten X.a date=\"2026-04-14\" by=f wrench=W stage=full {{ at S1 {torque} }}
inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G {{ light none; UL 0 -> {step}; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}
survey gap X.b date=\"2026-04-15\" by=i gauge=H stage=verification {{ at S1 0; at S2 -{gap}; at S3 0 }}"
    )
}

fn found(g: &str, h: &str, w: &str, step: &str, gap: &str, torque: &str) -> Vec<String> {
    of_rule(&text([g, h, w], [step, gap, torque]), "gauge-calibration")
}

fn step(calibration: &str, step: &str) -> Vec<String> {
    found(calibration, "", "", step, "0", "10.5")
}

#[test]
fn found_outside_takes_back_what_was_read_since_the_last_good_one() {
    let outside = "calibrated \"2026-09-01\" as-found=outside result=adjusted";
    let told = ["outstanding X.a.J1: 1 record made with G before its next calibration found it outside its error"];
    assert_eq!(step(outside, "0.01"), told);
    // Nothing says that it was put right: it is as good as failed.
    let failed = ["outstanding X.a.J1: 1 record made with G before it failed its next calibration"];
    assert_eq!(step("calibrated \"2026-09-01\" as-found=outside", "0.01"), failed);
    assert_eq!(step("calibrated \"2026-09-01\" result=failed", "0.01"), failed);
    // Found within, or good between: what was read before that stays good.
    for good in [
        "calibrated \"2026-09-01\" as-found=within",
        "calibrated \"2026-09-01\" as-found=within result=adjusted",
        "calibrated \"2026-09-01\" as-found=within result=failed",
        "calibrated \"2026-09-01\" result=passed",
        "calibrated \"2026-09-01\"",
        "calibrated \"2026-06-01\" as-found=within; calibrated \"2026-09-01\" as-found=outside",
        "calibrated \"2026-03-01\" as-found=outside result=adjusted",
        // On the very day it is the calibration that holds.
        "calibrated \"2026-04-15\" as-found=outside result=adjusted",
    ] {
        assert_eq!(step(good, "0.01"), [""; 0], "{good}");
    }
    // One that is not in order afterwards is not read with.
    assert_eq!(
        step("calibrated \"2026-03-01\" as-found=outside", "0.01"),
        ["outstanding X.a.J1: 1 record made with G after it failed its calibration"]
    );
    assert_eq!(
        found("", "", outside, "0", "0", "10.5"),
        ["outstanding X.a: 1 record made with W before its next calibration found it outside its error"]
    );
}

#[test]
fn an_error_that_is_stated_takes_back_only_what_it_could_turn() {
    // A step is a difference: an error of 2 µm moves it by up to 4, against 20 µm.
    let by = |error: &str| format!("calibrated \"2026-09-01\" as-found=outside result=adjusted error={error}");
    let turned = |all: Vec<String>| {
        let [found] = &all[..] else { panic!("{all:?}") };
        let turned = found.ends_with("found it outside its error, whose result its error could turn");
        assert!(turned || found.ends_with("the error that is stated could turn no result of it"), "{found}");
        turned
    };
    for (reading, doubt) in
        [("0", false), ("0.016", false), ("0.017", true), ("0.02", true), ("0.024", true), ("0.025", false)]
    {
        assert_eq!(turned(step(&by("0.002"), reading)), doubt, "a step of {reading}");
    }
    // Held aslant it reads √2 for each 1 of the step: 28.284 µm at the limit, of which the error moves 4.
    let aslant = |reading: &str| {
        let text =
            text([&by("0.002"), "", ""], [reading, "0", "10.5"]).replace("gauge=G {", "gauge=G stylus=horizontal {");
        turned(of_rule(&text, "gauge-calibration"))
    };
    for (reading, doubt) in [("0.0242", false), ("0.0243", true), ("0.0322", true), ("0.0323", false)] {
        assert_eq!(aslant(reading), doubt, "a slanted reading of {reading}");
    }
    // The gap against 50 µm.
    for (reading, doubt) in [("0.046", false), ("0.047", true), ("0.054", true), ("0.055", false)] {
        assert_eq!(turned(found("", &by("0.002"), "", "0", reading, "10.5")), doubt, "a gap of {reading}");
    }
    // A torque against 10 to 11 N·m, by 4 % of itself: 10.4166 · 0.96 = 9.999936.
    for (torque, doubt) in [
        ("10.4166", true),
        ("10.4167", false),
        ("10.5769", false),
        ("10.577", true),
        ("11.4583", true),
        ("11.4584", false),
        ("9.6153", false),
        ("9.6154", true),
    ] {
        assert_eq!(turned(found("", "", &by("(%)4"), "0", "0", torque)), doubt, "a torque of {torque}");
    }
}

#[test]
fn a_force_gauge_states_its_error_in_newtons() {
    let force = |read: &str| {
        let text = format!(
            "shop {{ gauge F kind=force-gauge {{ calibrated \"2026-01-12\"; calibrated \"2026-09-01\" as-found=outside result=adjusted error=0.5 }} }}
machine m {{ rulebook {{ running-force most=20 reason=\"drive\" }}; axis X {{ rail a {{ segment 1200 }} }} }}
running-force X date=\"2026-04-16\" by=i gauge=F {{ at 300 {read} }}"
        );
        of_rule(&text, "gauge-calibration").iter().filter(|it| it.starts_with("outstanding")).count()
    };
    let doubt = ["19.5", "-19.5", "19.6", "20", "-20.5", "20.6"].map(force);
    assert_eq!(doubt, [0, 0, 1, 1, 1, 0]);
}

#[test]
fn read_again_or_conceded_it_is_history() {
    let text = |more: &str| {
        of_rule(
            &format!(
                "shop {{
    gauge G kind=dial-indicator plus=outward {{ calibrated \"2026-01-12\" due=\"2027-01-12\"; calibrated \"2026-06-01\" as-found=outside result=adjusted }}
}}
machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}
inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G {{ light none; UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}
{more}"
            ),
            "gauge-calibration",
        )
    };
    assert_eq!(text("").len(), 1);
    let again =
        "inspect X.a.J1 date=\"2026-06-15\" by=i gauge=G { light none; UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }";
    assert_eq!(text(again), [""; 0]);
    let three = again.replace("; LR 0 -> 0", "");
    assert_eq!(text(&three).len(), 1, "a groove is not read again");
}
