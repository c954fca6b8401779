//! Weaves and checks again until the copy builds; what does not compile is left out and named.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::list::{self, Mutant};
use crate::weave::{self, Woven};

const SWITCH: &str = include_str!("switch.rs.txt");

pub fn weave(source: &Path, copy: &Path, listed: &Path) {
    let mutants = list::read(listed);
    let mut files: BTreeMap<&str, Vec<&Mutant>> = BTreeMap::new();
    for mutant in &mutants {
        files.entry(&mutant.file).or_default().push(mutant);
    }
    let library = std::fs::read_to_string(source.join("src/lib.rs")).expect("src/lib.rs can be read");
    std::fs::write(copy.join("src/lib.rs"), format!("#![allow(warnings)]\n{library}{SWITCH}"))
        .expect("it can be written");

    // A function that names only a trait of what it returns can return one type, which another iterator is not.
    let mut refused: BTreeMap<u32, String> = mutants
        .iter()
        .filter(|mutant| mutant.genre == "FnValue" && mutant.replacement.starts_with("::std::iter::"))
        .map(|mutant| (mutant.number, "another iterator".to_string()))
        .collect();
    let mut constant = BTreeSet::new();
    loop {
        let mut woven: BTreeMap<&str, Woven> = BTreeMap::new();
        for (file, mutants) in &files {
            let text = std::fs::read_to_string(source.join(file)).expect("the source can be read");
            let used: Vec<&Mutant> = mutants.iter().copied().filter(|m| !refused.contains_key(&m.number)).collect();
            let result = weave::weave(&text, &used, &constant);
            std::fs::write(copy.join(file), &result.text).expect("it can be written");
            woven.insert(file, result);
        }
        let errors = errors(copy);
        let before = (refused.len(), constant.len());
        for error in &errors {
            note(error, &woven, &mut refused, &mut constant);
        }
        println!("{} errors, {} refused, {} functions stay const", errors.len(), refused.len(), constant.len());
        if errors.is_empty() {
            for number in woven.values().flat_map(|woven| &woven.left_out) {
                refused.insert(*number, "no place".to_string());
            }
            break;
        }
        if before == (refused.len(), constant.len()) {
            for error in errors.iter().take(25) {
                println!("{}", error["rendered"].as_str().unwrap_or(""));
            }
            panic!("errors outside of what was woven");
        }
    }
    let text: String = refused.iter().map(|(number, why)| format!("{number}\t{why}\n")).collect();
    std::fs::write(copy.join("refused.tsv"), text).expect("it can be written");
}

fn errors(copy: &Path) -> Vec<Value> {
    let output = Command::new("cargo")
        .args(["check", "--lib", "--offline", "--message-format=json"])
        .current_dir(copy)
        .output()
        .expect("cargo runs");
    let text = String::from_utf8_lossy(&output.stdout);
    let messages = text.lines().filter_map(|line| serde_json::from_str::<Value>(line).ok());
    let errors: Vec<Value> = messages
        .filter(|message| message["reason"] == "compiler-message" && message["message"]["level"] == "error")
        .map(|message| message["message"].clone())
        .filter(|message| message["spans"].as_array().is_some_and(|spans| !spans.is_empty()))
        .collect();
    if errors.is_empty() && !output.status.success() {
        panic!("{}", String::from_utf8_lossy(&output.stderr));
    }
    errors
}

fn note(
    error: &Value,
    woven: &BTreeMap<&str, Woven>,
    refused: &mut BTreeMap<u32, String>,
    constant: &mut BTreeSet<String>,
) {
    let message = error["message"].as_str().unwrap_or("");
    let code = error["code"]["code"].as_str().unwrap_or("");
    if code == "E0015" && message.starts_with("cannot call non-const") {
        let name = message.split('`').nth(1).unwrap_or("");
        if !name.contains("woven_mutants") {
            let plain = name.split('(').next().unwrap_or("");
            constant.insert(plain.rsplit("::").next().unwrap_or("").to_string());
            return;
        }
    }
    let spans = || error["spans"].as_array().into_iter().flatten();
    // What is complained about first of all, else what the complaint points at besides.
    let found =
        spans().filter(|span| span["is_primary"] == true).any(|span| refuse(span, code, message, woven, refused));
    if !found {
        spans().any(|span| refuse(span, code, message, woven, refused));
    }
}

/// Leaves out the mutants that made the smallest part of the text around a place.
fn refuse(
    span: &Value,
    code: &str,
    message: &str,
    woven: &BTreeMap<&str, Woven>,
    refused: &mut BTreeMap<u32, String>,
) -> bool {
    // What a macro wrote stands where the macro is called.
    if span["expansion"]["span"].is_object() {
        return refuse(&span["expansion"]["span"], code, message, woven, refused);
    }
    let Some(made) = span["file_name"].as_str().and_then(|file| woven.get(file)) else { return false };
    let (Some(start), Some(end)) = (span["byte_start"].as_u64(), span["byte_end"].as_u64()) else { return false };
    let (start, end) = (start as usize, end as usize);
    let around = made
        .made
        .iter()
        .filter(|(range, numbers)| range.start <= start && end <= range.end && !numbers.is_empty())
        .filter(|(_, numbers)| !numbers.iter().all(|number| refused.contains_key(number)))
        .min_by_key(|(range, _)| range.len());
    let Some((_, numbers)) = around else { return false };
    for number in numbers {
        refused.insert(*number, format!("{code} {message}").replace('\n', " "));
    }
    true
}
