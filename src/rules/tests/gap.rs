//! The rules about surveys, shims and the keeping of records, on small ledgers.

use crate::finding::Finding;
use crate::ledger::{Ledger, TextFile};
use crate::rules::{self, Case, RuleGroup};
use crate::world::Path;

fn lint(files: &[(&str, &str)]) -> Vec<Finding> {
    let read = |(name, text): &(&str, &str)| TextFile::read(Path(format!("m/{name}")), text.as_bytes().to_vec());
    let ledger = Ledger::new(Path("m".into()), files.iter().map(read).collect(), &[]);
    let (mut findings, _) = crate::rules::judge(&Case::new(&ledger, jiff::civil::date(2026, 11, 1)));
    findings.extend(ledger.text_findings.iter().cloned());
    // How the surveys were taken is no matter of these tests.
    let taken = |finding: &Finding| matches!(finding.rule.as_str(), "survey-closure" | "survey-temperature");
    findings.retain(|finding| finding.grade != crate::finding::Grade::NotJudged && !taken(finding));
    findings
}

/// The rules of these two groups that find fault with a text, each with its address.
fn found(files: &[(&str, &str)]) -> Vec<String> {
    let ours = |name: &str| {
        rules::all().any(|rule| {
            rule.name.as_str() == name && matches!(rule.group, RuleGroup::Gap | RuleGroup::Keeping | RuleGroup::Text)
        })
    };
    let mut all: Vec<String> = lint(files)
        .iter()
        .filter(|finding| ours(finding.rule.as_str()))
        .map(|finding| format!("{} {}", finding.rule, finding.address))
        .collect();
    all.sort();
    all
}

const RAILS: &str = r#"
shop {
    gauge DI-6 graduation=0.01 plus=narrower
    shim-stock { leaf 0.02; leaf 0.05 }
}
machine m {
    axis X {
        rail a { supports S first=100 pitch=240 count=5 }
        rail b follows=a shims=widen { supports S first=100 pitch=240 count=5 }
    }
}
"#;

/// What is found on the two rails with some records.
fn with(records: &str) -> Vec<String> {
    found(&[("machine.kdl", &format!("{RAILS}{records}"))])
}

/// The readings of five stations as a survey.
fn survey(day: &str, stage: &str, readings: &str) -> String {
    let rows: Vec<String> =
        readings.split(' ').enumerate().map(|(i, reading)| format!("at S{} {reading}", i + 1)).collect();
    format!("survey gap X.b date=\"2026-04-{day}\" by=inspector-1 stage={stage} {{ {} }}\n", rows.join("; "))
}

fn shim(day: &str, rows: &str) -> String {
    format!("shim X.b date=\"2026-04-{day}\" by=fitter-2 {{ {rows} }}\n")
}

fn tight(day: &str, supports: &str) -> String {
    format!("fasten X.b date=\"2026-04-{day}\" by=fitter-2 stage=full setting=10.5 {{ clicked {supports} }}\n")
}

const NOTHING: [&str; 0] = [];

#[test]
fn the_usual_way_of_a_gap_from_fitting_to_verification() {
    let fitted = survey("16", "as-fitted", "0 -0.01 -0.07 -0.03 -0.05");
    assert_eq!(with(""), ["station-missing X.b"]);
    assert_eq!(with(&fitted), ["shim-missing X.b"]);
    let shimmed = fitted + &shim("17", "at S3 0.05 0.02");
    assert_eq!(with(&shimmed), ["shim-unverified X.b"]);
    let hasty = shimmed.clone() + &survey("18", "verification", "0 -0.01 0 -0.03 -0.05");
    assert_eq!(with(&hasty), ["torque-after-shim X.b"]);
    let done = shimmed + &tight("17", "S3") + &survey("18", "verification", "0 -0.01 0 -0.03 -0.05");
    assert_eq!(with(&done), NOTHING);
    assert_eq!(
        with(&(done.clone() + "loosen X.b.S4 date=\"2026-04-19\" by=fitter-2\n")),
        ["survey-stale X.b"],
        "what is loosened after the survey undoes it"
    );
    assert_eq!(with(&(done.clone() + &tight("19", "S1..S5"))), NOTHING, "tightening again undoes nothing");
    assert_eq!(
        with(&(done.clone() + "loosen X.a.S4 date=\"2026-04-19\" by=fitter-2\n")),
        ["survey-stale X.b"],
        "the rail that is followed counts as well"
    );
    assert_eq!(
        with(&(done + &shim("19", "at S5 0.02"))),
        ["shim-unverified X.b"],
        "shims after the verification want another one"
    );
}

/// Common practice, no source: the range of the gap after shimming is at most 0.05 mm.
#[test]
fn the_range_is_judged_exactly() {
    let range = |least: &str| with(&survey("18", "verification", &format!("0 -0.01 {least} 0 0")));
    assert_eq!(range("-0.05"), NOTHING);
    assert_eq!(range("-0.050001"), ["gap-range X.b"]);
    // The mean of three repeats may lie a third of a nanometre beyond the limit, that of two just at it.
    let repeats =
        |row: &str| with(&survey("18", "verification", "0 0 0 0 0").replace("at S3 0", &format!("at S3 {row}")));
    assert_eq!(repeats("-0.05 -0.05 -0.050001"), ["gap-range X.b"]);
    assert_eq!(repeats("-0.049999 -0.050001"), NOTHING);
}

#[test]
fn the_sign_of_the_gauge_and_the_sense_of_the_shims_turn_the_target_round() {
    // With a gauge whose plus is narrower, 0.07 is the narrowest place and wants the shim.
    let narrower = survey("16", "as-fitted", "0 0.01 0.07 0.03 0.05").replace(" stage", " gauge=DI-6 stage");
    assert_eq!(with(&(narrower.clone() + &shim("17", "at S3 0.05 0.02"))), ["shim-unverified X.b"]);
    assert_eq!(
        with(&(narrower.clone() + &shim("17", "at S1 0.05 0.02"))),
        ["shim-missing X.b", "shim-total X.b.S1", "shim-unverified X.b"]
    );
    // Where shims narrow the gap, the widest place wants it.
    let text = RAILS.replace("shims=widen", "shims=narrow") + &narrower + &shim("17", "at S1 0.05 0.02; at S2 0.05");
    assert_eq!(found(&[("machine.kdl", &text)]), ["shim-unverified X.b"]);
}

#[test]
fn a_shim_is_judged_by_the_survey_before_it() {
    let fitted = survey("16", "as-fitted", "0 -0.01 -0.07 -0.03 -0.05") + &shim("17", "at S3 0.05");
    // The first attempt leaves 0.06 at another place; the second one is judged by the verification, not by the start.
    let first = fitted + &tight("17", "S3") + &survey("18", "verification", "0 -0.06 -0.01 -0.03 -0.05");
    assert_eq!(with(&first), ["gap-range X.b"]);
    let second = first + &shim("19", "at S2 0.05");
    assert_eq!(with(&second), ["shim-unverified X.b"]);
    // Once a verification is there, a place that was forgotten is wrong and no longer merely outstanding.
    let forgotten = survey("16", "as-fitted", "0 -0.09 -0.07 0 0")
        + &shim("17", "at S3 0.05")
        + &tight("17", "S3")
        + &survey("18", "verification", "0 -0.01 -0.01 0 0");
    assert_eq!(with(&forgotten), ["shim-total X.b.S2"]);
}

#[test]
fn two_places_may_be_too_far_from_each_other_and_neither_from_the_widest() {
    let shimmed = survey("16", "as-fitted", "0 0 -0.03 -0.02 0") + &shim("17", "at S4 0.05");
    let text = format!("{RAILS}{shimmed}");
    let all = lint(&[("machine.kdl", &text)]);
    let apart: Vec<_> = all.iter().filter(|finding| finding.rule.as_str() == "shim-total").collect();
    let [finding] = apart[..] else { panic!("{apart:#?}") };
    assert_eq!(finding.address, "X.b.S4");
    assert_eq!(finding.message, "with these shims S4 and S3 come to lie 0.06 mm apart");
    let told = |place: crate::finding::Place| &text[place.span.range()];
    assert!(told(finding.at.place).contains("0.05"), "{:?}", told(finding.at.place));
    assert!(told(finding.also[0].place).contains("-0.03"), "{:?}", told(finding.also[0].place));
    // Just at the limit they are near enough.
    assert_eq!(
        with(&shimmed.replace("-0.03 ", "-0.02 ").replace("at S3 -0.03", "at S3 -0.02")),
        ["shim-unverified X.b"]
    );
}

#[test]
fn an_unknown_order_inside_a_day_is_asked_for_only_where_it_matters() {
    let shims = shim("17", "at S3 0.05 0.02");
    let machine = format!("{RAILS}{}", survey("16", "as-fitted", "0 -0.01 -0.07 -0.03 -0.05"));
    let verified = tight("17", "S3") + &survey("17", "verification", "0 -0.01 0 -0.03 -0.05");
    let doubt = found(&[("machine.kdl", &machine), ("a.kdl", &shims), ("b.kdl", &verified)]);
    assert_eq!(doubt, ["date-order X.b", "date-order X.b"], "both the torque and the survey");
    let timed = |text: &str, time: &str| text.replace("04-17", &format!("04-17T{time}"));
    let clear = [("machine.kdl", &*machine), ("a.kdl", &timed(&shims, "09:00")), ("b.kdl", &timed(&verified, "14:00"))];
    assert_eq!(found(&clear), NOTHING);
    let later = survey("18", "verification", "0 -0.01 0 -0.03 -0.05");
    let settled = tight("17", "S3") + &tight("18", "S3") + &later;
    assert_eq!(found(&[("machine.kdl", &machine), ("a.kdl", &shims), ("b.kdl", &settled)]), NOTHING);
}

#[test]
fn what_was_read_at_a_segment_before_it_came_is_history() {
    let text = |since: &str, more: &str| {
        format!(
            "machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 since=\"{since}\" }} }} }}\n\
             inspect X.a.J1 date=\"2026-04-15\" by=inspector-1 {{ light none }}\n{more}"
        )
    };
    let found = |text: String| found(&[("machine.kdl", &text)]);
    assert_eq!(found(text("2026-04-15", "")), NOTHING);
    assert_eq!(found(text("2026-04-16", "")), NOTHING);
    let again = "inspect X.a.J1 date=\"2026-04-17\" by=inspector-1 { light none }";
    assert_eq!(found(text("2026-04-16", again)), NOTHING);
}

/// Means of 7, 13 and 11 repeats have 1001 as their common measure: 20000 + 2/13 above the middle of 1/7 and 1/11 nm is
/// 20000 + 37/1001 nm by hand, and 20000 + 1/13 is 20000 - 40/1001.
#[test]
fn a_straightness_of_means_is_held_against_its_limit_exactly() {
    let found = |more: &str| {
        let repeats = |first: &str, rest: &str, times: usize| format!("{first} {}", vec![rest; times - 1].join(" "));
        let text = format!(
            "machine m {{ rulebook {{ straightness most=0.02 reason=\"as agreed\" }}
             axis X {{ rail a {{ supports S first=100 pitch=240 count=3 }} }} }}
             survey straightness X.a date=\"2026-04-16\" by=inspector-1 stage=verification plus=up {{
                 at S1 {}\n at S2 {}\n at S3 {} }}",
            repeats("0.000001", "0", 7),
            repeats(more, "0.02", 13),
            repeats("0.000001", "0", 11)
        );
        crate::testing::found(&text).contains(&"straightness-range X.a".to_string())
    };
    assert!(found("0.020002") && !found("0.020001"));
}
