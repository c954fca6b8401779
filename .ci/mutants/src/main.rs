//! Runs the mutants that cargo-mutants lists without a build for each: they are woven into one copy of the program,
//! asleep, and each is woken in turn under the tests that pass it. `.ci/mutants/run` calls the steps in order.

mod list;
mod run;
mod until_built;
mod weave;

use std::path::PathBuf;
use std::process::ExitCode;

const USAGE: &str = "\
weave <source> <copy> <mutants.json>              weave the mutants into the copy, until it builds
reach <copy>                                      run each test alone, and note which mutants it passes
run <copy> <mutants.json> [part/parts [seconds]]  wake each mutant; part counts from 0
score <copy> <mutants.json>                       the mutants that live, and the score by room";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words[..] {
        ["weave", source, copy, listed] => {
            until_built::weave(&PathBuf::from(source), &PathBuf::from(copy), &PathBuf::from(listed));
        }
        ["reach", copy] => run::reach(&PathBuf::from(copy)),
        ["run", copy, listed, ref rest @ ..] if rest.len() <= 2 => {
            let budget = rest.get(1).map(|seconds| seconds.parse().expect("a number of seconds"));
            run::run(&PathBuf::from(copy), &PathBuf::from(listed), rest.first().copied(), budget);
        }
        ["score", copy, listed] => run::score(&PathBuf::from(copy), &PathBuf::from(listed)),
        _ => {
            eprintln!("{USAGE}");
            return ExitCode::from(2);
        }
    }
    ExitCode::SUCCESS
}
