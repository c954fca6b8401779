//! What rests on a name: under a release, counting now, history; and the life of a part by its serial number.

use wayledger::lint::Judged;
use wayledger::papers::{Traced, Tracing, trace};

use crate::common::judge;

const LEDGER: &str =
    "shop { gauge G kind=dial-indicator plus=outward { calibrated \"2026-01-12\" due=\"2027-01-12\" } }
machine m { axis X { rail a {
    segment 1200 serial=K-1; segment 1200 serial=K-2 since=\"2026-04-10\"; segment 1200 serial=K-3
    supports S first=240 pitch=240 count=14
} } }
receive date=\"2026-04-01\" by=f { part serial=K-2 lot=7 }
inspect X.a.J1 date=\"2026-04-05\" by=i gauge=G { UL 0 -> 0.001 }
fasten X.a date=\"2026-04-14\" by=f stage=full setting=10.5 { clicked S1 S6 S7 }
inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G { UL 0 -> 0.012; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J2 date=\"2026-04-15\" by=i gauge=G { UL 0 -> 0.025; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
concession joint-step X.a.J2 date=\"2026-04-16\" by=e accepts=0.03 reason=\"slow\"
release X date=\"2026-04-20\" by=e
inspect X.a.J1 date=\"2026-06-15\" by=i gauge=G { UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
";

fn judged() -> Judged {
    judge(&[("machine.kdl", LEDGER)], &[])
}

fn traced(name: &str) -> Traced {
    trace(&judged(), &Tracing::new(name, None))
}

fn rows(name: &str, keys: &[&str]) -> Vec<String> {
    let json = serde_json::to_value(traced(name)).expect("it is data");
    let text = |record: &serde_json::Value, key: &&str| record[*key].as_str().unwrap_or("-").to_owned();
    let all = json["records"].as_array().expect("a list").iter();
    all.map(|record| keys.iter().map(|key| text(record, key)).collect::<Vec<_>>().join(" | ")).collect()
}

#[test]
fn records_under_a_standing_release_are_told_from_those_that_count_and_history() {
    assert_eq!(
        rows("G", &["date", "on", "rests", "evidence", "margin"]),
        [
            "2026-04-05 | X.a.J1 | history | replaced since | step UL 0.001 mm, 0.019 mm inside at most 0.02 mm",
            "2026-04-15 | X.a.J1 | a release rests on it | under the release | step UL 0.012 mm, 0.008 mm inside at most 0.02 mm",
            "2026-04-15 | X.a.J2 | a release rests on it | counts now | step UL 0.025 mm, 0.005 mm beyond at most 0.02 mm",
            "2026-06-15 | X.a.J1 | it counts now | counts now | step UL 0.01 mm, 0.01 mm inside at most 0.02 mm",
        ]
    );
}

#[test]
fn a_serial_number_tells_the_whole_life_of_its_part() {
    // What was read at its joint before it came is not about it.
    assert_eq!(
        rows("K-2", &["kind", "date", "why"]),
        [
            "receive | 2026-04-01 | received serial K-2",
            "fasten | 2026-04-14 | tightened 2 of its supports",
            "inspect | 2026-04-15 | its joint J1",
            "inspect | 2026-04-15 | its joint J2",
            "concession | 2026-04-16 | its joint J2",
            "release | 2026-04-20 | its axis",
            "inspect | 2026-06-15 | its joint J1",
        ]
    );
    let json = serde_json::to_value(traced("K-2")).expect("it is data");
    assert_eq!(
        json["parts"][0]["why"],
        "segment from 1200 mm to 2400 mm, there since 2026-04-10, serial K-2; meets J1 and J2"
    );
}

/// What is about a part that went is what touched it, as long as it lay there.
#[test]
fn the_life_of_a_part_that_went_holds_what_touched_it_and_no_more() {
    let text = "machine m { axis X { rail a {
    segment 1200 serial=K-1
    segment 1200 serial=K-2 until=\"2026-04-10\"
    segment 1200 serial=K-5 since=\"2026-04-10\"
    supports S first=240 pitch=240 count=9
} } }
fasten X.a date=\"2026-04-05\" by=f stage=full setting=10.5 { clicked S1 }
fasten X.a date=\"2026-04-06\" by=f stage=full setting=10.5 { clicked S1 S7 S8 }
inspect X.a.J1 date=\"2026-04-07\" by=i { UL 0 -> 0.001 }
release X date=\"2026-04-08\" by=e
fasten X.a date=\"2026-04-12\" by=f stage=full setting=10.5 { clicked S7 }
";
    let traced = |name: &str| {
        let json = trace(&judge(&[("machine.kdl", text)], &[]), &Tracing::new(name, None));
        let json = serde_json::to_value(json).expect("it is data");
        let all = json["records"].as_array().expect("a list").iter();
        let told = |it: &serde_json::Value| format!("{} {}", it["date"], it["why"]).replace('"', "");
        all.map(told).collect::<Vec<String>>()
    };
    assert_eq!(
        traced("K-2"),
        [
            "2026-04-06 tightened 2 of its supports, before it went",
            "2026-04-07 its joint J1, before it went",
            "2026-04-08 its axis, before it went",
        ]
    );
    assert_eq!(traced("K-5"), ["2026-04-12 tightened 1 of its supports"]);
}

/// U+0410 looks like A: confusables.txt of Unicode 16. Wherever a name is compared, it is found and said to be another one.
#[test]
fn a_name_that_only_looks_like_it_is_said_to_wherever_it_stands() {
    let text = "shop { gauge GA-1 kind=dial-indicator plus=outward; wrench TA-1 kind=setting; profile PA-1; block BA-1 length=80
    fastener FA-1 thread=M6; fastener FA-2 thread=M6 }
machine m { axis X { rail a profile=PA-1 rail-bolt=FA-1 base-bolt=FA-2 {
    segment 1200 serial=SA-1 lot=LA-1
    segment 1200 serial=SA-2 lot=LA-2 until=\"2026-04-10\"
    segment 1200 serial=K-3 since=\"2026-04-10\"
    supports S first=240 pitch=240 count=9
}
carriage mass=10 { block a at=0 type=BA-1 } } }
receive date=\"2026-04-01\" by=KA-1 { part serial=RA-1 lot=LA-3; part lot=LA-4 }
inspect X.a.J1 date=\"2026-04-05\" by=i gauge=GA-1 { UL 0 -> 0.001 }
fasten X.a date=\"2026-04-06\" by=f wrench=TA-1 stage=full setting=10.5 { clicked S1 }
"
    .replace("A-", "\u{410}-");
    for (name, told) in [
        ("GA-1", &["made with gauge"][..]),
        ("TA-1", &["made with wrench"]),
        ("KA-1", &["by "]),
        ("RA-1", &["received serial "]),
        ("LA-3", &["of lot "]),
        ("LA-4", &["received a part of lot "]),
        ("SA-1", &["serial ", "its joint J1: serial ", "tightened 1 of its supports: serial "]),
        ("LA-1", &["lot "]),
        ("SA-2", &["serial ", "its joint J1: serial "]),
        ("LA-2", &["lot "]),
        ("PA-1", &["profile "]),
        ("FA-1", &["rail bolts "]),
        ("FA-2", &["base bolts "]),
        ("BA-1", &["1 block of type "]),
    ] {
        let traced = trace(&judge(&[("machine.kdl", &text)], &[]), &Tracing::new(name, None));
        let json = serde_json::to_value(&traced).expect("it is data").to_string();
        for told in told {
            let shown = name.replace("A-", "\u{410}-");
            let wanted =
                format!("{told}{}{shown}, which only looks like it", if told.ends_with(' ') { "" } else { " " });
            assert!(json.contains(&wanted), "{name}: {wanted}: {json}");
        }
    }
}

/// A position is one in whatever unit it is written.
#[test]
fn a_station_in_another_unit_lies_on_the_same_part() {
    let lives = |stations: &str| {
        let text = format!(
            "machine m {{ axis X {{ rail a {{
    segment 1200 serial=K-1
    segment 1200 serial=K-2 until=\"2026-04-10\"
    segment 1200 serial=K-5 since=\"2026-04-10\"
}} }} }}
survey straightness X.a date=\"2026-04-05\" by=i {{ {stations} }}
"
        );
        let json = serde_json::to_value(trace(&judge(&[("machine.kdl", &text)], &[]), &Tracing::new("K-2", None)));
        let json = json.expect("it is data");
        let all = json["records"].as_array().expect("a list").iter();
        all.map(|it| it["why"].as_str().unwrap_or_default().to_owned()).collect::<Vec<_>>()
    };
    let plain = lives("at 300 0; at 1500 0.01; at 2100 0");
    assert!(matches!(&plain[..], [why] if why.contains('2')), "{plain:?}");
    assert_eq!(lives("at (m)0.3 0; at (m)1.5 0.01; at (m)2.1 0"), plain);
}
