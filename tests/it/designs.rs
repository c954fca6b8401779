//! Machines that are built to one design: what they share is described once, each adds its own parts and says where it
//! departs, and a new revision touches those alone that take it over. That a released result belongs to the item that was
//! measured: ISO 9001:2015, 8.5.2; that a design changes by revisions: 8.3.6; both from memory.

use crate::common::judge;
use crate::common::yard::{SHOP, Yard};
use wayledger::lint::Finding;

const DESIGN: &str = "design bridge revision=1 {
    axis X {
        run to=2400
        rail a profile=R20 {
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            joint-support J1 at=1200 length=200
        }
    }
}
";

const MACHINE: &str = "machine bridge-1 {
    built-to bridge revision=1
    part X.a.seg1 serial=K-1
    part X.a.seg2 serial=K-2
}
";

const RECORDS: &str = "fasten X.a date=\"2021-04-14\" by=fitter-2 stage=full setting=10.5 { clicked S1..S4 J1 S6..S9 }
inspect X.a.J1 date=\"2021-04-15\" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
";

/// The next revision: the support at 480 stands at 500.
fn second() -> String {
    let supports = "supports S first=240 pitch=240 count=9 length=80 { omit S5 }";
    let moved =
        "supports S first=240 pitch=240 count=9 length=80 { omit S2 S5 }\n            support S2 at=500 length=80";
    assert!(DESIGN.contains(supports));
    DESIGN.replace("revision=1", "revision=2").replace(supports, moved)
}

fn yard() -> Yard {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP).write("design.kdl", DESIGN);
    for (folder, name) in [("one", "bridge-1"), ("two", "bridge-2")] {
        let serials = |text: &str| text.replace("K-", if folder == "one" { "K-1" } else { "K-2" });
        yard.write(&format!("{folder}/machine.kdl"), serials(&MACHINE.replace("bridge-1", name)));
        let by = |text: &str| text.replace("fitter-2", if folder == "one" { "fitter-2" } else { "fitter-3" });
        yard.write(
            &format!("{folder}/records.kdl"),
            by(RECORDS).replace("inspector-1", &format!("inspector-{folder}")),
        );
    }
    yard.commit("two machines of one design");
    yard
}

fn lint(yard: &Yard, path: &str) -> String {
    yard.wayledger(&["lint", "--today", "2021-06-01", path]).out
}

fn of(findings: &[Finding], rule: &str) -> Vec<String> {
    let of = findings.iter().filter(|it| it.rule.as_str() == rule);
    of.map(|it| format!("{}: {}", it.address, it.message)).collect()
}

/// A machine built to a design and one that says the same by itself are judged alike.
#[test]
fn a_machine_of_a_design_is_judged_as_if_it_were_described_on_its_own() {
    let of_design = judge(&[("machine.kdl", &format!("{DESIGN}{MACHINE}")), ("records.kdl", RECORDS)], &[SHOP]);
    let alone = DESIGN
        .replace("design bridge revision=1", "machine bridge-1")
        .replacen("segment 1200", "segment 1200 serial=K-1", 1)
        .replacen("segment 1200\n", "segment 1200 serial=K-2\n", 1);
    let alone = judge(&[("machine.kdl", &alone), ("records.kdl", RECORDS)], &[SHOP]);
    let all = |findings: &[Finding]| {
        let mut all: Vec<String> =
            findings.iter().map(|it| format!("{} {} {}", it.rule.as_str(), it.address, it.message)).collect();
        all.sort();
        all
    };
    assert!(!alone.findings.is_empty());
    assert_eq!(all(&of_design.findings), all(&alone.findings));
}

#[test]
fn what_is_at_fault_in_a_design_is_told_in_its_file() {
    let yard = yard();
    yard.write("design.kdl", DESIGN.replace("profile=R20", "profile=R99"));
    let found = lint(&yard, "one");
    assert!(found.contains("there is no profile `R99`") && found.contains("design.kdl:4"), "{found}");
    yard.write("design.kdl", DESIGN.replace("segment 1200", "segmnt 1200"));
    let found = lint(&yard, ".");
    assert_eq!(found.matches("`segmnt` is not known").count(), 2, "each of two words once: {found}");
    assert!(!found.contains("unknown-reference"), "{found}");
}

#[test]
fn what_a_machine_says_of_no_design_or_of_no_part_is_told() {
    let found = |machine: &str| judge(&[("machine.kdl", &format!("{DESIGN}{machine}"))], &[SHOP]).findings;
    let unknown = |machine: &str| of(&found(machine), "unknown-reference");
    assert_eq!(unknown("machine m { built-to brigde revision=1 }"), [": there is no design `brigde`"]);
    assert_eq!(unknown("machine m { built-to bridge revision=3 }"), [": there is no revision of the design `3`"]);
    let part = |row: &str| unknown(&format!("machine m {{ built-to bridge revision=1; {row} }}"));
    assert_eq!(part("part X.a.seg3 serial=K-1"), ["X.a.seg3: there is no joint, support or segment `X.a.seg3`"]);
    let why = "date=\"2021-04-01\" by=engineer-1 reason=\"so\"";
    assert_eq!(part(&format!("deviation X.a.S5 at=1210 {why}")).len(), 1, "S5 is left out");
    let wrong = |row: &str| of(&found(&format!("machine m {{ built-to bridge revision=1; {row} }}")), "wrong-value");
    assert_eq!(wrong(&format!("deviation X.a.seg1 at=1210 {why}")), ["X.a.seg1: `at` says nothing of X.a.seg1"]);
    assert_eq!(wrong(&format!("deviation X.a.S1 near-distance=20 {why}")).len(), 1);
    assert_eq!(wrong(&format!("deviation X.a.S1 at=250 {why}")), [""; 0]);
    let again =
        |rows: &str| of(&found(&format!("machine m {{ built-to bridge revision=1; {rows} }}")), "duplicate-name");
    assert_eq!(
        again("part X.a.seg1 serial=K-1; part X.a.seg1 serial=K-2"),
        ["X.a.seg1: two rows `part` speak of X.a.seg1 at one time"]
    );
    assert_eq!(again("part X.a.seg1 serial=K-1 until=\"2022-03-01\"; part X.a.seg1 serial=K-2"), [""; 0]);
    assert_eq!(
        again(&format!("deviation X.a.S1 at=250 {why}; deviation X.a.S1 at=260 {why}")),
        ["X.a.S1: two rows `deviation` speak of X.a.S1 at one time"]
    );
    assert_eq!(
        again(&format!("deviation X.a.S1 at=250 {why}; deviation X.a.S1 at=260 since=\"2022-03-01\" {why}")),
        [""; 0]
    );
    let missing = of(&found("machine m { built-to bridge revision=1; built-to bridge revision=1 }"), "missing-part");
    assert_eq!(missing, [": revision 1 does not say from which later day on it holds"]);
    assert_eq!(of(&found("machine m"), "missing-part"), [": `machine` has no `axis`"]);
    let twice = found("machine m { built-to bridge revision=1; axis X { rail b { segment 1200 } } }");
    assert_eq!(of(&twice, "duplicate-name"), [": two axes are called `X`"]);
}

#[test]
fn a_new_revision_touches_those_alone_that_take_it_over_and_dates_what_differs() {
    let yard = yard();
    let before = (lint(&yard, "one"), lint(&yard, "two"));
    yard.write("design.kdl", format!("{DESIGN}{}", second()));
    assert_eq!((lint(&yard, "one"), lint(&yard, "two")), before, "nobody took it over");
    let one = MACHINE.replace("revision=1", "revision=1\n    built-to bridge revision=2 since=\"2021-05-01\"");
    yard.write("one/machine.kdl", one.replace("K-", "K-1"));
    assert_eq!(lint(&yard, "two"), before.1);
    let found = lint(&yard, "one");
    assert!(!found.contains("unknown-reference") && !found.contains("part-altered"), "{found}");
    let missing = |found: &str| found.matches("without full torque: S2").count();
    assert_eq!((missing(&before.0), missing(&found)), (0, 1), "S2 stands elsewhere and is to be tightened: {found}");
    // Neither the hook nor a pull request has anything against it.
    assert_eq!(yard.wayledger(&["hook"]).code, 0);
    yard.git(&["add", "-A"]);
    let done = yard.run("git", &["commit", "-q", "-m", "a new revision"]);
    assert_eq!(done.code, 0, "{done:?}");
    let since = yard.wayledger(&["lint", "--since", "HEAD~1", "--today", "2021-06-01", "."]).out;
    assert!(!since.contains("altered"), "{since}");
}

#[test]
fn a_revision_in_use_does_not_change() {
    let yard = yard();
    assert_eq!(yard.wayledger(&["hook"]).code, 0);
    yard.write("design.kdl", second().replace("revision=2", "revision=1"));
    let since = yard.wayledger(&["lint", "--since", "HEAD", "--today", "2021-06-01", "."]);
    assert_eq!((since.code, since.out.contains("design-altered")), (1, true), "{since:?}");
    assert!(!since.out.contains("part-altered"), "one change is one fault: {}", since.out);
    assert!(since.out.contains("built-to bridge revision=2 since="), "{}", since.out);
    yard.git(&["add", "-A"]);
    let done = yard.run("git", &["commit", "-q", "-m", "a silent change"]);
    assert_eq!(done.code, 1, "{done:?}");
    assert!(format!("{}{}", done.out, done.err).contains("design-altered"), "{done:?}");
    // Other words for the same are no change.
    yard.write("design.kdl", DESIGN.replace("segment 1200", "segment 1200.0"));
    yard.git(&["add", "-A"]);
    assert_eq!(yard.run("git", &["commit", "-q", "-m", "the same"]).code, 0);
}

#[test]
fn a_segment_that_was_exchanged_in_a_machine_of_a_design_leaves_its_records_behind() {
    let exchanged = MACHINE.replace(
        "part X.a.seg2 serial=K-2",
        "part X.a.seg2 serial=K-2 until=\"2021-05-01\"\n    part X.a.seg2 serial=K-7 since=\"2021-05-01\"",
    );
    let found = |machine: &str| {
        judge(&[("machine.kdl", &format!("{DESIGN}{machine}")), ("records.kdl", RECORDS)], &[SHOP]).findings
    };
    assert_eq!(of(&found(MACHINE), "groove-missing"), [""; 0]);
    let after = found(&exchanged);
    assert_eq!(of(&after, "groove-missing").len(), 1, "J1 is another joint: {after:#?}");
    assert_eq!(of(&after, "unknown-reference"), [""; 0]);
}

#[test]
fn report_and_fleet_say_which_design_and_where_a_machine_departs() {
    let yard = yard();
    let deviation = "    deviation X.a.S2 at=500 date=\"2021-04-01\" by=engineer-1 reason=\"a rib in the way\"\n}\n";
    let machine = MACHINE.replace("K-", "K-1").trim_end().trim_end_matches('}').to_owned() + deviation;
    yard.write("one/machine.kdl", machine);
    let report = |path: &str| yard.wayledger(&["report", path, "--today", "2021-06-01", "--format", "markdown"]).out;
    let one = report("one");
    assert!(one.contains("- Built to: bridge, revision 1"), "{one}");
    assert!(
        one.contains("| X.a.S2 | at 500 (designed: 480) | on 2021-04-01 by engineer-1 | a rib in the way |"),
        "{one}"
    );
    assert!(one.contains("S2") && one.contains("500"), "{one}");
    assert!(report("two").contains("It departs from it nowhere."));
    let fleet = report(".");
    let (rows, all) = fleet.split_once("\n## All machines").expect("a table of all");
    assert_eq!(all.matches("| bridge, revision 1 |").count(), 2, "{fleet}");
    assert!(rows.contains("| bridge, revision 1 | 2 | 0 | 2 | 0 of 2 | 1 |"), "two machines, one departs: {fleet}");
}

/// Records of a rail that a revision has no more are history; whoever writes a new one is told.
#[test]
fn a_revision_may_leave_a_whole_rail_out() {
    let with = DESIGN
        .replace("rail a profile", "rail b profile=R20 { segment 2400; support S1 at=240 }\n        rail a profile");
    let designs = format!("{with}{}", DESIGN.replace("revision=1", "revision=2"));
    let machine = "machine bridge-1 {
    built-to bridge revision=1
    built-to bridge revision=2 since=\"2021-05-01\"
    part X.b.seg1 serial=K-9
}
";
    let fasten =
        |day: &str| format!("fasten X.b date=\"{day}\" by=fitter-2 stage=full setting=10.5 {{ clicked S1 }}\n");
    let unknown = |day: &str| {
        let text = format!("{designs}{machine}");
        of(&judge(&[("machine.kdl", &text), ("records.kdl", &fasten(day))], &[SHOP]).findings, "unknown-reference")
    };
    assert_eq!(unknown("2021-04-14"), [""; 0]);
    assert_eq!(unknown("2021-05-02"), ["X.b: there is no rail `b`"]);
}

/// What a release is sealed over holds the revision, the parts and the deviations, and what the design says.
#[test]
fn a_seal_holds_what_the_machine_says_of_its_design() {
    let design = "design slide revision=1 { axis X { rail left { segment 600; support S1 at=120 } } }\n";
    let machine = |more: &str| format!("machine slide {{ built-to slide revision=1{more} }}\n");
    let yard = crate::hold::released_as(&format!("{design}{}", machine("")));
    let shop = yard.read("slide/machine.kdl").replace(&format!("{design}{}", machine("")), "");
    let altered = |design: &str, more: &str| {
        yard.write("slide/machine.kdl", format!("{shop}{design}{}", machine(more)));
        lint(&yard, "slide").contains("release-altered")
    };
    assert!(!altered(design, ""));
    assert!(altered(design, "; part X.left.seg1 serial=K-1"));
    assert!(altered(design, "; deviation X.left.S1 at=130 date=\"2021-01-01\" by=engineer-1 reason=\"so\""));
    assert!(altered(&design.replace("at=120", "at=130"), ""));
    let next = design.replace("revision=1", "revision=2").replace("at=120", "at=130");
    assert!(!altered(&format!("{design}{next}"), ""), "it did not take it over");
    assert!(altered(&format!("{design}{next}"), "; built-to slide revision=2 since=\"2026-06-01\""));
}

/// Twins that drifted apart: what the one says otherwise than the other, in words.
#[test]
fn two_ledgers_are_compared_with_each_other() {
    let yard = yard();
    let compare = |format: &str| {
        let words = ["compare", "--ledgers", "one", "two", "--today", "2021-06-01", "--format", format];
        yard.wayledger(&words)
    };
    let alike = compare("text");
    assert_eq!((alike.code, alike.out.contains("moved")), (0, false), "{alike:?}");
    let deviation = "\n    deviation X.a.S2 at=500 date=\"2021-04-01\" by=engineer-1 reason=\"a rib\"";
    let machine = MACHINE.replace("bridge-1", "bridge-2").replace("K-", "K-2");
    yard.write("two/machine.kdl", machine.replace("revision=1", &format!("revision=1{deviation}")));
    let moved = compare("text").out;
    assert!(moved.contains("X.a.S2 moved 480 -> 500 mm under 1 record"), "{moved}");
    assert!(moved.contains("ledger one") && moved.contains("ledger two"), "{moved}");
    let json: serde_json::Value = serde_json::from_str(&compare("json").out).expect("JSON");
    assert_eq!(json["ledgers"][0]["moves"][0], "X.a.S2 moved 480 -> 500 mm under 1 record");
    assert_eq!(yard.wayledger(&["compare", "--ledgers", "one", "nowhere"]).code, 2);
}

#[test]
fn a_machine_like_another_one_is_built_to_its_revision_without_its_parts() {
    let yard = yard();
    let started = yard.wayledger(&["start", "three", "--like", "one"]);
    assert_eq!(started.code, 0, "{started:?}");
    assert_eq!(yard.read("three/machine.kdl"), "machine three {\n    built-to bridge revision=1\n}\n");
}

/// The life of a bar goes on in the books once it was exchanged.
#[test]
fn a_trace_finds_a_segment_that_went() {
    let yard = yard();
    let part = "part X.a.seg2 serial=K-12";
    let machine = MACHINE.replace("K-", "K-1");
    assert!(machine.contains(part));
    let exchanged = format!("{part} until=\"2021-05-01\"\n    part X.a.seg2 serial=K-17 since=\"2021-05-01\"");
    yard.write("one/machine.kdl", machine.replace(part, &exchanged));
    let traced = yard.wayledger(&["trace", "K-12", ".", "--today", "2021-06-01"]).out;
    assert!(traced.contains("it went on 2021-05-01"), "{traced}");
    assert!(traced.contains("its joint J1, before it went"), "{traced}");
    let now = yard.wayledger(&["trace", "K-17", ".", "--today", "2021-06-01"]).out;
    assert!(now.contains("there since 2021-05-01") && !now.contains("its joint J1"), "{now}");
}

/// Three revisions: rail b is there, is left out from May on, and is there again from June on.
fn of_three_revisions(rows: &str) -> wayledger::lint::Judged {
    let rail = "rail b profile=R20 { segment 2400; support S1 at=240; support S2 at=480 }\n        rail a profile";
    let with = |revision: &str| DESIGN.replace("rail a profile", rail).replace("revision=1", revision);
    let designs = format!("{}{}{}", with("revision=1"), DESIGN.replace("revision=1", "revision=2"), with("revision=3"));
    let machine = format!(
        "machine bridge-1 {{
    built-to bridge revision=1
    built-to bridge revision=2 since=\"2021-05-01\"
    built-to bridge revision=3 since=\"2021-06-01\"
    {rows}
}}
"
    );
    judge(&[("machine.kdl", &format!("{designs}{machine}"))], &[SHOP])
}

/// The serial number of the segment of rail b that is there now, and where its support S1 stands.
fn now(judged: &wayledger::lint::Judged) -> (Option<String>, String) {
    let rail = judged.ledger.machine.axes[0].rails.iter().find(|rail| rail.name.as_str() == "b").expect("rail b");
    let serial = rail.segments[0].serial.as_ref().map(|serial| serial.to_string());
    (serial, rail.supports[0].at.to_string())
}

/// A rail that one revision leaves out and the next has again is a new one: each row of the machine is about the one that was
/// there on its days, or nobody knows about which, and that is told. None is passed over in silence.
#[test]
fn a_row_is_about_the_rail_that_was_there_on_its_days() {
    // The days of a row of segment 1, whether the rail of now has its serial number, and whether the row is told.
    let part = |days: &str, serial: &str| format!("part X.b.seg1 serial={serial}{days}");
    for (days, is_now, is_told) in [
        (" until=\"2021-04-20\"", false, false),
        (" until=\"2021-05-01\"", false, false),
        (" since=\"2021-04-20\"", false, false),
        (" since=\"2021-05-01\"", false, false),
        (" since=\"2021-06-01\"", true, false),
        (" since=\"2021-07-01\"", true, false),
        ("", false, true),
        (" until=\"2021-05-20\"", false, true),
        (" since=\"2021-05-20\"", false, true),
        (" until=\"2021-06-01\"", false, true),
        (" since=\"2021-04-20\" until=\"2021-07-01\"", false, true),
    ] {
        let judged = of_three_revisions(&part(days, "K-8"));
        let found = of(&judged.findings, "wrong-value");
        assert_eq!(found.len(), usize::from(is_told), "{days}: {found:?}");
        if is_told {
            let says = "X.b went on 2021-05-01 and came back on 2021-06-01, and this `part` does not say which of the rails it means";
            assert_eq!(found, [format!("X.b.seg1: {says}")]);
        }
        assert_eq!(now(&judged).0.as_deref(), is_now.then_some("K-8"), "{days}");
        assert_eq!(of(&judged.findings, "unknown-reference"), [""; 0], "{days}");
    }
    let both = of_three_revisions(&format!(
        "{}; {}",
        part(" until=\"2021-05-01\"", "K-8"),
        part(" since=\"2021-06-01\"", "K-9")
    ));
    assert_eq!(now(&both).0.as_deref(), Some("K-9"));
    for rule in ["wrong-value", "unknown-reference", "duplicate-name"] {
        assert_eq!(of(&both.findings, rule), [""; 0], "{rule}");
    }
    // What is no part of either is told of both.
    for days in [" until=\"2021-05-01\"", " since=\"2021-06-01\""] {
        let wrong = of_three_revisions(&format!("part X.b.seg2 serial=K-9{days}"));
        assert_eq!(of(&wrong.findings, "unknown-reference").len(), 1, "{days}: {:?}", wrong.findings);
    }
}

/// A deviation goes by the day it holds from, or by the day it was declared; the report counts those of the rail that is there.
#[test]
fn a_deviation_is_about_the_rail_that_was_there_on_its_day() {
    let row = |since: &str, date: &str| {
        format!("deviation X.b.S1 at=250{since} date=\"{date}\" by=engineer-1 reason=\"drilled there\"")
    };
    for (since, date, at, is_told) in [
        ("", "2021-04-20", "240 mm", false),
        ("", "2021-05-20", "250 mm", false),
        ("", "2021-06-02", "250 mm", false),
        (" since=\"2021-04-20\"", "2021-04-20", "240 mm", false),
        (" since=\"2021-06-02\"", "2021-06-02", "250 mm", false),
        (" since=\"2021-05-20\"", "2021-05-20", "240 mm", true),
    ] {
        let judged = of_three_revisions(&row(since, date));
        assert_eq!(now(&judged).1, at, "{since} {date}");
        assert_eq!(of(&judged.findings, "wrong-value").len(), usize::from(is_told), "{since} {date}");
        let report = wayledger::papers::report(&judged, jiff::civil::date(2021, 8, 1));
        let counted =
            serde_json::to_value(&report).expect("JSON")["built_to"]["deviations"].as_array().map_or(0, Vec::len);
        assert_eq!(counted, usize::from(at == "250 mm"), "{since} {date}");
    }
    let twice = of_three_revisions(&format!("{}; {}", row("", "2021-04-20"), row("", "2021-06-02")));
    assert_eq!(of(&twice.findings, "duplicate-name"), [""; 0], "one of each rail");
    let twice = of_three_revisions(&format!("{}; {}", row("", "2021-06-03"), row("", "2021-06-02")));
    assert_eq!(of(&twice.findings, "duplicate-name").len(), 1);
}

/// Of a rail that went and never came back there is nothing to choose: it was not there on that day.
#[test]
fn a_row_of_a_day_behind_a_rail_that_never_came_back_says_so() {
    let with = DESIGN
        .replace("rail a profile", "rail b profile=R20 { segment 2400; support S1 at=240 }\n        rail a profile");
    let designs = format!("{with}{}", DESIGN.replace("revision=1", "revision=2"));
    let told = |row: &str| {
        let built = "built-to bridge revision=1; built-to bridge revision=2 since=\"2021-05-01\"";
        let text = format!("{designs}machine bridge-1 {{ {built}\n{row}\n}}\n");
        let found = judge(&[("machine.kdl", &text)], &[SHOP]).findings;
        let of = found.into_iter().filter(|it| ["wrong-value", "unknown-reference"].contains(&it.rule.as_str()));
        of.map(|it| format!("{}; {}", it.message, it.next)).collect::<Vec<_>>()
    };
    for row in ["part X.b.seg1 serial=K-8 since=\"2021-04-01\"", "part X.b.seg1 serial=K-8"] {
        assert_eq!(told(row), [""; 0], "{row}");
    }
    let deviation = |days: &str| format!("deviation X.b.S1 at=250 {days} by=engineer-1 reason=\"drilled there\"");
    assert_eq!(told(&deviation("date=\"2021-04-20\"")), [""; 0]);
    for (row, what) in [
        ("part X.b.seg1 serial=K-8 since=\"2021-05-20\"".to_owned(), "part"),
        ("part X.b.seg1 serial=K-8 until=\"2021-05-20\"".to_owned(), "part"),
        (deviation("date=\"2021-05-20\" since=\"2021-05-20\""), "deviation"),
        (deviation("date=\"2021-05-20\""), "deviation"),
    ] {
        let says = format!("X.b went on 2021-05-01, and was not there on the day of this `{what}`");
        assert_eq!(told(&row), [format!("{says}; correct the day: it was there until 2021-05-01")], "{row}");
    }
}

/// A bar that went with its whole rail is in the books still.
#[test]
fn a_trace_finds_a_segment_that_went_with_its_rail() {
    let yard = yard();
    let rail = "rail b profile=R20 { segment 2400; support S1 at=240 }\n        rail a profile";
    yard.write("design.kdl", DESIGN.replace("rail a profile", rail) + &DESIGN.replace("revision=1", "revision=2"));
    let rows = "revision=1\n    built-to bridge revision=2 since=\"2021-05-01\"\n    part X.b.seg1 serial=K-77 lot=L-9";
    yard.write("one/machine.kdl", MACHINE.replace("revision=1", rows).replace("K-1\n", "K-11\n"));
    let traced = yard.wayledger(&["trace", "K-77", "one", "--today", "2021-06-01"]).out;
    assert!(traced.contains("X.b.seg1") && traced.contains("it went with its rail on 2021-05-01"), "{traced}");
}

/// What keeps an axis from release keeps it, though the rail that it was put on went.
#[test]
fn a_hold_on_a_rail_that_went_whole_stays_on_its_axis() {
    let with = DESIGN
        .replace("rail a profile", "rail b profile=R20 { segment 2400; support S1 at=240 }\n        rail a profile");
    let designs = format!("{with}{}", DESIGN.replace("revision=1", "revision=2"));
    let machine = "machine bridge-1 {
    built-to bridge revision=1
    built-to bridge revision=2 since=\"2021-05-01\"
}
";
    let hold = "hold X.b date=\"2021-04-14\" by=engineer-1 reason=\"scored\"\n";
    let judged = judge(&[("machine.kdl", &format!("{designs}{machine}")), ("records.kdl", hold)], &[SHOP]);
    assert_eq!(of(&judged.findings, "unknown-reference"), [""; 0]);
    let held = of(&judged.findings, "hold-in-force");
    assert!(matches!(&held[..], [it] if it.contains("on hold")), "{held:?}");
    let lift = "lift X.b date=\"2021-05-02\" by=engineer-1 disposition=scrap reason=\"it went\"
lift X.b date=\"2021-05-03\" by=engineer-1 disposition=concession reason=\"nothing of it is left\"\n";
    let lifted =
        judge(&[("machine.kdl", &format!("{designs}{machine}")), ("records.kdl", &format!("{hold}{lift}"))], &[SHOP]);
    assert_eq!(of(&lifted.findings, "hold-in-force"), [""; 0]);
}

/// What is told of days on which nothing of a kind was to be had, of a machine that takes over these revisions of an axis in
/// March and in May 2026. Of profile OLD and block OLD there was nothing after 2025, of profile NEW nothing before February 2026.
fn not_to_be_had(revisions: &[&str], rows: &str) -> Vec<String> {
    let shop = "shop {
    profile OLD hole-pitch=60 end-distance=30 until=\"2025-12-31\"
    profile NEW hole-pitch=60 end-distance=30 since=\"2026-02-01\"
    block OLD length=78 until=\"2025-12-31\"
    block NEW length=78
}
";
    let (mut designs, mut built) = (String::new(), String::new());
    for (number, (axis, since)) in
        revisions.iter().zip(["", "since=\"2026-03-01\"", "since=\"2026-05-01\""]).enumerate()
    {
        let number = number + 1;
        designs += &format!("design D revision={number} {{ axis X {{ {axis} }} }}\n");
        built += &format!("    built-to D revision={number} {since}\n");
    }
    let text = format!("{designs}machine m {{\n{built}{rows}\n}}\n");
    let judged = judge(&[("machine.kdl", &text)], &[shop]);
    let kinds = ["unknown-reference", "wrong-value", "duplicate-name"];
    kinds.iter().flat_map(|rule| of(&judged.findings, rule)).collect()
}

/// A segment is of the profile that its rail had while it lay there, whatever the rail is of now.
#[test]
fn a_segment_that_went_was_of_the_profile_of_its_day() {
    let of = |profile: &str| format!("rail a profile={profile} {{ segment 1200; segment 1200 }}");
    let part = |since: &str| format!("    part X.a.seg1 serial=K-1 since=\"{since}\" until=\"2026-03-01\"");
    assert_eq!(
        not_to_be_had(&[&of("OLD"), &of("NEW")], &part("2026-02-15")),
        ["X.a.seg1: this came on 2026-02-15, and profile OLD was to be had until 2025-12-31"]
    );
    assert_eq!(not_to_be_had(&[&of("OLD"), &of("NEW")], &part("2025-06-15")), [""; 0]);
    // Nor is one judged by what is no more.
    assert_eq!(
        not_to_be_had(&[&of("NEW"), &of("OLD")], &part("2026-02-15")),
        [
            "X.a.seg1: this came on 2026-03-01, and profile OLD was to be had until 2025-12-31",
            "X.a.seg2: this came on 2026-03-01, and profile OLD was to be had until 2025-12-31"
        ]
    );
}

/// A bar that was only worked on, or that lay on the machine already, was not bought on the day of the change.
#[test]
fn what_was_only_changed_was_not_bought_that_day() {
    let rail = "rail a profile=OLD { segment 1200; segment 1200 }";
    let ground = "deviation X.a.seg1 far-distance=28 length=1198 since=\"2026-05-01\" date=\"2026-05-01\" by=p reason=\"ground back\"";
    let exchanged =
        |day: &str| format!("part X.a.seg1 serial=K-1 until=\"{day}\"; part X.a.seg1 serial=K-2 since=\"{day}\"");
    assert_eq!(not_to_be_had(&[rail], ground), [""; 0]);
    assert_eq!(not_to_be_had(&[rail], &format!("part X.a.seg1 serial=K-1\n{ground}")), [""; 0]);
    // An exchange stays one, whatever was done to the bar afterwards or that day.
    for day in ["2026-04-01", "2026-05-01"] {
        let says = format!("X.a.seg1: this came on {day}, and profile OLD was to be had until 2025-12-31");
        assert_eq!(not_to_be_had(&[rail], &exchanged(day)), [says.as_str()]);
        assert_eq!(not_to_be_had(&[rail], &format!("{}\n{ground}", exchanged(day))), [says.as_str()], "{day}");
    }
    // A later revision that changes an end only: it is the same bar where its serial number is.
    let later = "rail a profile=OLD { segment 1200 far-distance=28; segment 1200 }";
    let told = |rows: &str| not_to_be_had(&[rail, later], rows).len();
    assert_eq!(told(""), 1);
    assert_eq!(told("part X.a.seg1 serial=K-1 until=\"2026-03-01\"; part X.a.seg1 serial=K-1"), 0);
    assert_eq!(told("part X.a.seg1 serial=K-1 until=\"2026-03-01\"; part X.a.seg1 serial=K-2"), 1);
}

/// A design has no days of its own, of its blocks neither; what a later revision changes comes on its day.
#[test]
fn a_block_that_a_revision_brings_comes_on_its_day() {
    let with = |blocks: &str| format!("rail a profile=NEW {{ segment 1200 }}; carriage {{ {blocks}; track a y=0 }}");
    let told = |revisions: &[&str]| {
        let revisions: Vec<String> = revisions.iter().map(|blocks| with(blocks)).collect();
        not_to_be_had(&revisions.iter().map(String::as_str).collect::<Vec<_>>(), "")
    };
    let (old, new) = ("block a at=0 type=OLD", "block a at=0 type=NEW");
    let came = ["X: this came on 2026-03-01, and block OLD was to be had until 2025-12-31"];
    assert_eq!(told(&[old]), [""; 0], "there from the start");
    assert_eq!(told(&[old, new]), [""; 0]);
    assert_eq!(told(&[new, old]), came);
    assert_eq!(told(&[new, &format!("{new}; block a at=200 type=OLD")]), came, "one more");
    assert_eq!(told(&[old, "block a at=200 type=OLD"]), [""; 0], "only moved");
    assert_eq!(told(&[new, old, old]), came, "once");
    assert_eq!(told(&[new, old, new]), came, "though it went again");
    assert_eq!(told(&[old, new, old]), [came[0].replace("03-01", "05-01")], "it came back");
    for days in ["since=\"2026-02-01\"", "until=\"2026-12-01\""] {
        let own = told(&[&format!("{old}; block a at=200 type=NEW {days}")]);
        assert_eq!(own, [": a design says since when a part is there"], "{days}");
    }
}
