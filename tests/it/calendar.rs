//! What is due by a day that is asked for, and what the calendar did while nobody wrote anything.

use serde_json::Value;

use crate::common::yard::{SAW, SHOP, Yard};

/// A saw 3 mm short by concession until 2021-05-15, read with a gauge that is due on 2021-06-10, and a hold. It is
/// committed on a day before all of that.
fn yard() -> Yard {
    let yard = Yard::empty();
    let gauge = "    gauge DI-1 kind=dial-indicator plus=outward { calibrated \"2020-06-10\" due=\"2021-06-10\" }\n";
    yard.write("shop.kdl", SHOP.replacen('\n', &format!("\n{gauge}"), 1));
    yard.write("saw/machine.kdl", SAW.replace("to=2400", "to=2403"));
    yard.write(
        "saw/records.kdl",
        "concession run-length X.left date=\"2021-04-16\" by=engineer-1 accepts=3 until=\"2021-05-15\" reason=\"short\"
inspect X.left.J1 date=\"2021-04-16T10:00\" by=inspector-1 gauge=DI-1 { light none; UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
hold X.left.J1 date=\"2021-04-17\" by=inspector-1 reason=\"a chip\"
",
    );
    yard.commit("a saw");
    yard
}

fn json(yard: &Yard, arguments: &[&str]) -> Value {
    let ran = yard.wayledger(&[arguments, &["--format", "json"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    serde_json::from_str(&ran.out).expect("it is JSON")
}

fn dues(json: &Value) -> Vec<String> {
    let all = json["dues"].as_array().expect("a list").iter();
    let text = |due: &Value, key: &str| due[key].as_str().unwrap_or("-").to_owned();
    all.map(|due| [text(due, "standing"), text(due, "due"), text(due, "task"), text(due, "of")].join(" | ")).collect()
}

#[test]
fn one_list_holds_all_that_is_due_within_the_days_asked_for() {
    let yard = yard();
    let hold = "on-hold | 2021-04-17 | lift the hold | X.left.J1";
    let (ends, gauge) = (
        "soon | 2021-05-15 | the concession of run-length ends | X.left",
        "soon | 2021-06-10 | calibrate the gauge | DI-1",
    );
    let within = |days: &str| {
        let one = json(&yard, &["report", "saw", "--today", "2021-05-01", "--within", days]);
        // The whole yard says the same.
        yard.write("quarry/machine.kdl", SAW.replace("machine saw", "machine quarry"));
        let fleet = json(&yard, &["report", "--today", "2021-05-01", "--within", days]);
        assert_eq!(dues(&one), dues(&fleet), "{days}");
        dues(&one)
    };
    // Both days count: 14 days from 2021-05-01 is 2021-05-15, 40 days is 2021-06-10.
    assert_eq!(within("13d"), [hold]);
    assert_eq!(within("14d"), [hold, ends]);
    assert_eq!(within("2w"), [hold, ends]);
    assert_eq!(within("39d"), [hold, ends]);
    assert_eq!(within("40d"), [hold, ends, gauge]);
    let later = json(&yard, &["report", "saw", "--today", "2021-06-20", "--within", "0d"]);
    assert_eq!(dues(&later), [&ends.replace("soon", "overdue"), &gauge.replace("soon", "overdue"), hold]);
    for wrong in ["60", "d", "-5d", "6.5d", "1m", "999999d"] {
        let ran = yard.wayledger(&["report", "saw", &format!("--within={wrong}")]);
        assert!(ran.code == 2 && ran.err.contains("a horizon is written as 60d or 8w"), "{wrong}: {}", ran.err);
    }
}

#[test]
fn what_the_calendar_did_is_told_apart_from_the_work() {
    let yard = yard();
    yard.write("saw/work.kdl", "loosen X.left.S1 date=\"2021-04-18\" by=fitter-2 reason=\"a look\"\n");
    let told = |json: &Value| -> Vec<String> {
        let ledgers = json["calendar"]["ledgers"].as_array().expect("a list").iter();
        let changed = ledgers.flat_map(|ledger| ledger["finding_changes"]["changed"].as_array().expect("a list"));
        changed.map(|both| both[1]["rule"].as_str().expect("a rule").to_owned()).collect()
    };
    let compare = |today: &str| json(&yard, &["compare", "HEAD", "--today", today, "--calendar"]);
    let calendar = compare("2021-06-01");
    assert_eq!(told(&calendar), ["run-length", "concession-expired"]);
    // What was loosened is work, though it came meanwhile too.
    let work = calendar["ledgers"].to_string();
    assert!(work.contains("loosen X.left.S1") && !work.contains("\"new\":[{\"rule\":\"concession-expired\""), "{work}");
    assert_eq!(json(&yard, &["compare", "HEAD", "--today", "2021-06-01"])["calendar"], Value::Null);
    let out = yard.wayledger(&["compare", "HEAD", "--today", "2021-06-01", "--calendar"]).out;
    assert!(out.contains("What the calendar did from ") && out.contains("concession-expired"), "{out}");
}
