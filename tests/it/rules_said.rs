//! What rules say where their examples do not go: the other side, the other sense, the numbers in the next step.
//! Expected numbers are worked out by hand; limits are those of the default rulebook.

use crate::common::lint_text;

/// What a rule says of a text: message, number found, next step.
fn said(rule: &str, text: &str) -> Vec<String> {
    let all = lint_text(text).into_iter().filter(|finding| finding.rule.as_str() == rule);
    all.map(|it| {
        let found = it.found.map_or("–".to_string(), |found| found.to_string());
        format!("{}: {} [{found}] {}", it.address, it.message, it.next)
    })
    .collect()
}

const NOTHING: [&str; 0] = [];

#[test]
fn a_rail_that_begins_off_the_run() {
    let rail = |from: &str| {
        let axis = format!("run from=100 to=1300; rail a from={from} {{ segment 1200 }}");
        said("run-length", &format!("machine m {{ axis X {{ {axis} }} }}"))
    };
    assert_eq!(rail("100"), NOTHING);
    assert_eq!(
        rail("120"),
        [
            "X.a: the rail begins at 120 mm, the run at 100 mm [20 mm] give the rail from=100 or change the run",
            "X.a: the rail ends at 1320 mm, 20 mm beyond the end of the run [20 mm] \
             the segments together are 20 mm too long: change their lengths or the run"
        ]
    );
    assert_eq!(
        rail("70"),
        [
            "X.a: the rail begins at 70 mm, the run at 100 mm [30 mm] give the rail from=100 or change the run",
            "X.a: the rail ends at 1270 mm, 30 mm short of the end of the run [30 mm] \
             the segments together are 30 mm too short: change their lengths or the run"
        ]
    );
}

/// Four rows at 45° in grooves 8 mm off the middle at half-height 3 mm: a roll of θ shifts each groove along its normal by
/// θ · (8 − 3) / √2, so 0.03 mm are 0.03 · √2 / 5 = 8.49 mm per m.
#[test]
fn a_rail_that_is_turned_says_which_way_and_how_far() {
    let roll = |steps: &str| {
        said(
            "joint-step-cause",
            &format!(
                "shop {{
                   gauge DI-4 kind=dial-indicator graduation=0.001 plus=outward
                   profile R20 hole-pitch=60 end-distance=30 contact=outward groove-half-width=8 groove-half-height=3 \\
                     seat-depth=14
                 }}
                 machine m {{ axis X {{ rail a profile=R20 datum=left {{
                   segment 600; segment 600; joint-support J1 at=600 length=100
                 }} }} }}
                 inspect X.a.J1 date=\"2026-05-05\" by=i gauge=DI-4 {{ light none; {steps} }}"
            ),
        )
    };
    let turned = |way: &str| {
        format!(
            "X.a.J1: the steps are a twist of 0.03 mm at each groove [0.03 mm] look whether seat and support are square: \
             the far rail is turned {way} by 8.49 mm per m, seen along increasing position"
        )
    };
    assert_eq!(roll("UL 0 -> 0.03; UR 0 -> -0.03; LL 0 -> -0.03; LR 0 -> 0.03"), [turned("clockwise")]);
    assert_eq!(roll("UL 0 -> -0.03; UR 0 -> 0.03; LL 0 -> 0.03; LR 0 -> -0.03"), [turned("anticlockwise")]);
}

#[test]
fn shims_that_lift_are_verified_by_a_height_survey() {
    let unverified = |survey: &str| {
        said(
            "shim-unverified",
            &format!(
                "shop {{ shim-stock {{ leaf 0.02 }} }}
                 machine m {{ axis X {{
                   rail a {{ supports S first=100 pitch=240 count=3 }}
                   rail b follows=a shims=lift {{ supports S first=100 pitch=240 count=3 }}
                 }} }}
                 survey height X.b date=\"2026-04-16\" by=i stage=as-fitted {{ at S1 0; at S2 -0.02; at S3 0 }}
                 shim X.b date=\"2026-04-17\" by=f {{ at S2 0.02 }}
                 {survey}"
            ),
        )
    };
    let later = |kind: &str, stage: &str| {
        unverified(&format!("survey {kind} X.b date=\"2026-04-18\" by=i stage={stage} {{ at S1 0; at S2 0; at S3 0 }}"))
    };
    let open = "X.b: the shims at S2 are not verified by a survey [–] snug and full torque at S2, then survey the height \
                with stage=verification";
    assert_eq!(unverified(""), [open]);
    assert_eq!(later("height", "as-fitted"), [open]);
    assert_eq!(later("gap", "verification"), [open]);
    assert_eq!(later("height", "verification"), NOTHING);
}

/// Of many stations twelve are named.
#[test]
fn stations_left_blank_in_a_survey_of_straightness() {
    let blank = |count: usize| {
        let rows: String =
            (1..=14).map(|n| if n <= count { format!("at S{n} #null; ") } else { format!("at S{n} 0; ") }).collect();
        said(
            "station-missing",
            &format!(
                "machine m {{ axis X {{ rail a {{ supports S first=100 pitch=240 count=14 }} }} }}
                 survey straightness X.a date=\"2026-04-16\" by=i stage=as-fitted {{ {rows} }}"
            ),
        )
    };
    assert_eq!(blank(0), NOTHING);
    assert!(blank(1)[0].contains("S1"), "{:?}", blank(1));
    assert!(blank(12)[0].contains("S11, S12") && !blank(12)[0].contains('…'), "{:?}", blank(12));
    assert!(blank(13)[0].contains("S12, …") && !blank(13)[0].contains("S13"), "{:?}", blank(13));
}

#[test]
fn a_calibration_that_ran_out_says_until_when() {
    let due = |calibrated: &str| {
        let text = format!(
            "shop {{ gauge DI-6 graduation=0.01 plus=wider {{ calibrated {calibrated} }} }}
             machine m {{ axis X {{ rail a; rail b follows=a shims=widen {{ supports S first=100 pitch=240 count=1 }} }} }}
             survey gap X.b date=\"2026-04-16\" by=i gauge=DI-6 stage=as-fitted {{ at S1 0 }}"
        );
        let all = lint_text(&text).into_iter().filter(|finding| finding.rule.as_str() == "gauge-calibration");
        let limit = |limit: Option<wayledger::lint::Limit>| limit.map(|it| format!("{} ({})", it.text, it.source));
        all.map(|it| (it.found.map(|found| found.to_string()), limit(it.limit))).collect::<Vec<_>>()
    };
    let told = |days: &str, limit: &str| vec![(Some(days.to_string()), Some(limit.to_string()))];
    let source = "ISO 6789 (2003 edition) for torque wrenches; taken over for gauges, no source";
    assert_eq!(due("\"2025-04-15\""), told("1 day", &format!("12 months: until 2026-04-15 ({source})")));
    assert_eq!(due("\"2025-04-16\""), []);
    let certified = "\"2026-01-16\" due=\"2026-04-14\" certificate=\"C-1\"";
    assert_eq!(due(certified), told("2 days", "until 2026-04-14 (certificate C-1)"));
    assert_eq!(due(&certified.replace("04-14", "04-16")), []);
}

/// The first hole lies 20 mm from the uncut end, so there are holes at 20, 80, … 620 mm. Where nothing is said of it, it is
/// not judged.
#[test]
fn a_cut_through_a_hole_depends_on_where_the_first_one_lies() {
    let cut = |profile: &str, segment: &str| {
        said(
            "segment-stock",
            &format!(
                "shop {{ profile R20 hole-pitch=60 {profile} {{ stock 1200; cutting }} }}
                 machine m {{ axis X {{ rail a profile=R20 {{ segment {segment} }} }} }}"
            ),
        )
    };
    let through = |length: &str| {
        format!(
            "X.a.seg1: cutting it to {length} mm goes through a hole [–] choose a length between two holes, or another \
             near-distance"
        )
    };
    assert_eq!(cut("end-distance=20", "620"), [through("620")]);
    assert_eq!(cut("end-distance=20", "20"), [through("20")]);
    assert_eq!(cut("end-distance=20", "621"), NOTHING);
    assert_eq!(cut("", "630"), NOTHING);
    assert_eq!(cut("", "620"), NOTHING);
    assert_eq!(cut("end-distance=20", "620 far-distance=30"), NOTHING);
    assert_eq!(cut("end-distance=20", "620 near-distance=30"), NOTHING);
}

#[test]
fn more_bars_than_there_are() {
    let bars = |stock: &str| {
        said(
            "segment-stock",
            &format!(
                "shop {{ profile R20 hole-pitch=60 end-distance=30 {{ {stock} }} }}
                 machine m {{ axis X {{ rail a profile=R20 {{ segment 600; segment 600; segment 600 }} }} }}"
            ),
        )
    };
    let told = [
        "X.a.seg3: 3 segments of 600 mm are needed, and there are 2 bars [3] order more bars, or choose other lengths",
    ];
    assert_eq!(bars("stock 600 count=3; stock 1200 count=1"), NOTHING);
    assert_eq!(bars("stock 600 count=2; stock 1200 count=1"), told);
    // The third can be cut, but only from a longer bar.
    assert_eq!(bars("stock 600 count=2; stock 1200 count=1; cutting"), NOTHING);
    assert_eq!(bars("stock 600 count=2; stock 540 count=1; cutting"), told);
}

/// A segment in the middle that is cut to length has a sawn end in a joint, unless one of its ends is said to be otherwise.
#[test]
fn a_cut_segment_between_others_has_a_sawn_end_in_a_joint() {
    let cut = |ends: &str| {
        said(
            "joint-end",
            &format!(
                "shop {{ profile R20 hole-pitch=60 end-distance=30 {{ stock 600; cutting ends=sawn }} }}
                 machine m {{ axis X {{ rail a profile=R20 {{ segment 600; segment 540 {ends}; segment 600 }} }} }}"
            ),
        )
    };
    let inner = "X.a.seg2: the segment is cut to length, so one of its ends is sawn, and both lie in joints [–] put a whole \
                 bar here and the cut one at an end of the axis, or have the cut end ground";
    assert_eq!(cut(""), [inner]);
    assert_eq!(cut("near-end=ground"), NOTHING);
    assert_eq!(cut("far-end=ground"), NOTHING);
    let sawn = "X.a.J2: the far end of segment 2 is sawn and lies in J2 [–] have the end ground, or put the segment at an \
                end of the axis";
    assert_eq!(cut("far-end=sawn"), [sawn]);
}

#[test]
fn a_setting_at_and_beyond_the_window() {
    let set = |setting: &str| {
        said(
            "torque-window",
            &format!(
                "shop {{ fastener rb thread=M6 class=\"10.9\" into=steel }}
                 machine m {{ axis X {{ rail a rail-bolt=rb {{ segment 600; supports S first=100 pitch=200 count=2 }} }} }}
                 fasten X.a date=\"2026-04-13\" by=f stage=snug setting=1.5 {{ clicked S1 S2 }}
                 fasten X.a date=\"2026-04-14\" by=f stage=full setting={setting} {{ clicked S1 S2 }}"
            ),
        )
    };
    let beyond = |setting: &str, way: &str, next: &str| {
        format!("X.a: the wrench was set to {setting} N·m, 0.001 N·m {way} the full window [{setting} N·m] {next}")
    };
    assert_eq!(set("10"), NOTHING);
    assert_eq!(set("11"), NOTHING);
    assert_eq!(set("9.999"), [beyond("9.999", "under", "set the wrench to 10 to 11 N·m and go over S1, S2 again")]);
    assert_eq!(set("11.001"), [beyond("11.001", "over", "loosen S1, S2, snug again and tighten at 10 to 11 N·m")]);
}

#[test]
fn a_support_as_far_off_its_joint_as_it_may_be() {
    let off = |at: &str| {
        let rail = format!("rail a {{ segment 600; segment 600; joint-support J1 at={at} length=200 }}");
        said("joint-support", &format!("machine m {{ axis X {{ {rail} }} }}"))
    };
    let far = |by: &str| {
        format!("X.a.J1: the middle of the joint support lies {by} mm off its joint [{by} mm] move it to 600 mm")
    };
    assert_eq!(off("605"), NOTHING);
    assert_eq!(off("595"), NOTHING);
    assert_eq!(off("605.000001"), [far("5.000001")]);
    assert_eq!(off("594.9"), [far("5.1")]);
}

/// An inspection that says nothing of light leaves standing what the one before saw.
#[test]
fn light_that_was_seen_stays_seen_until_somebody_looks_again() {
    let light = |later: &str| {
        said(
            "light-through-joint",
            &format!(
                "machine m {{ axis X {{ rail a {{ segment 600; segment 600; joint-support J1 at=600 length=200 }} }} }}
                 inspect X.a.J1 date=\"2026-04-14\" by=i {{ light seen }}
                 inspect X.a.J1 date=\"2026-04-15\" by=i {{ {later} }}"
            ),
        )
        .len()
    };
    assert_eq!(light("UL 0 -> 0.01"), 1);
    assert_eq!(light("light seen"), 1);
    assert_eq!(light("light none"), 0);
}

/// Holes of a segment from 0 lie at 30, 90, 150, …; bolts of a support at 120 that are 1 mm and 4 mm off, with 2 mm allowed.
#[test]
fn only_bolts_beyond_the_limit_are_counted_as_off_their_holes() {
    let off = |bolts: &str| {
        said(
            "bolt-off-hole",
            &format!(
                "shop {{ profile R20 hole-pitch=60 end-distance=30 }}
                 machine m {{ rulebook {{ bolt-hole-offset most=2 reason=\"slotted supports\" }}
                   axis X {{ rail a profile=R20 {{ segment 600; support S1 at=120 length=140 {{ bolts {bolts} }} }} }} }}"
            ),
        )
    };
    assert_eq!(off("-30 30"), NOTHING);
    assert_eq!(off("-32 28"), NOTHING);
    let told = |wrong: &str| {
        [format!("X.a.S1: {wrong} by 4 mm [4 mm] the nearest hole is 4 mm away: move the support or its bolts")]
    };
    assert_eq!(off("-32 34"), told("1 of 2 bolts are off their holes, bolt 2"));
    assert_eq!(off("-34 34"), told("2 of 2 bolts are off their holes, bolt 1"));
}
