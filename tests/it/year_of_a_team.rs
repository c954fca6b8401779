//! A year of a team's life in Git, step by step: branches and merges, a slip, rework, a revert, a cherry-pick, a squash, a
//! conflict, a gauge found wrong, a tightened limit, a new revision, an exchanged segment, a copied folder. After each step
//! the hook, the lint and a release say what this script states, and nobody passes a hook, edits a record of somebody else
//! or deletes a file.

use serde_json::Value;

use crate::common::yard::{Ran, Yard};

const SHOP: &str = "shop \"Quarry 3\" {
    not-applicable straightness-range date=\"2021-01-05\" by=office reason=\"pushed to a ground edge\"
    not-applicable torque-window date=\"2021-01-05\" by=office reason=\"window of the maker\"
    not-applicable snug-window date=\"2021-01-05\" by=office reason=\"window of the maker\"
    not-applicable torque-window-fit date=\"2021-01-05\" by=office reason=\"window of the maker\"
    not-applicable overtravel date=\"2021-01-05\" by=office reason=\"a fence, no carriage\"
    not-applicable joint-meeting date=\"2021-01-05\" by=office reason=\"a fence, no carriage\"
    not-applicable parts-mixed date=\"2021-01-05\" by=office reason=\"one lot a machine\"
    gauge DI-1 kind=dial-indicator graduation=0.001 range=0.8 permissible-error=0.002 plus=outward {
        calibrated \"2021-01-12\" due=\"2022-01-12\" certificate=C-1
    }
    wrench TW-1 kind=setting least=0.5 most=5 { calibrated \"2021-01-12\" due=\"2022-01-12\" certificate=W-1 }
    wrench TW-2 kind=setting least=4 most=20 { calibrated \"2021-01-12\" due=\"2022-01-12\" certificate=W-2 }
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward { stock 1200 }
}
";

const DESIGN: &str = "design saw revision=1 {
    axis X {
        run to=2400
        beam bed { piece 2400 }
        rail left beam=bed profile=R20 datum=left {
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            joint-support J1 at=1200 length=200
        }
    }
}
";

const SAW: &str = "machine saw {
    built-to saw revision=1
    part X.left.seg1 serial=K-1
    part X.left.seg2 serial=K-2
}
";

/// Snug, then full torque from the joint outward.
fn fitted(day: &str) -> String {
    let row = |hour: &str, how: &str| {
        format!("fasten X.left date=\"{day}T{hour}:00\" by=fitter-2 {how} {{ clicked J1 S4..S1 S6..S9 }}\n")
    };
    row("08", "wrench=TW-1 stage=snug setting=1.5") + &row("10", "wrench=TW-2 stage=full setting=10.5")
}

/// The joint read, with a step of so much at its first groove; `b` makes a reading one of its own.
fn read(day: &str, step: &str, b: &str) -> String {
    format!(
        "inspect X.left.J1 date=\"{day}T09:00\" by=inspector-1 gauge=DI-1 {{
    light none
    carrier reach=40 travel=15
    UL 0 -> {step}
    UR 0.001 -> {b}
    LL 0.002 -> 0.003
    LR 0.003 -> 0.001
}}
"
    )
}

fn service(day: &str) -> String {
    format!("service X date=\"{day}T08:00\" by=fitter-2 task=lubricate\n")
}

struct Year(Yard);

impl Year {
    fn begin() -> Year {
        let yard = Yard::empty();
        assert_eq!(yard.wayledger(&["hook"]).code, 0);
        Year(yard)
    }

    fn write(&self, name: &str, text: impl AsRef<[u8]>) -> &Year {
        self.0.write(name, text);
        self
    }

    fn append(&self, name: &str, text: &str) -> &Year {
        let before = self.0.read(name);
        self.write(name, before + text)
    }

    fn git(&self, arguments: &[&str]) -> Ran {
        self.0.run("git", arguments)
    }

    /// A commit of all there is, through the hook.
    #[track_caller]
    fn commit(&self, what: &str) -> &Year {
        self.0.git(&["add", "-A"]);
        let ran = self.git(&["commit", "-q", "-m", what]);
        assert_eq!(ran.code, 0, "{what}: {}{}", ran.out, ran.err);
        self
    }

    /// The same where the hook stops it, and says why; what was written stays in the work tree.
    #[track_caller]
    fn stopped(&self, what: &str, rules: &[&str]) -> &Year {
        self.0.git(&["add", "-A"]);
        let ran = self.git(&["commit", "-q", "-m", what]);
        assert_eq!(ran.code, 1, "{what} went through");
        for rule in rules {
            assert!(ran.err.contains(rule) || ran.out.contains(rule), "{what}: no {rule}: {}{}", ran.out, ran.err);
        }
        self
    }

    #[track_caller]
    fn merge(&self, branch: &str) -> &Year {
        let ran = self.git(&["merge", "-q", "--no-ff", "-m", &format!("merge {branch}"), branch]);
        assert_eq!(ran.code, 0, "merge of {branch}: {}{}", ran.out, ran.err);
        self
    }

    fn on(&self, branch: &str) -> &Year {
        self.0.git(&["checkout", "-q", branch]);
        self
    }

    fn branch(&self, branch: &str) -> &Year {
        self.0.git(&["checkout", "-q", "-b", branch]);
        self
    }

    /// What the lint says on a day, rule by rule with the grade's first letter: `o hold-in-force X`.
    fn lint(&self, day: &str, more: &[&str]) -> (i32, Vec<String>) {
        let ran = self.0.wayledger(&[&["lint", ".", "--today", day, "--format", "json"], more].concat());
        let page: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"));
        let mut all = Vec::new();
        for ledger in page["ledgers"].as_array().expect("ledgers") {
            let path = ledger["path"].as_str().expect("a path");
            for it in ledger["findings"].as_array().expect("findings") {
                let text = |key: &str| it[key].as_str().unwrap_or("").to_owned();
                if text("grade") != "not judged" && it["conceded"].is_null() {
                    let place = if path == "saw" { String::new() } else { format!(" in {path}") };
                    let said = format!("{} {} {}{place}", &text("grade")[..1], text("rule"), text("address"));
                    all.push(said.trim_end().replace("  ", " "));
                }
            }
        }
        all.dedup();
        (ran.code, all)
    }

    /// The lint says so and no more; it exits 1 where a rule is broken.
    #[track_caller]
    fn says(&self, day: &str, expected: &[&str]) -> &Year {
        let (code, found) = self.lint(day, &[]);
        assert_eq!(found, expected, "on {day}");
        assert_eq!(code, i32::from(expected.iter().any(|it| it.starts_with("n "))), "on {day}");
        self
    }

    /// A release, which is refused for these rules alone, or written and committed.
    #[track_caller]
    fn release(&self, day: &str, refused_for: &[&str]) -> &Year {
        let at = format!("{day}T12:00");
        let ran =
            self.0.wayledger(&["release", "X", "--by", "engineer-1", "--ledger", "saw", "--today", day, "--date", &at]);
        assert_eq!(ran.code, i32::from(!refused_for.is_empty()), "{ran:?}");
        let reasons = ran.out.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
        let reasons: Vec<&str> = reasons.filter_map(|line| line.split(": ").nth(1)).collect();
        if refused_for.is_empty() {
            return self.commit(&format!("released on {day}"));
        }
        assert_eq!(reasons, refused_for, "{}", ran.out);
        self
    }
}

#[test]
fn a_year_of_a_team() {
    let year = Year::begin();
    // The machine is described; two branches fit and read it.
    year.write("shop.kdl", SHOP).write("design.kdl", DESIGN).write("saw/machine.kdl", SAW).commit("a saw");
    year.says("2021-02-01", &["o torque-missing X.left", "o groove-missing X.left.J1"]);
    year.branch("fitting").write("saw/2021-03-01-fitter-2.kdl", fitted("2021-03-01")).commit("fitted");
    // A reading that breaks a limit is asked about; what was really read is held.
    let inspected = "saw/2021-03-02-inspector-1.kdl";
    year.branch("reading").write(inspected, read("2021-03-02", "0.024", "0.004"));
    year.stopped("a step", &["joint-step X.left.J1", "hold X.left.J1 date=\"2021-03-02T09:00\""]);
    year.append(
        inspected,
        "hold X.left.J1 date=\"2021-03-02T09:30\" by=inspector-1 reason=\"read twice: the step is there\"\n",
    );
    year.commit("read, and held").on("main").merge("fitting").merge("reading");
    let held = ["n joint-step X.left.J1", "o joint-step-cause X.left.J1", "o hold-in-force X.left.J1"];
    year.says("2021-03-02", &held);
    year.release("2021-03-03", &["joint-step X.left.J1", "hold-in-force X.left.J1"]);
    // Rework: loosened, tightened, read again by another eye, lifted.
    year.write(
        "saw/2021-03-04-fitter-2.kdl",
        "loosen X.left date=\"2021-03-04T08:00\" by=fitter-2 reason=\"seat cleaned\" { at J1 }
fasten X.left date=\"2021-03-04T08:30\" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked J1 }
fasten X.left date=\"2021-03-04T09:00\" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked J1 }
",
    );
    year.commit("rework").says("2021-03-04", &["o inspection-stale X.left.J1", "o hold-in-force X.left.J1"]);
    let lift = "lift X.left.J1 date=\"2021-03-05T10:00\" by=inspector-1 disposition=rework reason=\"seat cleaned, read again\"\n";
    year.write("saw/2021-03-05-inspector-1.kdl", read("2021-03-05", "0.012", "0.004") + lift);
    year.commit("read again").says("2021-03-05", &[]).release("2021-03-06", &[]).says("2021-03-06", &[]);
    // A revert takes records away past the hook; the history tells, and a revert of it puts them back.
    assert_eq!(year.git(&["revert", "--no-edit", "HEAD~1"]).code, 0);
    let (code, found) = year.lint("2021-03-06", &["--since", "HEAD~1"]);
    assert_eq!(code, 1);
    assert!(
        found.iter().filter(|it| it.starts_with("n ")).all(|it| {
            ["record-gone", "release-altered", "release-incomplete"].iter().any(|rule| it.contains(rule))
        }),
        "{found:?}"
    );
    assert_eq!(year.git(&["revert", "--no-edit", "HEAD"]).code, 0);
    assert_eq!(year.lint("2021-03-06", &["--since", "HEAD~2"]), (0, Vec::new()));
    // A commit picked from a branch that is merged later; a branch that was squashed before.
    year.branch("greasing").write("saw/2021-04-01-fitter-2.kdl", service("2021-04-01")).commit("lubricated");
    year.on("main");
    assert_eq!(year.git(&["cherry-pick", "greasing"]).code, 0);
    year.merge("greasing").branch("more").append("saw/2021-04-01-fitter-2.kdl", &service("2021-04-02")).commit("more");
    year.on("main");
    assert_eq!(year.git(&["merge", "-q", "--squash", "more"]).code, 0);
    year.commit("squashed").merge("more").says("2021-04-02", &[]);
    // A conflict: not judged until somebody settles it, and both records stay.
    let greased = "saw/2021-04-01-fitter-2.kdl";
    year.branch("one").append(greased, &service("2021-04-03")).commit("one");
    year.on("main").branch("two").append(greased, &service("2021-04-04")).commit("two");
    assert_eq!(year.git(&["merge", "-q", "one"]).code, 1);
    year.says("2021-04-04", &["n unreadable"]).stopped("unsettled", &["unresolved merge"]);
    let days = ["2021-04-01", "2021-04-02", "2021-04-03", "2021-04-04"];
    year.write(greased, days.map(service).concat()).commit("settled").on("main").merge("two").says("2021-04-04", &[]);
    // A gauge is found wrong: the calibration is let in, the release rests on it no more, and reading again cures it.
    let wrong = SHOP.replace(
        "certificate=C-1\n",
        "certificate=C-1\n        calibrated \"2021-06-01\" due=\"2022-06-01\" certificate=C-2 as-found=outside result=adjusted error=0.005\n",
    );
    year.write("shop.kdl", &wrong).commit("DI-1 was found wrong");
    year.says("2021-06-01", &["o gauge-calibration X.left.J1", "n release-incomplete X"]);
    year.write(
        "saw/2021-06-02-engineer-2.kdl",
        "void release X of=\"2021-03-06T12:00\" date=\"2021-06-02T08:00\" by=engineer-2 reason=\"DI-1 was found wrong\"\n",
    );
    year.commit("withdrawn").says("2021-06-02", &["o gauge-calibration X.left.J1", "o hold-in-force X"]);
    year.release("2021-06-02", &["gauge-calibration X.left.J1", "hold-in-force X"]);
    year.write("saw/2021-06-03-inspector-1.kdl", read("2021-06-03", "0.012", "0.006")).commit("read again");
    year.says("2021-06-03", &["o hold-in-force X"]);
    let lift = |by: &str| {
        format!("lift X date=\"2021-06-03T10:00\" by={by} disposition=repair reason=\"read with the adjusted gauge\"\n")
    };
    // Nobody lifts a hold on their own work once it was released.
    year.write("saw/2021-06-03-lift.kdl", lift("inspector-1")).stopped("own work", &["lift-self X"]);
    year.write("saw/2021-06-03-lift.kdl", lift("engineer-3")).commit("lifted").release("2021-06-04", &[]);
    // A limit is tightened: the released saw is named, and stays as it was judged.
    let tight = wrong.trim_end().trim_end_matches('}').to_owned()
        + "    rulebook { joint-step most=0.01 reason=\"noise at full speed\" }\n}\n";
    year.write("shop.kdl", &tight).commit("a tighter limit").says("2021-07-01", &["o limit-tightened X"]);
    // A new stock length, and a second revision for it: nobody who does not take it over is touched.
    let next = DESIGN
        .replace("revision=1", "revision=2")
        .replace("segment 1200\n            segment 1200", "segment 1440\n            segment 960")
        .replace("omit S5", "omit S6")
        .replace("J1 at=1200", "J1 at=1440");
    let both = format!("{DESIGN}{next}");
    year.write("shop.kdl", tight.replace("stock 1200", "stock 960 1200 1440")).write("design.kdl", &both);
    year.commit("a second revision").says("2021-07-02", &["o limit-tightened X"]);
    assert_eq!(year.0.wayledger(&["start", "saw-2", "--like", "saw"]).code, 0);
    let second = year.0.read("saw-2/machine.kdl").replace("revision=1", "revision=2");
    let open = ["o torque-missing X.left in saw-2", "o groove-missing X.left.J1 in saw-2"];
    year.write("saw-2/machine.kdl", second).commit("a second saw");
    year.says("2021-07-03", &["o limit-tightened X", open[0], open[1]]);
    // A revision in use, and a serial number under records, do not change silently.
    year.write("design.kdl", both.replacen("J1 at=1200", "J1 at=1210", 1)).stopped("silent", &["release-altered X"]);
    year.write("design.kdl", &both);
    year.write("saw/machine.kdl", SAW.replace("K-2", "K-7")).stopped("exchanged in silence", &["release-altered X"]);
    // A segment is exchanged: the release is withdrawn, old evidence is history, and the work is to be done again.
    let exchanged =
        "part X.left.seg2 serial=K-2 until=\"2021-08-01\"\n    part X.left.seg2 serial=K-7 since=\"2021-08-01\"";
    let exchanged = SAW.replace("part X.left.seg2 serial=K-2", exchanged);
    year.write("saw/machine.kdl", &exchanged).stopped("under a release", &["release-altered X"]);
    year.write(
        "saw/2021-07-30-engineer-2.kdl",
        "void release X of=\"2021-06-04T12:00\" date=\"2021-07-30T08:00\" by=engineer-2 reason=\"a chip in K-2\"\n",
    );
    year.commit("withdrawn and exchanged");
    let torque = "o torque-missing X.left";
    let joint = "o groove-missing X.left.J1";
    year.says("2021-08-01", &["o hold-in-force X", torque, joint, open[0], open[1]]);
    let loosened = "loosen X.left date=\"2021-08-02T07:00\" by=fitter-2 reason=\"tightened anew from the joint\" { at S1; at S2; at S3; at S4 }\n";
    year.write("saw/2021-08-02-fitter-2.kdl", loosened.to_owned() + &fitted("2021-08-02")).commit("fitted again");
    year.write("saw/2021-08-03-inspector-1.kdl", read("2021-08-03", "0.007", "0.004")).commit("read again");
    year.says("2021-08-03", &["o hold-in-force X", open[0], open[1]]);
    year.release("2021-08-03", &["hold-in-force X"]);
    year.write(
        "saw/2021-08-03-engineer-3.kdl",
        "lift X date=\"2021-08-03T12:00\" by=engineer-3 disposition=rework reason=\"K-2 exchanged for K-7\"\n",
    );
    year.commit("lifted").release("2021-08-04", &[]).says("2021-08-04", &open);
    // A folder is copied: each record of it is told, and nothing of the copy counts.
    for name in ["machine.kdl", "2021-08-02-fitter-2.kdl", "2021-08-03-inspector-1.kdl", "2021-08-04-engineer-1.kdl"] {
        year.write(&format!("saw-3/{name}"), year.0.read(&format!("saw/{name}")));
    }
    let (code, found) = year.lint("2021-08-05", &[]);
    assert_eq!(code, 1);
    let of_copy = |it: &&String| it.starts_with("n ") && !it.ends_with("in saw-3");
    assert_eq!(found.iter().filter(of_copy).count(), 0, "{found:?}");
    assert!(found.iter().any(|it| it == "n readings-copied X.left.J1 in saw-3"), "{found:?}");
    // Nobody deleted a file in this year.
    let gone = year.0.git(&["log", "--diff-filter=D", "--name-only", "--format=%s"]);
    let gone: Vec<&str> = gone.lines().filter(|line| !line.is_empty()).collect();
    assert_eq!(
        gone,
        ["Revert \"read again\"", "saw/2021-03-05-inspector-1.kdl"],
        "the revert alone, which was reverted"
    );
}
