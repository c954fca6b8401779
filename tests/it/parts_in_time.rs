//! Parts that went, came or were moved under records: a record means what stood there on its day. What a record of an
//! exchanged part is worth follows from ISO 9001, 8.5.2 (traceability): a result belongs to the item that was measured.

use wayledger::lint::{Finding, Grade};
use wayledger::schema::{NodeShape, language};

use crate::common::lint_text;

const SHOP: &str = "shop { profile R20 hole-pitch=60 end-distance=30; \
    wrench TW-2 kind=setting least=4 most=20 { calibrated \"2026-02-02\" due=\"2027-02-02\" certificate=\"C-1\" }; \
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.005 plus=outward { carrier reach=40 travel=15; calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=\"C-2\" } }\n";

/// A rail with these rows, every support of it tightened and both joints of its first layout inspected in April.
fn rail(rows: &str, more: &str) -> Vec<Finding> {
    let inspected = |joint: &str| {
        format!(
            "inspect X.a.{joint} date=\"2026-04-15\" by=inspector-1 gauge=DI-4 temperature=20 \
             {{ light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
        )
    };
    lint_text(&format!(
        "{SHOP}machine m {{ axis X {{ run to=3600; rail a profile=R20 {{ {rows} }} }} }}\n\
         fasten X.a date=\"2026-04-14\" by=fitter-2 wrench=TW-2 stage=full setting=10.5 {{ clicked S1..S5 }}\n{}{}{more}",
        inspected("J1"),
        inspected("J2"),
    ))
}

const SEGMENTS: &str = "segment 1200 serial=K-1; segment 1200 serial=K-2; segment 1200 serial=K-3; ";
const ROW: &str = "supports S first=600 pitch=600 count=5 length=80";

fn of<'f>(findings: &'f [Finding], rule: &str) -> Vec<&'f Finding> {
    findings.iter().filter(|finding| finding.rule.as_str() == rule).collect()
}

fn messages(findings: &[Finding], rule: &str) -> Vec<String> {
    of(findings, rule).into_iter().map(|finding| finding.message.clone()).collect()
}

fn broken_by_names(findings: &[Finding]) -> Vec<String> {
    let of = ["unknown-reference", "described-after", "wrong-value", "duplicate-name"];
    let of = findings.iter().filter(|it| of.contains(&it.rule.as_str()));
    of.map(|it| format!("{} {}", it.rule.as_str(), it.message)).collect()
}

#[test]
fn nothing_is_history_where_nothing_changed() {
    let found = rail(&format!("{SEGMENTS}{ROW}"), "");
    assert_eq!(broken_by_names(&found), Vec::<String>::new());
    assert_eq!(messages(&found, "torque-missing"), Vec::<String>::new());
    assert_eq!(messages(&found, "groove-missing"), Vec::<String>::new());
}

#[test]
fn a_support_that_was_taken_away_leaves_its_records_in_peace() {
    // Left out of the row, the records that name it have nothing to name.
    let bare = rail(&format!("{SEGMENTS}{ROW} {{ omit S5 }}"), "");
    assert_eq!(messages(&bare, "unknown-reference"), ["there is no support `S5`"]);
    assert!(of(&bare, "unknown-reference")[0].next.contains("`omit` a `since=`"), "{bare:?}");
    for gone in [
        format!("{SEGMENTS}{ROW} {{ omit S5 since=\"2026-05-02\" }}"),
        format!(
            "{SEGMENTS}supports S first=600 pitch=600 count=4 length=80; support S5 at=3000 length=80 until=\"2026-05-02\""
        ),
    ] {
        // In the middle of a range, at its end, on its own, up to the very day.
        let on_its_day = "loosen X.a date=\"2026-05-02\" by=fitter-2 reason=\"taken away\" { at S5 }\n";
        let found = rail(&gone, on_its_day);
        assert_eq!(broken_by_names(&found), Vec::<String>::new(), "{gone}");
        assert_eq!(messages(&found, "torque-missing"), Vec::<String>::new(), "{gone}");
        let late = "loosen X.a date=\"2026-05-03\" by=fitter-2 reason=\"seat cleaned\" { at S5 }\n";
        assert_eq!(messages(&rail(&gone, late), "unknown-reference"), ["there is no support `S5`"], "{gone}");
    }
}

#[test]
fn what_was_done_at_a_support_before_it_was_moved_is_history_and_to_be_done_again() {
    let moved = format!(
        "{SEGMENTS}{ROW} {{ omit S3 since=\"2026-05-02\" }}; support S3 at=1860 length=80 since=\"2026-05-02\""
    );
    let found = rail(&moved, "");
    assert_eq!(broken_by_names(&found), Vec::<String>::new());
    assert_eq!(messages(&found, "torque-missing"), ["1 support has rail bolts without full torque: S3"]);
    let missing = of(&found, "torque-missing")[0];
    assert_eq!(missing.grade, Grade::Outstanding);
    assert!(missing.also.iter().any(|label| label.text.contains("2026-05-02")), "{missing:?}");
    let again = "fasten X.a date=\"2026-05-03\" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S3 }\n";
    assert_eq!(messages(&rail(&moved, again), "torque-missing"), Vec::<String>::new());
    // On the very day it is the one that came.
    let same_day = again.replace("05-03", "05-02");
    assert_eq!(messages(&rail(&moved, &same_day), "torque-missing"), Vec::<String>::new());
    // A correction counts from the moment of what it corrects.
    let corrects = again.replace("{ clicked", "replaces=\"2026-04-14\" { clicked");
    assert_eq!(messages(&rail(&moved, &corrects), "torque-missing").len(), 1);
}

#[test]
fn another_layout_takes_nothing_from_records_of_the_one_before() {
    // Two long bars in the place of the last two: J2 moves from 2400 to 2100.
    let changed = format!(
        "segment 1200 serial=K-1; segment 1200 serial=K-2 until=\"2026-05-02\"; segment 1200 serial=K-3 until=\"2026-05-02\"; \
         segment 900 serial=K-4 since=\"2026-05-02\"; segment 1500 serial=K-5 since=\"2026-05-02\"; {ROW}"
    );
    let found = rail(&changed, "");
    assert_eq!(broken_by_names(&found), Vec::<String>::new());
    // Joint 1 at 1200 has another rail at one side, joint 2 lies elsewhere.
    assert_eq!(messages(&found, "groove-missing"), ["J1 is not inspected yet", "J2 is not inspected yet"]);
    assert!(of(&found, "groove-missing").iter().all(|it| it.grade == Grade::Outstanding));
    // S1 at 600 is under the bar that stayed; S2 at 1200 under the joint.
    assert_eq!(messages(&found, "torque-missing"), ["4 supports have rail bolts without full torque: S2..S5"]);
    // One bar fewer: J2 is no more, and its inspection no unknown name.
    let fewer = format!(
        "segment 1200 serial=K-1; segment 1200 serial=K-2 until=\"2026-05-02\"; segment 1200 serial=K-3 until=\"2026-05-02\"; \
         segment 2400 serial=K-4 since=\"2026-05-02\"; {ROW}"
    );
    let found = rail(&fewer, "");
    assert_eq!(broken_by_names(&found), Vec::<String>::new());
    assert_eq!(messages(&found, "groove-missing"), ["J1 is not inspected yet"]);
    let late = "attach X.a.J2 date=\"2026-05-02\" by=inspector-1 file=\"J2.jpg\" sha256=\"00\"\n";
    assert!(broken_by_names(&rail(&fewer, late)).iter().all(|it| !it.contains("J2")), "the day it went");
    let late = late.replace("05-02", "05-03");
    assert!(broken_by_names(&rail(&fewer, &late)).iter().any(|it| it.contains("J2")), "a day too late");
}

#[test]
fn a_segment_that_came_later_stands_for_one_of_its_length() {
    let since = format!("segment 1200; segment 1200 serial=K-9 since=\"2026-05-02\"; segment 1200; {ROW}");
    let found = rail(&since, "");
    assert_eq!(broken_by_names(&found), Vec::<String>::new());
    assert_eq!(messages(&found, "torque-missing"), ["3 supports have rail bolts without full torque: S2..S4"]);
    assert_eq!(messages(&found, "groove-missing").len(), 2);
}

#[test]
fn bolts_below_a_support_stay_tight_when_its_rail_is_exchanged() {
    let base = ROW.replace("length=80", "length=80 base-bolts=2");
    let rows = format!("segment 1200; segment 1200 since=\"2026-05-02\"; segment 1200; {base}");
    let below = "fasten X.a date=\"2026-04-13\" by=fitter-2 wrench=TW-2 stage=full interface=base setting=10.5 { clicked S1..S5 }\n";
    let found = messages(&rail(&rows, below), "torque-missing");
    assert_eq!(found, ["3 supports have rail bolts without full torque: S2..S4"]);
}

#[test]
fn stations_of_a_part_that_changed_are_history() {
    let survey = "survey straightness X.a date=\"2026-04-16\" by=inspector-1 gauge=DI-4 temperature=20 stage=as-fitted plus=left \
                  { at S1 0; at S2 0; at S3 0; at S4 0; at S5 0 }\n";
    let still = rail(&format!("{SEGMENTS}{ROW}"), survey);
    let moved = format!(
        "{SEGMENTS}{ROW} {{ omit S3 since=\"2026-05-02\" }}; support S3 at=1860 length=80 since=\"2026-05-02\""
    );
    let names = |found: &[Finding]| messages(found, "station-missing");
    assert_eq!(names(&still), Vec::<String>::new());
    let found = rail(&moved, survey);
    assert!(names(&found).iter().any(|it| it.contains("S3")), "{found:?}");
    assert_eq!(broken_by_names(&found), Vec::<String>::new());
}

/// What is described and has no days of its own, each with the reason; one stands for all below it.
const WITHOUT_DAYS: &[(&str, &str)] = &[
    ("machine title", "what people call it"),
    ("machine rulebook", "limits are sealed by a release and told when they change: tests/it/limits_applying.rs"),
    ("machine not-applicable", "a declaration with its day"),
    ("machine corrected", "a declaration with its day"),
    ("machine built-to", "the next row ends it: tests/it/designs.rs"),
    ("machine deviation", "it stays until another row: tests/it/designs.rs"),
    ("machine axis", "it is there as long as its machine, or a revision of its design has it"),
    ("machine axis run", "what the axis is to be"),
    ("machine axis stroke", "what the axis is to be"),
    ("machine axis temperature", "what the axis is to be"),
    ("machine axis life-required", "what the axis is to be"),
    ("machine axis beam", "open: of a beam that was exchanged under its rails nothing is known"),
    ("machine axis rail", "its segments and supports have days, or a revision of its design has it"),
    ("machine axis rail support bolts", "where the bolts of a support with days sit"),
    ("machine axis rail joint-support bolts", "where the bolts of a support with days sit"),
    ("machine axis carriage", "its blocks have days; loads, masses and places are reckoned with as they are now"),
    ("machine axis carriage track", "reckoned with as it is now"),
    ("machine axis carriage up", "reckoned with as it is now"),
    ("machine axis carriage drive", "reckoned with as it is now"),
    ("machine axis carriage mass", "reckoned with as it is now"),
    ("machine axis carriage tool", "reckoned with as it is now"),
    ("machine axis carriage load", "reckoned with as it is now"),
    ("machine axis service-interval", "what is due is counted by it from now on"),
    ("design rulebook", "of a revision, which does not change"),
    ("shop not-applicable", "a declaration with its day"),
    ("shop gauge carrier", "of a gauge with days"),
    ("shop gauge reads", "of a gauge with days"),
    ("shop gauge calibrated", "of one day"),
    ("shop wrench calibrated", "of one day"),
    ("shop wrench cycles", "of one day"),
    ("shop doubt", "it has its days, `from` and `to`"),
    ("shop shim-stock", "its leaves have days"),
    ("shop profile stock", "of a profile with days"),
    ("shop profile cutting", "of a profile with days"),
    ("shop fastener", "open: another bolt is another name, and nothing says since when a rail has it"),
    ("shop passed-over", "no part"),
    ("shop rulebook", "limits are sealed by a release and told when they change: tests/it/limits_applying.rs"),
    ("shop readings-file", "no part"),
];

/// Everything that is described lives in time, or stands in the list above with the reason.
#[test]
fn what_is_described_says_since_when_and_until_when() {
    fn without_days(shape: &NodeShape, path: String, found: &mut Vec<String>) {
        let has = |name: &str| shape.props.iter().any(|prop| prop.name == name);
        let has_days = (has("since") || has("from")) && has("until");
        if !has_days {
            found.push(path.clone());
        }
        // What stands below a limit, a bolt or a file of readings is a part of that.
        let whole = ["rulebook", "fastener", "readings-file", "doubt", "beam"].contains(&shape.name.as_str());
        for child in shape.children.iter().filter(|_| !whole) {
            without_days(child, format!("{path} {}", child.name), found);
        }
    }
    let mut found = Vec::new();
    for top in ["machine", "design", "shop"] {
        let shape = language().node(top).expect("it is there");
        for child in &shape.children {
            // The axes of a design are those of a machine.
            if (top, child.name.as_str()) != ("design", "axis") {
                without_days(child, format!("{top} {}", child.name), &mut found);
            }
        }
    }
    let excepted: Vec<&str> = WITHOUT_DAYS.iter().map(|(path, _)| *path).collect();
    let untold: Vec<&String> = found.iter().filter(|path| !excepted.contains(&path.as_str())).collect();
    assert!(untold.is_empty(), "without days and without a reason: {untold:?}");
    let needless: Vec<&&str> = excepted.iter().filter(|path| !found.iter().any(|it| it == **path)).collect();
    assert!(needless.is_empty(), "excepted for nothing: {needless:?}");
}

/// Two days of one row the wrong way round are told once, wherever the language has such a pair.
#[test]
fn nothing_goes_before_it_came() {
    let days = |since: &str| format!("{since}=\"2026-05-02\" until=\"2026-05-01\"");
    let rows = format!("segment 1200; segment 1200 {}; segment 2400; {ROW}", days("since"));
    assert_eq!(messages(&rail(&rows, ""), "wrong-value"), ["`since` of `segment` lies after `until`"]);
    // Every node of the language that has both, with what it must have.
    fn with_both(shape: &NodeShape, path: &[&str], found: &mut Vec<String>) {
        let mut path = path.to_vec();
        path.push(&shape.name);
        if ["since", "until"].iter().all(|name| shape.props.iter().any(|prop| prop.name == *name)) {
            found.push(path.join(" "));
        }
        shape.children.iter().for_each(|child| with_both(child, &path, found));
    }
    let mut all = Vec::new();
    ["machine", "shop"].iter().for_each(|top| with_both(language().node(top).expect("it"), &[], &mut all));
    let days = days("since");
    let texts = [
        ("machine part", format!("machine m {{ part X.a.seg1 serial=K-1 {days}; axis X }}")),
        ("machine axis rail segment", format!("machine m {{ axis X {{ rail a {{ segment 1200 {days} }} }} }}")),
        (
            "machine axis rail supports",
            format!("machine m {{ axis X {{ rail a {{ supports S first=100 count=1 {days} }} }} }}"),
        ),
        (
            "machine axis rail supports omit",
            format!(
                "machine m {{ axis X {{ rail a {{ supports S first=100 pitch=100 count=3 {{ omit S2 {days} }} }} }} }}"
            ),
        ),
        ("machine axis rail support", format!("machine m {{ axis X {{ rail a {{ support S1 at=100 {days} }} }} }}")),
        (
            "machine axis rail joint-support",
            format!(
                "machine m {{ axis X {{ rail a {{ segment 1200; segment 1200; joint-support J1 at=1200 length=100 {days} }} }} }}"
            ),
        ),
        (
            "machine axis carriage block",
            format!("machine m {{ axis X {{ rail a; carriage {{ block a at=0 {days} }} }} }}"),
        ),
        ("shop gauge", format!("shop {{ gauge G {days} }}\nmachine m {{ axis X }}")),
        ("shop wrench", format!("shop {{ wrench W kind=setting least=1 most=5 {days} }}\nmachine m {{ axis X }}")),
        ("shop shim-stock leaf", format!("shop {{ shim-stock {{ leaf 0.1 {days} }} }}\nmachine m {{ axis X }}")),
        ("shop profile", format!("shop {{ profile R20 {days} }}\nmachine m {{ axis X }}")),
        ("shop block", format!("shop {{ block B20 {days} }}\nmachine m {{ axis X }}")),
    ];
    assert_eq!(all, texts.iter().map(|(path, _)| *path).collect::<Vec<_>>());
    for (path, text) in texts {
        let node = path.rsplit(' ').next().unwrap_or(path);
        let told = messages(&lint_text(&text), "wrong-value");
        assert_eq!(told, [format!("`since` of `{node}` lies after `until`")], "{path}");
    }
    // Nothing that cites it is judged by days of which nobody knows what they should be.
    let cites = |days: &str| {
        let found = lint_text(&format!(
            "shop {{ gauge G kind=dial-indicator graduation=0.01 {days}; wrench W kind=setting least=4 most=20 {days}; profile R20 {days}; \
             block B20 {days}; shim-stock {{ leaf 0.1 {days} }} }}
machine m {{ axis X {{ rail a profile=R20 {{ segment 1200 until=\"2026-06-01\"; segment 1200 since=\"2026-06-01\"; support S1 at=240 base-bolts=2 }}
    carriage {{ block a at=0 type=B20 since=\"2026-06-01\" }}
}} }}
fasten X.a date=\"2026-06-03\" by=fitter-2 wrench=W interface=base stage=full setting=10 {{ clicked S1 }}
shim X.a date=\"2026-06-02\" by=fitter-2 {{ at S1 0.1 }}
survey straightness X.a date=\"2026-06-02\" by=inspector-1 gauge=G stage=as-fitted plus=left {{ at S1 0; at 500 0; at 900 0; closure S1 0 }}
"
        ));
        let speaks = |it: &&Finding| {
            ["to be had", "was not there", "until 2026-", "from 2026-"].iter().any(|said| it.message.contains(said))
        };
        found.iter().filter(speaks).map(|it| format!("{} {}", it.rule, it.message)).collect::<Vec<_>>()
    };
    assert_eq!(cites(&days), [""; 0]);
    assert_eq!(
        cites("until=\"2026-05-01\"").len(),
        5,
        "each of them is judged by its day: {:?}",
        cites("until=\"2026-05-01\"")
    );
    // A wrench whose range is the wrong way round too has two mistakes.
    let both = format!("shop {{ wrench W kind=setting least=5 most=1 {days} }}\nmachine m {{ axis X }}");
    assert_eq!(messages(&lint_text(&both), "wrong-value").len(), 2);
}

/// What a part is of, was to be had when it came; of what is there from the start nobody says when it was bought.
#[test]
fn a_part_that_came_is_of_what_was_to_be_had() {
    let found = |profile: &str, block: &str, segment: &str, ride: &str| {
        messages(
            &lint_text(&format!(
                "shop {{ profile R20 {profile}; block B20 length=80 {block} }}
machine m {{ axis X {{
    rail a profile=R20 {{ segment 1200 until=\"2026-05-01\"; segment 1200 {segment} }}
    carriage {{ block a at=-100 type=B20 {ride}; block a at=100 type=B20 }}
}} }}
"
            )),
            "unknown-reference",
        )
    };
    let since = "since=\"2026-05-01\"";
    for days in ["", "since=\"2026-05-01\"", "until=\"2026-05-01\"", "since=\"2026-01-01\" until=\"2026-12-31\""] {
        assert_eq!(found(days, days, since, since), [""; 0], "{days}");
    }
    let (before, behind) = ("until=\"2026-04-30\"", "since=\"2026-05-02\"");
    assert_eq!(found(before, before, "", ""), [""; 0], "there from the start");
    assert_eq!(
        found(before, "", since, since),
        ["this came on 2026-05-01, and profile R20 was to be had until 2026-04-30"]
    );
    assert_eq!(
        found("", before, since, since),
        ["this came on 2026-05-01, and block B20 was to be had until 2026-04-30"]
    );
    assert_eq!(found(behind, behind, since, since).len(), 2, "not to be had yet");
    assert_eq!(found(before, "", &format!("{since} owned=#true"), ""), [""; 0], "a bar that was there already");
    // One that went again came all the same.
    assert_eq!(found("", before, "", "since=\"2026-05-01\" until=\"2026-06-01\"").len(), 1);
}

/// A block that went is none of the carriage: it bears nothing, and no other one stands in its place.
#[test]
fn a_block_that_went_rides_no_more() {
    let carriage = |blocks: &str| {
        let text = format!(
            "shop {{ block B20 length=80; block B30 length=80 }}
machine m {{ axis X {{ rail a {{ segment 1200 }}; carriage {{ {blocks} }} }} }}
"
        );
        crate::common::judge(&[("machine.kdl", &text)], &[])
    };
    let was = "block a at=-100 type=B20; block a at=100 type=B20";
    let both = format!("{was}; block a at=100 type=B30");
    let told = |judged: &wayledger::lint::Judged| messages(&judged.findings, "block-place");
    assert_eq!(told(&carriage(was)), [""; 0]);
    assert_eq!(told(&carriage(&both)).len(), 1, "two in one place");
    let exchanged = was.replace("at=100 type=B20", "at=100 type=B20 until=\"2026-05-01\"");
    let exchanged = carriage(&format!("{exchanged}; block a at=100 type=B30 since=\"2026-05-01\""));
    assert_eq!(told(&exchanged), [""; 0]);
    let blocks = exchanged.ledger.machine.axes[0].carriage.as_ref().expect("a carriage").blocks.len();
    assert_eq!(blocks, 2);
    // What it was of is still looked up.
    let unknown = carriage(&was.replace("at=100 type=B20", "at=100 type=B99 until=\"2026-05-01\""));
    assert_eq!(messages(&unknown.findings, "unknown-reference"), ["there is no block `B99`"]);
}

/// No number of a record is left out of the table because its support was moved since: torques, leaves and closures stand there
/// as history, at the place of their day.
#[test]
fn what_was_read_at_a_support_that_moved_is_in_the_table() {
    let records = "fasten X.a date=\"2026-04-14\" by=fitter-2 stage=full { at S1 10.4 10.5; at S3 10.6 #null 10.7 }
shim X.a date=\"2026-04-15\" by=fitter-2 { at S3 0.02 0.05 }
survey straightness X.a date=\"2026-04-16\" by=inspector-1 temperature=20 stage=as-fitted plus=left { at S3 0.001; at S4 0.002; closure S3 0.003 }
";
    let text = format!(
        "{SHOP}machine m {{ axis X {{ run to=3600; rail a profile=R20 {{ {SEGMENTS}{ROW} {{ omit S3 since=\"2026-05-02\" }}; support S3 at=1860 length=80 since=\"2026-05-02\" }} }} }}\n{records}"
    );
    let judged = crate::common::judge(&[("machine.kdl", &text)], &[]);
    let rows = wayledger::papers::readings(&judged);
    let at = rows.iter().filter(|it| it.support == "S3");
    let said: Vec<String> = at
        .map(|it| {
            let position = it.position_mm.as_ref().map_or("", |position| &position.0);
            let bolt = it.bolt.map_or(String::new(), |bolt| format!(" of bolt {bolt}"));
            format!("{} {}{bolt} at {position} {}", it.written, it.quantity, it.verdict.word())
        })
        .collect();
    assert_eq!(
        said,
        [
            "10.6 torque of bolt 1 at 1800 stale",
            "10.7 torque of bolt 3 at 1800 stale",
            "0.02 shim-leaf at 1800 stale",
            "0.05 shim-leaf at 1800 stale",
            "0.001 straightness at 1800 stale",
            "0.003 straightness-closure at 1800 stale",
        ]
    );
}

/// What was read at a support before it was moved stands where it was read, in no paper where the support stands now.
#[test]
fn a_station_stands_where_its_support_stood_on_its_day() {
    let survey = "survey straightness X.a date=\"2026-04-16\" by=inspector-1 gauge=DI-4 temperature=20 stage=as-fitted plus=left \
                  { at S1 0; at S2 0; at S3 0.003; at S4 0; at S5 0 }\n";
    let read = |rows: &str| {
        let text = format!("{SHOP}machine m {{ axis X {{ run to=3600; rail a profile=R20 {{ {rows} }} }} }}\n{survey}");
        let judged = crate::common::judge(&[("machine.kdl", &text)], &[]);
        let rows = wayledger::papers::readings(&judged);
        let at = rows.iter().filter(|it| it.quantity == "straightness" && it.support == "S3");
        at.map(|it| (it.address.clone(), format!("{:?}", it.position_mm), it.verdict)).collect::<Vec<_>>()
    };
    let (still, moved) = (
        read(&format!("{SEGMENTS}{ROW}")),
        read(&format!(
            "{SEGMENTS}{ROW} {{ omit S3 since=\"2026-05-02\" }}; support S3 at=1860 length=80 since=\"2026-05-02\""
        )),
    );
    assert_eq!((still.len(), moved.len()), (1, 1), "nothing is left out");
    assert_eq!((&still[0].0, &still[0].1), (&moved[0].0, &moved[0].1), "at 1800");
    assert_eq!(moved[0].2, wayledger::papers::ReadingVerdict::Stale);
    // So of a rail that was exchanged over it.
    let exchanged = read(&format!(
        "segment 1200; segment 1200 serial=K-2 until=\"2026-05-02\"; segment 1200 serial=K-9 since=\"2026-05-02\"; segment 1200; {ROW}"
    ));
    assert_eq!(exchanged.len(), 1);
}

/// A survey that was closed at a support which was moved since is closed: that reading tells of its gauge as it did.
#[test]
fn a_closure_at_a_support_that_moved_still_closes_its_survey() {
    let told = |rows: &str, closure: &str| {
        let survey = format!(
            "survey straightness X.a date=\"2026-04-16\" by=inspector-1 gauge=DI-4 temperature=20 stage=as-fitted plus=left \
             {{ at S1 0; at S2 0; at S3 0.003; at S4 0; at S5 0; {closure} }}\n"
        );
        let text = format!("{SHOP}machine m {{ axis X {{ run to=3600; rail a profile=R20 {{ {rows} }} }} }}\n{survey}");
        messages(&lint_text(&text), "survey-closure")
    };
    let still = format!("{SEGMENTS}{ROW}");
    let moved = format!(
        "{SEGMENTS}{ROW} {{ omit S3 since=\"2026-05-02\" }}; support S3 at=1860 length=80 since=\"2026-05-02\""
    );
    for rows in [&still, &moved] {
        assert_eq!(told(rows, ""), ["the straightness survey was not closed: no station was read again at its end"]);
        assert_eq!(told(rows, "closure S3 0.003"), [""; 0]);
        // It is off by the same amount, whether its station is there still or not.
        let open = "the as-fitted straightness survey does not close: S3 changed by 0.05 mm";
        assert_eq!(told(rows, "closure S3 0.053"), [open]);
    }
}

#[test]
fn a_hold_on_a_joint_that_went_still_keeps_the_axis() {
    let fewer = format!(
        "segment 1200; segment 1200 until=\"2026-05-02\"; segment 1200 until=\"2026-05-02\"; segment 2400 since=\"2026-05-02\"; {ROW}"
    );
    let hold = "hold X.a.J2 date=\"2026-04-16\" by=inspector-1 reason=\"a chip\"\n";
    let on_hold = |more: &str| messages(&rail(&fewer, more), "hold-in-force").len();
    assert_eq!(on_hold(hold), 1);
    let lift = "lift X.a.J2 date=\"2026-05-03\" by=inspector-1 disposition=scrap reason=\"both bars exchanged\"\n";
    assert_eq!(on_hold(&format!("{hold}{lift}")), 0);
    // What was accepted at a joint is not accepted at another one that has its name now.
    let concession = "concession groove-missing X.a.J1 date=\"2026-04-16\" by=engineer-1 reason=\"once\"\n";
    assert!(of(&rail(&fewer, concession), "groove-missing").iter().all(|it| it.conceded.is_none()));
}

#[test]
fn a_break_at_a_part_that_went_is_history() {
    let step =
        "inspect X.a.J1 date=\"2026-04-16\" by=inspector-1 gauge=DI-4 temperature=20 { light none; UL 0 -> 0.05 }\n";
    let with = |life: &str| rail(&format!("segment 1200; segment 1200{life}; segment 1200; {ROW}"), step);
    assert_eq!(messages(&with(""), "joint-step").len(), 1);
    assert_eq!(messages(&with(" since=\"2026-04-16\""), "joint-step").len(), 1, "it was there that day");
    assert_eq!(messages(&with(" since=\"2026-04-17\""), "joint-step"), Vec::<String>::new());
}

/// A reading is exported with the segment that lay there on its day.
#[test]
fn a_reading_is_exported_with_the_segment_of_its_day() {
    let torque = |day: &str| {
        format!("fasten X.a date=\"{day}\" by=fitter-2 interface=base stage=full {{ at S1 20 20; at S3 20 20 }}\n")
    };
    let text = format!(
        "machine m {{ axis X {{ rail a {{
    segment 1200 serial=K-1 lot=A1 until=\"2026-05-02\"
    segment 1200 serial=K-9 lot=B1 since=\"2026-05-02\"
    segment 1200 serial=K-2
    supports S first=600 pitch=600 count=3 length=80 base-bolts=2
}} }} }}\n{}{}",
        torque("2026-04-14"),
        torque("2026-05-03")
    );
    let judged = crate::common::judge(&[("machine.kdl", &text)], &[]);
    let rows = wayledger::papers::readings(&judged);
    let told = |day: &str, support: &str| {
        let of = rows.iter().find(|it| it.day == day && it.support == support).expect("a reading");
        (of.serial.clone(), of.lot.clone())
    };
    let of = |serial: &str, lot: &str| (serial.to_owned(), lot.to_owned());
    assert_eq!(told("2026-04-14", "S1"), of("K-1", "A1"));
    assert_eq!(told("2026-05-03", "S1"), of("K-9", "B1"));
    assert_eq!(told("2026-04-14", "S3"), of("K-2", ""), "what stayed");
}

/// That a maker sells a profile or a block no more takes nothing from what was released with it.
#[test]
fn a_release_stands_when_its_parts_are_to_be_had_no_more() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let read = |path: &std::path::Path| std::fs::read_to_string(path).expect("an example");
    let entries = std::fs::read_dir(folder.join("plank-planer")).expect("the planer");
    let mut files: Vec<_> = entries.map(|entry| entry.expect("a file").path()).collect();
    files.sort();
    let name = |path: &std::path::Path| path.file_name().expect("a name").to_string_lossy().into_owned();
    let texts: Vec<(String, String)> = files.iter().map(|path| (name(path), read(path))).collect();
    let texts: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let shop = read(&folder.join("shop.kdl"));
    let altered = |from: &str, to: &str| {
        assert!(shop.contains(from), "{from}");
        messages(&crate::common::judge(&texts, &[&shop.replacen(from, to, 1)]).findings, "release-altered").len()
    };
    let days = "since=\"2020-01-01\" until=\"2026-12-31\"";
    assert_eq!(altered("profile R20 ", &format!("profile R20 {days} ")), 0);
    assert_eq!(altered("block B20 ", &format!("block B20 {days} ")), 0);
    assert_eq!(altered("hole-pitch=60", "hole-pitch=80"), 1, "what it says else is sealed");
}
