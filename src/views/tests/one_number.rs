//! One name, one number: whatever `how` derives is what the report, its JSON, the traveler and the findings give under the
//! same name at the same address.
//!
//! The names are not listed here: every key of the report's JSON that is the name of a derived number is held against it.

use std::collections::{BTreeMap, BTreeSet};

use crate::formats::paper::markdown;
use crate::judging::lint::Judged;
use crate::ledger::Target;
use crate::rules::Case;
use crate::views::derived::quantities;
use crate::views::report::report;
use crate::views::traveler::traveler;
use serde_json::Value;

use crate::testing::machines::{Size, machine};
use crate::testing::{judge, today};

/// Every derived number by address and word, each with its unit.
fn derived(judged: &Judged) -> BTreeMap<(String, String), String> {
    let machine = &judged.ledger.machine;
    let mut targets: Vec<(String, Target)> = Vec::new();
    for (axis, of) in machine.axes.iter().enumerate() {
        targets.push((of.name.to_string(), Target::Axis(axis)));
    }
    for (id, _, rail) in machine.rails() {
        targets.push((machine.rail_address(id), Target::Rail(id)));
        for joint in 0..rail.joints.len() {
            targets.push((machine.joint_address(id, joint), Target::Joint(id, joint)));
        }
        for support in 0..rail.supports.len() {
            // The support under a joint has the joint's name, and is asked for with it.
            targets.push((machine.support_address(id, support), Target::Support(id, support)));
        }
    }
    let case = Case::new(&judged.ledger, today());
    let mut all = BTreeMap::new();
    for (address, target) in targets {
        for it in quantities(&case, target) {
            let before = all.insert((address.clone(), it.word.clone()), it.how.result.clone());
            assert!(before.is_none_or(|before| before == it.how.result), "{address} {}", it.word);
        }
    }
    all
}

/// A number of the report as text: a range is written like one.
fn told(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        Value::Array(two) if two.len() == 2 && two.iter().all(Value::is_number) => {
            Some(format!("{} to {}", two[0], two[1]))
        }
        _ => None,
    }
}

/// Every key of the report's JSON with the address that its object is about.
fn walk(value: &Value, address: &str, suffix: &str, all: &mut Vec<(String, String, String)>) {
    let Value::Object(map) = value else { return };
    let name = |key: &str| map.get(key).and_then(Value::as_str);
    for (key, value) in map {
        let word = key.replace('_', "-");
        // Those of both interfaces have one key; they are compared one by one below.
        if key == "torques" {
            continue;
        }
        // A key says what its object is about, as its groove does.
        let word = match (key.as_str(), name("groove")) {
            ("step", Some(groove)) => format!("step-{groove}"),
            ("position", None) if map.contains_key("steps") => "position".into(),
            // Of other things the place is given, and nothing is derived.
            ("position", _) => "at".into(),
            _ => format!("{word}{suffix}"),
        };
        if let Some(told) = told(value) {
            all.push((address.to_string(), word, told));
        }
        match value {
            Value::Array(list) => {
                for (number, item) in list.iter().enumerate() {
                    let own = |key: &str| item.get(key).and_then(Value::as_str);
                    let inner = match (key.as_str(), own("address"), own("support")) {
                        ("axes", ..) => own("name").unwrap_or("").to_string(),
                        (_, Some(address), _) => address.to_string(),
                        ("supports", None, Some(support)) => format!("{address}.{support}"),
                        _ => address.to_string(),
                    };
                    let suffix = if key == "blocks" { format!("-{}", number + 1) } else { String::new() };
                    walk(item, &inner, &suffix, all);
                }
            }
            Value::Object(_) => walk(value, address, "", all),
            _ => {}
        }
    }
}

/// What a rule finds, by the word of the number that it judges.
const JUDGED: [(&str, &str); 8] = [
    ("gap-local", "gap-local"),
    ("height-local", "height-local"),
    ("straightness-local", "straightness-local"),
    ("gap-range", "gap-range"),
    ("height-range", "height-range"),
    ("straightness-range", "straightness"),
    ("expansion", "expansion"),
    ("toe-in", "toe-in"),
];

/// Holds all that is told of a ledger against what is derived; gives the words that were compared.
fn compared(name: &str, judged: &Judged) -> BTreeSet<String> {
    let derived = derived(judged);
    let report = report(judged, today());
    let json = serde_json::to_value(&report).expect("JSON");
    let mut words = BTreeSet::new();
    let mut hold = |address: &str, word: &str, told: &str, by: &str| {
        if let Some(result) = derived.get(&(address.to_string(), word.to_string())) {
            assert_eq!(result, told, "{name}: {word} of {address} in {by}");
            words.insert(word.trim_end_matches(|c: char| c.is_ascii_digit() || c == '-').to_string());
        }
    };
    let mut all = Vec::new();
    walk(&json, "", "", &mut all);
    for (address, word, told) in &all {
        hold(address, word, told, "the report");
    }
    for (axis, life) in report.axes.iter().filter_map(|axis| Some((axis, axis.life.as_ref()?))) {
        for error in &life.motion {
            let zone = error.zone.map(crate::quantity::Amount::number);
            if let Some(told) = zone.or(error.angle.map(|angle| angle.to_string())) {
                hold(&axis.name, &error.name, &told, "the report's motion");
            }
        }
    }
    for rail in report.axes.iter().flat_map(|axis| &axis.rails) {
        for torques in &rail.torques {
            let before = if torques.interface == "base" { "base-" } else { "" };
            for support in &torques.supports {
                let address = format!("{}.{}", rail.address, support.support);
                for (word, range) in [("preload", support.preload), ("proof-share", support.proof_share)] {
                    if let Some((least, most)) = range {
                        hold(
                            &address,
                            &format!("{before}{word}"),
                            &format!("{least} to {most}"),
                            "the report's torques",
                        );
                    }
                }
            }
        }
        for gap in rail.gap.iter().chain(&rail.unmoved) {
            // The latest of the two is what stands.
            let range = gap.range_after.or(gap.range_before).map(crate::quantity::Amount::number);
            hold(&rail.address, &format!("{}-range", gap.kind), &range.unwrap_or_default(), "the report's gap");
            if let Some(worst) = gap.local.as_ref().and_then(|local| local.worst) {
                hold(
                    &rail.address,
                    &format!("{}-local", gap.kind),
                    &crate::quantity::Amount::number(worst),
                    "the report",
                );
            }
        }
        let local = rail.surveys.iter().filter_map(|survey| survey.local.as_ref()?.worst);
        if let Some(worst) = local.max() {
            hold(&rail.address, "straightness-local", &crate::quantity::Amount::number(worst), "the report");
        }
        // Of two planes the one in which the rail is straight the least.
        if let Some(zone) = rail.surveys.iter().filter_map(|survey| survey.zone).max() {
            hold(&rail.address, "straightness", &crate::quantity::Amount::number(zone), "the report's straightness");
        }
    }
    for finding in &judged.findings {
        let Some(found) = finding.found.as_ref().map(ToString::to_string) else { continue };
        let number = found.split(' ').next().unwrap_or("");
        if let Some((_, word)) = JUDGED.iter().find(|(rule, _)| *rule == finding.rule.as_str()) {
            hold(&finding.address, word, number, finding.rule.as_str());
        }
        // The size of a step is held against the limit.
        if finding.rule.as_str() == "joint-step" {
            let groove = finding.message.split(' ').nth(1).unwrap_or("");
            let key = (finding.address.clone(), format!("step-{groove}"));
            let step = derived.get(&key).unwrap_or_else(|| panic!("{name}: no {key:?}"));
            assert_eq!(step.trim_start_matches('-'), number, "{name}: {key:?}");
        }
        // Of all blocks the one that a rule speaks of has the least.
        let least = |words: &[&str]| {
            let all = derived.iter().filter(|((address, word), _)| {
                *address == finding.address
                    && words.iter().any(|known| word.trim_end_matches(char::is_numeric) == format!("{known}-"))
            });
            all.filter_map(|(_, result)| result.parse::<f64>().ok()).collect::<Vec<_>>()
        };
        if finding.rule.as_str() == "static-safety" && !number.is_empty() {
            let all = least(&["static-safety-nominal", "static-safety-as-measured"]);
            assert!(all.contains(&number.parse().expect("a safety")), "{name}: {all:?} {number}");
        }
        if finding.rule.as_str() == "rated-life" && !number.is_empty() {
            let all = least(&["life-nominal", "life-as-measured"]);
            assert!(all.contains(&number.parse().expect("a life")), "{name}: {all:?} {number}");
        }
    }
    for axis in 0..judged.ledger.machine.axes.len() {
        let paper = markdown::markdown(&traveler(judged, axis, today(), false));
        for ((address, word), _) in derived.iter().filter(|((_, word), _)| word == "shim-needed") {
            // The traveler names those that get a shim: support, asked for, leaves, in all.
            let name = address.rsplit('.').next().unwrap_or("");
            let rail = address.trim_end_matches(name).trim_end_matches('.');
            let section = paper.split("## ").find(|section| section.starts_with(&format!("Shim rail {rail}")));
            let section = section.filter(|section| section.contains("Asked for (mm)"));
            let rows = section.unwrap_or("").lines().filter(|line| line.starts_with('|'));
            for row in rows.map(|row| row.split('|').map(str::trim).collect::<Vec<_>>()) {
                if row.get(1) == Some(&name) {
                    hold(address, word, row.get(2).copied().unwrap_or(""), "the traveler");
                }
            }
        }
    }
    words
}

/// Ledgers of the examples, with their own shop file.
pub(super) fn examples() -> Vec<(String, Judged)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    let read = |path: &std::path::Path| std::fs::read_to_string(path).expect("it is read");
    let mut all = Vec::new();
    for machine in walkdir::WalkDir::new(&root).sort_by_file_name() {
        let machine = machine.expect("it is read").into_path();
        if machine.file_name().is_none_or(|name| name != "machine.kdl") {
            continue;
        }
        let folder = machine.parent().expect("a folder");
        let texts: Vec<(String, String)> = walkdir::WalkDir::new(folder)
            .sort_by_file_name()
            .into_iter()
            .map(|file| file.expect("it is read").into_path())
            .filter(|file| {
                file.extension().is_some_and(|it| it == "kdl") && file.file_name().is_some_and(|it| it != "shop.kdl")
            })
            .filter_map(|file| {
                Some((file.file_name()?.to_string_lossy().into_owned(), std::fs::read_to_string(&file).ok()?))
            })
            .collect();
        let files: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let shop = folder.ancestors().map(|folder| folder.join("shop.kdl")).find(|shop| shop.exists());
        let shop: Vec<String> = shop.iter().map(|shop| read(shop)).collect();
        let shops: Vec<&str> = shop.iter().map(String::as_str).collect();
        let name = folder.strip_prefix(&root).map_or(String::new(), |name| name.display().to_string());
        all.push((name, judge(&files, &shops)));
    }
    all
}

#[test]
fn how_report_findings_and_traveler_tell_one_number() {
    let mut words = BTreeSet::new();
    let examples = examples();
    assert!(examples.len() > 60, "{} examples", examples.len());
    for (name, judged) in &examples {
        words.extend(compared(name, judged));
    }
    for seed in 0..12 {
        let written = machine(seed, &Size { supports: 5..=16, ..Size::default() });
        let files: Vec<(&str, &str)> =
            written.files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        words.extend(compared(&format!("seed {seed}"), &judge(&files, &[&written.shop])));
    }
    words.extend(compared("all at once", &judge(&[("machine.kdl", EVERYTHING)], &[])));
    let missing: Vec<&str> = EACH.into_iter().filter(|word| !words.contains(*word)).collect();
    assert!(missing.is_empty(), "never compared: {missing:?} of {words:?}");
}

/// Numbers that at least one of the ledgers must show in two places, so that the test cannot pass by comparing none.
const EACH: [&str; 25] = [
    "EYX",
    "ECX",
    "step-UL",
    "step-UR",
    "step-LL",
    "step-LR",
    "position",
    "height-offset",
    "side-offset",
    "twist-pattern",
    "size-pattern",
    "preload",
    "proof-share",
    "gap-range",
    "height-range",
    "gap-local",
    "height-local",
    "straightness",
    "straightness-local",
    "shim-needed",
    "static-safety-nominal",
    "static-safety-as-measured",
    "life-nominal",
    "life-as-measured",
    "mean-load-as-measured",
];

/// Repeats whose means are no round numbers, a gauge that counts inward, a slanted stylus, scattered torques.
const EVERYTHING: &str = r#"
shop {
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.005 local-error=0.003 plus=inward
    gauge LA-1 kind=laser graduation=0.001 permissible-error=0.005 plus=right
    wrench TW-2 kind=indicating least=4 most=25 graduation=0.1 permissible-error=(%)4
    shim-stock { leaf 0.02; leaf 0.05 }
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=inward { stock 1200 2400 }
    block B20 length=80 C=(kN)18.1 C0=(kN)29.5 stiffness=310 lateral-stiffness=240
    fastener strong thread=M6 class="12.9" head=button into=steel { friction 0.11 0.137 }
}
machine m {
    axis X {
        run from=0 to=3600
        stroke from=300 to=3300
        rail a profile=R20 rail-bolt=strong {
            segment 1200; segment 2400
            supports S first=120 pitch=240 count=15 length=80 { omit S5 S6 }
            joint-support J1 at=1200 length=280
        }
        rail b profile=R20 follows=a shims=widen rail-bolt=strong {
            segment 1260; segment 2340
            supports S first=120 pitch=240 count=15 length=80 { omit S5 S6 }
            joint-support J1 at=1260 length=280
        }
        carriage length=400 mass=80 acceleration=1.7 {
            block a at=-150 type=B20
            block a at=150 type=B20
            block b at=-150 type=B20
            block b at=150 type=B20
            track a y=-300
            track b y=300
            load (N)2000 x=100
        }
    }
}
fasten X.a date="2026-04-14T09:00" by=fitter-2 wrench=TW-2 stage=full { at S1 10.37 10.61; at S2 10.1 10.9 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 stylus=vertical {
    UL -0.04 -> -0.01 -0.04 -> -0.009 -0.04 -> -0.01
    UR 0.01 -> 0.02
    LL 0 -> -0.01
    LR 0.02 -> 0.01
}
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=verification {
    at S1 0 0.001 0.001
    at S7 0.031 0.032
    at S15 0
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted {
    at S1 0 0.001 0.001
    at S2 -0.03
    at S7 -0.081 -0.082 -0.082
    at S15 0
}
"#;
