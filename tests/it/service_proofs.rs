//! Re-torque, re-inspect and re-survey are done by readings; a bare service line proves nothing.

use crate::common::lint_text;

/// What is overdue, as the messages say it.
fn due(text: &str) -> Vec<String> {
    lint_text(text).iter().filter(|it| it.rule.as_str() == "service-due").map(|it| it.message.clone()).collect()
}

#[test]
fn bare_service_lines_close_neither_torque_nor_inspection() {
    let text = r#"
machine m {
    axis X {
        service-interval re-torque months=6
        service-interval re-inspect months=6
        rail a { segment 1200; segment 1200; joint-support J1 at=1200 length=200 }
    }
}
fasten X.a date="2025-04-14T08:05" by=fitter-2 stage=snug setting=1.5 { clicked J1 }
fasten X.a date="2025-04-14T08:10" by=fitter-2 stage=full setting=10.5 { clicked J1 }
inspect X.a.J1 date="2025-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
release X date="2025-04-20" by=engineer-1
service X date="2026-10-01" by=fitter-2 task=re-torque
service X date="2026-10-01" by=fitter-2 task=re-inspect
"#;
    assert_eq!(due(text), ["re-torque of X was due on 2025-10-20", "re-inspect of X was due on 2025-10-20"]);
}

/// Two rails with a joint each, released on the first day of 2026, with one interval and some records.
fn machine(interval: &str, records: &str) -> Vec<String> {
    due(&format!(
        r#"
shop {{
    gauge DI-4 kind=dial-indicator plus=outward {{ calibrated "2025-01-12" due="2028-01-12" }}
    gauge DI-6 kind=dial-indicator plus=wider {{ calibrated "2025-01-12" due="2028-01-12" }}
    wrench TW-2 kind=setting least=0.5 most=20 {{ calibrated "2025-01-12" due="2028-01-12" }}
}}
machine m {{
    axis X {{
        service-interval {interval}
        rail a {{ segment 1200; segment 1200; supports S first=240 pitch=720 count=3; joint-support J1 at=1200 length=200 }}
        rail b follows=a {{ segment 1080; segment 1320; supports S first=240 pitch=720 count=3; joint-support J1 at=1080 length=200 }}
    }}
}}
release X date="2026-01-01" by=engineer-1
{records}"#
    ))
}

fn fasten(rail: &str, day: &str, rows: &str) -> String {
    format!("fasten X.{rail} date=\"{day}\" by=fitter-2 wrench=TW-2 stage=full setting=10.5 {{ {rows} }}\n")
}

fn inspect(joint: &str, day: &str, rows: &str) -> String {
    format!("inspect X.{joint} date=\"{day}\" by=inspector-1 gauge=DI-4 {{ {rows} }}\n")
}

fn line(day: &str, task: &str) -> String {
    format!("service X date=\"{day}\" by=fitter-2 task={task}\n")
}

const ALL: &str = "clicked S1..S3";

#[test]
fn re_torque_needs_every_bolt_and_runs_from_the_oldest() {
    let interval = "re-torque months=6";
    let was_due = |day: &str| vec![format!("re-torque of X was due on {day}")];
    assert_eq!(machine(interval, ""), was_due("2026-07-01"));
    assert_eq!(machine(interval, &line("2026-06-20", "re-torque")), was_due("2026-07-01"));
    let both = |day| fasten("a", day, ALL) + &fasten("b", day, ALL);
    assert_eq!(machine(interval, &both("2026-06-20")), [""; 0]);
    // One rail, one support, one bolt, the wrong stage.
    assert_eq!(machine(interval, &fasten("a", "2026-06-20", ALL)), was_due("2026-07-01"));
    let but_one = |rows| fasten("a", "2026-06-20", ALL) + &fasten("b", "2026-06-20", rows);
    assert_eq!(machine(interval, &but_one("clicked S1 S3 J1")), was_due("2026-07-01"));
    assert_eq!(machine(interval, &but_one("clicked S1..S3").replace("full", "snug")), was_due("2026-07-01"));
    // Over two days, or in two rounds: the oldest that it rests on counts.
    let two = fasten("a", "2026-02-01", ALL) + &fasten("b", "2026-06-20", ALL);
    assert_eq!(machine(interval, &two), was_due("2026-08-01"));
    let again = two + &fasten("a", "2026-07-20", "clicked S1 S2 J1");
    assert_eq!(machine(interval, &again), was_due("2026-08-01"));
    assert_eq!(machine(interval, &(again + &fasten("a", "2026-08-10", "clicked S3"))), [""; 0]);
    // What was done before the release does not count for it.
    assert_eq!(machine(interval, &both("2025-12-20")), was_due("2026-07-01"));
}

#[test]
fn re_inspect_needs_light_and_four_grooves_of_every_joint() {
    let interval = "re-inspect months=6";
    let was_due = |day: &str| vec![format!("re-inspect of X was due on {day}")];
    let whole = "light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0";
    let first = inspect("a.J1", "2026-06-20", whole);
    assert_eq!(machine(interval, &line("2026-06-20", "re-inspect")), was_due("2026-07-01"));
    assert_eq!(machine(interval, &first), was_due("2026-07-01"));
    assert_eq!(machine(interval, &(first.clone() + &inspect("b.J1", "2026-06-21", whole))), [""; 0]);
    for part in ["light none; ", "UL 0 -> 0; ", "UR 0 -> 0; ", "LL 0 -> 0; "] {
        let rows = whole.replace(part, "");
        assert_eq!(machine(interval, &(first.clone() + &inspect("b.J1", "2026-06-21", &rows))), was_due("2026-07-01"));
    }
    // In two records it is whole all the same, from the older one.
    let parts = inspect("b.J1", "2026-03-01", "light none")
        + &inspect("b.J1", "2026-06-21", &whole.replace("light none; ", ""));
    assert_eq!(machine(interval, &(first + &parts)), was_due("2026-09-01"));
}

#[test]
fn re_survey_needs_the_whole_gap() {
    let interval = "re-survey months=6";
    let was_due = |day: &str| vec![format!("re-survey of X was due on {day}")];
    let survey = |day: &str, rows: &str| {
        format!("survey gap X.b date=\"{day}\" by=inspector-1 gauge=DI-6 stage=service {{ {rows} }}\n")
    };
    let whole = "at S1 0; at S2 0; at J1 0; at S3 0";
    let before = survey("2025-12-01", whole);
    assert_eq!(machine(interval, &(before.clone() + &line("2026-06-20", "re-survey"))), was_due("2026-07-01"));
    assert_eq!(machine(interval, &(before.clone() + &survey("2026-06-20", "at S1 0; at S3 0"))), was_due("2026-07-01"));
    assert_eq!(machine(interval, &(before.clone() + &survey("2026-06-20", whole))), [""; 0]);
    // A stated limit of height makes it part of the survey.
    let heights = before + &survey("2026-06-20", whole);
    let text = |records: &str| {
        let rail = "{ segment 600; supports S first=120 pitch=240 count=2 }";
        format!(
            "machine m {{ rulebook {{ height-range most=0.04 reason=\"drawing 12\" }}
             axis X {{ service-interval re-survey months=6; rail a {rail}; rail b follows=a {rail} }} }}
             release X date=\"2026-01-01\" by=engineer-1\n{records}"
        )
    };
    let heights = heights.replace("; at J1 0; at S3 0", "");
    assert_eq!(due(&text(&heights)), was_due("2026-07-01"));
    let height = heights.clone() + &survey("2026-06-20", "at S1 0; at S2 0").replace("gap", "height");
    assert_eq!(due(&text(&height)), [""; 0]);
}

#[test]
fn a_line_closes_what_has_no_readings() {
    assert_eq!(machine("lubricate months=6", ""), ["lubricate of X was due on 2026-07-01"]);
    assert_eq!(machine("lubricate months=6", &line("2026-06-20", "lubricate")), [""; 0]);
    // Where there is no joint, there is nothing to inspect either.
    let rail = "rail a { segment 1200; supports S first=240 pitch=240 count=4 }";
    let text = format!(
        "machine m {{ axis X {{ service-interval re-inspect months=6; {rail} }} }}\nrelease X date=\"2026-01-01\" by=engineer-1\n"
    );
    assert_eq!(due(&text), ["re-inspect of X was due on 2026-07-01"]);
    assert_eq!(due(&(text + &line("2026-06-20", "re-inspect"))), [""; 0]);
}

#[test]
fn the_distance_is_counted_from_when_the_work_was_done() {
    let interval = "re-torque travelled=(km)500";
    let read = |day: &str, task: &str, km: u32| {
        format!("service X date=\"{day}\" by=fitter-2 task={task} travelled=(km){km}\n")
    };
    let overdue = |gone: u32| vec![format!("re-torque of X is overdue: {gone} km travelled since")];
    let both = |day: &str| fasten("a", day, ALL) + &fasten("b", day, ALL);
    assert_eq!(machine(interval, &read("2026-06-20", "reading", 500)), [""; 0]);
    assert_eq!(machine(interval, &read("2026-06-20", "reading", 501)), overdue(501));
    // A line alone does not restart it.
    assert_eq!(machine(interval, &read("2026-06-20", "re-torque", 501)), overdue(501));
    let done = both("2026-06-20") + &read("2026-06-20", "re-torque", 501);
    assert_eq!(machine(interval, &done), [""; 0]);
    assert_eq!(machine(interval, &(done.clone() + &read("2026-09-20", "reading", 1001))), [""; 0]);
    assert_eq!(machine(interval, &(done + &read("2026-09-20", "reading", 1002))), overdue(501));
    // Work of two days, read on the second.
    let two = fasten("a", "2026-06-20", ALL) + &fasten("b", "2026-06-21", ALL) + &read("2026-06-21", "re-torque", 501);
    assert_eq!(machine(interval, &two), [""; 0]);
    // A reading long after the work says nothing of the day it was done.
    let late = both("2026-02-01") + &read("2026-09-20", "re-torque", 501);
    assert_eq!(machine(interval, &late), overdue(501));
    // A line without a distance leaves the distance that was read before.
    let oiled = |more: &str| {
        let lines = read("2026-02-01", "reading", 300) + &line("2026-02-02", "lubricate") + more;
        machine("lubricate travelled=(km)500", &lines)
    };
    assert_eq!(oiled(&read("2026-09-20", "reading", 800)), [""; 0]);
    assert_eq!(oiled(&read("2026-09-20", "reading", 801)), ["lubricate of X is overdue: 501 km travelled since"]);
}

#[test]
fn what_does_not_count_closes_no_service() {
    let both = |day: &str| fasten("a", day, ALL) + &fasten("b", day, ALL);
    let interval = "re-torque months=6";
    assert_eq!(machine(interval, &both("2026-06-20")), [""; 0]);
    let nameless = both("2026-06-20").replace(" wrench=TW-2", "");
    assert_eq!(machine(interval, &nameless), ["re-torque of X was due on 2026-07-01"]);
    // It hides nothing that counts.
    let hidden = both("2026-06-20") + &both("2026-06-21").replace(" wrench=TW-2", "");
    assert_eq!(machine(interval, &hidden), [""; 0]);
    let whole = "light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0";
    let read = inspect("a.J1", "2026-06-20", whole) + &inspect("b.J1", "2026-06-20", whole);
    assert_eq!(machine("re-inspect months=6", &read), [""; 0]);
    let nameless = read.replacen(" gauge=DI-4", "", 1);
    assert_eq!(machine("re-inspect months=6", &nameless), ["re-inspect of X was due on 2026-07-01"]);
    let hidden = read.clone() + &inspect("a.J1", "2026-06-21", whole).replace(" gauge=DI-4", "");
    assert_eq!(machine("re-inspect months=6", &hidden), [""; 0]);
}

/// A rail with a joint, its bolts tightened and its joint read, and some later records; what rules say of it.
fn read_then(rules: &[&str], records: &str) -> Vec<String> {
    let text = format!(
        "shop {{ profile R20 hole-pitch=60 end-distance=30 }}
machine m {{ axis X {{ rail a profile=R20 {{ segment 1200; segment 1200; supports S first=240 pitch=240 count=9 length=80 {{ omit S5 }}; joint-support J1 at=1200 length=200 }} }} }}
fasten X.a date=\"2026-04-14T08:05\" by=fitter-2 stage=snug setting=1.5 {{ clicked J1 S4..S1 S6..S9 }}
fasten X.a date=\"2026-04-14T08:10\" by=fitter-2 stage=full setting=10.5 {{ clicked J1 S4..S1 S6..S9 }}
inspect X.a.J1 date=\"2026-04-15\" by=inspector-1 {{ light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}
survey straightness X.a date=\"2026-04-15T09:00\" by=inspector-1 stage=as-fitted plus=right {{ at S1 0; at S4 0; at S9 0 }}
{records}"
    );
    let all = lint_text(&text);
    let own = all.iter().filter(|it| rules.contains(&it.rule.as_str()));
    own.map(|it| format!("{} {} {}: {}", it.grade.name(), it.rule, it.address, it.message)).collect()
}

const UNDONE: [&str; 6] =
    ["inspection-stale", "survey-stale", "snug-before-full", "torque-order", "torque-missing", "reading-early"];

#[test]
fn re_torque_without_slackening_undoes_nothing() {
    let again =
        |rows: &str| format!("fasten X.a date=\"2026-10-14\" by=fitter-2 stage=full setting=10.5 {{ {rows} }}\n");
    assert_eq!(read_then(&UNDONE, ""), [""; 0]);
    assert_eq!(read_then(&UNDONE, &again("clicked S1..S9")), [""; 0]);
    assert_eq!(read_then(&UNDONE, &again("clicked S1 S3; at S2 10.4 10.6")), [""; 0]);
}

#[test]
fn a_bolt_that_turned_had_come_loose() {
    let checked = |rows: &str| {
        let text = format!("fasten X.a date=\"2026-10-14\" by=fitter-2 stage=full setting=10.5 {{ {rows} }}\n");
        read_then(&UNDONE, &text)
    };
    let stale = |which: &str| {
        format!(
            "inspection-stale X.a.J1: the inspection of J1 is stale: {which} was found with a bolt that turned after it on 2026-10-14"
        )
    };
    let of = |rule: &str, all: Vec<String>| -> Vec<String> { all.into_iter().filter(|it| it.contains(rule)).collect() };
    // At the joint, beside it, two supports away, and far from it.
    let at = |support: &str, bolt: u8| checked(&format!("clicked S1..S9; turned {support} bolt={bolt}"));
    for (support, which) in [("J1", "its own support J1"), ("S4", "its neighbour S4"), ("S6", "its neighbour S6")] {
        let said = of("inspection-stale", at(support, 1));
        assert_eq!(said.len(), 1, "{support}: {said:?}");
        assert!(said[0].ends_with(&stale(which)), "{support}: {said:?}");
        assert!(!said[0].starts_with("observation"), "{said:?}");
    }
    assert!(of("inspection-stale", at("S3", 2))[0].starts_with("observation"));
    assert_eq!(of("inspection-stale", at("S1", 1)), [""; 0]);
    // The stations beside it, and nothing but that: it was tightened in the same record, snugged and in order before.
    let said = at("S1", 1);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].contains("survey-stale X.a: the straightness readings at S1 are stale"), "{said:?}");
    // One that the record does not tighten holds nothing now.
    let left = of("torque-missing", checked("clicked S1 S3; turned S2 bolt=2"));
    assert_eq!(left, ["outstanding torque-missing X.a: 1 support has rail bolts without full torque: S2 (bolt 2)"]);
    let missed = of("torque-missing", checked("clicked S1..S3; missed S2 bolt=2; turned S2 bolt=2"));
    assert_eq!(missed, left);
    // Read again afterwards, it is in order.
    let again =
        "fasten X.a date=\"2026-10-14\" by=fitter-2 stage=full setting=10.5 { clicked S1..S9; turned S4 bolt=1 }
inspect X.a.J1 date=\"2026-10-15\" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\n";
    assert_eq!(of("inspection-stale", read_then(&UNDONE, again)), [""; 0]);
}

#[test]
fn a_bolt_that_turned_is_one_of_its_support_and_told_once() {
    let said = |rows: &str| {
        let text = format!("fasten X.a date=\"2026-10-14\" by=fitter-2 stage=full setting=10.5 {{ {rows} }}\n");
        read_then(&["unknown-reference", "repeated-row"], &text)
    };
    assert_eq!(said("clicked S1..S9; turned S2 bolt=2; turned S2 bolt=1"), [""; 0]);
    assert_eq!(said("clicked S1..S9; turned S2 bolt=3").len(), 1);
    let twice = said("clicked S1..S9; turned S2 bolt=2; turned S2 bolt=2");
    assert_eq!(twice.len(), 1, "{twice:?}");
    assert!(twice[0].contains("bolt 2 of S2 is said to have turned twice in one record"), "{twice:?}");
}
