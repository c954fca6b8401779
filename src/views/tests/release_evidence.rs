//! What a trace says of a record is true of it: whether it counts now, and whether the release rests on it.
//!
//! Each case is one machine with a release between what came before and what came after, sealed and without a seal, its
//! records in one file and in three.

use crate::formats::paper::plain::plain;
use crate::formats::trace::paper;
use crate::judging::lint::Judged;
use crate::ledger::seal::{self, Sealing};
use crate::ledger::{Ledger, TextFile};
use crate::quantity::Moment;
use crate::views::report::{Tracing, trace};
use crate::world::Path;

use crate::testing::judge;

const MACHINE: &str = r#"
shop {
    gauge DI-1 graduation=0.002 { calibrated "2026-01-12" due="2027-01-12" }
    gauge DI-2 graduation=0.002 { calibrated "2026-01-12" due="2027-01-12" }
    wrench TW-1 kind=indicating { calibrated "2026-01-12" due="2027-01-12" }
    wrench TW-2 kind=indicating { calibrated "2026-01-12" due="2027-01-12" }
}
machine bench {
    axis X {
        rail a {
            segment 600
            segment 600
            support S1 at=300 length=80
            joint-support J1 at=600 length=140
            support S3 at=900 length=80
        }
    }
    axis Y { rail b { segment 600; segment 600; joint-support J1 at=600 length=140 } }
}
"#;

fn read(joint: &str, day: u32, gauge: &str) -> String {
    format!(
        "inspect {joint} date=\"2026-04-{day:02}\" by=inspector-1 gauge={gauge} {{ light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}\n"
    )
}

fn tight(day: u32, wrench: &str, supports: &str) -> String {
    let rows: Vec<String> = supports.split(' ').map(|support| format!("at {support} 10.4 10.5 10.4 10.5")).collect();
    format!("fasten X.a date=\"2026-04-{day:02}\" by=fitter-2 wrench={wrench} stage=full {{ {} }}\n", rows.join("; "))
}

/// One release on 2026-04-20, and what was recorded before it and after it.
struct Case {
    before: String,
    after: String,
}

impl Case {
    fn release(&self, sealed: bool) -> String {
        if !sealed {
            return "release X date=\"2026-04-20\" by=engineer-1\n".into();
        }
        let file = |name: &str, text: &str| TextFile::read(Path(format!("m/{name}")), text.as_bytes().to_vec());
        let files = vec![file("a.kdl", &self.before), file("machine.kdl", MACHINE)];
        let ledger = Ledger::new(Path("m".into()), files, &[]);
        seal::release(&ledger, 0, &Sealing::new(Moment::read("2026-04-20").expect("a date"), "engineer-1")).text()
    }

    /// The same machine, written in each way there is.
    fn ways(&self) -> Vec<Judged> {
        let mut all = Vec::new();
        for sealed in [true, false] {
            let release = self.release(sealed);
            let one = format!("{}{release}{}", self.before, self.after);
            all.push(judge(&[("a.kdl", &one), ("machine.kdl", MACHINE)], &[]));
            // In the order of their names, the file of later records comes before that of the release.
            let files =
                [("a.kdl", &*self.before), ("b.kdl", &self.after), ("machine.kdl", MACHINE), ("r.kdl", &release)];
            all.push(judge(&files, &[]));
        }
        all
    }

    /// Every way says the same of the records that rest on a name: the day, how it stands, whether the release rests on it.
    #[track_caller]
    fn says(&self, name: &str, expected: &[(u32, &str, Option<bool>)]) {
        for (way, judged) in self.ways().iter().enumerate() {
            let traced = trace(judged, &Tracing::new(name, None));
            let day = |date: &Option<String>| date.as_ref().and_then(|date| date[8..10].parse().ok()).unwrap_or(0);
            let mut said: Vec<(u32, &str, Option<bool>)> =
                traced.records.iter().map(|it| (day(&it.signed.date), it.standing, it.release_rests_on_it)).collect();
            said.sort();
            assert_eq!(said, expected, "{name}, way {way}");
            let rests = expected.iter().any(|(.., rests)| *rests == Some(true));
            assert_eq!(traced.resting, if rests { vec!["X"] } else { vec![] }, "{name}, way {way}");
            let text = plain(&paper(&Tracing::new(name, None), &[traced]));
            for (day, standing, rests) in expected {
                let at = text.find(&format!("2026-04-{day:02}")).expect("its line");
                let line = text[at..].lines().next().unwrap_or_default();
                assert!(line.contains(&format!("  {standing}  ")), "{line}");
                let title = match (rests, *standing) {
                    (Some(true), _) => "A release rests on these:",
                    (_, "counts now") => "These count now:",
                    _ => "History:",
                };
                let before = text[..at].lines().rev().find(|line| line.ends_with(':')).unwrap_or_default();
                assert_eq!(before.trim(), title, "{text}");
            }
            assert_eq!(text.contains(" 1 release rests on it"), rests, "{text}");
            assert_eq!(text.contains(" No release rests on it."), !rests, "{text}");
        }
    }
}

#[test]
fn a_gauge_first_used_after_the_release_is_none_that_it_rests_on() {
    let case = Case { before: read("X.a.J1", 15, "DI-1"), after: read("X.a.J1", 25, "DI-2") };
    case.says("DI-2", &[(25, "counts now", Some(false))]);
    case.says("DI-1", &[(15, "under the release", Some(true))]);
}

#[test]
fn a_gauge_used_before_and_again_after_stands_for_both() {
    let case = Case { before: read("X.a.J1", 15, "DI-1"), after: read("X.a.J1", 25, "DI-1") };
    case.says("DI-1", &[(15, "under the release", Some(true)), (25, "counts now", Some(false))]);
    let torques = Case { before: tight(14, "TW-1", "J1 S1 S3"), after: tight(24, "TW-1", "J1") };
    torques.says("TW-1", &[(14, "counts now", Some(true)), (24, "counts now", Some(false))]);
}

#[test]
fn what_was_replaced_before_the_release_is_none_that_it_rests_on() {
    let case =
        Case { before: read("X.a.J1", 14, "DI-1") + &read("X.a.J1", 15, "DI-2"), after: read("X.a.J1", 25, "DI-2") };
    case.says("DI-1", &[(14, "replaced since", Some(false))]);
    case.says("DI-2", &[(15, "under the release", Some(true)), (25, "counts now", Some(false))]);
    // And where nothing came after it, what it rests on counts now.
    let case = Case { before: read("X.a.J1", 14, "DI-1") + &read("X.a.J1", 15, "DI-2"), after: String::new() };
    case.says("DI-1", &[(14, "replaced since", Some(false))]);
    case.says("DI-2", &[(15, "counts now", Some(true))]);
}

#[test]
fn what_was_slackened_since_is_undone_and_not_replaced() {
    let loosened = "loosen X.a date=\"2026-04-26\" by=fitter-2 reason=\"rework\" { at J1 }\n";
    let case = Case { before: tight(14, "TW-1", "J1") + &read("X.a.J1", 15, "DI-1"), after: loosened.into() };
    case.says("TW-1", &[(14, "undone since", Some(true))]);
    case.says("DI-1", &[(15, "undone since", Some(true))]);
    let again = format!("{loosened}{}{}", tight(27, "TW-2", "J1"), read("X.a.J1", 28, "DI-2"));
    let case = Case { before: tight(14, "TW-1", "J1") + &read("X.a.J1", 15, "DI-1"), after: again };
    case.says("TW-1", &[(14, "under the release", Some(true))]);
    case.says("DI-1", &[(15, "under the release", Some(true))]);
    case.says("DI-2", &[(28, "counts now", Some(false))]);
}

#[test]
fn what_was_withdrawn_says_when() {
    let void = |day: u32, of: u32| {
        format!(
            "void inspect X.a.J1 of=\"2026-04-{of:02}\" date=\"2026-04-{day:02}\" by=inspector-2 reason=\"wrong joint\"\n"
        )
    };
    // Withdrawn after the release: it rests on it all the same.
    let case = Case { before: read("X.a.J1", 15, "DI-1"), after: void(26, 15) };
    case.says("DI-1", &[(15, "withdrawn", Some(true))]);
    // Before: then the earlier one counts.
    let before = read("X.a.J1", 14, "DI-2") + &read("X.a.J1", 15, "DI-1") + &void(16, 15);
    let case = Case { before, after: String::new() };
    case.says("DI-1", &[(15, "withdrawn", Some(false))]);
    case.says("DI-2", &[(14, "counts now", Some(true))]);
    // Made and withdrawn after it.
    let case = Case { before: read("X.a.J1", 15, "DI-2"), after: read("X.a.J1", 25, "DI-1") + &void(26, 25) };
    case.says("DI-1", &[(25, "withdrawn", Some(false))]);
    case.says("DI-2", &[(15, "counts now", Some(true))]);
}

#[test]
fn what_lies_on_an_axis_that_is_not_released_says_nothing_of_a_release() {
    let case = Case { before: read("X.a.J1", 15, "DI-1") + &read("Y.b.J1", 16, "DI-2"), after: String::new() };
    case.says("DI-1", &[(15, "counts now", Some(true))]);
    case.says("DI-2", &[(16, "counts now", None)]);
}

/// A record that says nothing replaces nothing and is replaced by nothing.
#[test]
fn a_blank_record_does_not_count() {
    let blank = "inspect X.a.J1 date=\"2026-04-15\" by=inspector-1 gauge=DI-1\n";
    let case = Case { before: blank.into(), after: String::new() };
    case.says("DI-1", &[(15, "does not count", Some(false))]);
}

/// Under a later release the earlier one sets nothing any more.
#[test]
fn only_the_release_that_counts_is_asked() {
    let mut case = Case { before: read("X.a.J1", 15, "DI-1"), after: read("X.a.J1", 25, "DI-2") };
    case.after += "release X date=\"2026-04-28\" by=engineer-1\n";
    case.says("DI-1", &[(15, "replaced since", Some(false))]);
    case.says("DI-2", &[(25, "counts now", Some(true))]);
}

/// One record, one part, one block: the words agree with their number.
#[test]
fn the_summary_counts_in_plain_english() {
    let case = Case { before: read("X.a.J1", 15, "DI-1"), after: read("X.a.J1", 25, "DI-1") };
    let said = |name: &str, machine: &str| {
        let one = format!("{}{}", case.before, case.after);
        let judged = judge(&[("machine.kdl", machine), ("r.kdl", &one)], &[]);
        let traced = trace(&judged, &Tracing::new(name, None));
        plain(&paper(&Tracing::new(name, None), &[traced])).lines().nth(2).unwrap_or("").to_string()
    };
    assert_eq!(
        said("DI-1", MACHINE),
        "On DI-1 rest 2 records, in 1 machine. No release rests on it. 1 record counts now, 1 is history."
    );
    let lot = MACHINE.replacen("segment 600\n", "segment 600 lot=\"8101\"\n", 1);
    assert_eq!(said("8101", &lot), "On 8101 rests 1 part, in 1 machine.");
    let both = lot.replacen("segment 600\n", "segment 600 lot=\"8101\"\n", 1);
    assert_eq!(said("8101", &both), "On 8101 rest 2 parts, in 1 machine.");
}
