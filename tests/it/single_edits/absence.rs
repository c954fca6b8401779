//! Whatever is left out, a rule that can then no longer judge says so: *not judged*, once an axis, and it names what it would
//! need.
//!
//! The rules are those of the registry, so that a new one is tried by itself: everything that stands in its two examples and in its
//! ledger among the faults is left out in turn.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use wayledger::lint::{Finding, Grade, Rule, rules};

use super::edits::{self, Edit, Kind};
use crate::common::judge;

/// Rules that say *not judged* and that nothing left out of their ledgers makes say so, each with the reason.
const OTHERWISE: &[(&str, &[&str])] = &[
    (
        "where proof is required it is outstanding, and where it is not it is not required",
        &[
            "gap-local-unproven",
            "gap-range-unproven",
            "height-local-unproven",
            "height-range-unproven",
            "joint-step-unproven",
            "running-force-unproven",
            "straightness-local-unproven",
            "straightness-range-unproven",
            "torque-window-unproven",
        ],
    ),
    ("what a stated requirement lacks is outstanding: it is asked for", &["block-load", "rated-life", "service-due"]),
    (
        "the record or the machine lacks a part that it must have: that is told, and what only follows from it is left out",
        &[
            "attachment-changed",
            "concession-self",
            "date-order",
            "duplicate-name",
            "hold-in-force",
            "lift-idle",
            "lift-self",
            "person-unknown",
            "person-unpermitted",
            "release-self",
            "release-signature",
            "release-unsigned",
        ],
    ),
    ("what it is held against has a default", &["limit-loosened", "survey-closure", "temperature-span"]),
    (
        "what is not recorded at all is outstanding, by the rule that asks for it",
        &["described-after", "torque-missing"],
    ),
    ("it takes an adjustment that no example has: tests/it/calibration_found_wrong.rs", &["gauge-calibration"]),
    ("it takes a temperature that cannot be right: temperature-span tells it", &["survey-temperature"]),
];

/// What is left out, and what is then named in its place: that which came of it.
const COMES_OF_IT: &[(&str, &str)] = &[
    ("rail profile=", "hole pitch"),
    ("rail profile=", "stock"),
    ("rail profile=", "how an end in it was cut"),
    ("profile stock", "how an end in it was cut"),
    // The window that everybody uses holds for one bolt alone.
    ("fastener thread=", "no window of full torque"),
    ("fastener class=", "no window of full torque"),
    ("fastener into=", "no window of full torque"),
    ("rail segment", "serial number"),
    ("survey at", "stations"),
    ("survey at", "was not surveyed"),
    ("survey", "was not surveyed"),
    ("survey gauge=", "was not surveyed"),
    ("survey plus=", "was not surveyed"),
    ("gauge calibrated", "was not surveyed"),
];

/// The files of one ledger, each with its name.
type Files = Vec<(String, String)>;

/// The two examples of a rule.
fn examples(rule: &Rule) -> Vec<Files> {
    [rule.right, rule.wrong].map(|text| vec![("machine.kdl".into(), text.into())]).into()
}

/// Its ledger among the faults, where it is one of files alone.
fn fault(rule: &Rule) -> Option<Files> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/faults").join(rule.name.as_str());
    let listed = std::fs::read_dir(folder).ok()?;
    let mut paths: Vec<PathBuf> = listed.map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    let file = |path: PathBuf| {
        let name = path.file_name()?.to_string_lossy().into_owned();
        name.ends_with(".kdl").then(|| (name, std::fs::read_to_string(path).expect("read")))
    };
    paths.into_iter().map(file).collect()
}

/// What is not judged, by rule and axis.
fn unjudged(files: &Files) -> BTreeMap<(String, String), Vec<String>> {
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let mut all: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    let is_unjudged = |finding: &&Finding| finding.grade == Grade::NotJudged;
    for finding in judge(&files, &[]).findings.iter().filter(is_unjudged) {
        let axis = finding.address.split('.').next().unwrap_or_default();
        all.entry((finding.rule.to_string(), axis.to_owned())).or_default().push(finding.message.clone());
    }
    all
}

/// Everything that can be left out of a ledger, with what is left of it.
fn left_out(files: &Files) -> Vec<(Edit, Files)> {
    let of = |at: usize| {
        let read = wayledger::kdl::read(files[at].1.as_str().into(), &wayledger::kdl::ReadLimits::default());
        let taken = edits::all(&read.document).into_iter().filter(|edit| edit.kind == Kind::TakenAway);
        let rest = move |edit: Edit| {
            let mut files = files.clone();
            files[at].1.clone_from(&edit.text);
            (edit, files)
        };
        taken.map(rest).collect::<Vec<_>>()
    };
    (0..files.len()).flat_map(of).collect()
}

/// The words of a text, those of more than one each, without the s of a plural.
fn words(text: &str) -> BTreeSet<String> {
    let all = text.split(|c: char| !c.is_alphabetic()).filter(|word| word.len() > 2);
    all.map(|word| word.to_lowercase().trim_end_matches('s').to_owned()).collect()
}

/// Whether a message names what was left out, or what came of it.
fn names(message: &str, edit: &Edit) -> bool {
    let said = words(message);
    let own = words(&format!("{} {}", edit.word, edit.was));
    said.intersection(&own).any(|word| !["machine", "axi", "shop"].contains(&word.as_str()))
        || COMES_OF_IT.iter().any(|(word, named)| edit.word.ends_with(word) && message.contains(named))
}

/// Whether the file of a rule says *not judged*, or asks one that does for it.
fn can_be_unjudged(rule: &Rule) -> bool {
    let group = format!("{:?}", rule.group).to_lowercase();
    let file = format!("src/rules/{group}/{}.rs", rule.name.as_str().replace('-', "_"));
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(&file)).unwrap_or_default();
    ["Verdict::NotJudged(", "not_surveyed(", "local::judged(", "proven("].iter().any(|it| text.contains(it))
}

/// Leaves everything out in turn: whether the rule came to say that it cannot judge, and what is wrong with how.
fn tried(rule: &Rule, files: &Files, wrong: &mut Vec<String>) -> bool {
    let before = unjudged(files);
    let mut met = false;
    for (edit, rest) in left_out(files) {
        for ((name, axis), messages) in unjudged(&rest) {
            let told = || format!("{} without {} `{}`: {name} {axis}: {messages:?}", rule.name, edit.word, edit.was);
            if messages.len() > 1 {
                wrong.push(format!("more than once: {}", told()));
            }
            let is_new = before.get(&(name.clone(), axis.clone())).is_none_or(|before| *before != messages);
            if name == rule.name.as_str() && is_new {
                met = true;
                if !names(&messages[0], &edit) {
                    wrong.push(format!("not named: {}", told()));
                }
            }
        }
    }
    met
}

#[test]
fn what_is_left_out_is_not_judged_once_and_named() {
    let of_rule = |rule: &'static Rule| {
        let mut wrong = Vec::new();
        let mut met = false;
        for files in examples(rule) {
            met |= tried(rule, &files, &mut wrong);
        }
        // Larger ledgers take longer: they are asked only where the examples show nothing.
        if !met && can_be_unjudged(rule) {
            met = fault(rule).is_some_and(|files| tried(rule, &files, &mut wrong));
        }
        (rule, met, wrong)
    };
    let all: Vec<&'static Rule> = rules().collect();
    let all: Vec<_> = all.into_par_iter().map(of_rule).collect();
    let wrong: Vec<&str> = all.iter().flat_map(|(.., wrong)| wrong).map(String::as_str).collect();
    assert!(wrong.is_empty(), "{} are wrong:\n{}", wrong.len(), wrong[..wrong.len().min(40)].join("\n"));
    let silent = all.iter().filter(|(rule, met, _)| can_be_unjudged(rule) && !met);
    let silent: BTreeSet<&str> = silent.map(|(rule, ..)| rule.name.as_str()).collect();
    let listed: BTreeSet<&str> = OTHERWISE.iter().flat_map(|(_, names)| *names).copied().collect();
    assert_eq!(silent, listed, "rules that nothing left out makes say that they cannot judge");
    assert!(all.iter().filter(|(_, met, _)| *met).count() > 30, "so many say it");
}
