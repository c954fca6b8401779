//! A span whose beginning lies behind its end is told at its line, for every word of the language that has two ends: the words
//! come from the schema. A range of supports is no such span, since its order is that of the work.

use std::collections::BTreeSet;

use wayledger::lint::{LIMITS, LimitType, Locator};
use wayledger::schema::{EntryShape, NodeShape, Type, language};

use crate::common::judge;

/// What the beginning and the end of a span may be called.
const LOWER: [&str; 6] = ["least", "from", "since", "on", "date", "first"];
const UPPER: [&str; 5] = ["most", "to", "until", "due", "last"];

/// Two words of one node that look like the ends of a span and are none.
const NO_SPAN: &[(&str, &str)] = &[("shop doubt date to", "a doubt is stated on one day and is about others")];

/// Each span with a line that turns it round, and where that line stands: in the shop, the axis, the rail, or by itself.
const SPANS: &[(&str, &str, Within)] = &[
    ("machine axis run from to", "run from=2400 to=0", Within::Axis),
    ("machine axis stroke from to", "stroke from=900 to=300", Within::Axis),
    ("machine axis temperature least most", "temperature least=30 most=10", Within::Axis),
    ("machine axis rail segment since until", "segment 1200 since=LATE until=EARLY", Within::Rail),
    (
        "machine axis rail supports since until",
        "supports T first=60 pitch=60 count=2 since=LATE until=EARLY",
        Within::Rail,
    ),
    (
        "machine axis rail supports omit since until",
        "supports T first=60 pitch=60 count=2 { omit T2 since=LATE until=EARLY }",
        Within::Rail,
    ),
    ("machine axis rail support since until", "support T1 at=60 since=LATE until=EARLY", Within::Rail),
    (
        "machine axis rail joint-support since until",
        "joint-support J1 at=1200 length=200 since=LATE until=EARLY",
        Within::Rail,
    ),
    ("machine axis carriage block since until", "carriage { block a at=0 since=LATE until=EARLY }", Within::Axis),
    ("machine part since until", "", Within::Design),
    (
        "concession date until",
        "concession run-length X.a date=LATE by=f-1 until=EARLY accepts=9 reason=\"as agreed\"",
        Within::File,
    ),
    ("shop profile since until", "profile R since=LATE until=EARLY", Within::Shop),
    ("shop block since until", "block B since=LATE until=EARLY", Within::Shop),
    ("shop shim-stock leaf since until", "shim-stock { leaf 0.1 since=LATE until=EARLY }", Within::Shop),
    ("shop gauge since until", "gauge G since=LATE until=EARLY", Within::Shop),
    ("shop gauge calibrated on due", "gauge G { calibrated LATE due=EARLY }", Within::Shop),
    ("shop wrench least most", "wrench W kind=setting least=20 most=4", Within::Shop),
    ("shop wrench since until", "wrench W kind=setting least=4 most=20 since=LATE until=EARLY", Within::Shop),
    ("shop wrench calibrated on due", "wrench W kind=setting { calibrated LATE due=EARLY }", Within::Shop),
    ("shop doubt from to", "doubt D date=LATE by=f-1 from=LATE to=EARLY reason=\"it fell\"", Within::Shop),
    ("shop fastener friction least most", "fastener b { friction 0.14 0.12 }", Within::Shop),
    ("shop fastener full least most", "fastener b { full least=11 most=10 reason=\"the maker\" }", Within::Shop),
    ("shop fastener snug least most", "fastener b { snug least=2 most=1 reason=\"the maker\" }", Within::Shop),
    ("shop person from until", "person f-1 from=LATE until=EARLY", Within::Shop),
    ("shop person may from until", "person f-1 { may release from=LATE until=EARLY }", Within::Shop),
    (
        "shop person key from until",
        "person f-1 { key \"ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea\" from=LATE until=EARLY }",
        Within::Shop,
    ),
];

#[derive(Clone, Copy, PartialEq, Eq)]
enum Within {
    Shop,
    Axis,
    Rail,
    Design,
    File,
}

/// A machine with one more line, which stands alone, and the number of that line.
fn text(line: &str, within: Within) -> (String, u32) {
    let line = line.replace("LATE", "\"2026-05-01\"").replace("EARLY", "\"2026-04-01\"");
    let at = |here| if within == here { line.as_str() } else { "" };
    let text = format!(
        "shop {{ gauge D kind=laser\n{}\n}}\nmachine m {{ axis X {{\n{}\nrail a {{ segment 1200; segment 1200\n{}\n}} }} }}\n{}\n",
        at(Within::Shop),
        at(Within::Axis),
        at(Within::Rail),
        at(Within::File)
    );
    let number = text.lines().position(|it| it == line).expect("the line") + 1;
    (text, number as u32)
}

/// What is wrong with the text of a machine, with its lines.
fn wrong(text: &str) -> Vec<(u32, String)> {
    let judged = judge(&[("machine.kdl", text)], &[]);
    let locator = Locator::new(&judged.ledger.sources);
    let told = judged.ledger.text_findings.iter().map(|it| (locator.locate(it.at.place).line, it.message.clone()));
    told.collect()
}

/// The spans that a shape has by the names of its parts.
fn spans(shape: &NodeShape, above: &str, all: &mut BTreeSet<String>) {
    let path = format!("{above}{}", shape.name);
    let parts = || shape.args.iter().chain(&shape.props);
    let is_day = |part: &EntryShape| matches!(part.ty, Type::Date | Type::Moment);
    for lower in parts().filter(|part| LOWER.contains(&part.name.as_str())) {
        for upper in parts().filter(|part| UPPER.contains(&part.name.as_str())) {
            if lower.ty == upper.ty || is_day(lower) && is_day(upper) {
                all.insert(format!("{path} {} {}", lower.name, upper.name));
            }
        }
    }
    // Limits are looked at by themselves, and an axis of a design is read as one of a machine.
    for child in
        shape.children.iter().filter(|child| child.name != "rulebook" && (path != "design" || child.name != "axis"))
    {
        spans(child, &format!("{path} "), all);
    }
}

#[test]
fn every_span_of_the_language_is_told_where_it_is_turned_round() {
    let mut known = BTreeSet::new();
    language().top.iter().for_each(|shape| spans(shape, "", &mut known));
    let listed = SPANS.iter().map(|(path, ..)| *path).chain(NO_SPAN.iter().map(|(path, _)| *path));
    assert_eq!(known, listed.map(String::from).collect(), "each span of the schema is tried here");
    for (path, line, within) in SPANS.iter().filter(|(.., within)| *within != Within::Design) {
        let (turned, number) = text(line, *within);
        let ends: Vec<&str> = path.split(' ').rev().take(3).collect();
        let [upper, lower, node] = ends[..] else { panic!("{path}") };
        let how = if line.contains("LATE") { "after" } else { "above" };
        let message = format!("`{lower}` of `{node}` lies {how} `{upper}`");
        assert_eq!(wrong(&turned), [(number, message)], "{path}");
        // The right way round, and where both ends are one day, it is in order.
        for (late, early) in [("2026-04-01", "2026-05-01"), ("2026-05-01", "2026-05-01")] {
            let put = turned.replace("2026-05-01", "late").replace("2026-04-01", "early");
            let right = put.replace("late", late).replace("early", early);
            if line.contains("LATE") {
                assert_eq!(wrong(&right), [], "{path}: {right}");
            }
        }
    }
    // What a design's part became is read by the same check; without its design the name alone is unknown.
    let design =
        "machine m { built-to d revision=1; part X.a.seg1 serial=K-1 since=\"2026-05-01\" until=\"2026-04-01\" }";
    assert!(
        wrong(design).iter().any(|(_, said)| said == "`since` of `part` lies after `until`"),
        "{:?}",
        wrong(design)
    );
}

#[test]
fn a_day_without_a_time_is_all_of_it() {
    let concession = |date: &str, until: &str| {
        let line = format!(
            "concession run-length X.a date=\"{date}\" by=f-1 until=\"{until}\" accepts=9 reason=\"as agreed\""
        );
        wrong(&text(&line, Within::File).0).len()
    };
    assert_eq!(concession("2026-05-01T16:00", "2026-05-01"), 0);
    assert_eq!(concession("2026-05-02T00:00", "2026-05-01"), 1);
}

#[test]
fn a_limit_that_lets_nothing_pass_with_the_end_that_is_said_elsewhere_is_told() {
    let mut tried = 0;
    for limit in LIMITS.iter().filter(|it| !matches!(it.holds, LimitType::Choice(_))) {
        let (Some(least), Some(most)) = (limit.least, limit.most) else { continue };
        tried += 1;
        // One digit more is more in any case; nothing lies below a negative or a small one.
        let beyond = if most.contains('.') { format!("{most}9") } else { format!("{most}0") };
        let below = if least.starts_with('-') { format!("{least}0") } else { "0".to_string() };
        for (row, told) in [
            (format!("{} least={beyond} reason=\"as agreed\"", limit.name), true),
            (format!("{} most={below} reason=\"as agreed\"", limit.name), true),
            (format!("{} least={most} reason=\"as agreed\"", limit.name), false),
            (format!("{} most={least} reason=\"as agreed\"", limit.name), false),
        ] {
            let machine = format!(
                "machine m {{\n    rulebook {{\n        {row}\n    }}\n    axis X {{ rail a {{ segment 1200 }} }}\n}}\n"
            );
            let said = wrong(&machine);
            let lines: Vec<u32> = said.iter().map(|(line, _)| *line).collect();
            assert_eq!(lines, if told { vec![3] } else { vec![] }, "{row}: {said:?}");
            if told {
                assert!(said[0].1.starts_with(&format!("{} lets nothing pass: it is ", limit.name)), "{said:?}");
            }
        }
    }
    assert!(tried > 5, "{tried} limits have two ends");
    // One end by the shop file, the other by the machine; of two shop files it is told with the nearer one alone.
    let machine =
        "machine m { rulebook { full-torque most=9 reason=\"soft seats\" }; axis X { rail a { segment 1200 } } }";
    let shop = "shop { rulebook { full-torque least=9.5 reason=\"drawing 4\" } }";
    let told = |machine: &str, shops: &[&str]| {
        let judged = judge(&[("machine.kdl", machine)], shops);
        judged.ledger.text_findings.into_iter().map(|it| it.message).collect::<Vec<_>>()
    };
    assert_eq!(told(machine, &[shop]), ["full-torque lets nothing pass: it is 9.5 to 9 N·m"]);
    let plain = "machine m { axis X { rail a { segment 1200 } } }";
    assert_eq!(told(plain, &["shop { rulebook { full-torque most=9 reason=\"soft seats\" } }", shop]), [""; 0]);
}

/// `S9..S1` says that S9 came first: which way a range runs is the order of the work, and is judged as such.
#[test]
fn a_range_of_supports_runs_the_way_the_work_went() {
    let takes_supports = |shape: &NodeShape| {
        let wayledger::schema::FurtherArguments::Many { part, .. } = &shape.rest else { return false };
        part.ty == Type::Supports
    };
    let of_supports: Vec<String> = language()
        .top
        .iter()
        .flat_map(|top| top.children.iter().map(move |row| (top, row)))
        .filter(|(_, row)| takes_supports(row))
        .map(|(top, row)| format!("{} {}", top.name, row.name))
        .collect();
    assert_eq!(of_supports, ["fasten clicked", "loosen at"], "each word that takes a range is tried here");
    let order = |far: &str| {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ segment 1200; segment 1200; supports S first=200 pitch=200 count=11 length=80 {{ omit S6 }}
joint-support J1 at=1200 length=200 }} }} }}
fasten X.a date=\"2026-05-04\" by=f stage=full setting=10.5 {{
clicked J1 S5..S1
clicked {far}
}}
"
        );
        let judged = judge(&[("machine.kdl", &text)], &[]);
        let locator = Locator::new(&judged.ledger.sources);
        let of_it = judged.findings.iter().filter(|it| it.rule.as_str() == "torque-order");
        of_it.map(|it| (locator.locate(it.at.place).line, it.message.clone())).collect::<Vec<_>>()
    };
    assert_eq!(order("S7..S11"), []);
    assert_eq!(order("S11..S7"), [(5, "S11 got full torque before S10, which is nearer to J1".to_string())]);
    // To loosen has no order: the same supports either way.
    let loosened = |range: &str| {
        let text = format!(
            "machine m {{ axis X {{ rail a {{ segment 1200; supports S first=200 pitch=200 count=5 }} }} }}
fasten X.a date=\"2026-05-04\" by=f stage=full setting=10.5 {{ clicked S1..S5 }}
loosen X.a date=\"2026-05-05\" by=f reason=\"seat cleaned\" {{ at {range} }}
"
        );
        let judged = judge(&[("machine.kdl", &text)], &[]);
        let of_it = judged.findings.into_iter().filter(|it| it.rule.as_str() == "torque-missing");
        of_it.map(|it| it.message).collect::<Vec<_>>()
    };
    assert_eq!(loosened("S4..S2"), ["3 supports have rail bolts without full torque: S2..S4"]);
    assert_eq!(loosened("S2..S4"), loosened("S4..S2"));
}
