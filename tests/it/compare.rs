//! Comparison by meaning: in real repositories through the program, and over every number of the example ledger.

use std::cell::RefCell;
use std::collections::BTreeSet;

use serde_json::Value;
use wayledger::files::Path;
use wayledger::kdl::{self, ReadLimits, read};
use wayledger::lint::{Judged, judge_ledger};
use wayledger::model::{Ledger, TextFile};
use wayledger::papers::{RecordChangeKind, Topic, compare};

use crate::common::today;
use crate::common::yard::{GOOD, SAW, SHOP, Yard, bad};

fn compared(yard: &Yard, arguments: &[&str]) -> String {
    let ran = yard.wayledger(&[&["compare", "--today", "2021-05-02"], arguments].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    ran.out
}

fn as_json(yard: &Yard, arguments: &[&str]) -> Value {
    serde_json::from_str(&compared(yard, &[&["--format", "json"], arguments].concat())).expect("it is JSON")
}

/// Topic, about, how and facts of every change, as `was`/`now`.
fn changes(json: &Value) -> Vec<String> {
    let ledgers = json["ledgers"].as_array().unwrap();
    let changes = ledgers.iter().flat_map(|ledger| ledger["changes"].as_array().unwrap());
    let one = |change: &Value| {
        let text = |key: &str| change[key].as_str().unwrap().to_owned();
        let facts = change["facts"].as_array().unwrap().iter().map(|fact| {
            let value = |key: &str| fact[key].as_str().unwrap_or("-").to_owned();
            format!("{}: {} → {}", fact["fact"].as_str().unwrap(), value("was"), value("now"))
        });
        format!("{} {} {} [{}]", text("topic"), text("about"), text("how"), facts.collect::<Vec<_>>().join("; "))
    };
    changes.map(one).collect()
}

#[test]
fn reformatting_alone_is_no_change() {
    let yard = Yard::with_saw();
    yard.write("saw/machine.kdl", format!("// our saw\n{}", SAW.replace("    ", "\t").replace("1200", "(m)1.2")));
    yard.write(
        "shop.kdl",
        SHOP.replace("0.02;", "(um)20.0;")
            .replace("end-distance=30 bolt-edge=10", "bolt-edge=10.00 end-distance=\\\n 30"),
    );
    // Properties in another order, quoted words, a block on one line, and the record in another file.
    std::fs::remove_file(yard.root.join("saw/2021-04-15.kdl")).unwrap();
    yard.write(
        "saw/records/april.kdl",
        "inspect \"X.left.J1\" by=\"inspector-1\" date=\"2021-04-15\" { UL 0.000 -> 0.010; UR 0 -> 0; /- LL 9 -> 9\n \
         LL 0 -> 0.0050; LR (um)0 -> 0 /* nothing */; light none; carrier travel=15 reach=40.0 }\n",
    );
    for format in ["text", "markdown"] {
        let out = compared(&yard, &["HEAD", "--format", format]);
        assert!(out.contains("no change in meaning; 2 were only written differently"), "{out}");
    }
    let json = as_json(&yard, &["HEAD"]);
    assert_eq!((json["ledgers"].as_array().unwrap().len(), json["rewritten"].as_u64()), (0, Some(2)));
}

#[test]
fn values_are_told_old_and_new_by_address() {
    let yard = Yard::with_saw();
    yard.write("saw/2021-04-15.kdl", bad());
    yard.write(
        "saw/machine.kdl",
        SAW.replace(
            "            segment 1200\n            supports",
            "            segment 900\n            segment 300\n            supports",
        ),
    );
    yard.write(
        "shop.kdl",
        SHOP.replace("leaf 0.02", "leaf 0.01; leaf 0.02 count=4").replace("stock 1200", "stock 1200 2400"),
    );
    assert_eq!(
        changes(&as_json(&yard, &["HEAD"])),
        [
            "described rail X.left changed [segment #2: 1200 → 900; segment #3: - → 300]",
            "recorded inspect X.left.J1 2021-04-15 changed [UL: 0 -> 0.01 → 0 -> 0.03]",
            "described profile R20 changed [stock: 1200 → 1200 2400]",
            "described shim-stock changed [leaf: 0.02 → 0.01; leaf #2: - → 0.02 count=4]",
        ]
    );
    let out = compared(&yard, &["HEAD"]);
    assert!(out.contains("UL: was 0 -> 0.01, now 0 -> 0.03"), "{out}");
    assert!(out.contains("X.left.J1: conforming, largest step 0.01 mm → nonconforming, largest step 0.03 mm"), "{out}");
}

#[test]
fn what_was_done_is_told_by_topic() {
    let yard = Yard::with_saw();
    yard.write(
        "saw/2021-05-01.kdl",
        "fasten X.left date=\"2021-05-01\" by=fitter-2 stage=full { at J1 10.5 10.5; at S1 10.5 }\n\
         shim X.left date=\"2021-05-01\" by=fitter-2 { at S4 0.02 0.05 }\n\
         concession joint-step X.left.J1 date=\"2021-05-01\" by=engineer-1 accepts=0.03 reason=\"runs slowly\"\n\
         release X date=\"2021-05-02\" by=engineer-1\n",
    );
    let json = as_json(&yard, &["HEAD"]);
    assert_eq!(
        changes(&json),
        [
            "recorded fasten X.left 2021-05-01 added [on: - → X.left; by: - → fitter-2; date: - → 2021-05-01; stage: - → full; at J1: - → 10.5 10.5; at S1: - → 10.5]",
            "shimmed shim X.left 2021-05-01 added [on: - → X.left; by: - → fitter-2; date: - → 2021-05-01; at S4: - → 0.02 0.05]",
            "released release X 2021-05-02 added [on: - → X; by: - → engineer-1; date: - → 2021-05-02]",
            "conceded concession joint-step X.left.J1 2021-05-01 added [rule: - → joint-step; on: - → X.left.J1; accepts: - → 0.03; by: - → engineer-1; date: - → 2021-05-01; reason: - → runs slowly]",
        ]
    );
    let axis = &json["ledgers"][0]["states"][0];
    assert_eq!((axis["address"].as_str(), axis["stands"]["released_on"].as_str()), (Some("X"), Some("2021-05-02")));
    assert!(axis["stood"]["released_on"].is_null());
    // And taken away again.
    yard.commit("a day's work");
    std::fs::remove_file(yard.root.join("saw/2021-05-01.kdl")).unwrap();
    let gone = changes(&as_json(&yard, &["HEAD"]));
    assert_eq!(gone.iter().filter(|change| change.contains(" removed [")).count(), 4, "{gone:#?}");
}

#[test]
fn findings_are_fixed_new_changed_and_remaining() {
    let yard = Yard::with_saw();
    yard.write("saw/2021-04-15.kdl", bad());
    let wrong = yard.commit("a bad joint");
    let findings = |json: &Value, what: &str| -> Vec<String> {
        let all = json["ledgers"][0]["finding_changes"][what].as_array().unwrap();
        let rule = |said: &Value| format!("{} {}", said["rule"].as_str().unwrap(), said["address"].as_str().unwrap());
        all.iter().map(|said| rule(if said.is_array() { &said[1] } else { said })).collect()
    };
    let has = |json: &Value, what: &str| findings(json, what).contains(&"joint-step X.left.J1".to_owned());
    let json = as_json(&yard, &["HEAD~1", "HEAD"]);
    assert!(has(&json, "new") && !has(&json, "fixed"), "{json:#}");
    assert!(findings(&json, "remaining").contains(&"torque-missing X.left".to_owned()), "{json:#}");
    let back = as_json(&yard, &["HEAD", "HEAD~1"]);
    assert!(has(&back, "fixed") && !has(&back, "new"), "{back:#}");
    yard.write("saw/2021-04-15.kdl", bad().replace("0.03", "0.04"));
    let worse = as_json(&yard, &[&wrong]);
    assert!(has(&worse, "changed") && !has(&worse, "new") && !has(&worse, "fixed"), "{worse:#}");
    // A line moved is the same finding.
    yard.write("saw/2021-04-15.kdl", format!("\n\n{}note", bad()).replace("note", "// remeasure\n"));
    assert!(compared(&yard, &[&wrong]).contains("no change in meaning"));
}

#[test]
fn every_pair_of_states_can_be_compared() {
    let yard = Yard::with_saw();
    let first = yard.head();
    yard.write("saw/2021-04-15.kdl", bad());
    yard.commit("a bad joint");
    yard.write("saw/2021-04-15.kdl", GOOD).git(&["add", "-A"]);
    assert!(compared(&yard, &[&first, "HEAD"]).contains("joint-step"));
    assert!(compared(&yard, &["HEAD", "--staged"]).contains("fixed"));
    assert!(compared(&yard, &[&first, "--staged"]).contains("no change in meaning"));
    assert!(compared(&yard, &[&first]).contains("no change in meaning"));
    assert!(compared(&yard, &["HEAD~1", "--path", "saw"]).contains("no change in meaning"));
    // From a bare repository, two revisions.
    yard.git(&["clone", "-q", "--bare", ".", "../store.git"]);
    let mut bare = yard.command("wayledger", "../store.git");
    let bare = bare.args(["compare", "HEAD~1", "HEAD"]).output().unwrap();
    assert!(String::from_utf8_lossy(&bare.stdout).contains("joint-step X.left.J1"), "{bare:?}");
    let mut lint = yard.command("wayledger", "../store.git");
    let lint = lint.args(["lint", "--at", "HEAD", "--format", "github"]).output().unwrap();
    assert_eq!(lint.status.code(), Some(1), "{lint:?}");
    assert!(String::from_utf8_lossy(&lint.stdout).contains("::error file=saw/2021-04-15.kdl,line=3,"), "{lint:?}");
    let unknown = yard.wayledger(&["compare", "no-such"]);
    assert_eq!(unknown.code, 2);
    assert!(unknown.err.contains("no revision `no-such`"), "{unknown:?}");
    let nowhere = yard.wayledger(&["compare", "HEAD", "--path", "nowhere"]);
    assert_eq!(nowhere.code, 2, "{nowhere:?}");
}

#[test]
fn ledgers_come_go_and_move() {
    let yard = Yard::with_saw();
    yard.write("lathe/machine.kdl", SAW.replace("machine saw", "machine lathe"));
    yard.git(&["mv", "saw", "yard-2"]);
    let fates = |arguments: &[&str]| -> Vec<String> {
        let json = as_json(&yard, arguments);
        let ledgers = json["ledgers"].as_array().unwrap();
        let text = |value: &Value| value.as_str().unwrap_or("-").to_owned();
        ledgers
            .iter()
            .map(|it| format!("{} {} {}", text(&it["path"]), text(&it["fate"]), text(&it["moved_from"])))
            .collect()
    };
    assert_eq!(fates(&["HEAD"]), ["lathe added -", "yard-2 kept saw"]);
    yard.commit("moved");
    assert_eq!(fates(&["HEAD", "HEAD~1"]), ["lathe removed -", "saw kept yard-2"]);
    assert_eq!(fates(&["HEAD", "HEAD~1", "--path", "lathe"]), ["lathe removed -"]);
}

#[test]
fn the_order_of_one_days_records_is_meaning() {
    let yard = Yard::with_saw();
    let fasten = "fasten X.left date=\"2021-05-01\" by=fitter-2 stage=full { at S1 10.5 }\n";
    let loosen = "loosen X.left.S1 date=\"2021-05-01\" by=fitter-2\n";
    yard.write("saw/may.kdl", format!("{loosen}{fasten}"));
    yard.commit("loosened, then tightened");
    yard.write("saw/may.kdl", format!("{fasten}{loosen}"));
    let changed = changes(&as_json(&yard, &["HEAD"]));
    assert!(changed.contains(&"recorded records of 2021-05-01 reordered []".to_owned()), "{changed:#?}");
    // Rows of a fastening come in the order of tightening; rows of a shimming do not.
    let rows = |kind: &str, first: &str, second: &str| {
        format!(
            "{kind} X.left date=\"2021-05-02\" by=fitter-2 {} {{ at {first}; at {second} }}\n",
            if kind == "fasten" { "stage=full" } else { "" }
        )
    };
    for (kind, values, count) in [("fasten", ["S1 10.5", "S2 10.5"], 1), ("shim", ["S1 0.02", "S2 0.02"], 0)] {
        yard.write("saw/may.kdl", rows(kind, values[0], values[1]));
        yard.commit("one order");
        yard.write("saw/may.kdl", rows(kind, values[1], values[0]));
        assert_eq!(changes(&as_json(&yard, &["HEAD"])).len(), count, "{kind}");
    }
}

#[test]
fn a_changed_limit_is_told_once_and_its_findings_with_each_ledger() {
    let yard = Yard::with_saw();
    yard.write("saw-2/machine.kdl", SAW.replace("machine saw", "machine saw-2")).write("saw-2/r.kdl", GOOD);
    yard.commit("two saws");
    yard.write(
        "shop.kdl",
        SHOP.replace("shim-stock", "rulebook { joint-step most=0.004 reason=\"fine\" }\n    shim-stock"),
    );
    let json = as_json(&yard, &["HEAD"]);
    assert_eq!(changes(&json), ["described limits added [joint-step: - → most=0.004 reason=fine]"]);
    let paths: Vec<&str> = json["ledgers"].as_array().unwrap().iter().map(|it| it["path"].as_str().unwrap()).collect();
    assert_eq!(paths, ["saw", "saw-2", "shop.kdl"]);
}

#[test]
fn a_comment_is_short_at_the_top_and_harmless() {
    let yard = Yard::with_saw();
    let evil = "a|b <b>x</b> @engineer-1 #12 [link](https://example.org) </details> `c`\\u{1b}[31m\\u{202e}\\n# Title";
    yard.write("saw/machine.kdl", SAW.replace("machine saw {", &format!("machine saw {{\n    title \"{evil}\"")));
    yard.write("saw/2021-04-15.kdl", bad());
    let out = compared(&yard, &["HEAD", "--format", "markdown"]);
    let top = out.split("<details>").next().unwrap();
    assert!(top.lines().count() < 20 && top.contains("1 nonconformity"), "{top}");
    assert!(top.contains("groove UL steps by 0.03 mm"), "{top}");
    for raw in ["<b>", "@engineer-1", "#12", "k](", "s://", "\u{1b}", "\u{202e}", " `c`"] {
        assert!(!out.contains(raw), "{raw:?} in {out}");
    }
    assert_eq!(out.matches("<details>").count(), out.matches("\n</details>").count());
    assert_eq!(out.matches("</details>").count(), out.matches("\n</details>").count(), "{out}");
    for row in out.lines().filter(|line| line.starts_with('|')) {
        let bars = row.replace("\\|", "").matches('|').count();
        assert!(bars == 7 || bars == 3, "{row}");
    }
}

/// The example ledger from memory, with some files changed.
fn boatyard(change: &dyn Fn(&str, &str) -> Option<String>) -> Judged {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let read = |name: &str| {
        let text = std::fs::read_to_string(root.join(name)).unwrap();
        let text = change(name, &text).unwrap_or(text);
        TextFile::read(Path(name.to_owned()), text.into_bytes())
    };
    let mut names: Vec<String> = std::fs::read_dir(root.join("hull-gantry"))
        .unwrap()
        .map(|entry| format!("hull-gantry/{}", entry.unwrap().file_name().into_string().unwrap()))
        .filter(|name| name.ends_with(".kdl"))
        .collect();
    names.sort();
    let files = names.iter().map(|name| read(name)).collect();
    judge_ledger(Ledger::new(Path("hull-gantry".into()), files, &[read("shop.kdl")]), today())
}

/// Whatever number or word of the example's own files is changed, the comparison names exactly one changed part: nothing
/// a ledger says is left out. (Of a release, the sealed facts count as one.)
#[test]
fn whatever_is_changed_is_named() {
    let places: RefCell<Vec<(String, std::ops::Range<usize>, String)>> = RefCell::default();
    boatyard(&|name, text| {
        let read = read(text.to_owned(), &ReadLimits::default());
        for node in (0..).map_while(|index| read.document.node(index)) {
            for entry in node.entries() {
                let value = text[entry.value_span().range()].to_owned();
                let new = match entry.value() {
                    kdl::Value::Number(_) => format!("{value}1"),
                    kdl::Value::Text(_) if value.ends_with('"') => format!("{}x\"", value.trim_end_matches('"')),
                    _ => continue,
                };
                if name.starts_with("hull-gantry/") {
                    places.borrow_mut().push((name.to_owned(), entry.value_span().range(), new));
                }
            }
        }
        None
    });
    let places = places.into_inner();
    assert!(places.len() > 400, "{}", places.len());
    let mut topics = BTreeSet::new();
    // Every seventh, so that a debug build takes seconds.
    for (file, range, new) in places.iter().step_by(7) {
        let changed = boatyard(&|name, text| {
            (name == file).then(|| format!("{}{new}{}", &text[..range.start], &text[range.end..]))
        });
        let (compared, rewritten) = compare(vec![boatyard(&|_, _| None)], vec![changed]);
        assert_eq!((compared.len(), rewritten), (1, 0), "{file} {range:?} {new}");
        let changes = &compared[0].changes;
        assert_eq!(changes.len(), 1, "{file} {range:?} {new}: {changes:#?}");
        assert_eq!(changes[0].how, RecordChangeKind::Changed, "{changes:#?}");
        topics.insert(changes[0].topic);
    }
    assert!(topics.contains(&Topic::Described) && topics.contains(&Topic::Recorded), "{topics:?}");
}

/// What a shop file says otherwise than the one above it stood there before, though on one side no ledger differs.
#[test]
fn a_shop_file_is_judged_below_those_above_on_both_sides() {
    let yard = Yard::with_saw();
    yard.write("slip/shop.kdl", SHOP.replace("least-segment=240", "least-segment=300"));
    yard.write("slip/one/machine.kdl", SAW.replace("machine saw", "machine one")).commit("a slip");
    yard.write("slip/two/machine.kdl", SAW.replace("machine saw", "machine two")).commit("a second machine");
    let found = yard.wayledger(&["lint", "slip"]).out;
    assert!(found.contains("says otherwise here than in the file above"), "{found}");
    let told = compared(&yard, &["HEAD~1"]);
    assert!(!told.contains("says otherwise here"), "{told}");
}
