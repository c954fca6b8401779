//! Pull requests on a repository with a released machine, reviewed from the outputs alone: what the hook stops, what
//! the lint, the comparison, the report and SARIF say of a good change, a bad reading, one under a concession, a silent
//! change after the release, and a pure reformatting.

use std::path::Path as RealPath;

use serde_json::Value;
use wayledger::amounts::Moment;
use wayledger::files::Path;
use wayledger::model::{Ledger, TextFile};
use wayledger::records::{Sealing, release};

use crate::common::yard::Yard;
use crate::review_formats::{valid, validator};

/// The example ledger, five years earlier and without intervals of service, so that today's date changes nothing.
fn earlier(text: &str) -> String {
    let lines = text.lines().filter(|line| !line.trim_start().starts_with("service-interval"));
    years_back(lines.map(|line| format!("{line}\n")).collect())
}

fn years_back(text: String) -> String {
    (2025..=2027).fold(text, |text, year| text.replace(&format!("{year}-"), &format!("{}-", year - 5)))
}

const LEDGER: &str = "yard/hull-gantry";

/// A repository whose machine is inspected, clean, released and sealed, with the hook in place.
fn released() -> Yard {
    let example = RealPath::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let read = |name: &str| earlier(&std::fs::read_to_string(example.join(name)).unwrap());
    let yard = Yard::empty();
    yard.write("yard/shop.kdl", read("shop.kdl"));
    let mut names: Vec<String> = std::fs::read_dir(example.join("hull-gantry"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".kdl") && !name.contains("release"))
        .collect();
    names.sort();
    let file = |name: &str, text: String| TextFile::read(Path(name.to_owned()), text.into_bytes());
    let files: Vec<TextFile> = names
        .iter()
        .map(|name| {
            let name = format!("hull-gantry/{name}");
            let text = read(&name);
            let name = years_back(name);
            yard.write(&format!("yard/{name}"), &text);
            file(&name, text)
        })
        .collect();
    let ledger = Ledger::new(Path("hull-gantry".into()), files, &[file("shop.kdl", read("shop.kdl"))]);
    let moment = Moment::read("2021-04-20").unwrap();
    yard.write(
        &format!("{LEDGER}/2021-04-20-engineer-1.kdl"),
        release(&ledger, 0, &Sealing::new(moment, "engineer-1")).text(),
    );
    yard.commit("released");
    let clean = yard.wayledger(&["lint", "--complete", "--at", "HEAD"]);
    assert_eq!(clean.code, 0, "{}", clean.out);
    assert_eq!(yard.wayledger(&["hook"]).code, 0);
    yard
}

/// A branch with one change, and whether the hook let its commit pass.
struct Request {
    yard: Yard,
    passed: bool,
    said: String,
}

impl Request {
    fn new(change: impl Fn(&Yard)) -> Request {
        let yard = released();
        yard.git(&["checkout", "-q", "-b", "change"]);
        change(&yard);
        yard.git(&["add", "-A"]);
        let ran = yard.run("git", &["commit", "-q", "-m", "a change"]);
        let passed = ran.code == 0;
        if !passed {
            // As it arrives from somebody who has no hook.
            yard.git(&["commit", "-q", "--no-verify", "-m", "a change"]);
        }
        Request { yard, passed, said: format!("{}{}", ran.out, ran.err) }
    }

    /// What a check on the server runs: exit code and output of a format.
    fn lint(&self, format: &str) -> (i32, String) {
        let ran = self.yard.wayledger(&["lint", "--at", "change", "--format", format]);
        (ran.code, ran.out)
    }

    /// Rule, address and whether it is suppressed, of every error of a valid SARIF log.
    fn sarif(&self) -> Vec<String> {
        let log: Value = serde_json::from_str(&self.lint("sarif").1).unwrap();
        let results = log["runs"][0]["results"].as_array().unwrap();
        if results.is_empty() {
            assert!(validator().is_valid(&log));
        } else {
            valid(&log);
        }
        let error = |result: &&Value| result["level"] == "error";
        let line = |result: &Value| {
            let location = &result["locations"][0];
            let uri = location["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap();
            assert!(uri.starts_with("yard/"), "paths start at the top of the repository: {uri}");
            let suppressed = !result["suppressions"].as_array().unwrap().is_empty();
            let address = location["logicalLocations"][0]["fullyQualifiedName"].as_str().unwrap_or("");
            let rule = result["ruleId"].as_str().unwrap();
            format!("{rule} {address}{}", if suppressed { " (suppressed)" } else { "" })
        };
        results.iter().filter(error).map(line).collect()
    }

    fn compare(&self, format: &str) -> String {
        let ran = self.yard.wayledger(&["compare", "main", "change", "--format", format]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        ran.out
    }

    fn report(&self) -> String {
        let ran = self.yard.wayledger(&["report", LEDGER, "--at", "change", "--format", "markdown"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        ran.out
    }

    /// The part of a comment that is not folded.
    fn top_of_comment(&self) -> String {
        let comment = self.compare("markdown");
        let top = comment.split("<details>").next().unwrap().to_owned();
        assert!(top.lines().count() < 25, "{top}");
        top
    }
}

const INSPECTION: &str = "inspect X.port.J1 date=\"2021-05-01\" by=inspector-1 gauge=DI-4 temperature=20.5 {
    carrier reach=40 travel=15
    light none
    UL -0.040 -> -0.030
    UR 0.012 -> 0.018
    LL 0.000 -> 0.006
    LR 0.020 -> 0.014
}
";

#[test]
fn a_good_change() {
    let request = Request::new(|yard| {
        yard.write(&format!("{LEDGER}/2021-05-01-inspector-1.kdl"), INSPECTION);
    });
    assert!(request.passed, "{}", request.said);
    assert_eq!(request.lint("text").0, 0, "{}", request.lint("text").1);
    assert_eq!(request.sarif(), [""; 0]);
    let top = request.top_of_comment();
    assert!(top.contains("1 ledger changed") && top.contains("(no nonconformity)"), "{top}");
    let comment = request.compare("markdown");
    assert!(comment.contains("inspect X.port.J1 2021-05-01 added"), "{comment}");
    assert!(comment.contains("largest step 0.012 mm → conforming, largest step 0.01 mm"), "{comment}");
    let report = request.report();
    assert!(report.contains("conforming") && !report.contains("nonconforming"), "{report}");
}

#[test]
fn a_bad_reading() {
    let request = Request::new(|yard| {
        let bad = INSPECTION.replace("UL -0.040 -> -0.030", "UL -0.040 -> -0.008");
        yard.write(&format!("{LEDGER}/2021-05-01-inspector-1.kdl"), bad);
    });
    assert!(!request.passed);
    assert!(request.said.contains("nonconformity: joint-step X.port.J1"), "{}", request.said);
    assert_eq!(request.lint("text").0, 1);
    assert_eq!(request.sarif(), ["joint-step X.port.J1"]);
    let annotations = request.lint("github").1;
    let expected = "::error file=yard/hull-gantry/2021-05-01-inspector-1.kdl,line=4,";
    assert!(annotations.lines().any(|line| line.starts_with(expected)), "{annotations}");
    let top = request.top_of_comment();
    assert!(top.contains("(1 nonconformity)") && top.contains("groove UL steps by 0.032 mm"), "{top}");
    assert!(
        top.contains("X.port.J1: conforming, largest step 0.012 mm → nonconforming, largest step 0.032 mm"),
        "{top}"
    );
    let report = request.report();
    assert!(report.contains("nonconforming") && report.contains("0.032"), "{report}");
}

#[test]
fn a_bad_reading_under_a_concession() {
    let request = Request::new(|yard| {
        let bad = INSPECTION.replace("UL -0.040 -> -0.030", "UL -0.040 -> -0.018");
        let concession = "concession joint-step X.port.J1 date=\"2021-05-02\" by=engineer-1 accepts=0.022 \
                          reason=\"runs at a tenth of the rated speed\"\n";
        yard.write(&format!("{LEDGER}/2021-05-01-inspector-1.kdl"), bad);
        yard.write(&format!("{LEDGER}/2021-05-02-engineer-1.kdl"), concession);
    });
    assert!(request.passed, "{}", request.said);
    assert_eq!(request.lint("text").0, 0, "{}", request.lint("text").1);
    assert_eq!(request.sarif(), ["joint-step X.port.J1 (suppressed)"]);
    let comment = request.compare("markdown");
    assert!(comment.contains("1 conceded") && comment.contains("accepted by concession"), "{comment}");
    assert!(request.top_of_comment().contains("(no nonconformity)"));
    assert!(request.report().contains("runs at a tenth of the rated speed"), "{}", request.report());
}

/// A reading that stays within its limit: no rule of the trade is broken, only the seal.
#[test]
fn a_silent_change_after_the_release() {
    let request = Request::new(|yard| {
        let file = format!("{LEDGER}/2021-04-15-inspector-1.kdl");
        let text = yard.read(&file);
        let changed = text.replace("UL -0.040 -> -0.028", "UL -0.040 -> -0.038");
        assert_ne!(text, changed);
        yard.write(&file, changed);
    });
    assert!(!request.passed);
    assert!(request.said.contains("release-altered"), "{}", request.said);
    assert_eq!(request.lint("text").0, 1);
    let errors = request.sarif();
    assert!(!errors.is_empty() && errors.iter().all(|error| error.starts_with("release-altered X")), "{errors:?}");
    let comment = request.compare("text");
    assert!(comment.contains("UL: was -0.04 -> -0.028, now -0.04 -> -0.038"), "{comment}");
    let top = request.top_of_comment();
    assert!(
        top.contains("release-altered") && top.contains("conforming, released 2021-04-20 → nonconforming"),
        "{top}"
    );
    assert!(request.report().contains("nonconforming"), "{}", request.report());
}

#[test]
fn a_pure_reformatting() {
    let request = Request::new(|yard| {
        for file in
            ["2021-04-15-inspector-1.kdl", "machine.kdl", "2021-04-14-fitter-2.kdl", "2021-04-20-engineer-1.kdl"]
        {
            let file = format!("{LEDGER}/{file}");
            let text = yard.read(&file);
            yard.write(&file, format!("// tidied\n\n{}", text.replace("    ", "\t").replace(" {\n", "   {\n\n")));
        }
    });
    assert!(request.passed, "{}", request.said);
    assert_eq!(request.lint("text").0, 0);
    assert_eq!(request.sarif(), [""; 0]);
    for format in ["text", "markdown"] {
        let out = request.compare(format);
        assert!(out.contains("no change in meaning; 1 was only written differently"), "{out}");
    }
    let before = request.yard.wayledger(&["report", LEDGER, "--at", "main", "--format", "markdown"]).out;
    // The last line alone tells which revision it shows.
    let body = |text: &str| text.trim_end().rsplit_once('\n').map(|(body, _)| body.to_owned());
    assert_eq!(body(&request.report()), body(&before), "the report is the same to the byte");
    assert_ne!(request.report(), before, "which revision it shows is told");
}

/// Fingerprints tell a review page which findings a change brought, wherever their lines went.
#[test]
fn gitlab_knows_findings_again_after_a_reformatting() {
    let request = Request::new(|yard| {
        let bad = INSPECTION.replace("UL -0.040 -> -0.030", "UL -0.040 -> -0.008");
        yard.write(&format!("{LEDGER}/2021-05-01-inspector-1.kdl"), bad);
    });
    let prints = || -> Vec<String> {
        let report: Value = serde_json::from_str(&request.lint("gitlab").1).unwrap();
        let print = |entry: &Value| entry["fingerprint"].as_str().unwrap().to_owned();
        report.as_array().unwrap().iter().map(print).collect()
    };
    let before = prints();
    assert!(!before.is_empty());
    let file = format!("{LEDGER}/2021-05-01-inspector-1.kdl");
    request.yard.write(&file, format!("// remeasured\n\n{}", request.yard.read(&file).replace(" -> ", "  ->  ")));
    request.yard.commit("tidied");
    assert_eq!(prints(), before);
}
