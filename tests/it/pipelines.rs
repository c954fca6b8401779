//! The jobs for a server in `schema/pipelines.md`: each option that they name exists, and the shell of each runs in a
//! repository as it stands there.

use std::path::Path;

use crate::common::yard::{Yard, bad};

fn page() -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/pipelines.md");
    std::fs::read_to_string(file).expect("the page is there")
}

/// The shell that the jobs run, one text a job: blocks of YAML, and blocks of shell.
fn scripts() -> Vec<String> {
    let page = page();
    let mut all = Vec::new();
    let indent = |line: &str| line.len() - line.trim_start().len();
    let mut lines = page.lines().peekable();
    while let Some(line) = lines.next() {
        let is_shell = line == "```sh";
        if !is_shell && !line.ends_with("|") {
            continue;
        }
        let mut script = Vec::new();
        while let Some(next) = lines.next_if(|next| *next != "```" && (is_shell || indent(next) > indent(line))) {
            script.push(next.trim());
        }
        all.push(script.join("\n"));
    }
    all
}

#[test]
fn each_option_of_a_job_exists() {
    let yard = Yard::empty();
    let mut options = 0;
    for line in scripts().iter().flat_map(|script| script.lines()).filter(|line| line.starts_with("wayledger ")) {
        let words: Vec<&str> = line.split(' ').collect();
        let help = yard.wayledger(&[words[1], "--help"]);
        assert_eq!(help.code, 0, "{line}");
        for option in words.iter().filter(|word| word.starts_with("--")) {
            assert!(help.out.contains(option), "{line}: {option}");
            options += 1;
        }
    }
    assert!(options >= 10, "{options}");
    assert!(page().matches("fetch-depth: 0\n").count() == 2 && page().contains("GIT_DEPTH: 0\n"));
}

/// What a job wrote is taken away again, so that the next begins as a fresh clone does.
fn kept_apart(yard: &Yard) {
    for name in ["comparison.md", "report.html", "findings.sarif", "code-quality.json"] {
        let _ = std::fs::remove_file(yard.root.join(name));
    }
}

#[test]
fn each_job_lets_a_good_branch_in_and_stops_a_bad_one() {
    let scripts = scripts();
    assert_eq!(scripts.len(), 4);
    let yard = Yard::with_saw();
    let before = yard.head();
    yard.git(&["update-ref", "refs/remotes/origin/main", "HEAD"]);
    let job = |script: &str| {
        let mut command = yard.command("sh", ".");
        command.args(["-e", "-c", script]).env("GITHUB_BASE_REF", "main").env("BEFORE", &before);
        command.env("CI_MERGE_REQUEST_DIFF_BASE_SHA", &before).env("BASE", "origin/main");
        command.env("GITHUB_STEP_SUMMARY", yard.root.join("../summary.md"));
        let output = command.output().expect("a shell");
        // What a job keeps as a file is looked at as what it prints is.
        let kept = ["findings.sarif", "code-quality.json"].map(|name| yard.root.join(name));
        let kept: String = kept.iter().filter_map(|file| std::fs::read_to_string(file).ok()).collect();
        kept_apart(&yard);
        (output.status.code(), String::from_utf8_lossy(&output.stdout).into_owned() + &kept)
    };
    yard.write("saw/note.kdl", "// looked at\n").commit("a remark");
    for script in &scripts {
        let (code, out) = job(script);
        assert_eq!(code, Some(0), "{script}: {out}");
    }
    let record = yard.read("saw/2021-04-15.kdl");
    let altered = record.replace("LL 0 -> 0.005", "LL 0 -> 0.004");
    for (text, rule) in
        [(altered, "record-altered"), (format!("{record}{}", bad().replace("04-15", "04-16")), "joint-step")]
    {
        yard.write("saw/2021-04-15.kdl", text).commit("a bad day");
        for script in &scripts {
            let (code, out) = job(script);
            assert_eq!((code, out.contains(rule)), (Some(1), true), "{script}: {out}");
        }
    }
    assert!(std::fs::read_to_string(yard.root.join("../summary.md")).expect("a comment").contains("joint-step"));
}
