//! The history of real repositories: what others have is held by the hook and by `--since`; what nobody else has may still be
//! corrected; what stood at a revision does not fail.

use serde_json::Value;

use crate::common::yard::{GOOD, Ran, SAW, SHOP, Yard, bad};
use crate::review_formats::valid;

const DAY: &[&str] = &["--today", "2021-11-01"];

fn lint(yard: &Yard, arguments: &[&str]) -> Ran {
    yard.wayledger(&[&["lint", "-q"], arguments, DAY].concat())
}

fn hook(yard: &Yard) -> Ran {
    yard.git(&["add", "-A"]);
    lint(yard, &["--staged", "--touched"])
}

fn json(yard: &Yard, arguments: &[&str]) -> Value {
    let ran = lint(yard, &[arguments, &["--format", "json"]].concat());
    serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {ran:?}"))
}

/// The findings that are shown: rule, address, how each compares, whether it stands.
fn findings(json: &Value) -> Vec<(String, String, String, bool)> {
    let all = json["ledgers"].as_array().unwrap().iter().flat_map(|ledger| ledger["findings"].as_array().unwrap());
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let broken = all.filter(|it| it["grade"] == "nonconformity");
    let told = broken.map(|it| {
        (text(&it["rule"]), text(&it["address"]), text(&it["baseline"]), it["is_standing"].as_bool().unwrap())
    });
    told.collect()
}

/// A saw whose branch others have.
fn shared() -> Yard {
    let yard = Yard::with_saw();
    yard.git(&["init", "-q", "--bare", "../origin.git"]);
    yard.git(&["remote", "add", "origin", "../origin.git"]);
    yard.git(&["push", "-q", "-u", "origin", "main"]);
    yard
}

/// What was said, on one line.
fn said(ran: &Ran) -> String {
    format!("{}{}", ran.out, ran.err).replace('│', "").split_whitespace().collect::<Vec<&str>>().join(" ")
}

#[track_caller]
fn is_stopped(ran: &Ran, because: &str) {
    assert!(ran.code == 1 && said(ran).contains(because), "{because}: {ran:?}");
}

const RECORDS: &str = "saw/2021-04-15.kdl";

/// A reading that conforms, and a hold.
fn other(day: &str) -> String {
    GOOD.replace("04-15", day)
}

#[test]
fn what_nobody_else_has_may_be_corrected_and_what_others_have_may_not() {
    let yard = shared();
    yard.write("saw/more.kdl", other("04-16")).commit("a reading of today");
    yard.write("saw/more.kdl", other("04-16").replace("LL 0 -> 0.005", "LL 0 -> 0.004"));
    assert_eq!(hook(&yard).code, 0, "nobody else has it");
    yard.write(RECORDS, GOOD.replace("LL 0 -> 0.005", "LL 0 -> 0.004"));
    let ran = hook(&yard);
    is_stopped(&ran, "nonconformity: record-altered X.left.J1");
    assert!(said(&ran).contains("is not as in the branch that others have: `LL` was `0 -> 0.005` and is `0 -> 0.004`"));
    assert_eq!(ran.out.matches("nonconformity: ").count(), 1, "{ran:?}");
    // Growth passes, and so does a void.
    yard.write(RECORDS, GOOD.replace("light none", "light none; note \"by lamp\"").replace("04-15", "04-15T08:00"));
    assert_eq!(hook(&yard).code, 0);
    let void = "void inspect X.left.J1 of=\"2021-04-15\" date=\"2021-04-17\" by=engineer-1 reason=\"a wrong joint\"\n";
    yard.write(RECORDS, format!("{GOOD}{void}"));
    assert_eq!(hook(&yard).code, 0);
    // Once it is pushed the other one is held too.
    yard.write(RECORDS, GOOD).commit("as it was");
    yard.git(&["push", "-q"]);
    yard.git(&["rm", "-q", "-f", "saw/more.kdl"]);
    is_stopped(&hook(&yard), "nonconformity: record-gone X.left.J1");
}

/// Somebody pushed meanwhile: held is what both share.
#[test]
fn what_others_added_meanwhile_is_not_taken_for_removed() {
    let yard = shared();
    yard.git(&["checkout", "-q", "-b", "theirs"]);
    yard.write("saw/theirs.kdl", other("04-18")).commit("theirs");
    yard.git(&["push", "-q", "origin", "theirs:main"]);
    yard.git(&["checkout", "-q", "main"]);
    yard.git(&["fetch", "-q"]);
    yard.write("saw/more.kdl", other("04-16")).commit("mine");
    yard.write("saw/more.kdl", other("04-16").replace("LL 0 -> 0.005", "LL 0 -> 0.004"));
    assert_eq!(hook(&yard).code, 0);
}

/// What an earlier commit altered, past the hook, is not made by this one. A server sees it.
#[test]
fn what_slipped_past_the_hook_is_found_there() {
    let yard = shared();
    yard.write(RECORDS, GOOD.replace("LL 0 -> 0.005", "LL 0 -> 0.004")).commit("past the hook");
    yard.write(RECORDS, GOOD.replace("LL 0 -> 0.005", "LL 0 -> 0.004; note \"later\""));
    assert_eq!(hook(&yard).code, 0);
    is_stopped(&lint(&yard, &["--since", "origin/main"]), "record-altered X.left.J1");
    is_stopped(&lint(&yard, &["--allow-held", "--standing", "origin/main"]), "record-altered X.left.J1");
    assert_eq!(lint(&yard, &["--since", "HEAD"]).code, 0);
}

/// Without a branch that others see: what readings broke, holds, lifts, voids and releases of the last commit are held.
#[test]
fn without_an_upstream_what_broke_and_who_spoke_is_held() {
    let hold = "hold X.left.J1 date=\"2021-04-17\" by=inspector-1 reason=\"it is so\"\n";
    let lift = "lift X.left.J1 date=\"2021-04-18\" by=engineer-1 disposition=repair reason=\"blended\"\n";
    let void = "void inspect X.left.J1 of=\"2021-04-16\" date=\"2021-04-19\" by=engineer-1 reason=\"a wrong joint\"\n";
    let release = "release X date=\"2021-05-01\" by=engineer-1 seal=\"00\"\n";
    let broken = bad().replace("04-15", "04-20");
    let yard = Yard::with_saw();
    yard.write("saw/more.kdl", format!("{}{hold}{lift}{void}{release}{broken}", other("04-16")));
    yard.commit("all of it");
    let text = yard.read("saw/more.kdl");
    let rows = [
        (hold, "", "record-gone X.left.J1"),
        (hold, "hold X.left.J1 date=\"2021-04-17\" by=inspector-1 reason=\"never mind\"\n", "record-altered X.left.J1"),
        (lift, "", "record-gone X.left.J1"),
        (void, "", "record-gone X.left.J1"),
        (release, "", "release-gone X"),
        ("UL 0 -> 0.03", "UL 0 -> 0.028", "record-altered X.left.J1"),
    ];
    for (what, instead, rule) in rows {
        yard.write("saw/more.kdl", text.replace(what, instead));
        is_stopped(&hook(&yard), &format!("nonconformity: {rule}"));
    }
    // What conforms may be put right.
    yard.write("saw/more.kdl", text.replacen("LL 0 -> 0.005", "LL 0 -> 0.004", 1));
    assert_eq!(hook(&yard).code, 0, "{:?}", hook(&yard));
}

#[test]
fn a_merge_drops_no_record_of_either_side() {
    let yard = Yard::with_saw();
    yard.write("saw/old.kdl", other("04-14")).commit("before they part");
    yard.git(&["checkout", "-q", "-b", "side"]);
    yard.write("saw/side.kdl", other("04-16")).commit("a reading there");
    yard.git(&["checkout", "-q", "main"]);
    yard.write("saw/main.kdl", other("04-17")).commit("a reading here");
    let merge = |strategy: &str| {
        yard.git(&["reset", "-q", "--hard", "main"]);
        yard.git(&["merge", "-q", "--no-commit", "--no-ff", "-s", strategy, "side"]);
    };
    merge("ort");
    assert_eq!(hook(&yard).code, 0, "all is there");
    merge("ours");
    let ran = hook(&yard);
    is_stopped(&ran, "`inspect X.left.J1 2021-04-16` of the merged branch is gone");
    for (file, called) in [("main.kdl", "the last commit"), ("old.kdl", "the last commit")] {
        merge("ort");
        yard.git(&["rm", "-q", "-f", &format!("saw/{file}")]);
        is_stopped(&hook(&yard), &format!("of {called} is gone"));
    }
    // What one side took away was judged there.
    yard.git(&["merge", "--abort"]);
    yard.git(&["checkout", "-q", "side"]);
    yard.git(&["rm", "-q", "saw/old.kdl"]);
    yard.commit("corrected before anybody had it");
    yard.git(&["checkout", "-q", "main"]);
    merge("ort");
    assert_eq!(hook(&yard).code, 0, "{:?}", hook(&yard));
}

#[test]
fn a_ledger_loses_no_records_to_another_and_no_machine_file() {
    type Deed = fn(&Yard);
    let ways: [(Deed, &str); 5] = [
        (
            |yard| {
                yard.write("saw/april/machine.kdl", SAW.replace("saw", "mill"));
            },
            "record-gone X.left.J1",
        ),
        (|yard| drop(yard.git(&["mv", "saw/machine.kdl", "saw/MACHINE.kdl"])), "ledger-gone"),
        (|yard| drop(yard.git(&["mv", "saw", ".saw"])), "ledger-gone"),
        (|yard| drop(yard.git(&["rm", "-q", "-r", "saw"])), "ledger-gone"),
        (
            |yard| {
                yard.git(&["mv", "saw", "mill"]);
                let text = yard.read("mill/april/r.kdl").replace("0.005", "0.004");
                yard.write("mill/april/r.kdl", text);
                let text = yard.read("mill/machine.kdl").replace("saw", "mill");
                yard.write("mill/machine.kdl", text);
            },
            "record-altered X.left.J1",
        ),
    ];
    for (deed, rule) in ways {
        let yard = shared();
        yard.write("other/machine.kdl", SAW.replace("saw", "other")).write("saw/april/r.kdl", other("04-16"));
        yard.commit("more");
        yard.git(&["push", "-q"]);
        deed(&yard);
        is_stopped(&hook(&yard), &format!("nonconformity: {rule}"));
        is_stopped(&lint(&yard, &["--since", "HEAD", "--staged"]), &format!("nonconformity: {rule}"));
        is_stopped(&lint(&yard, &["--since", "HEAD"]), &format!("nonconformity: {rule}"));
    }
}

/// A saw with a bad joint, committed; and the same with something done to it.
fn standing() -> Yard {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP).write("saw/machine.kdl", SAW).write(RECORDS, bad());
    yard.commit("a bad joint");
    yard
}

#[test]
fn what_stood_does_not_fail_and_what_is_new_or_worse_does() {
    let yard = standing();
    let base = yard.head();
    yard.write("saw/more.kdl", "// looked at\n");
    for arguments in [&[][..], &["--allow-held"]] {
        assert_eq!(lint(&yard, arguments).code, 1);
        let ran = lint(&yard, &[arguments, &["--standing", &base]].concat());
        assert!(ran.code == 0 && ran.out.contains("joint-step X.left.J1 (standing)"), "{ran:?}");
        assert!(ran.out.contains("1 nonconformity (at the machine), 1 of them standing"), "{ran:?}");
    }
    let step = |baseline: &str, stands| ("joint-step".to_owned(), "X.left.J1".to_owned(), baseline.to_owned(), stands);
    let shown = json(&yard, &["--standing", &base]);
    assert_eq!(findings(&shown), [step("unchanged", true)]);
    assert_eq!(
        shown["ledgers"].as_array().unwrap().iter().map(|it| it["stood_before"].as_u64().unwrap()).sum::<u64>(),
        1
    );
    assert_eq!(findings(&json(&yard, &[])), [step("", false)]);
    // A later reading is another one, worse or better: it stands for nothing that was there, and needs a hold of its own.
    let later = |value: &str| bad().replace("04-15", "04-16").replace("0.03", value);
    for (value, baseline, stands) in [("0.04", "new", false), ("0.025", "new", false)] {
        yard.write("saw/more.kdl", later(value));
        let told = findings(&json(&yard, &["--standing", &base]));
        assert!(told.contains(&step(baseline, stands)), "{value}: {told:?}");
        assert_eq!(lint(&yard, &["--standing", &base]).code, i32::from(!stands), "{value}");
    }
    // A record whose day gained a time is the same one.
    yard.write("saw/more.kdl", "// looked at\n");
    yard.write(RECORDS, bad().replace("date=\"2021-04-15\"", "date=\"2021-04-15T09:10\""));
    let told = findings(&json(&yard, &["--standing", &base]));
    assert!(told.contains(&step("unchanged", true)), "{told:?}");
    yard.write(RECORDS, bad());
    // In every format.
    let shown = |format| lint(&yard, &["--standing", &base, "--format", format]).out;
    assert!(shown("github").contains("::warning file=saw/2021-04-15.kdl"), "{}", shown("github"));
    assert!(
        shown("github").contains("title=nonconformity%3A joint-step X.left.J1 (standing)::"),
        "{}",
        shown("github")
    );
    assert!(shown("gitlab").contains("\"standing: X.left.J1: "), "{}", shown("gitlab"));
    let refused = lint(&yard, &["--standing", &base, "--complete"]);
    assert_eq!(refused.code, 2, "{refused:?}");
}

#[test]
fn sarif_carries_how_each_compares() {
    let yard = standing();
    let base = yard.head();
    let of = |arguments: &[&str]| -> Vec<(String, String)> {
        let ran = lint(&yard, &[arguments, &["--format", "sarif"]].concat());
        let log: Value = serde_json::from_str(&ran.out).expect("SARIF is JSON");
        valid(&log);
        let results = log["runs"][0]["results"].as_array().unwrap();
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        results.iter().map(|it| (text(&it["ruleId"]), text(&it["baselineState"]))).collect()
    };
    let states = |all: &[(String, String)], rule: &str| -> Vec<String> {
        all.iter().filter(|(of, _)| of == rule).map(|(_, state)| state.clone()).collect()
    };
    assert!(of(&[]).iter().all(|(_, state)| state.is_empty()), "without a revision nothing is said");
    let same = of(&["--standing", &base]);
    assert!(!same.is_empty() && same.iter().all(|(_, state)| state == "unchanged"), "{same:?}");
    // Withdrawn, read again and good; and a name that nobody knows.
    let good = GOOD.replace("04-15", "04-16");
    let void = "void inspect X.left.J1 of=\"2021-04-15\" date=\"2021-04-16\" by=engineer-1 reason=\"a wrong joint\"\n";
    yard.write("saw/more.kdl", format!("{good}{void}loosen X.lef date=\"2021-04-17\" by=fitter-2 reason=\"a slip\"\n"));
    let changed = of(&["--standing", &base]);
    assert_eq!(states(&changed, "joint-step"), ["absent"], "{changed:?}");
    assert_eq!(states(&changed, "unknown-reference"), ["new"], "{changed:?}");
    assert!(changed.iter().all(|(_, state)| !state.is_empty()), "all of a run or none: {changed:?}");
    // A ledger that went.
    yard.git(&["mv", "saw", ".saw"]);
    yard.write("mill/machine.kdl", SAW.replace("saw", "mill"));
    let gone = of(&["--standing", &base]);
    assert_eq!(
        (states(&gone, "ledger-gone"), states(&gone, "joint-step")),
        (vec!["new".into()], vec!["absent".into()])
    );
}

/// What is released, its seal and its history never stand.
#[test]
fn a_release_and_what_is_released_never_stand() {
    let yard = standing();
    yard.write("saw/release.kdl", "release X date=\"2021-05-01\" by=engineer-1 seal=\"00\"\n");
    let base = yard.commit("released though it is bad");
    yard.write("saw/more.kdl", "// looked at\n");
    let told = findings(&json(&yard, &["--standing", &base]));
    assert!(
        told.iter().any(|(rule, ..)| rule == "joint-step") && told.iter().any(|(rule, ..)| rule == "release-altered")
    );
    assert!(told.iter().all(|(_, _, baseline, stands)| baseline == "unchanged" && !stands), "{told:?}");
    assert_eq!(lint(&yard, &["--allow-held", "--standing", &base]).code, 1);
}

/// Without a revision nobody can tell what a changed limit brought.
#[test]
fn a_pull_request_tells_what_a_changed_limit_brought() {
    let yard = Yard::with_saw();
    let base = yard.head();
    let tight = SHOP.replace("shim-stock", "rulebook { joint-step most=0.004 reason=\"a fine saw\" }\n    shim-stock");
    yard.write("shop.kdl", &tight);
    assert_eq!(lint(&yard, &["--allow-held"]).code, 1);
    for option in ["--since", "--standing"] {
        let ran = lint(&yard, &["--allow-held", option, &base]);
        assert!(ran.code == 0 && ran.out.contains("let in: 2 by a changed limit or description"), "{ran:?}");
        assert_eq!(lint(&yard, &[option, &base]).code, 1, "not a request");
    }
    // A reading that is new is no changed limit; and what stood is let in only where that is asked for.
    yard.write("shop.kdl", SHOP).write("saw/more.kdl", bad().replace("04-15", "04-16"));
    assert_eq!(lint(&yard, &["--allow-held", "--since", &base]).code, 1);
    let later = yard.commit("a bad reading");
    yard.write("saw/more.kdl", bad().replace("04-15", "04-16") + "// looked at\n");
    assert_eq!(lint(&yard, &["--allow-held", "--since", &later]).code, 1);
    assert_eq!(lint(&yard, &["--allow-held", "--standing", &later]).code, 0);
}

#[test]
fn a_revision_that_is_not_there_is_said() {
    let yard = Yard::with_saw();
    for option in ["--since", "--standing"] {
        let ran = lint(&yard, &[option, "nowhere"]);
        assert_eq!(ran.code, 2, "{ran:?}");
        assert!(
            ran.err.contains(&format!("`{option}` needs a revision")) && ran.err.contains("shallow clone"),
            "{ran:?}"
        );
        assert_eq!(lint(&yard, &[option, "HEAD", "--staged", "--touched"]).code, 2);
    }
    let ran = yard.wayledger(&["lint", "--help"]);
    assert!(ran.out.contains("so name one with `--standing` or `--since`"), "{ran:?}");
}

/// What others put into `main` meanwhile is no change of a branch.
#[test]
fn compare_finds_where_the_branch_left() {
    let yard = Yard::with_saw();
    yard.git(&["checkout", "-q", "-b", "branch"]);
    yard.write("saw/mine.kdl", other("04-16")).commit("mine");
    yard.git(&["checkout", "-q", "main"]);
    yard.write("saw/theirs.kdl", other("04-18")).commit("theirs");
    let compared = |arguments: &[&str]| {
        let ran = yard.wayledger(&[&["compare"], arguments, DAY].concat());
        assert_eq!(ran.code, 0, "{ran:?}");
        ran.out
    };
    assert!(compared(&["main", "branch"]).contains("2021-04-18"), "it looks taken back");
    let since = compared(&["--merge-base", "main", "branch"]);
    assert!(since.contains("2021-04-16") && !since.contains("2021-04-18"), "{since}");
    yard.git(&["checkout", "-q", "branch"]);
    let here = compared(&["--merge-base", "main"]);
    assert!(here.contains("2021-04-16") && !here.contains("2021-04-18"), "{here}");
    yard.git(&["checkout", "-q", "--orphan", "alone"]);
    yard.commit("shares nothing");
    let ran = yard.wayledger(&["compare", "--merge-base", "main"]);
    assert!(ran.code == 2 && ran.err.contains("share no commit"), "{ran:?}");
}

/// What either side states of persons and instruments is in the merge, unless the other side took it away itself.
#[test]
fn a_merge_drops_no_statement_of_either_side() {
    let shop = |until: &str, calibrated: &str| {
        format!(
            "shop \"Quarry 3\" {{
    gauge DI kind=dial-indicator {{ calibrated \"2021-01-05\" result=passed{calibrated} }}
    person fitter-1{until}
    person inspector-1
    person fitter-9
}}
"
        )
    };
    const FAILED: &str = "; calibrated \"2021-03-05\" result=failed";
    let yard = Yard::with_saw();
    yard.write("shop.kdl", shop("", "")).commit("before they part");
    yard.git(&["checkout", "-q", "-b", "side"]);
    yard.write("shop.kdl", shop(" until=\"2021-04-01\"", FAILED)).commit("somebody left, and a gauge failed");
    yard.git(&["checkout", "-q", "main"]);
    yard.write("saw/main.kdl", other("04-17")).commit("a reading here");
    let merged = |text: &str| {
        yard.git(&["reset", "-q", "--hard", "main"]);
        yard.git(&["merge", "-q", "--no-commit", "--no-ff", "side"]);
        yard.write("shop.kdl", text);
        yard.git(&["add", "-A"]);
        hook(&yard)
    };
    let whole = shop(" until=\"2021-04-01\"", FAILED);
    assert_eq!(merged(&whole).code, 0, "all is there");
    is_stopped(&merged(&shop("", FAILED)), "`person` until 2021-04-01 of person fitter-1 in the merged branch");
    is_stopped(
        &merged(&shop(" until=\"2021-04-01\"", "")),
        "the calibration of DI of 2021-03-05 in the merged branch is gone",
    );
    is_stopped(&merged(&whole.replace("    person fitter-9\n", "")), "person fitter-9 of");
    // What one side took away was judged there.
    yard.git(&["merge", "--abort"]);
    yard.git(&["checkout", "-q", "side"]);
    yard.write("shop.kdl", whole.replace("    person fitter-9\n", "")).commit("never was one of the shop");
    yard.git(&["checkout", "-q", "main"]);
    let ran = merged(&whole.replace("    person fitter-9\n", ""));
    assert_eq!(ran.code, 0, "{ran:?}");
}
