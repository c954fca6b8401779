//! The formats that review pages read: SARIF against the published schema (as the `serde-sarif` package ships it),
//! GitHub's commands read back as its runner reads them, GitLab's report by its documented keys; and ledgers whose
//! names try to break out of each.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use wayledger::format::{FINDINGS_FORMATS, FindingsWriter, OutputOptions, OutputTotals, Style};
use wayledger::lint::{Conceded, Finding, Grade, Judged};

use crate::common::judge;
use crate::common::locked::package;
use crate::fuzz::lint::pieces;

/// Names with everything that means something to one of the formats, a terminal or a reader of the page.
const HOSTILE: &str =
    "50% off\n::error file=x::injected,a:b\r##[warning]\u{1b}[31m\u{202e}\"'<b>[here](https://example.org){0}\\";

/// `HOSTILE` as a KDL string.
fn hostile_in_kdl() -> String {
    let mut text = String::from("\"");
    for c in HOSTILE.chars() {
        match c {
            '"' => text.push_str("\\\""),
            '\\' => text.push_str("\\\\"),
            c if c.is_control() || c == '\u{202e}' => text.push_str(&format!("\\u{{{:x}}}", c as u32)),
            c => text.push(c),
        }
    }
    text + "\""
}

/// A ledger with findings at hostile addresses, in a hostile file, one of them under a concession.
fn hostile() -> Judged {
    let name = hostile_in_kdl();
    let machine = format!(
        "machine m {{\n    axis X {{\n        rail {name} profile={name} {{ segment 1200; segment 1200 }}\n        \
         rail {name} {{ segment 1200 }}\n    }}\n}}\n"
    );
    let records = format!(
        "inspect X.{} date=\"2026-04-15\" by={name} {{ UL 0 -> 0.03 }}\n{name} 1\nfasten Y date=\"2026-04-15\" by=a\n",
        "port.J1"
    );
    let mut judged = judge(&[("machine.kdl", &machine), ("day %0A,\n::x:\u{202e} 1.kdl", &records)], &[]);
    assert!(judged.findings.iter().any(|finding| finding.message.contains("50% off")), "{:#?}", judged.findings);
    let conceded = judged.findings.last_mut().unwrap();
    let place = conceded.at.place;
    conceded.conceded =
        Some(Conceded { place, by: HOSTILE.into(), reason: HOSTILE.into(), until: Some("2026-12-01".into()) });
    judged
}

fn sarif_of(judged: &[Judged]) -> Value {
    let mut out = Vec::new();
    let format = *FINDINGS_FORMATS.iter().find(|it| it.name() == "sarif").unwrap();
    let mut writer = FindingsWriter::new(&mut out, format).unwrap();
    for judged in judged {
        writer.ledger(&format.ledger(judged, &OutputOptions::default()).unwrap()).unwrap();
    }
    writer.finish(&OutputTotals::default()).unwrap();
    serde_json::from_slice(&out).expect("SARIF is JSON")
}

/// The schema file in the `serde-sarif` package this build was locked to.
fn schema() -> Value {
    let schema =
        std::fs::read(package("serde-sarif").join("src").join("schema.json")).expect("the package has the schema");
    serde_json::from_slice(&schema).expect("the schema is JSON")
}

/// The published schema as a judge.
pub(crate) fn validator() -> jsonschema::Validator {
    let mut schema = schema();
    // The published pattern for a language, in two places, has a bracket too many and is no regular expression. We
    // write no language, so nothing goes unchecked without it.
    for holder in ["run", "toolComponent"] {
        let language = &mut schema["definitions"][holder]["properties"]["language"];
        let pattern = language.as_object_mut().unwrap().remove("pattern");
        assert_eq!(pattern, Some(json!("^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$")));
    }
    jsonschema::options().should_validate_formats(true).build(&schema).expect("the schema is one")
}

#[track_caller]
pub(crate) fn valid(log: &Value) {
    let validator = validator();
    let errors: Vec<String> =
        validator.iter_errors(log).map(|error| format!("{error} at {}", error.instance_path())).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    // A second reader of the format, whose types are made from the same schema.
    // What code scanning asks of each rule beyond the standard: help, and a name that is another one than the id.
    for rule in log["runs"][0]["tool"]["driver"]["rules"].as_array().expect("rules") {
        for of in [&rule["help"]["text"], &rule["help"]["markdown"], &rule["helpUri"]] {
            assert!(of.as_str().is_some_and(|text| text.len() > 10), "{rule}");
        }
        let (id, name) = (rule["id"].as_str().unwrap(), rule["name"].as_str());
        assert!(name.is_none_or(|name| !name.eq_ignore_ascii_case(id)), "{rule}");
        assert_eq!(name.is_none(), !id.contains('-'), "{rule}");
    }
    serde_json::from_value::<serde_sarif::sarif::Sarif>(log.clone()).expect("serde-sarif reads it");
    let mut broken = log.clone();
    broken["runs"][0]["results"][0]["level"] = json!("nonconformity");
    assert!(!validator.is_valid(&broken), "the schema refuses nothing");
}

#[test]
fn sarif_is_valid_and_suppresses_what_is_conceded() {
    let judged = hostile();
    let log = sarif_of(std::slice::from_ref(&judged));
    valid(&log);
    let results = log["runs"][0]["results"].as_array().unwrap();
    assert_eq!(results.len(), judged.findings.len());
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().unwrap();
    for (result, finding) in results.iter().zip(&judged.findings) {
        let index = result["ruleIndex"].as_u64().expect("every finding's rule is listed") as usize;
        assert_eq!(rules[index]["id"], finding.rule.as_str());
        let suppressed = result["suppressions"].as_array().unwrap();
        assert_eq!(!suppressed.is_empty(), finding.conceded.is_some());
        for suppression in suppressed {
            assert_eq!(suppression["status"], "accepted");
            assert!(suppression["justification"].as_str().unwrap().contains("until 2026-12-01"));
        }
    }
    // §3.11: no viewer may find a link, a blank to fill or a line break that we did not write.
    let text = log.to_string();
    assert!(!text.contains('\u{202e}') && !text.contains("\\u001b"), "{text}");
    for result in results {
        let message = result["message"]["text"].as_str().unwrap();
        assert!(!message.contains("[here](") && !message.contains("{{{"), "{message}");
        assert!(!message.contains('\n') && !message.replace("{{", "").contains('{'), "{message}");
    }
    let uris: BTreeSet<&str> = results
        .iter()
        .map(|result| result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap())
        .collect();
    assert!(uris.contains("m/day%20%250A%2C%0A%3A%3Ax%3A%E2%80%AE%201.kdl"), "{uris:?}");
}

#[test]
fn sarif_without_findings_is_valid() {
    let log = sarif_of(&[]);
    assert!(validator().is_valid(&log));
    assert_eq!(log["runs"][0]["results"], json!([]), "an empty list: the rules were checked");
}

/// A command as the runner takes a line apart: from `::` to the next `::` the name and the properties, split at commas;
/// then `%0A`, `%0D`, `%25` (and in properties `%3A`, `%2C`) are put back.
fn as_the_runner_reads(line: &str) -> (String, Vec<(String, String)>, String) {
    let (head, data) = line.strip_prefix("::").expect("it is a command").split_once("::").expect("it has a message");
    let (name, properties) = head.split_once(' ').expect("it has properties");
    let undo = |text: &str| text.replace("%0D", "\r").replace("%0A", "\n").replace("%25", "%");
    let pair = |part: &str| {
        let (key, value) = part.split_once('=').expect("a property has a value");
        (key.to_owned(), undo(&value.replace("%3A", ":").replace("%2C", ",")))
    };
    (name.to_owned(), properties.split(',').map(pair).collect(), undo(data))
}

/// The commands for the findings of a ledger: each that breaks a rule, and one for all others of one rule and level.
#[test]
fn github_gets_a_command_for_each_fault_and_one_for_the_rest_of_a_rule() {
    let judged = hostile();
    let out = pieces("github", &judged, Style::default()).concat();
    assert!(!out.contains(['\r', '\u{1b}', '\u{202e}']), "{out}");
    let level = |finding: &Finding| match (finding.grade, &finding.conceded) {
        (Grade::Nonconformity, None) => "error",
        (Grade::Outstanding | Grade::NotJudged, None) => "warning",
        _ => "notice",
    };
    let mut left: Vec<&Finding> = judged.findings.iter().collect();
    for line in out.lines() {
        let (name, properties, data) = as_the_runner_reads(line);
        let keys: Vec<&str> = properties.iter().map(|(key, _)| key.as_str()).collect();
        assert!(
            keys == ["file", "line", "endLine", "col", "endColumn", "title"]
                || keys == ["file", "line", "endLine", "title"],
            "{keys:?}"
        );
        assert!(properties[0].1.starts_with("m/"), "{properties:?}");
        let first = left.remove(0);
        assert_eq!(name, level(first));
        assert!(properties.last().unwrap().1.contains(first.rule.as_str()));
        assert!(data.starts_with(&*wayledger::format::clean(&first.message)), "{data}");
        if name == "error" {
            continue;
        }
        let alike = |it: &&Finding| it.rule == first.rule && level(it) == name;
        let more: Vec<&Finding> = left.iter().copied().filter(alike).collect();
        assert_eq!(more.is_empty(), !data.contains("more of this rule here"), "{data}");
        for finding in more {
            assert!(data.contains(&*wayledger::format::clean(&finding.address)), "{data}: {}", finding.address);
        }
        left.retain(|it| !alike(it));
    }
    assert!(left.is_empty(), "{left:?}");
    assert!(out.contains("50%25 off"));
}

/// A step shows ten annotations of a kind (GitHub's documentation, limits of annotations): no more are written, and how many
/// there are more is said.
#[test]
fn github_gets_no_more_annotations_than_it_shows() {
    let format = *FINDINGS_FORMATS.iter().find(|it| it.name() == "github").unwrap();
    let judged = hostile();
    let one = format.ledger(&judged, &OutputOptions::default()).unwrap();
    let mut out = Vec::new();
    let mut writer = FindingsWriter::new(&mut out, format).unwrap();
    for _ in 0..100 {
        writer.ledger(&one).unwrap();
    }
    writer.finish(&OutputTotals::default()).unwrap();
    let out = String::from_utf8(out).unwrap();
    let of = |level: &str| out.lines().filter(|line| line.starts_with(&format!("::{level} "))).count();
    let had = |level: &str| one.iter().filter(|it| it.starts_with(format!("::{level} ").as_bytes())).count();
    let mut shown = 0;
    for level in ["error", "warning", "notice"] {
        let most = if level == "notice" { 9 } else { 10 };
        // One notice more says what is not shown.
        let of = if level == "notice" { of(level) - 1 } else { of(level) };
        assert_eq!(of, (100 * had(level)).min(most), "{level}");
        shown += of;
    }
    assert!(shown >= 19, "{shown}");
    let more = format!("::notice title=more annotations::{} more annotations are not shown", 100 * one.len() - shown);
    assert!(out.lines().last().unwrap().starts_with(&more), "{out}");
}

fn gitlab_of(judged: &Judged) -> Vec<Value> {
    pieces("gitlab", judged, Style::default()).iter().map(|entry| serde_json::from_str(entry).unwrap()).collect()
}

fn prints(judged: &Judged) -> Vec<String> {
    gitlab_of(judged).iter().map(|entry| entry["fingerprint"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn gitlab_gets_what_its_documentation_requires() {
    let judged = hostile();
    for (entry, finding) in gitlab_of(&judged).iter().zip(&judged.findings) {
        // Required: description, check_name, fingerprint, severity, location.path, location.lines.begin.
        let description = entry["description"].as_str().unwrap();
        assert!(!description.is_empty() && !description.contains(['\n', '\r', '\u{1b}', '\u{202e}']), "{description}");
        assert_eq!(entry["check_name"], finding.rule.as_str());
        let severity = entry["severity"].as_str().unwrap();
        assert!(["info", "minor", "major", "critical", "blocker"].contains(&severity));
        assert_eq!(severity == "major", finding.grade.name() == "nonconformity" && finding.conceded.is_none());
        assert!(entry["location"]["path"].as_str().unwrap().starts_with("m/"), "no `./` in front");
        assert!(entry["location"]["lines"]["begin"].as_u64().unwrap() >= 1);
    }
    let prints = prints(&judged);
    assert_eq!(prints.iter().collect::<BTreeSet<_>>().len(), prints.len(), "fingerprints are unique");
}

#[test]
fn fingerprints_outlive_moved_lines_and_new_spacing_but_not_new_facts() {
    let text = |head: &str, step: &str| {
        format!(
            "{head}machine m {{\n    axis X {{\n        rail port {{\n            segment 1200\n            segment 1200\n\
             }}\n    }}\n}}\ninspect X.port.J1 date=\"2026-04-15\" by=inspector-1 {{\n    UL{step}0 -> 0.03\n    \
             UR 0 -> 0.04\n}}\ninspect X.port.J1 date=\"2026-04-15\" by=inspector-1 {{ UL{step}0 -> 0.03 }}\n"
        )
    };
    let of = |text: &str| prints(&judge(&[("machine.kdl", text)], &[]));
    let before = of(&text("", " "));
    assert!(before.len() > 1);
    assert_eq!(of(&text("// a comment\n\n\n", "   ")), before);
    let changed = of(&text("", " ").replace("0.04", "0.05"));
    assert_ne!(changed, before);
    assert_eq!(changed.len(), before.len());
}
