//! Which tests pass which mutants, and what those tests say of each mutant.

use std::collections::{BTreeMap, BTreeSet, HashMap, VecDeque};
use std::io::{Read, Write};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};

use crate::list::{self, Mutant};

/// A test and what it passes.
#[derive(Serialize, Deserialize)]
struct Test {
    binary: PathBuf,
    name: String,
    seconds: f64,
    passes: Vec<u32>,
}

#[derive(Serialize, Deserialize, Clone)]
struct Verdict {
    number: u32,
    name: String,
    outcome: String,
    by: String,
    seconds: f64,
    /// The budget it had.
    allowed: f64,
}

/// The test binaries of the copy, built with what is woven.
fn binaries(copy: &Path) -> Vec<PathBuf> {
    let output = Command::new("cargo")
        .args(["test", "--no-run", "--offline", "--message-format=json", "--lib", "--test", "it"])
        .current_dir(copy)
        .stderr(Stdio::inherit())
        .output()
        .expect("cargo runs");
    assert!(output.status.success(), "the tests do not build");
    String::from_utf8_lossy(&output.stdout)
        .lines()
        .filter_map(|line| serde_json::from_str::<serde_json::Value>(line).ok())
        .filter(|message| message["reason"] == "compiler-artifact" && message["profile"]["test"] == true)
        .filter_map(|message| message["executable"].as_str().map(PathBuf::from))
        .collect()
}

/// Runs every test alone and notes the time it takes and the mutants it passes.
pub fn reach(copy: &Path) {
    let mut tests = Vec::new();
    for binary in binaries(copy) {
        let listed =
            Command::new(&binary).args(["--list", "--format=terse"]).current_dir(copy).output().expect("it lists");
        let ignored = Command::new(&binary)
            .args(["--list", "--format=terse", "--ignored"])
            .current_dir(copy)
            .output()
            .expect("it lists");
        let names = |output: &[u8]| -> BTreeSet<String> {
            let text = String::from_utf8_lossy(output);
            text.lines().filter_map(|line| line.strip_suffix(": test").map(str::to_string)).collect()
        };
        let ignored = names(&ignored.stdout);
        for name in names(&listed.stdout).difference(&ignored) {
            let passed = copy.join("passed.txt");
            let _ = std::fs::remove_file(&passed);
            let start = Instant::now();
            let (outcome, output) = execute(copy, &binary, &[name], None, Some(&passed), Duration::from_secs(600));
            let seconds = start.elapsed().as_secs_f64();
            let text = std::fs::read_to_string(&passed).unwrap_or_default();
            let passes: BTreeSet<u32> = text.lines().filter_map(|line| line.parse().ok()).collect();
            if outcome != "passed" {
                println!("{name} fails without a mutant:\n{output}");
                continue;
            }
            tests.push(Test {
                binary: binary.clone(),
                name: name.clone(),
                seconds,
                passes: passes.into_iter().collect(),
            });
        }
    }
    let total: f64 = tests.iter().map(|test| test.seconds).sum();
    println!("{} tests, {total:.1} s one after the other", tests.len());
    std::fs::write(copy.join("reach.json"), serde_json::to_string(&tests).expect("it is JSON"))
        .expect("it can be written");
}

/// Runs tests of one binary in one process: `passed`, `failed` or `timeout`, with what it printed.
fn execute(
    copy: &Path,
    binary: &Path,
    names: &[&String],
    awake: Option<u32>,
    passed: Option<&Path>,
    limit: Duration,
) -> (&'static str, String) {
    let mut command = Command::new("sh");
    command
        .args(["-c", "ulimit -v 8000000; exec \"$0\" \"$@\""])
        .arg(binary)
        .args(["--exact", "--test-threads=1"])
        .args(names)
        .current_dir(copy)
        .env("CARGO_MANIFEST_DIR", copy)
        .env("INSTA_UPDATE", "no")
        .env("PROPTEST_DISABLE_FAILURE_PERSISTENCE", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .process_group(0);
    match awake {
        Some(number) => command.env("WOVEN_MUTANT", number.to_string()),
        None => command.env_remove("WOVEN_MUTANT"),
    };
    if let Some(passed) = passed {
        command.env("WOVEN_PASSED", passed);
    }
    let mut child = command.spawn().expect("the tests start");
    let mut out = child.stdout.take().expect("it is piped");
    let failed = Arc::new(AtomicBool::new(false));
    let seen = failed.clone();
    let reader = std::thread::spawn(move || {
        let (mut text, mut part) = (String::new(), [0; 4096]);
        while let Ok(read @ 1..) = out.read(&mut part) {
            text.push_str(&String::from_utf8_lossy(&part[..read]));
            if text.contains(" ... FAILED") {
                seen.store(true, Ordering::Relaxed);
            }
        }
        text
    });
    let start = Instant::now();
    let mut pause = Duration::from_millis(1);
    let outcome = loop {
        match child.try_wait().expect("it can be waited for") {
            Some(status) => break if status.success() { "passed" } else { "failed" },
            // The first test that fails says enough.
            None if start.elapsed() > limit || failed.load(Ordering::Relaxed) => {
                let group = format!("-{}", child.id());
                let _ = Command::new("kill").args(["-9", "--", &group]).status();
                let _ = child.wait();
                break if failed.load(Ordering::Relaxed) { "failed" } else { "timeout" };
            }
            None => {
                std::thread::sleep(pause);
                pause = (pause * 2).min(Duration::from_millis(20));
            }
        }
    };
    (outcome, reader.join().unwrap_or_default())
}

/// Wakes each mutant not judged yet under the tests that pass it: those that killed its neighbours first, then those that
/// kill most for their time.
///
/// With a budget in seconds of undisturbed test time, a mutant that lives that long is `open`: a later run with a larger
/// budget, or none, tries it again.
pub fn run(copy: &Path, listed: &Path, part: Option<&str>, budget: Option<f64>) {
    let mutants = list::read(listed);
    let refused = refused(copy);
    let tests: Vec<Test> = read_json(&copy.join("reach.json"));
    let mut by_mutant: HashMap<u32, Vec<usize>> = HashMap::new();
    for (index, test) in tests.iter().enumerate() {
        for number in &test.passes {
            by_mutant.entry(*number).or_default().push(index);
        }
    }
    let (part, parts) = part.map_or((0, 1), |part| {
        let (part, parts) = part.split_once('/').expect("part/parts");
        (part.parse().expect("a number"), parts.parse::<u32>().expect("a number"))
    });
    let done: BTreeSet<u32> = verdicts(copy)
        .into_iter()
        .filter(|verdict| verdict.outcome != "open" || budget.is_some_and(|budget| verdict.allowed >= budget))
        .map(|verdict| verdict.number)
        .collect();
    // In an order that has nothing to do with the text, so that what is judged so far is a fair sample.
    let mut order: Vec<&Mutant> = mutants.iter().filter(|m| mixed(m.number) % parts == part).collect();
    order.sort_by_key(|mutant| mixed(mutant.number));
    let path = copy.join(format!("verdicts-{part}-{parts}.jsonl"));
    let mut file = std::fs::OpenOptions::new().create(true).append(true).open(path).expect("it can be written");
    let mut killers: HashMap<&str, VecDeque<usize>> = HashMap::new();
    let mut killed = vec![0_u32; tests.len()];
    let by_name: HashMap<&str, usize> = (0..).zip(&tests).map(|(index, test)| (test.name.as_str(), index)).collect();
    for verdict in verdicts(copy) {
        if let Some(index) = by_name.get(verdict.by.as_str()) {
            killed[*index] += 1;
        }
    }
    for mutant in order {
        if done.contains(&mutant.number) || refused.contains_key(&mutant.number) {
            continue;
        }
        let mut passing = by_mutant.get(&mutant.number).cloned().unwrap_or_default();
        let dear = |test: usize| tests[test].seconds / f64::from(1 + killed[test]);
        passing.sort_by(|a, b| dear(*a).total_cmp(&dear(*b)));
        let start = Instant::now();
        let known = killers.entry(mutant.file.as_str()).or_default();
        let mut first: Vec<usize> =
            known.iter().copied().filter(|index| passing.contains(index) && tests[*index].seconds < 0.3).collect();
        first.truncate(3);
        let rest: Vec<usize> = passing.iter().copied().filter(|index| !first.contains(index)).collect();
        let mut outcome = (if passing.is_empty() { "unreached" } else { "missed" }, String::new());
        let mut spent = 0.0;
        for group in groups(&tests, &first, &rest) {
            if budget.is_some_and(|budget| spent > budget) {
                outcome.0 = "open";
                break;
            }
            let expected: f64 = group.iter().map(|index| tests[*index].seconds).sum();
            spent += expected;
            let names: Vec<&String> = group.iter().map(|index| &tests[*index].name).collect();
            let limit = Duration::from_secs_f64(expected * 5.0 + 8.0);
            let (result, output) = execute(copy, &tests[group[0]].binary, &names, Some(mutant.number), None, limit);
            if result != "passed" {
                let by = group
                    .iter()
                    .copied()
                    .find(|index| output.contains(&format!("test {} ... FAILED", tests[*index].name)));
                if let Some(by) = by {
                    known.retain(|index| *index != by);
                    known.push_front(by);
                    known.truncate(6);
                    killed[by] += 1;
                }
                let name = by.map_or(names[0].clone(), |by| tests[by].name.clone());
                outcome = (if result == "failed" { "caught" } else { "timeout" }, name);
                break;
            }
        }
        let seconds = start.elapsed().as_secs_f64();
        let verdict = Verdict {
            number: mutant.number,
            name: mutant.name.clone(),
            outcome: outcome.0.into(),
            by: outcome.1,
            seconds,
            allowed: budget.unwrap_or(f64::MAX),
        };
        writeln!(file, "{}", serde_json::to_string(&verdict).expect("it is JSON")).expect("it can be written");
    }
}

/// Spreads neighbours over parts the same way every time.
fn mixed(number: u32) -> u32 {
    let mut mixed = number.wrapping_mul(0x9E37_79B9) ^ 0x7;
    mixed ^= mixed >> 15;
    mixed = mixed.wrapping_mul(0x85EB_CA6B);
    mixed ^ (mixed >> 13)
}

/// Tests in the order to run them: each group is of one binary and takes about as long as all before it.
fn groups(tests: &[Test], first: &[usize], rest: &[usize]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = first.iter().map(|index| vec![*index]).collect();
    let (mut spent, mut open): (f64, Vec<Vec<usize>>) = (0.0, Vec::new());
    let mut limit = 0.1;
    for index in rest {
        let test = &tests[*index];
        match open.iter_mut().find(|group| tests[group[0]].binary == test.binary) {
            Some(group) => group.push(*index),
            None => open.push(vec![*index]),
        }
        spent += test.seconds;
        if spent > limit {
            groups.append(&mut open);
            (spent, limit) = (0.0, limit * 2.0);
        }
    }
    groups.append(&mut open);
    groups
}

fn read_json<T: for<'a> Deserialize<'a>>(path: &Path) -> T {
    let text = std::fs::read_to_string(path).expect("run `reach` first");
    serde_json::from_str(&text).expect("it is JSON")
}

fn refused(copy: &Path) -> BTreeMap<u32, String> {
    let text = std::fs::read_to_string(copy.join("refused.tsv")).expect("run `weave` first");
    text.lines()
        .filter_map(|line| line.split_once('\t'))
        .filter_map(|(number, why)| Some((number.parse().ok()?, why.to_string())))
        .collect()
}

fn verdicts(copy: &Path) -> Vec<Verdict> {
    let files = std::fs::read_dir(copy).expect("the copy can be read").flatten().map(|entry| entry.path());
    let mut found: Vec<Verdict> = files
        .filter(|path| path.extension().is_some_and(|e| e == "jsonl"))
        .filter_map(|path| std::fs::read_to_string(path).ok())
        .flat_map(|text| text.lines().filter_map(|line| serde_json::from_str(line).ok()).collect::<Vec<Verdict>>())
        .collect();
    // Of two verdicts that of the larger budget counts.
    found.sort_by(|a, b| a.number.cmp(&b.number).then(b.allowed.total_cmp(&a.allowed)));
    found.dedup_by_key(|verdict| verdict.number);
    found
}

/// The score by room, and every mutant that lives.
pub fn score(copy: &Path, listed: &Path) {
    let mutants = list::read(listed);
    let rooms: HashMap<u32, &Mutant> = mutants.iter().map(|mutant| (mutant.number, mutant)).collect();
    let mut table: BTreeMap<&str, BTreeMap<String, usize>> = BTreeMap::new();
    for mutant in &mutants {
        *table.entry(mutant.room()).or_default().entry("all".into()).or_default() += 1;
    }
    for number in refused(copy).keys() {
        *table.entry(rooms[number].room()).or_default().entry("refused".into()).or_default() += 1;
    }
    for verdict in verdicts(copy) {
        *table.entry(rooms[&verdict.number].room()).or_default().entry(verdict.outcome.clone()).or_default() += 1;
        if ["missed", "unreached", "open"].contains(&verdict.outcome.as_str()) {
            println!("{}\t{}\t{}", verdict.number, verdict.outcome, verdict.name);
        }
    }
    for (room, counts) in table {
        let of = |name: &str| counts.get(name).copied().unwrap_or(0);
        let killed = of("caught") + of("timeout");
        let lives = of("missed") + of("unreached") + of("open");
        println!(
            "{room}: all {}, does not compile {}, killed {killed} (of these {} by time), lives {lives} (of these {} unreached): {:.1} %",
            of("all"),
            of("refused"),
            of("timeout"),
            of("unreached"),
            100.0 * killed as f64 / (killed + lives).max(1) as f64
        );
    }
}
