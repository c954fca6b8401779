//! Layouts planned for random machines: what is planned lints clean once it is written.

use std::cell::Cell;
use std::rc::Rc;

use crate::calc::layout::meter::{LayoutProgress, Watch};
use crate::calc::layout::plan::LayoutOutcome;
use crate::calc::layout::task::USUAL_BUDGET;
use crate::facts::layout_plan::{layout_plan, watched_layout_plan};
use crate::facts::layout_write::edits;
use crate::finding::Grade;
use crate::judging::foreseen;
use crate::judging::lint::Judged;
use crate::judging::what_if::with_edits;
use crate::rules::{RuleGroup, rule};

use crate::testing::machines::{Dice, Size, machine};
use crate::testing::{judge, today};

/// Findings of the layout group.
fn layout_findings(judged: &Judged) -> Vec<String> {
    judged
        .findings
        .iter()
        .filter(|finding| {
            rule(finding.rule).is_none_or(|rule| matches!(rule.group, RuleGroup::Layout | RuleGroup::Text))
        })
        .filter(|finding| finding.grade != Grade::NotJudged)
        .map(|finding| format!("{} {}: {}", finding.rule, finding.address, finding.message))
        .collect()
}

/// A random machine without its segments and joint supports, with a choice of bars that makes some layouts hard.
fn bare(seed: u64) -> (String, String) {
    let written = machine(seed, &Size::default());
    let text = &written.files[0].1;
    let lines = text.lines().filter(|line| {
        let line = line.trim_start();
        !line.starts_with("segment ") && !line.starts_with("joint-support ")
    });
    let plan = &written.plan;
    let run = plan.to - plan.from;
    let bars: Vec<String> = [run / 5, run / 3, run / 2, run]
        .iter()
        .map(|length| (length / plan.pitch * plan.pitch).max(4 * plan.pitch).to_string())
        .take(if seed.is_multiple_of(3) { 4 } else { 3 })
        .collect();
    let cutting = format!("        cutting grid={} kerf=3 ends=sawn\n", plan.pitch);
    let shop: String = written
        .shop
        .lines()
        .map(|line| match line.trim_start().starts_with("stock ") {
            true => format!("        stock {}\n{cutting}", bars.join(" ")),
            false => format!("{line}\n"),
        })
        .collect();
    (lines.map(|line| format!("{line}\n")).collect(), shop)
}

#[test]
fn what_is_planned_lints_clean() {
    let (mut planned, mut refused) = (0, 0);
    for seed in 0..48 {
        let (text, shop) = bare(seed);
        let judged = judge(&[("machine.kdl", &text)], &[&shop]);
        let ledger = &judged.ledger;
        let plan = layout_plan(ledger, 0, USUAL_BUDGET / 50).unwrap_or_else(|why| panic!("seed {seed}: {}", why.what));
        let LayoutOutcome::Planned(layout) = &plan.outcome else {
            refused += 1;
            continue;
        };
        planned += 1;
        let edits = edits(ledger, &plan, layout, false).unwrap_or_else(|why| panic!("seed {seed}: {}", why.what));
        let source = ledger.machine.axes[0].place.source;
        crate::text::prove(&text, &edits, &crate::text::ReadLimits::default())
            .unwrap_or_else(|why| panic!("seed {seed}: {why}"));
        let after = with_edits(ledger, source, &edits, today()).expect("edits that fit");
        let found = layout_findings(&after);
        let changed = crate::text::apply(&text, &edits).expect("edits that fit");
        assert!(found.is_empty(), "seed {seed}: {found:#?}\n{changed}\n{shop}");
        // What was planned is what is now described.
        for (rail, of) in after.ledger.machine.axes[0].rails.iter().zip(&layout.rails) {
            let described: Vec<i64> = rail.joints.iter().map(|joint| joint.position.nm()).collect();
            let wanted: Vec<i64> = of.joints.iter().map(|joint| joint.at).collect();
            assert_eq!(described, wanted, "seed {seed}");
            let described: Vec<i64> = rail.segments.iter().flat_map(|it| &it.holes).map(|at| at.nm()).collect();
            let wanted: Vec<i64> = of.segments.iter().flat_map(|it| it.holes.clone()).collect();
            assert_eq!(described, wanted, "seed {seed}");
        }
    }
    assert!(planned > 24, "{planned} planned, {refused} refused");
}

/// The random machine of a seed with everything that makes stock scarce or ends matter: counts, owned bars, some with
/// sawn ends, cuts that lose nothing, grids of their own, cut ends that are ground.
fn with_every_feature(seed: u64) -> (String, String) {
    let (text, shop) = bare(seed);
    let mut dice = Dice::new(seed ^ 0xfea7);
    let d = &mut dice;
    let pitch = machine(seed, &Size::default()).plan.pitch;
    let mut bars: Vec<i64> = Vec::new();
    let mut lines = Vec::new();
    for line in shop.lines() {
        let word = line.trim_start();
        if word.starts_with("stock ") {
            bars = word.split(' ').skip(1).filter_map(|bar| bar.parse().ok()).collect();
            for bar in &bars {
                let count = if d.chance(50) { format!(" count={}", d.roll(0..=6)) } else { String::new() };
                lines.push(format!("        stock {bar}{count}"));
            }
        } else if word.starts_with("cutting ") {
            let kerf = d.pick(&["", " kerf=0", " kerf=3"]);
            let ends = d.pick(&["", " ends=sawn", " ends=ground"]);
            lines.push(format!("        cutting grid={}{kerf}{ends}", pitch * d.roll(1..=2)));
        } else {
            lines.push(line.to_string());
        }
    }
    if d.chance(30) {
        let is = d.pick(&["forbidden", "allowed"]);
        lines.insert(1, format!("    rulebook {{ sawn-ends is={is} reason=\"as agreed\" }}"));
    }
    let mut described = String::new();
    for line in text.lines() {
        described += line;
        described += "\n";
        if line.trim_start().starts_with("rail ") && line.ends_with('{') && d.chance(60) {
            let length = *d.pick(&bars);
            let ends = d.pick(&["", " near-end=sawn", " far-end=sawn", " near-end=sawn far-end=sawn"]);
            described += &format!("            segment {length} owned=#true{ends}\n");
        }
    }
    (described, lines.join("\n") + "\n")
}

#[test]
fn what_is_planned_from_scarce_stock_lints_clean() {
    let (mut planned, mut refused, mut sawn) = (0, 0, 0);
    for seed in 0..48 {
        let (text, shop) = with_every_feature(seed);
        let judged = judge(&[("machine.kdl", &text)], &[&shop]);
        let ledger = &judged.ledger;
        assert!(ledger.text_findings.is_empty(), "seed {seed}: {:?}\n{text}\n{shop}", ledger.text_findings);
        let plan = layout_plan(ledger, 0, USUAL_BUDGET / 500).unwrap_or_else(|why| panic!("seed {seed}: {}", why.what));
        let LayoutOutcome::Planned(layout) = &plan.outcome else {
            refused += 1;
            continue;
        };
        planned += 1;
        sawn += usize::from(text.contains("-end=sawn"));
        let edits = edits(ledger, &plan, layout, true).unwrap_or_else(|why| panic!("seed {seed}: {}", why.what));
        let source = ledger.machine.axes[0].place.source;
        let changed = crate::text::apply(&text, &edits).expect("edits that fit");
        let after = with_edits(ledger, source, &edits, today()).expect("edits that fit");
        let broken: Vec<String> = after
            .findings
            .iter()
            .filter(|it| {
                it.grade == Grade::Nonconformity && rule(it.rule).is_none_or(|rule| rule.group != RuleGroup::Gap)
            })
            .map(|it| format!("{} {}: {}", it.rule, it.address, it.message))
            .collect();
        let kept = foreseen::of_layout(ledger, 0, source, &edits, today()).expect("edits that fit");
        assert!(!kept.iter().any(|it| it.grade == Grade::Nonconformity), "seed {seed}: {kept:#?}\n{changed}\n{shop}");
        assert_eq!(broken, [""; 0], "seed {seed}\n{changed}\n{shop}");
    }
    assert!(planned > 10 && sawn > 3, "{planned} planned, {sawn} with sawn ends, {refused} refused");
}

/// A joint more than the lengths ask for is needless only where a layout without it keeps every rule: here two bars make up
/// the rail, and their joint would stand on the seam of the beam.
#[test]
fn a_joint_that_the_planner_needs_is_not_called_needless() {
    let needless = |pieces: &str, segments: &str| {
        let machine = format!(
            "machine m {{ axis X {{ run from=0 to=4800\n beam b {{ {pieces} }}\n rail a beam=b profile=R20 {{ {segments} }} }} }}"
        );
        let shop = "shop { profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 { stock 1200 2400 3600; cutting grid=60 kerf=3 ends=sawn } }";
        let found = judge(&[("machine.kdl", &machine)], &[shop]).findings;
        let said = found.into_iter().find(|it| it.rule.as_str() == "joint-needless" && it.grade == Grade::Observation);
        said.map(|it| format!("{}; {}", it.message, it.next))
    };
    let three = "segment 1200; segment 2400; segment 1200";
    let seams = "piece 1200; piece 1200; piece 1200; piece 1200";
    let fewer = needless("piece 4800", three).expect("two bars will do");
    assert!(fewer.starts_with("3 segments make up the rail; 2 would do with every layout rule kept; try "), "{fewer}");
    // Joints at 1200, 2400 and 3600 stand on seams, and the lengths between have to be cut: two joints cannot do better than one.
    let moved = needless(seams, three).expect("a cut keeps clear of the seams");
    assert!(moved.contains("2 would do"), "{moved}");
    // With whole bars alone each way with one joint is on a seam.
    let whole = |segments: &str| {
        let machine = format!(
            "machine m {{ axis X {{ run from=0 to=4800\n beam b {{ piece 2400; piece 2400 }}\n rail a beam=b profile=R20 {{ {segments} }} }} }}"
        );
        let shop = "shop { profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 { stock 1200 1800 2400 } }";
        let found = judge(&[("machine.kdl", &machine)], &[shop]).findings;
        found.into_iter().any(|it| it.rule.as_str() == "joint-needless" && it.grade == Grade::Observation)
    };
    assert!(!whole("segment 1800; segment 1200; segment 1800"), "2400 and 2400 meet on the seam");
    assert!(whole("segment 1200; segment 1200; segment 1200; segment 1200"), "three segments will do");
}

/// A machine of many axes is linted in bounded time: they share the steps of the search for fewer joints. What it does not
/// come to is called not judged, and not in order.
#[test]
fn the_axes_of_a_machine_share_the_steps_of_the_search_for_fewer_joints() {
    let segments = "segment 2400; segment 2400; segment 2400; segment 1200; segment 1200";
    let axis = |at: i64| {
        format!(
            "axis A{at} {{ run from=0 to=9600\n beam b {{ piece 9600 }}\n rail a beam=b profile=R20 {{ {segments} }} }}\n"
        )
    };
    let machine = |axes: i64| format!("machine m {{ {} }}", (1..=axes).map(axis).collect::<String>());
    let shop = "shop { profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 { stock 1200 2400; cutting grid=60 kerf=3 ends=ground } }";
    let judged = |axes: i64| judge(&[("machine.kdl", &machine(axes))], &[shop]);
    let graded = |judged: &Judged, grade: Grade| -> Vec<String> {
        let of_rule = judged.findings.iter().filter(|it| it.rule.as_str() == "joint-needless" && it.grade == grade);
        of_rule.map(|it| it.address.to_string()).collect()
    };
    let (one, many) = (judged(1), judged(30));
    assert_eq!((graded(&one, Grade::Observation), graded(&one, Grade::NotJudged)), (vec!["A1.a".to_string()], vec![]));
    let told = graded(&many, Grade::Observation);
    assert!(told.len() >= 2 && told.len() < 25 && told[0] == "A1.a", "{told:?}");
    assert!(!told.contains(&"A30.a".to_string()), "{told:?}");
    let ended = graded(&many, Grade::NotJudged);
    assert!(ended.len() == 30 - told.len() && ended.contains(&"A30".to_string()), "{ended:?}");
    assert_eq!(graded(&judged(30), Grade::Observation), told, "two runs judge the same");
}

/// Who ends the second search, for a plan that takes out no support described by itself, keeps the first plan and is told
/// that nothing better was looked for to the end.
#[test]
fn the_end_of_the_second_search_keeps_the_first_plan() {
    let singles =
        |count: i64| -> String { (1..=count).map(|at| format!("support S{at} at={} length=80; ", 240 * at)).collect() };
    let supports = singles(59);
    let rails: String = [("a", 4200), ("b", 5400)]
        .map(|(rail, piece)| {
            format!(
                "beam {rail} {{ piece {piece}; piece {} }}\n rail {rail} beam={rail} profile=R20 {{ {supports} }}\n",
                14_400 - piece
            )
        })
        .concat();
    let machine = format!(
        "machine m {{ axis X {{ run from=0 to=14400\n{rails} carriage length=480 {{ block a at=-180 type=B20; block a at=180 type=B20; block b at=-180 type=B20; block b at=180 type=B20 }} }} }}"
    );
    let shop = "shop { profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 least-segment=240 {
        stock 1440 count=4; stock 2400 count=6; stock 3000 count=8; cutting grid=60 kerf=3 ends=sawn }
        block B20 length=80 }";
    let judged = judge(&[("machine.kdl", &machine)], &[shop]);
    let (looks, second) = (Rc::new(Cell::new(0_u32)), Rc::new(Cell::new(false)));
    let (count, begun) = (Rc::clone(&looks), Rc::clone(&second));
    let watch: Watch = Rc::new(move |progress: &LayoutProgress| {
        // Between the two searches it is told once how many steps the first one took.
        let between = progress.joints.is_some() && progress.joints_at_least == 0;
        count.set(count.get() + u32::from(begun.get()));
        let go_on = !begun.get();
        begun.set(begun.get() || between);
        go_on
    });
    let plan = watched_layout_plan(&judged.ledger, 0, USUAL_BUDGET / 10, Some(watch))
        .unwrap_or_else(|why| panic!("{}", why.what));
    assert!(second.get() && looks.get() > 0, "a second search was begun and looked at");
    assert!(plan.cut_short);
    let LayoutOutcome::Planned(layout) = &plan.outcome else { panic!("{:?}", plan.outcome) };
    assert!(layout.rails.iter().any(|rail| !rail.dropped.is_empty()), "the first plan takes supports out");
    assert!(plan.task.rails.iter().all(|rail| rail.supports.may_drop), "and it is the one that is told");
}
