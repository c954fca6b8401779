//! Small ledgers in which something passed once that nobody had proven, or was told that was in order: each under its own name,
//! with what must be told of it and what must not. They lie in `seen`, in the words that the language has now.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::common::program::run;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/seen")
}

/// What is told of a ledger, one line a finding: grade, rule, address, message and next step.
struct Told(Vec<String>);

fn told(ledger: &str) -> Told {
    let lint = ["lint", "--complete", "--today", "2026-10-01"];
    let (out, ..) = run(&folder(), &[&lint[..], &["--format", "json", ledger]].concat());
    let json: Value = serde_json::from_str(&out).expect("it is JSON");
    let ledgers = json["ledgers"].as_array().expect("ledgers").iter();
    let findings = ledgers.flat_map(|of| of["findings"].as_array().expect("findings"));
    let field = |of: &Value, name: &str| of[name].as_str().unwrap_or_default().to_owned();
    let line = |it: &Value| ["grade", "rule", "address", "message", "next"].map(|name| field(it, name)).join(" | ");
    let told = Told(findings.map(line).collect());
    // None of these is proven, whatever else is said.
    let (text, _, code) = run(&folder(), &[&lint[..], &[ledger]].concat());
    assert_eq!((code, text.contains("clean and complete")), (Some(1), false), "{ledger}: {text}");
    assert!(
        !told.0.iter().any(|it| it.contains("| unknown-") || it.contains("| wrong-value")),
        "{ledger}: {:#?}",
        told.0
    );
    told
}

impl Told {
    /// Each of some findings by how its line begins, with something it says.
    fn has(&self, expected: &[(&str, &str)]) -> &Told {
        for (begins, says) in expected {
            let is = |it: &&String| it.starts_with(begins) && it.contains(says);
            assert!(self.0.iter().any(|it| is(&it)), "no `{begins}` that says `{says}`: {:#?}", self.0);
        }
        self
    }

    fn has_none(&self, of: &str) {
        assert!(!self.0.iter().any(|it| it.contains(of)), "`{of}` is told: {:#?}", self.0);
    }
}

const LEDGERS: [&str; 20] = [
    "bed", "clo", "dup", "gk", "ht", "hv", "insp", "insp2", "m8", "nogauge", "noseg", "nosurvey", "order", "proof",
    "proof2", "rep", "rng", "str", "str2", "svc",
];

#[test]
fn each_ledger_that_was_seen_is_a_test() {
    let entries = std::fs::read_dir(folder()).expect("the folder is there");
    let names = entries.map(|entry| entry.expect("an entry").file_name().into_string().expect("a plain name"));
    assert_eq!(names.collect::<BTreeSet<_>>(), LEDGERS.map(String::from).into());
    let source = include_str!("seen.rs");
    for ledger in LEDGERS {
        assert!(source.contains(&format!("told({ledger:?})")), "{ledger} is judged in no test");
    }
}

#[test]
fn a_rail_without_segments() {
    told("noseg").has(&[("outstanding | not-described | X.a |", "no segments are described")]);
}

#[test]
fn readings_before_the_bolts_that_they_rest_on() {
    told("insp").has(&[
        ("outstanding | reading-early | X.a.J1 |", "read before full torque"),
        ("outstanding | reading-early | X.c |", "read before full torque"),
        ("outstanding | instrument-missing | X.a |", "names no gauge"),
        ("outstanding | instrument-missing | X.c |", "names no gauge"),
    ]);
}

#[test]
fn two_rails_side_by_side_of_which_none_follows() {
    told("insp2").has(&[
        ("not judged |", "rails lie side by side, and it follows none and none follows it"),
        ("outstanding | instrument-missing | X.a |", "names no gauge"),
    ]);
}

#[test]
fn stated_limits_that_nobody_read_and_a_force_beyond_its_limit() {
    told("nosurvey").has(&[
        ("outstanding | limit-unread | X.a |", "straightness"),
        ("outstanding | limit-unread | X.b |", "height"),
        ("nonconformity | running-force | X |", "400 N to push the carriage at 600 mm"),
    ]);
}

#[test]
fn a_later_survey_of_another_plane_or_of_two_stations_clears_no_straightness() {
    told("hv").has(&[
        ("nonconformity | straightness-range | X.a |", "within 0.2 mm"),
        ("outstanding | station-missing | X.a |", "survey is partial"),
    ]);
}

#[test]
fn a_later_survey_of_two_stations_clears_no_height() {
    told("ht").has(&[
        ("nonconformity | height-range | X.b |", "varies by 0.1 mm"),
        ("outstanding | station-missing | X.b |", "survey is partial"),
    ]);
}

#[test]
fn a_later_survey_of_two_stations_clears_no_gap() {
    told("str").has(&[
        ("nonconformity | gap-range | X.c |", "varies by 0.06 mm"),
        ("outstanding | station-missing | X.c |", "survey is partial"),
    ]);
}

#[test]
fn a_service_survey_of_two_stations_clears_no_straightness() {
    told("str2").has(&[
        ("nonconformity | straightness-range | X.a |", "within 0.06 mm"),
        ("outstanding | station-missing | X.a |", "survey is partial"),
    ]);
}

#[test]
fn readings_of_which_no_instrument_is_named() {
    told("nogauge").has(&[
        ("outstanding | instrument-missing | X.a |", "2 fasten records of X.a name no wrench"),
        ("outstanding | instrument-missing | X.a |", "1 inspect record of X.a names no gauge"),
    ]);
}

#[test]
fn instruments_that_cannot_show_what_is_read() {
    told("gk").has(&[
        (
            "outstanding | instrument-unsuited | X.a.J1 |",
            "a force-gauge, cannot read a groove: this record does not count",
        ),
        ("nonconformity | gauge-range | X.a.J2 |", "DI-4 cannot show 4.01 mm"),
        ("outstanding | repeats-apart | X.a.J4 |", "their mean says nothing"),
        ("observation | joint-step-unproven | X.a.J4 |", "is not proven"),
    ]);
}

#[test]
fn readings_beyond_the_range_of_their_gauge() {
    told("rng").has(&[("nonconformity | gauge-range | X.a.J1 |", "DI-7 cannot show 40.002 mm, nor 5 other readings")]);
}

#[test]
fn a_support_twice_in_one_record() {
    told("dup").has(&[("nonconformity | repeated-row | X.a |", "S3, S4 are tightened twice in one record")]);
}

#[test]
fn what_is_inside_its_limit_and_not_proven_so() {
    let told = told("proof");
    told.has(&[
        ("nonconformity | straightness-range-unproven | X.a |", "not proven so"),
        ("nonconformity | height-range-unproven | X.b |", "not proven so"),
        ("outstanding | gap-range-unproven | X.b |", "read with an instrument that is not named"),
    ]);
    told.has_none("torque-window-unproven");
}

#[test]
fn a_step_without_a_gauge_and_a_gap_at_its_limit_are_not_proven() {
    told("proof2").has(&[
        ("outstanding | joint-step-unproven | X.a.J1 |", "read with an instrument that is not named"),
        ("nonconformity | gap-range-unproven | X.b |", "varies by 0.05 mm: inside its limit, and not proven so"),
    ]);
}

#[test]
fn repeats_that_scatter_prove_nothing() {
    let told = told("rep");
    told.has(&[
        ("outstanding | repeats-apart | X.a.J1 |", "lie 0.07 mm apart"),
        ("observation | joint-step-unproven | X.a.J1 |", "is not proven"),
    ]);
    told.has_none("U = 0.0038");
}

#[test]
fn a_service_line_proves_no_service() {
    told("svc").has(&[
        ("nonconformity | service-due | X |", "re-torque of X was due"),
        ("nonconformity | service-due | X |", "re-inspect of X was due"),
    ]);
}

#[test]
fn the_window_of_one_bolt_is_not_that_of_another() {
    let told = told("m8");
    told.has(&[("outstanding | torque-window | X.a |", "where the maker gives none, full least=")]);
    told.has_none("10 to 11");
}

#[test]
fn a_machined_bed_needs_no_joint_support() {
    told("bed").has_none("| joint-support |");
}

#[test]
fn a_closure_of_less_than_a_micrometre_is_none_of_drift() {
    told("clo").has_none("| survey-closure |");
}

#[test]
fn one_word_for_tightening_one_way_serves_the_rail() {
    told("order").has_none("| torque-order |");
}
