//! Whatever names a limit of an axis names the one that the lint judges it by; where a seal holds another limit than
//! today's, both are said.
//!
//! Every entry of the rulebook is gone through, so that a new one joins by itself.

use std::collections::BTreeSet;
use std::path::Path as RealPath;

use serde_json::Value;
use wayledger::amounts::Moment;
use wayledger::files::Path;
use wayledger::lint::{Case, Finding, Judged, LIMITS, LimitEntry, LimitType, before_release, rule, rules};
use wayledger::model::{Ledger, TextFile};
use wayledger::papers::{Fleet, report};
use wayledger::records::{Sealing, release};

use crate::common::program::run;
use crate::common::{judge, today};

fn file(name: &str, text: &str) -> TextFile {
    TextFile::read(Path(name.into()), text.as_bytes().to_vec())
}

/// The release of the first axis of a ledger.
fn released(files: &[(&str, &str)], shops: &[&str]) -> String {
    let files = files.iter().map(|(name, text)| file(name, text)).collect();
    let shops: Vec<TextFile> = shops.iter().map(|text| file("shop.kdl", text)).collect();
    let ledger = Ledger::new(Path("m".into()), files, &shops);
    release(&ledger, 0, &Sealing::new(Moment::read("2026-04-20").expect("a date"), "engineer-1")).text()
}

/// A value of each entry that nothing else in any output looks like. The word of a choice is any but the default for the
/// first set, and the default for all others.
fn value(at: usize, entry: &LimitEntry, set: u32) -> String {
    match entry.holds {
        LimitType::Choice(words) => words[usize::from(set == 1)].to_string(),
        LimitType::Count => format!("{}{}", 41_000 + 100 * set, at + 10),
        LimitType::Amount(_) if entry.is_part() => format!("0.{set}{}3", at + 10),
        LimitType::Amount(_) => format!("{set}.{}3", at + 10),
    }
}

/// A rulebook with its own value of every entry.
fn rulebook(set: u32, reason: &str) -> String {
    let line = |(at, entry): (usize, &LimitEntry)| {
        let value = value(at, entry, set);
        let name = entry.name;
        match entry.holds {
            LimitType::Choice(_) => format!("{name} is={value} reason=\"{reason}\""),
            // A window, whose lower end is of no interest here.
            _ if entry.least.is_some() && entry.most.is_some() => {
                format!("{name} least=0.5 most={value} reason=\"{reason}\"")
            }
            _ if entry.least.is_some() || LEAST.contains(&name) => format!("{name} least={value} reason=\"{reason}\""),
            _ if entry.is_local() => format!("{name} most={value} over=400 reason=\"{reason}\""),
            _ => format!("{name} most={value} reason=\"{reason}\""),
        }
    };
    let lines: Vec<String> = LIMITS.iter().enumerate().map(line).collect();
    format!("rulebook {{\n    {}\n}}", lines.join("\n    "))
}

/// Entries without a default that are lower limits.
const LEAST: [&str; 4] = ["stagger", "seam-clearance", "segment-length", "static-safety"];

/// As an entry is printed.
fn printed(at: usize, entry: &LimitEntry, set: u32) -> String {
    let value = value(at, entry, set);
    let unit = match entry.holds {
        LimitType::Amount(dimension) => dimension.plain_unit(),
        LimitType::Count => "",
        LimitType::Choice(_) => return value,
    };
    let text = match entry {
        _ if entry.least.is_some() && entry.most.is_some() => format!("0.5 to {value} {unit}"),
        _ if entry.least.is_some() || LEAST.contains(&entry.name) => format!("at least {value} {unit}"),
        _ if entry.is_local() => format!("at most {value} {unit} over 400 mm"),
        _ => format!("at most {value} {unit}"),
    };
    text.trim_end().to_string()
}

/// The sealed source of an entry beside today's.
fn both(at: usize, entry: &LimitEntry, sealed: (u32, &str), now: (u32, &str)) -> String {
    format!(
        "{}; as sealed with the release of 2026-04-20, whereas today's is {} ({})",
        sealed.1,
        printed(at, entry, now.0),
        now.1
    )
}

/// What the shop states is of no axis: it is judged by the limits of today, whatever was sealed.
const OF_THE_SHOP: &[&str] = &[
    "error-graduations",
    "local-error-share",
    "range-graduations",
    "dial-graduations",
    "wrench-error",
    "wrench-span",
    "window-span",
    "bolt-friction",
    "leaf-thickness",
    "load-ratings",
    "block-length",
    "dynamic-rating",
    "rating-share",
    "block-preload",
];

const SHOP: &str = r#"
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.003 local-error=0.002 plus=outward { calibrated "2026-01-12" due="2027-01-12" }
    gauge DI-6 kind=dial-indicator graduation=0.002 permissible-error=0.003 local-error=0.002 plus=wider { calibrated "2026-01-12" due="2027-01-12" }
    wrench TW-2 kind=indicating least=0.4 most=40 graduation=0.1 { calibrated "2026-02-02" due="2027-02-02" }
    profile R20 hole-pitch=60 end-distance=30 contact=outward { stock 1200 }
    fastener rail-bolt thread=M6 class="10.9" head=socket-cap into=steel { friction 0.12 0.14 }
    shim-stock { leaf 0.5; leaf 1; leaf 5 }
"#;

fn machine(name: &str, rulebook: &str) -> String {
    format!(
        r#"machine {name} {{
    {rulebook}
    axis X {{
        run from=0 to=2400
        stroke from=100 to=2300
        beam base {{ piece 1000; piece 1400 }}
        rail left beam=base profile=R20 datum=left rail-bolt=rail-bolt {{
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 {{ omit S5 }}
            joint-support J1 at=1200 length=200
        }}
        rail right beam=base profile=R20 datum=right follows=left shims=widen rail-bolt=rail-bolt {{
            segment 1140
            segment 1260
            supports S first=240 pitch=240 count=9 length=80 {{ omit S5 }}
            joint-support J1 at=1140 length=200
        }}
        carriage length=300 {{ block left at=100 length=60; block left at=-100 length=60; block right at=100 length=60; block right at=-100 length=60 }}
    }}
}}
"#
    )
}

/// Steps, torques and gaps beyond every limit that is set here.
const RECORDS: &str = r#"
fasten X.left date="2026-04-13" by=fitter-2 wrench=TW-2 stage=snug { at S1 30.5 0.2 }
fasten X.left date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full { at S1 30.5 0.2 }
inspect X.left.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light seen; feeler 7; UL 0 -> 9; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
survey gap X.right date="2026-04-16" by=inspector-1 gauge=DI-6 temperature=20 stage=as-fitted { at S1 0; at S2 -9; at S9 -7; closure S1 4 }
survey straightness X.left date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 9; at S9 0 }
running-force X date="2026-04-17" by=inspector-1 { at 200 14 }
"#;

/// Three machines of one shop: `kept`, released under limits of the shop that are others today; `own`, whose own limits
/// were changed since; `fresh`, not released. `first` and `now` are the sets of limits then and today.
fn fleet(folder: &RealPath, first: u32, now: u32) {
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        std::fs::write(path, text).expect("written");
    };
    let shop = |set: u32, reason: &str| format!("shop yard {{{SHOP}{}\n}}\n", rulebook(set, reason));
    let then = shop(first, "then at the shop");
    write("shop.kdl", &shop(now, "now at the shop"));
    for name in ["kept", "own", "fresh"] {
        let (before, after) = match name {
            "own" => (machine(name, &rulebook(first, "then here")), machine(name, &rulebook(now, "now here"))),
            _ => (machine(name, ""), machine(name, "")),
        };
        write(&format!("{name}/machine.kdl"), &after);
        write(&format!("{name}/a.kdl"), RECORDS);
        if name != "fresh" {
            let release = released(&[("m/a.kdl", RECORDS), ("m/machine.kdl", &before)], &[&then]);
            write(&format!("{name}/release.kdl"), &release);
        }
    }
}

/// Each machine that is judged by a seal, with the words of its sources then and now.
const SEALED: [(&str, &str, &str); 2] = [
    ("kept", "set by the shop: then at the shop", "set by the shop: now at the shop"),
    ("own", "set by the machine: then here", "set by the machine: now here"),
];

/// The entries that a seal holds, with their places in the list.
fn limits() -> impl Iterator<Item = (usize, &'static LimitEntry)> {
    LIMITS.iter().enumerate().filter(|(_, entry)| !entry.is_of_today())
}

fn said(folder: &RealPath, arguments: &[&str]) -> String {
    let (out, err, code) = run(folder, &[arguments, &["--today", "2026-11-01"]].concat());
    assert!(matches!(code, Some(0 | 1)), "{arguments:?}: {err}");
    out
}

/// Where a number stands in a text by itself, and not as a part of a longer one.
fn alone<'t>(text: &'t str, number: &'t str) -> impl Iterator<Item = usize> + 't {
    text.match_indices(number).map(|(at, _)| at).filter(move |at| {
        let before = text[..*at].chars().next_back().is_some_and(|c| c.is_ascii_digit() || c == '.');
        !before && !text[at + number.len()..].starts_with(|c: char| c.is_ascii_digit())
    })
}

#[test]
fn every_command_names_the_limits_that_apply_and_todays_beside_them() {
    // The shop and the machine tightened, and loosened.
    for (first, now) in [(1, 3), (1, 2), (3, 2)] {
        let folder = tempfile::tempdir().expect("a folder");
        let folder = folder.path();
        fleet(folder, first, now);
        in_force(folder, first, now);
        reports(folder, first, now);
        tables(folder, first, now);
        nothing_else(folder, first, now);
    }
}

/// `rules --in-force`: today's limit, and below it by what the axis is judged.
fn in_force(folder: &RealPath, first: u32, now: u32) {
    for (name, then, today) in SEALED {
        let out = said(folder, &["rules", "--in-force", name]);
        for (at, entry) in limits().filter(|(at, entry)| value(*at, entry, first) != value(*at, entry, now)) {
            let section = out.split('\n').skip_while(|line| !line.starts_with(&format!("{}: ", entry.name)));
            let section: Vec<&str> =
                section.take_while(|line| !line.starts_with("due-soon") || line.is_empty()).take(6).collect();
            let section = section.join("\n");
            let judged =
                format!("    axis X is judged by: {}\n    sealed at {name}/release.kdl:", printed(at, entry, first));
            assert!(section.contains(&judged), "{name} {}:\n{section}", entry.name);
            assert!(
                section.contains(&both(at, entry, (first, then), (now, today))),
                "{name} {}:\n{section}",
                entry.name
            );
        }
        let sections = out.matches("axis X is judged by").count();
        let others = limits().filter(|(at, entry)| value(*at, entry, first) != value(*at, entry, now)).count();
        assert_eq!(sections, others, "{name}");
    }
    assert!(!said(folder, &["rules", "--in-force", "fresh"]).contains("judged by"));
}

/// The report of one machine and of all, in every format.
fn reports(folder: &RealPath, first: u32, now: u32) {
    let all: Value = serde_json::from_str(&said(folder, &["report", ".", "--format", "json"])).expect("JSON");
    let of_fleet = all["sealed_limits"].as_array().expect("a list");
    assert!(of_fleet.iter().all(|limit| limit["path"] != "fresh"));
    let papers: Vec<(&str, String)> = ["text", "markdown", "html"]
        .map(|format| (format, said(folder, &["report", ".", "--format", format])))
        .to_vec();
    let plain = |text: &str| text.replace("&#39;", "'").replace("&apos;", "'").replace('\\', "");
    for (name, then, today) in SEALED {
        let one: Value = serde_json::from_str(&said(folder, &["report", name, "--format", "json"])).expect("JSON");
        let own: Vec<(&str, String)> = ["text", "markdown", "html"]
            .map(|format| (format, said(folder, &["report", name, "--format", format])))
            .to_vec();
        for (at, entry) in LIMITS.iter().enumerate() {
            let find = |named: &str| one["limits"].as_array().expect("a list").iter().find(|it| it["entry"] == *named);
            assert_eq!(find(entry.name).expect("today's")["limit_text"], printed(at, entry, now), "{}", entry.name);
            let sealed = find(&format!("{} for axis X", entry.name));
            if entry.is_of_today() || value(at, entry, first) == value(at, entry, now) {
                assert!(sealed.is_none(), "{}", entry.name);
                continue;
            }
            let sealed = sealed.expect("the seal's");
            let source = both(at, entry, (first, then), (now, today));
            assert_eq!((&sealed["limit_text"], &sealed["axis"]), (&printed(at, entry, first).into(), &"X".into()));
            assert_eq!(sealed["limit_source"], source.as_str());
            let row = of_fleet.iter().find(|it| it["path"] == name && it["entry"] == sealed["entry"]);
            let row = row.unwrap_or_else(|| panic!("the fleet lacks {} of {name}", entry.name));
            assert_eq!(
                (&row["limit_text"], &row["limit_source"], &row["axis"]),
                (&sealed["limit_text"], &sealed["limit_source"], &"X".into())
            );
            for (format, paper) in papers.iter().chain(&own) {
                let paper = plain(paper);
                assert!(paper.contains(&source), "{name} {}: {format} lacks {source}", entry.name);
            }
        }
        // The axis itself shows what it is judged by.
        let axis = &one["axes"][0];
        let of = |entry: &str| {
            value(
                LIMITS.iter().position(|it| it.name == entry).expect("an entry"),
                LIMITS.iter().find(|it| it.name == entry).expect("an entry"),
                first,
            )
        };
        assert_eq!(axis["rails"][0]["joints"][0]["most_step"], of("joint-step").as_str());
        assert_eq!(axis["rails"][0]["torques"][0]["most"], of("full-torque").as_str());
        assert_eq!(axis["rails"][0]["surveys"][0]["most"], of("straightness").as_str());
        assert_eq!(axis["rails"][1]["gap"]["most"], of("gap-range").as_str());
        assert_eq!(axis["running_force"]["most"], of("running-force").as_str());
    }
}

/// The table of readings.
fn tables(folder: &RealPath, first: u32, now: u32) {
    let out = said(folder, &["export", ".", "--format", "jsonl"]);
    let mut seen = BTreeSet::new();
    for line in out.lines() {
        let row: Value = serde_json::from_str(line).expect("JSON");
        let (what, stage) = (row["quantity"].as_str().expect("text"), row["stage"].as_str().expect("text"));
        let name = match (what, stage) {
            ("step", _) => "joint-step",
            ("torque", "full") => "full-torque",
            ("torque", "snug") => "snug-torque",
            _ => continue,
        };
        let at = LIMITS.iter().position(|entry| entry.name == name).expect("an entry");
        let ledger = row["ledger"].as_str().expect("text");
        match SEALED.iter().find(|(name, ..)| *name == ledger) {
            Some((_, then, today)) => {
                assert_eq!(row["limit_text"], printed(at, &LIMITS[at], first), "{line}");
                assert_eq!(row["limit_source"], both(at, &LIMITS[at], (first, then), (now, today)), "{line}");
            }
            None => {
                assert_eq!(row["limit_text"], printed(at, &LIMITS[at], now), "{line}");
                assert_eq!(row["limit_source"], "set by the shop: now at the shop", "{line}");
            }
        }
        seen.insert((ledger.to_string(), name));
    }
    assert_eq!(seen.len(), 9, "{seen:?}");
}

/// No other output names a limit of today for a released axis, unless as today's beside the sealed one.
fn nothing_else(folder: &RealPath, first: u32, now: u32) {
    let mut named = 0;
    for (name, ..) in SEALED {
        let commands: Vec<Vec<&str>> = vec![
            vec!["lint", name, "--all"],
            vec!["lint", name, "--format", "json"],
            vec!["lint", name, "--format", "sarif"],
            vec!["lint", name, "--format", "github"],
            vec!["lint", name, "--format", "gitlab"],
            vec!["export", name],
            vec!["traveler", "X", "--ledger", name],
            vec!["traveler", "X", "--ledger", name, "--format", "html"],
            vec!["shims", "X", "--ledger", name],
            vec!["how", "X.left", "torque-allowed", "--ledger", name],
            vec!["how", "X.left.J1", "guard-band", "--ledger", name],
            vec!["how", "X.left.J1", "stagger-slack", "--ledger", name],
            vec!["how", "X.left.J1", "seam-slack", "--ledger", name],
            vec!["how", "X.left.J1", "meeting-slack", "--ledger", name],
        ];
        for command in commands {
            let (out, err, _) = run(folder, &[&command[..], &["--today", "2026-11-01"]].concat());
            // Wherever lines are broken.
            let text = format!("{out}{err}").split_whitespace().collect::<Vec<_>>().join(" ");
            let (mut sealed, mut today) = (0, 0);
            let of_axes = |entry: &LimitEntry| !OF_THE_SHOP.contains(&entry.name);
            for (at, entry) in
                limits().filter(|(_, entry)| !matches!(entry.holds, LimitType::Choice(_)) && of_axes(entry))
            {
                sealed += alone(&text, &value(at, entry, first)).count();
                let other = value(at, entry, now);
                for found in alone(&text, &other) {
                    today += 1;
                    let before: String =
                        text[..found].chars().rev().take(48).collect::<Vec<_>>().into_iter().rev().collect();
                    assert!(before.contains("whereas today"), "{command:?} names {} {other}: {before}", entry.name);
                }
            }
            assert!(sealed > 0 && today > 0, "{command:?}: {sealed} {today}: {text}");
            named += sealed;
        }
    }
    assert!(named > 60, "{named}");
}

/// Where a rule's own example is not about an entry of its, one that is.
const MORE: [(&str, &str); 5] = [
    (
        "gauge-calibration",
        r#"shop { gauge DI-4 { calibrated "2025-01-13" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none }
"#,
    ),
    (
        "gauge-calibration",
        r#"shop { wrench TW-1 { calibrated "2026-01-13" cycles=0; cycles 6000 on="2026-04-10" } }
machine m { axis X { rail a { support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
"#,
    ),
    (
        "light-through-joint",
        r#"machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; feeler 0.06 }
"#,
    ),
    (
        "joint-support",
        r#"machine m { axis X { rail a { segment 1200; segment 1200; joint-support J1 at=1208 length=200 } } }
"#,
    ),
    (
        "length-mismatch",
        r#"machine m { axis X { rail a { segment 1200 serial=K-1; segment 1200 } } }
receive date="2026-04-01" by=store-1 { part serial=K-1 length=1203 }
"#,
    ),
];

/// What each rule finds in its own example, released, by the limits that were in force then.
struct Example {
    rule: &'static str,
    text: String,
    release: String,
}

impl Example {
    fn judge(&self, text: &str, release: &str, shop: &str) -> Vec<Finding> {
        let judged = judge(&[("machine.kdl", text), ("release.kdl", release)], &[shop]);
        judged.findings.into_iter().filter(|finding| finding.rule.as_str() == self.rule).collect()
    }

    /// The text and a shop file in which an entry has another value today.
    fn changed(&self, entry: &LimitEntry, value: &str) -> (String, String) {
        let word = if matches!(entry.holds, LimitType::Choice(_)) { "is" } else { "most" };
        for word in [word, "least"] {
            let stated = format!("{} {word}=", entry.name);
            if let Some(at) = self.text.find(&stated) {
                let from = at + stated.len();
                let to = from + self.text[from..].find(' ').expect("a reason behind it");
                return (format!("{}{value}{}", &self.text[..from], &self.text[to..]), String::new());
            }
        }
        let lower = entry.least.is_some() || LEAST.contains(&entry.name);
        let parts = match entry.holds {
            LimitType::Choice(_) => format!("is={value}"),
            _ if lower && entry.most.is_some() => format!("least={value} most={value}"),
            _ if lower => format!("least={value}"),
            _ => format!("most={value}"),
        };
        (self.text.clone(), format!("shop {{ rulebook {{ {} {parts} reason=\"another day\" }} }}", entry.name))
    }
}

/// Every rule judges its released example as on the day of the release, whichever entry of its is tightened or loosened
/// since, and says so where it names that entry.
#[test]
fn every_rule_judges_a_released_axis_by_its_seal_and_says_so() {
    let mut named: BTreeSet<&str> = BTreeSet::new();
    let mut told_apart: BTreeSet<&str> = BTreeSet::new();
    let own = rules().map(|rule| (rule, rule.wrong));
    let more = MORE.iter().map(|(name, text)| (rule(name).expect("a rule"), *text));
    // What a limit of today may be is no question where all is judged by a seal; and what the shop states is of no axis, so
    // that no seal holds its limits.
    let today_alone =
        ["limit-loosened", "instrument-implausible", "fastener-implausible", "leaf-implausible", "block-implausible"];
    let judges_today = |rule: &wayledger::lint::Rule| today_alone.contains(&rule.name.as_str());
    let with_limits = own.chain(more).filter(|(rule, _)| !rule.limits.is_empty() && !judges_today(rule));
    for (rule, text) in with_limits.filter(|(_, text)| !text.contains("\nrelease ")) {
        let release = released(&[("m/machine.kdl", text)], &[""]);
        let example = Example { rule: rule.name.as_str(), text: text.to_string(), release };
        let then = example.judge(text, &example.release, "");
        assert!(!then.is_empty(), "{} finds nothing in its released example", rule.name);
        for name in rule.limits {
            let entry = name.entry();
            if entry.is_of_today() {
                continue;
            }
            let values: &[&str] = match entry.holds {
                LimitType::Choice(words) => words,
                LimitType::Count => &["1", "9000"],
                LimitType::Amount(_) => &["0.0001", "9000"],
            };
            for value in values {
                let (changed, shop) = example.changed(entry, value);
                let now = example.judge(&changed, &example.release, &shop);
                let plain = |all: &[Finding]| -> Vec<String> {
                    let line = |it: &Finding| {
                        let limit = it.limit.as_ref().map(|limit| &limit.text);
                        format!("{:?} {} {} {:?} {limit:?} {}", it.grade, it.address, it.message, it.found, it.next)
                    };
                    all.iter().map(line).collect()
                };
                assert_eq!(plain(&now), plain(&then), "{} after {name} became {value}", rule.name);
                let open = plain(&example.judge(&changed, "", &shop));
                if open != plain(&example.judge(text, "", "")) {
                    told_apart.insert(name.word());
                    for finding in &now {
                        let Some(limit) = finding.limit.as_ref().filter(|limit| limit.entry == Some(name.word()))
                        else {
                            continue;
                        };
                        named.insert(name.word());
                        assert!(
                            limit.source.contains("as sealed with the release of 2026-04-20, whereas today's is "),
                            "{} {limit:?}",
                            rule.name
                        );
                    }
                }
            }
        }
    }
    let judged_by = |entry: &&LimitEntry| rules().any(|rule| !judges_today(rule) && rule.limits.contains(&entry.limit));
    let all: BTreeSet<&str> = limits().map(|(_, entry)| entry).filter(judged_by).map(|entry| entry.name).collect();
    let silent: Vec<&&str> = all.difference(&told_apart).collect();
    assert!(silent.is_empty(), "no example depends on {silent:?}: add one to MORE");
    assert!(named.len() * 3 > all.len() * 2, "{named:?} of {all:?}");
}

const SAW: &str = r#"
machine saw { axis X { rail a { segment 600; segment 600; joint-support J1 at=600 length=140 } } }
"#;

const STEP: &str = "inspect X.a.J1 date=\"2026-04-15\" by=inspector-1 { light none; UL 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\n";

/// The yield counts a joint by the limit that its page judges it by.
#[test]
fn the_first_pass_yield_is_by_the_limits_that_apply() {
    let tight = "shop { rulebook { joint-step most=0.015 reason=\"finer work\" } }";
    let sealed = released(&[("m/machine.kdl", SAW), ("m/a.kdl", STEP)], &[""]);
    let strict = released(&[("m/machine.kdl", SAW), ("m/a.kdl", STEP)], &[tight]);
    let conforming = |release: &str, shop: &str| {
        let judged = judge(&[("machine.kdl", SAW), ("a.kdl", STEP), ("release.kdl", release)], &[shop]);
        let mut fleet = Fleet::new(today());
        fleet.add(&judged, today());
        let fleet = serde_json::to_value(&fleet).expect("JSON");
        let number = |value: &Value| value.as_u64().expect("a number");
        let steps = fleet["step_shares"].as_array().expect("a list");
        let beyond = steps.last().map_or(0, |share| number(&share["count"]));
        assert_eq!(number(&fleet["first_pass"]["joints_inspected"]), 1);
        let conforming = number(&fleet["first_pass"]["conforming"]);
        // The steps of the same page are shares of the same limit.
        assert_eq!(beyond, 1 - conforming);
        conforming == 1
    };
    assert!(conforming("", "") && !conforming("", tight));
    assert!(conforming(&sealed, tight), "released when 0.02 was asked for");
    assert!(!conforming(&strict, ""), "released under 0.015");
}

/// How far ahead something is mentioned is asked of today's rulebook: a seal of old that holds it sets nothing.
#[test]
fn due_soon_is_todays_under_a_seal_too() {
    let folder = RealPath::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).expect("readable");
    let mut files: Vec<(String, String)> = std::fs::read_dir(folder.join("plank-planer"))
        .expect("the example is there")
        .map(|entry| entry.expect("listed").file_name().to_string_lossy().into_owned())
        .map(|name| (name.clone(), read(&format!("plank-planer/{name}"))))
        .collect();
    files.sort();
    // A seal of long ago holds the horizon.
    let limit = "fact \"running-force none\"";
    assert_eq!(files.iter().filter(|(_, text)| text.contains(limit)).count(), 1, "the seal of the example");
    for (_, text) in &mut files {
        *text = text.replace(limit, &format!("fact \"due-soon most\" \"30\"\n        {limit}"));
    }
    let soon = |days: &str| -> (Vec<String>, Judged) {
        let shop = format!("shop {{ rulebook {{ due-soon most={days} reason=\"planning\" }} }}");
        let all: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let judged = judge(&all, &[&read("shop.kdl"), &shop]);
        let due = judged.findings.iter().filter(|it| it.by_date && it.address == "X");
        (due.map(|it| it.message.clone()).collect(), judged)
    };
    let (few, _) = soon("1");
    let (many, judged) = soon("900");
    assert!(many.len() > few.len(), "{few:?} {many:?}");
    let report = serde_json::to_value(report(&judged, today())).expect("JSON");
    let dues = report["axes"][0]["dues"].as_array().expect("a list");
    assert!(dues.iter().any(|due| due["standing"] == "soon"), "{dues:?}");
    // And a seal written now leaves it out.
    assert!(!released(&[("m/machine.kdl", SAW)], &[""]).contains("due-soon"));
}

/// One wrench, two axes: the calibration of each record is asked by the limits of its own axis, and none is lost.
#[test]
fn an_instrument_is_judged_by_the_axis_it_was_used_on() {
    let machine = r#"
shop { gauge DI-1 { calibrated "2025-08-01" } }
machine saw {
    axis X { rail a { segment 600; segment 600 } }
    axis Y { rail b { segment 600; segment 600 } }
}
"#;
    let of =
        |joint: &str, day: &str| format!("inspect {joint} date=\"{day}\" by=inspector-1 gauge=DI-1 {{ light none }}\n");
    let (x, y) = (of("X.a.J1", "2026-04-15"), of("Y.b.J1", "2026-04-16"));
    let short = "shop { rulebook { calibration-months most=6 reason=\"harsh shop\" } }";
    let release = released(&[("m/machine.kdl", machine), ("m/a.kdl", &format!("{x}{y}"))], &[""]);
    for records in [format!("{x}{y}"), format!("{y}{x}")] {
        let judged = judge(&[("machine.kdl", machine), ("a.kdl", &records), ("release.kdl", &release)], &[short]);
        let found: Vec<&str> = judged
            .findings
            .iter()
            .filter(|it| it.rule.as_str() == "gauge-calibration")
            .map(|it| it.address.as_str())
            .collect();
        assert_eq!(found, ["Y.b.J1"], "{:#?}", judged.findings);
        let report = serde_json::to_value(report(&judged, today())).expect("JSON");
        assert_eq!(report["instruments"][0]["uncalibrated_uses"], serde_json::json!(["2026-04-16"]));
    }
}

/// Released again, an axis is looked at by today's limits: those of the earlier seal are what a new release replaces.
#[test]
fn a_new_release_is_by_the_limits_of_today() {
    let tight = "shop { rulebook { joint-step most=0.015 reason=\"finer work\" } }";
    let sealed = released(&[("m/machine.kdl", SAW), ("m/a.kdl", STEP)], &[""]);
    let judged = judge(&[("machine.kdl", SAW), ("a.kdl", STEP), ("release.kdl", &sealed)], &[tight]);
    assert!(judged.findings.iter().all(|it| it.rule.as_str() != "joint-step"));
    let case = Case::new(&judged.ledger, today());
    let against = before_release(&case, 0, "engineer-2");
    let step = against.iter().find(|it| it.rule.as_str() == "joint-step").expect("0.018 is beyond 0.015");
    assert_eq!(step.limit.as_ref().map(|limit| limit.text.as_str()), Some("at most 0.015 mm"));
}
