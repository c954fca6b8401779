//! How the rails lie, from surveys, joints and shims, and what the carriage makes of it.

use crate::calc::motion::frame::{LEFT, UP};
use crate::calc::motion::rails::LyingSegment;
use crate::facts::lying::{LyingRails, lying_rails};
use crate::facts::motion::{borne, moving, newtons};
use crate::facts::motion_course::course;
use crate::testing::judge;

/// Two rails of two segments; the second lies to the right of the first and follows it.
const RAILS: &str = r#"
shop {
    gauge LA-1 kind=laser graduation=0.001 permissible-error=0.003 repeatability=0.001 plus=right
    gauge DI-6 kind=dial-indicator graduation=0.001 permissible-error=0.003 repeatability=0.002 plus=wider
    gauge DI-7 kind=dial-indicator graduation=0.001 permissible-error=0.003 repeatability=0.002 plus=up
    gauge DI-4 kind=dial-indicator graduation=0.001 local-error=0.001 repeatability=0.001 plus=outward
    profile R20 contact=outward
    block B20 length=60 C=18100 C0=29500 stiffness=200 lateral-stiffness=150 preload=1500
}
machine m {
    axis X {
        stroke from=240 to=2160
        rail a profile=R20 { segment 1200; segment 1200; supports S first=60 pitch=228 count=11 length=80 }
        rail b profile=R20 follows=a shims=widen { segment 2400; supports S first=60 pitch=228 count=11 length=80 }
        carriage mass=80 {
            block a at=-150 type=B20
            block a at=150 type=B20
            block b at=-150 type=B20
            block b at=150 type=B20
            track a y=-300
            track b y=300
        }
    }
}
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=as-fitted {
    at S1 0; at S2 0.010; at S3 0.004; at S5 -0.008; at 1200 0.006; at S8 0.002; at S11 0
}
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S3 -0.03; at S6 -0.01; at S11 0 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 {
    UL 0 -> 0.004; UR 0 -> 0.008; LL 0 -> -0.002; LR 0 -> 0.002
}
"#;

fn lying(text: &str) -> LyingRails {
    lying_rails(&judge(&[("machine.kdl", text)], &[]).ledger, 0, &|_| true)
}

#[track_caller]
fn lies(segment: &LyingSegment, plane: usize, at: f64, value: f64) {
    let shape = segment.shapes[plane].as_ref().expect("it was read");
    let found = shape.spline.value(at);
    assert!((found - value).abs() < 1e-9, "{found} and not {value} at {at}");
}

/// The least-squares line of what was read along rail a, by the normal equations: where its zero lies and which way the laser
/// looks is free.
fn line(at: f64) -> f64 {
    let read = [
        (60.0, 0.0),
        (288.0, -0.010),
        (516.0, -0.004),
        (972.0, 0.008),
        (1200.0, -0.006),
        (1656.0, -0.002),
        (2340.0, 0.0),
    ];
    let sum = |of: fn((f64, f64)) -> f64| read.into_iter().map(of).sum::<f64>();
    let (n, x, y) = (read.len() as f64, sum(|(x, _)| x), sum(|(_, y)| y));
    let (xx, xy) = (sum(|(x, _)| x * x), sum(|(x, y)| x * y));
    let slope = (n * xy - x * y) / (n * xx - x * x);
    (y - slope * x) / n + slope * at
}

#[test]
fn a_rail_lies_as_it_was_read_and_its_follower_by_the_gap() {
    let lying = lying(RAILS);
    let [a, b] = [&lying.rails[0], &lying.rails[1]];
    // The laser's plus is to the right, and left is plus here.
    lies(&a.segments[0], LEFT, 288.0, -0.010 - line(288.0));
    lies(&a.segments[1], LEFT, 1656.0, -0.002 - line(1656.0));
    // The joint's side step: groove amplitudes (−4 + 8 + 2 + 2)/4 = 2 µm, times √2 to the right; half on either side.
    let half = 0.002 * 2.0_f64.sqrt() / 2.0;
    lies(&a.segments[0], LEFT, 1200.0, -0.006 + half - line(1200.0));
    lies(&a.segments[1], LEFT, 1200.0, -0.006 - half - line(1200.0));
    // The gap is narrower by 0.03: rail b, on the right, lies that much to the left of where rail a has it, less the mean of the
    // four stations.
    lies(&b.segments[0], LEFT, 516.0, -0.004 + 0.03 - 0.01 - line(516.0));
    lies(&b.segments[0], LEFT, 2340.0, -0.01 - line(2340.0));
    assert_eq!(lying.read, [[true, false], [true, false]]);
    // Upright only the joint is known: (4 + 8 + 2 − 2)/4 = 3 µm, times √2, high behind it.
    assert!(b.segments[0].shapes[UP].is_none());
    lies(&a.segments[1], UP, 2000.0, 0.003 * 2.0_f64.sqrt());
    // Size (4 + 8 − 2 + 2)/4 = 3 µm larger behind the joint; twist (4 − 8 + 2 + 2)/4 = 0.
    assert!((a.segments[1].larger - 0.003).abs() < 1e-12 && a.segments[0].larger == 0.0);
    assert_eq!((a.segments[1].twisted, lying.joints), (0.0, 1));
}

#[test]
fn on_the_left_a_wider_gap_lies_to_the_left() {
    let mirrored = RAILS.replace("track a y=-300", "track a y=300").replace("track b y=300", "track b y=-300");
    lies(&lying(&mirrored).rails[1].segments[0], LEFT, 516.0, -0.004 - 0.03 + 0.01 - line(516.0));
    // Where nothing says which is on the right, the gap tells nothing of where the rail lies.
    let unknown = RAILS.replace("track b y=300", "");
    assert_eq!(lying(&unknown).read[1], [false, false]);
}

#[test]
fn shims_since_the_survey_move_it_and_earlier_ones_do_not() {
    let shim = |date: &str| format!("{RAILS}\nshim X.b date=\"{date}\" by=fitter-2 {{ at S3 0.02 }}");
    lies(&lying(&shim("2026-04-17")).rails[1].segments[0], LEFT, 516.0, -0.004 + 0.01 - 0.005 - line(516.0));
    lies(&lying(&shim("2026-04-14")).rails[1].segments[0], LEFT, 516.0, -0.004 + 0.03 - 0.01 - line(516.0));
}

/// Where a gap has its zero, and where the line of sight of a straightness runs, changes no load.
#[test]
fn what_a_survey_leaves_free_changes_no_load() {
    let life = |text: &str| {
        let borne = borne(&judge(&[("machine.kdl", text)], &[]).ledger, 0, &|_| true).expect("it bears");
        borne.whole.together[1].expect("a life")
    };
    let as_read = life(RAILS);
    let shifted =
        RAILS.replace("at S1 0; at S3 -0.03; at S6 -0.01; at S11 0", "at S1 0.1; at S3 0.07; at S6 0.09; at S11 0.1");
    // 0.001 mm to the right for each 114 mm.
    let tilted = RAILS.replace(
        "at S1 0; at S2 0.010; at S3 0.004; at S5 -0.008; at 1200 0.006; at S8 0.002; at S11 0",
        "at S1 0.5; at S2 0.512; at S3 0.508; at S5 0.500; at 1200 0.516; at S8 0.516; at S11 0.520",
    );
    for (what, text) in [("a zero elsewhere", shifted), ("another line of sight", tilted)] {
        assert_ne!(text, RAILS);
        let found = life(&text);
        assert!((found / as_read - 1.0).abs() < 1e-9, "{what}: {found} and not {as_read}");
    }
}

#[test]
fn every_reading_weighs_what_moving_it_does() {
    let judged = judge(&[("machine.kdl", RAILS)], &[]);
    let now = moving(&judged.ledger, 0, &|_| true).expect("it moves");
    let readings = &now.borne.loaded.lying.readings;
    assert_eq!(readings.len(), 7 + 4 + 4);
    assert!(readings.iter().all(|reading| reading.uncertainty.is_some_and(|u| u > 0.0)));
    // The gap at S3 wider by 0.1 µm.
    let (s3, _) = readings.iter().enumerate().find(|(_, of)| of.rail == 1 && of.at == "S3").expect("S3 of rail b");
    let moved = RAILS.replace("at S3 -0.03", "at S3 -0.0299");
    let after = borne(&judge(&[("machine.kdl", &moved)], &[]).ledger, 0, &|_| true).expect("it bears");
    for (block, of) in now.blocks.iter().enumerate() {
        let change = after.whole.blocks[block].forced.load - now.borne.whole.blocks[block].forced.load;
        assert!((change - of.in_forced[s3] * 1e-4).abs() < 1e-3 * of.in_forced[s3].abs() * 1e-4 + 1e-6, "{change}");
    }
    let life = |of: &crate::facts::motion::BorneLoads| of.whole.together[1].expect("a life");
    let change = life(&after) - life(&now.borne);
    assert!((change / (now.together[s3] * 1e-4) - 1.0).abs() < 0.01, "{change} {}", now.together[s3] * 1e-4);
    // A groove of the joint counts by its height and side.
    let groove = readings.iter().position(|of| of.at == "J1 UR").expect("a groove");
    assert!(now.together[groove] != 0.0);
}

#[test]
fn what_is_not_surveyed_is_not_judged() {
    let unjudged = |text: &str| {
        let judged = judge(&[("machine.kdl", text)], &[]);
        let axis = &judged.ledger.machine.axes[0];
        borne(&judged.ledger, 0, &|_| true).expect("it bears").unjudged(axis).unwrap_or_default()
    };
    assert_eq!(unjudged(RAILS), "how rail a lies upright was not surveyed");
    assert_eq!(unjudged(&RAILS.replace("stroke from=240 to=2160", "")), "the stroke is not stated");
    assert_eq!(
        unjudged(&RAILS.replace("stiffness=200 lateral-stiffness=150 ", "")),
        "the stiffness of the blocks is not stated"
    );
    let upright = r#"
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=DI-7 stage=as-fitted { at S1 0; at S4 0.001; at S8 0; at S11 0 }
survey height X.b date="2026-04-16" by=inspector-1 gauge=DI-7 stage=as-fitted { at S1 0; at S6 0.001; at S11 0 }
"#;
    let surveyed = format!("{RAILS}{upright}");
    let loose = unjudged(&surveyed.replace("preload=1500", "preload=15"));
    assert!(loose.contains("bears more than its preload holds"), "{loose}");
    assert_eq!(unjudged(&surveyed.replace("preload=1500", "preload=15000")), "");
    assert_eq!(unjudged(&surveyed.replace("preload=1500", "")), "");
}

#[test]
fn a_rail_that_bends_is_forced_less_and_half_as_stiff_still_less() {
    let forced = |text: &str| {
        let judged = judge(&[("machine.kdl", text)], &[]);
        let borne = borne(&judged.ledger, 0, &|_| true).expect("it bears");
        // Over a support a rail does not bend, so that the greatest may stay: the means tell.
        let all: f64 = borne.whole.blocks.iter().map(|of| of.measured.mean).sum();
        (borne.loaded.lying.yields, newtons(all))
    };
    let with =
        |more: &str| RAILS.replace("profile R20 contact=outward", &format!("profile R20 contact=outward {more}"));
    let (stiff, thick, thin) = (
        forced(RAILS),
        forced(&with("second-moment=40000 lateral-second-moment=40000")),
        forced(&with("second-moment=20000 lateral-second-moment=20000")),
    );
    assert_eq!((stiff.0, thick.0, thin.0), (false, true, true));
    assert!(stiff.1 > thick.1 && thick.1 > thin.1 && thin.1 > 0, "{stiff:?} {thick:?} {thin:?}");
    // Supports that yield, too; and a rail on one machined face bends nowhere.
    let soft =
        with("lateral-second-moment=40000").replace("length=80 }", "length=80 stiffness=100 lateral-stiffness=100 }");
    let firm = with("lateral-second-moment=40000");
    assert!(forced(&soft).1 < forced(&firm).1);
    let bedded =
        with("second-moment=40000 lateral-second-moment=40000").replace("profile=R20 ", "profile=R20 seat=continuous ");
    assert_eq!(forced(&bedded), stiff);
}

/// Nothing older speaks in the place of a reading that is no proof.
#[test]
fn a_reading_that_is_no_proof_says_nothing_of_how_a_rail_lies() {
    let again = RAILS.to_owned()
        + r#"
survey straightness X.a date="2026-04-20" by=inspector-1 gauge=LA-1 stage=service {
    at S1 0; at S2 0.5; at S3 0.4; at S5 -0.8; at 1200 0.6; at S8 0.2; at S11 0
}
"#;
    let judged = judge(&[("machine.kdl", &again)], &[]);
    let by = |without: &[&str]| {
        let no_proof = |record: usize| {
            let of = &judged.ledger.records[record];
            let date = of.date.map_or(String::new(), |date| date.value.to_string());
            without.contains(&format!("{} {date}", of.kind).as_str())
        };
        borne(&judged.ledger, 0, &|record| !no_proof(record)).expect("it bears")
    };
    let lies = |of: &crate::facts::motion::BorneLoads| of.loaded.lying.read.clone();
    assert_eq!(lies(&by(&[])), [[true, false], [true, false]]);
    let none = by(&["survey 2026-04-20"]);
    assert_eq!(lies(&none), [[false, false], [false, false]], "the gap is only relative to what is unknown");
    let axis = &judged.ledger.machine.axes[0];
    assert_eq!(none.unjudged(axis).expect("why"), "the survey of how rail a lies sideways is no proof");
    assert_eq!(none.loaded.lying.readings.len(), 4 + 4, "the gap's and the joint's");
    assert_eq!(by(&["inspect 2026-04-15"]).loaded.lying.joints, 0);
    assert_eq!(lies(&by(&["survey 2026-04-16"])), [[true, false], [false, false]]);
}

/// Of three segments only the middle one was read. The others stand on its ends by the steps of the joints, which are those of
/// the test above: 0.002 · √2 mm to the right.
#[test]
fn a_segment_that_was_not_read_stands_on_the_one_beside_it() {
    let stations = "at S1 0; at S2 0.010; at S3 0.004; at S5 -0.008; at 1200 0.006; at S8 0.002; at S11 0";
    let grooves = "UL 0 -> 0.004; UR 0 -> 0.008; LL 0 -> -0.002; LR 0 -> 0.002";
    let text = RAILS
        .replace("segment 1200; segment 1200;", "segment 800; segment 800; segment 800;")
        .replace(stations, "at S5 0.003; at S6 0.010; at S7 0.004")
        + &format!("inspect X.a.J2 date=\"2026-04-15\" by=inspector-1 gauge=DI-4 {{ {grooves} }}\n");
    let now = lying(&text);
    let [first, middle, last] = [0, 1, 2].map(|n| &now.rails[0].segments[n]);
    let end = |at: f64| middle.shapes[LEFT].as_ref().expect("it was read").spline.value(at);
    let step = -0.002 * 2.0_f64.sqrt();
    lies(first, LEFT, 100.0, end(800.0) - step);
    lies(last, LEFT, 2000.0, end(1600.0) + step);
    assert!(end(1600.0).abs() > 0.001, "it is not the place where it should lie");
    assert!(!now.read[0][LEFT], "not all of it was read");
    // What each reading weighs in where the last one stands is what moving it does.
    let from = &last.shapes[LEFT].as_ref().expect("it stands").from[0];
    let place =
        |lying: &LyingRails| lying.rails[0].segments[2].shapes[LEFT].as_ref().expect("it stands").spline.value(2000.0);
    // The laser's plus is to the right. Of the joints the last one is meant.
    for (at, old, new, sign) in [
        ("S7", "S7 0.004", "S7 0.005", -1.0),
        ("S5", "S5 0.003", "S5 0.004", -1.0),
        ("J2 UR", "UR 0 -> 0.008", "UR 0 -> 0.009", 1.0),
    ] {
        let reading = now.readings.iter().position(|of| of.rail == 0 && of.at == at).expect("a reading");
        let weight: f64 = from.iter().filter(|(of, _)| *of == reading).map(|(_, weight)| weight).sum();
        let (before, behind) = text.rsplit_once(old).expect("it was read");
        let change = place(&lying(&format!("{before}{new}{behind}"))) - place(&now);
        assert!((change - sign * weight * 0.001).abs() < 1e-9, "{at}: {change} {weight}");
        assert!(weight != 0.0, "{at}");
    }
}

#[test]
fn too_many_joints_are_told() {
    let many = RAILS.replace("segment 1200; segment 1200;", &"segment 10; ".repeat(502));
    let judged = judge(&[("machine.kdl", &many)], &[]);
    let borne = borne(&judged.ledger, 0, &|_| true).expect("it bears");
    let said = borne.unjudged(&judged.ledger.machine.axes[0]);
    assert_eq!(said.as_deref(), Some("the rails have more than 500 joints, which are not reckoned with"));
}

/// Rail `a` with a support under its joint, read there in one of the ways that a record has for it.
fn read_at_the_joint(rows: &str, steps: bool) -> String {
    let text = RAILS
        .replace("supports S first=60 pitch=228 count=11 length=80 }\n        rail b", "supports S first=60 pitch=228 count=11 length=80 { omit S6 }; joint-support J1 at=1200 length=80 }\n        rail b")
        .replace("at 1200 0.006;", rows);
    assert!(text.contains("joint-support") && text.contains(rows));
    if steps { text } else { text[..text.find("inspect X.a.J1").expect("the joint's record")].to_owned() }
}

/// The offset at the joint is known from the steps of its grooves: 2 µm of them to the right are 0.002 · √2 mm, here to the
/// nanometre. However the survey was written, the rail lies the same way, and so does the carriage that runs on it.
#[test]
fn a_joint_read_at_either_end_or_both_gives_one_course() {
    let (before, behind) = ("0.004586", "0.007414");
    let ways = [
        ("their mean, at the support", "at J1 0.006;".to_owned(), true),
        ("their mean, at the place", "at 1200 0.006;".to_owned(), true),
        ("the end before", format!("at J1- {before};"), true),
        ("the end behind", format!("at J1+ {behind};"), true),
        ("both ends", format!("at J1- {before}; at J1+ {behind};"), true),
        ("both ends, the one behind first", format!("at J1+ {behind}; at J1- {before};"), true),
        ("both ends and their mean", format!("at J1- {before}; at J1 0.006; at J1+ {behind};"), true),
        ("both ends of a joint without steps", format!("at J1- {before}; at J1+ {behind};"), false),
    ];
    let shape = |lying: &LyingRails, rail: usize, segment: usize, at: f64| {
        lying.rails[rail].segments[segment].shapes[LEFT].as_ref().expect("it was read").spline.value(at)
    };
    let all: Vec<_> = ways
        .iter()
        .map(|(way, rows, steps)| {
            let judged = judge(&[("machine.kdl", &read_at_the_joint(rows, *steps))], &[]);
            assert!(judged.ledger.text_findings.is_empty(), "{way}: {:?}", judged.ledger.text_findings);
            let now = moving(&judged.ledger, 0, &|_| true).expect("it moves");
            (*way, *steps, course(&now).expect("it goes"), lying_rails(&judged.ledger, 0, &|_| true))
        })
        .collect();
    let (_, _, first_course, lying) = &all[0];
    let offset = shape(lying, 0, 1, 1200.0) - shape(lying, 0, 0, 1200.0);
    assert!((offset + 0.002 * 2.0_f64.sqrt()).abs() < 1e-9, "{offset}");
    for (way, steps, course, found) in &all[1..] {
        for (rail, segment, places) in [(0, 0, 0..=1200), (0, 1, 1200..=2400), (1, 0, 0..=2400)] {
            for at in places.step_by(60).map(f64::from) {
                let (was, is) = (shape(lying, rail, segment, at), shape(found, rail, segment, at));
                assert!((was - is).abs() < 2e-6, "{way}: {is} and not {was} at {at} of rail {rail}");
            }
        }
        // Without the steps no rail is larger behind the joint, and upright nothing is known.
        for (was, is) in first_course.iter().zip(course.iter()).filter(|_| *steps) {
            for (was, is) in was.off.iter().zip(&is.off) {
                assert!((was - is).abs() < 3e-6, "{way}: {is} and not {was} at {}", course[0].at);
            }
            for (was, is) in was.loads.iter().zip(&is.loads) {
                assert!((was.measured - is.measured).abs() < 2.0, "{way}: {} and not {} N", is.measured, was.measured);
            }
        }
    }
    // The other end is another rail: it counts.
    let turned =
        judge(&[("machine.kdl", &read_at_the_joint(&format!("at J1- {behind}; at J1+ {before};"), true))], &[]);
    let turned = lying_rails(&turned.ledger, 0, &|_| true);
    let offset = shape(&turned, 0, 1, 1200.0) - shape(&turned, 0, 0, 1200.0);
    assert!((offset - 0.002828).abs() < 1e-9, "read, and not by the steps: {offset}");
}
