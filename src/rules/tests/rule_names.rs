//! A rule is named once, in its own file; everybody else asks the rule for its name. So are limits, in the table of the
//! rulebook. Other rooms see of a rule its page alone: what it works out lies in `facts`.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use crate::language::rulebook::ENTRIES;
use crate::rules::{self, RuleGroup};
use regex::Regex;

const SRC: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src");

/// Each file of the source by its path below `src`, with its text less comments. Tests may name whatever they look for.
fn sources() -> Vec<(String, String)> {
    let comment = Regex::new(r"(?m)^\s*//.*$").expect("a pattern");
    let (mut files, mut folders) = (Vec::new(), vec![PathBuf::from(SRC)]);
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("a folder of the source") {
            let path = entry.expect("a file of the source").path();
            if path.is_dir() {
                if !path.ends_with("tests") && !path.ends_with("testing") {
                    folders.push(path);
                }
            } else {
                let name = path.strip_prefix(SRC).expect("below it").to_string_lossy().replace('\\', "/");
                let text = fs::read_to_string(&path).expect("a file of the source");
                files.push((name, comment.replace_all(&text, "").into_owned()));
            }
        }
    }
    files.sort();
    files
}

/// The group and the name of the file of a rule.
fn file_of_a_rule(path: &str) -> Option<(&str, &str)> {
    let (group, file) = path.strip_prefix("rules/")?.split_once('/')?;
    Some((group, file.strip_suffix(".rs")?))
}

#[test]
fn a_rule_is_named_in_its_own_file_alone() {
    let new = Regex::new(r#"\bRuleName::new\("([^"]*)"\)"#).expect("a pattern");
    let any = Regex::new(r"\bRuleName::new\b").expect("a pattern");
    let mut named = BTreeSet::new();
    for (path, text) in sources() {
        let calls = any.find_iter(&text).count();
        let Some((_, file)) = file_of_a_rule(&path) else {
            assert_eq!(calls, 0, "{path} names a rule");
            continue;
        };
        assert!(calls <= 1, "{path} names {calls} rules");
        for name in new.captures_iter(&text).map(|found| found[1].to_string()) {
            assert_eq!(name.replace('-', "_"), file, "{path}");
            named.insert(name);
        }
    }
    // Faults of the text are named where it is read, those of the history where two states are compared.
    let others = rules::all().filter(|rule| !matches!(rule.group, RuleGroup::Text | RuleGroup::History));
    let others = others.map(|rule| rule.name.to_string());
    assert_eq!(named, others.collect());
}

/// Words of the language, or of what is shown, that are spelt like a rule or a limit.
const SPELT_ALIKE: &[(&str, &str, &str)] = &[
    ("commands/import.rs", "straightness", "a kind of survey"),
    ("facts/gauged.rs", "feeler", "a kind of gauge"),
    ("facts/gauged.rs", "straightness", "what is read"),
    ("facts/layout_write.rs", "joint-support", "a node of the language"),
    ("facts/survey.rs", "straightness", "what a survey is of"),
    ("formats/layout/holes.rs", "joint-support", "a node of the language"),
    ("judging/stops/brought.rs", "running-force", "a kind of record"),
    ("language/schema/nearest.rs", "running-force", "a kind of record"),
    ("ledger/proposed.rs", "joint-support", "a node of the language"),
    ("rules/inspection/limit_unread.rs", "running-force", "a kind of record"),
    ("ledger/describe.rs", "expansion", "a property of a beam"),
    ("ledger/describe.rs", "joint-support", "a node of the language"),
    ("ledger/describe.rs", "overtravel", "a property of a carriage"),
    ("ledger/record.rs", "straightness", "a kind of survey"),
    ("ledger/recording.rs", "running-force", "a kind of record"),
    ("ledger/rows.rs", "feeler", "a row of an inspection"),
    ("ledger/shop.rs", "straightness", "what a gauge reads"),
    ("ledger/shop_entries.rs", "expansion", "a property of a profile"),
    ("ledger/shop_entries.rs", "shim-stock", "a node of the language"),
    ("views/derived/joint.rs", "guard-band", "a number that `how` explains"),
    ("views/derived/rail.rs", "expansion", "a number that `how` explains"),
    ("views/derived/rail.rs", "gap-range", "a number that `how` explains"),
    ("views/derived/rail.rs", "height-range", "a number that `how` explains"),
    ("views/derived/rail.rs", "straightness", "a number that `how` explains"),
    ("views/readings/collect.rs", "feeler", "a kind of reading"),
    ("views/traveler/instruments.rs", "straightness", "what is read"),
    ("writing/entry/mod.rs", "running-force", "a kind of record"),
    ("writing/start/text.rs", "joint-support", "a node of the language"),
];

#[test]
fn nobody_writes_the_name_of_a_rule_or_of_a_limit_anew() {
    let names: BTreeSet<&str> =
        rules::all().map(|rule| rule.name.as_str()).chain(ENTRIES.iter().map(|entry| entry.name)).collect();
    let example = Regex::new(r##"(?s)r#".*?"#"##).expect("a pattern");
    let literal = Regex::new(r#""([a-z]+(?:-[a-z]+)*)""#).expect("a pattern");
    let own = |path: &str, name: &str| match path {
        // What is found while the text is read is named there; a limit in the table.
        "finding/names.rs" | "language/rulebook/entries.rs" => true,
        _ => file_of_a_rule(path).is_some_and(|(_, file)| file == name.replace('-', "_")),
    };
    let mut written: BTreeSet<(String, String)> = BTreeSet::new();
    for (path, text) in sources() {
        let text = example.replace_all(&text, "");
        let found = literal.captures_iter(&text).map(|found| found[1].to_string());
        written.extend(
            found.filter(|name| names.contains(name.as_str()) && !own(&path, name)).map(|name| (path.clone(), name)),
        );
    }
    let excepted: BTreeSet<(String, String)> =
        SPELT_ALIKE.iter().map(|(path, name, _)| (path.to_string(), name.to_string())).collect();
    let anew: Vec<_> = written.difference(&excepted).collect();
    assert!(anew.is_empty(), "written anew: {anew:?}");
    let needless: Vec<_> = excepted.difference(&written).collect();
    assert!(needless.is_empty(), "excepted for nothing: {needless:?}");
}

#[test]
fn other_rooms_see_of_a_rule_its_page_alone() {
    let group = r"(?:text|layout|fitting|inspection|gap|keeping)";
    let imported = Regex::new(&format!(r"\brules::{group}::([\w:{{}}, ]+)")).expect("a pattern");
    let mut seen = 0;
    for (path, text) in sources().into_iter().filter(|(path, _)| !path.starts_with("rules/")) {
        for found in imported.captures_iter(&text) {
            // A module of one rule, or its page.
            let of: Vec<&str> = found[1].trim_end_matches([':', ' ', ',']).split("::").collect();
            let is_rule = rules::named(&of[0].replace('_', "-")).is_some();
            let page = of.len() == 1 || of[1] == "RULE" || of[1].starts_with("RULE ");
            assert!(is_rule && page, "{path}: {}", &found[0]);
            seen += 1;
        }
    }
    assert!(seen > 3, "{seen}");
}
