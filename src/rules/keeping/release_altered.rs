//! What was released is still what stands there.

use crate::finding::{Finding, Grade, Measure};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};
use crate::seal::{Change, changes, release_of};

pub static RULE: Rule = Rule {
    name: "release-altered",
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Nothing that a release rests on changed since: description, records, instruments with their calibrations, and the seal itself. What is added later and dated later is no change; comments, spacing and the spelling of numbers are free.",
    why: "A record that can change silently proves nothing. The seal shows what changed, the old value and the new one.",
    limits: &[],
    source: "SHA-256 over the meaning of the text, FIPS 180-4",
    wrong: r#"
machine m { axis X { run to=1200; rail a { segment 1200 serial=K-2 } } }
release X date="2026-04-20" by=engineer-1 seal="688fd6031a0d7ea6c2ae450a21ec5204d0ace7aa8f5f740ee7ee9fe68f8105ce" {
    sealed "axis X" digest="d5ed21b92234813154108bcc4ee2444ad6be4126f0f80115a2ebee9d4a1065e4" {
        fact "name" "X"
        fact "run" "to=1200"
    }
    sealed "rail X.a" digest="9e4cbabfcd76e822d494df6e9c8868dfd0e904576004de59f0e6dc3148be948e" {
        fact "name" "a"
        fact "segment" "1200 serial=K-1"
    }
}
"#,
    right: r#"
machine m { axis X { run to=1200; rail a { segment 1200 serial=K-1 } } }
release X date="2026-04-20" by=engineer-1 seal="688fd6031a0d7ea6c2ae450a21ec5204d0ace7aa8f5f740ee7ee9fe68f8105ce" {
    sealed "axis X" digest="d5ed21b92234813154108bcc4ee2444ad6be4126f0f80115a2ebee9d4a1065e4" {
        fact "name" "X"
        fact "run" "to=1200"
    }
    sealed "rail X.a" digest="9e4cbabfcd76e822d494df6e9c8868dfd0e904576004de59f0e6dc3148be948e" {
        fact "name" "a"
        fact "segment" "1200 serial=K-1"
    }
}
"#,
    check: Check::Ledger(check),
};

/// More changes than this are counted and not named one by one.
const MOST_NAMED: usize = 40;

fn check(case: &Case, findings: &mut Findings) {
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some((record, release)) = release_of(case.ledger, index) else { continue };
        let all = changes(case.ledger, index, record, release);
        let name = axis.name.as_str();
        for change in all.iter().take(MOST_NAMED) {
            let finding = finding(case, findings, name, record, change);
            findings.add(finding);
        }
        if all.len() > MOST_NAMED {
            let place = case.ledger.records[record].place;
            let more = all.len() - MOST_NAMED;
            findings.add(
                findings
                    .finding(name, place, format!("{more} more facts changed since {name} was released"))
                    .here("the release")
                    .found(Measure::too_large(all.len()))
                    .next(undo(name)),
            );
        }
    }
}

fn undo(name: &str) -> String {
    format!("undo the change; after rework prove what it touches again and release {name} anew")
}

fn finding(case: &Case, findings: &Findings, name: &str, release: usize, change: &Change) -> Finding {
    let release = case.ledger.records[release].place;
    match change {
        Change::Unsealed { place } => findings
            .finding(name, *place, format!("the release of {name} carries no seal, so nobody can tell what changed since"))
            .here("no seal")
            .next(format!("release it with `wayledger release {name}`, which writes the seal")),
        Change::Seal { group: Some(group), place } => findings
            .finding(name, *place, format!("the seal of {name} was itself changed: its part about `{group}` does not fit"))
            .here("does not fit its digest")
            .next("take the release record back from Git as it was written"),
        Change::Seal { group: None, place } => findings
            .finding(name, *place, format!("the seal of {name} was itself changed: its digest does not fit its parts, its date or its signature"))
            .here("does not fit the seal")
            .next("take the release record back from Git as it was written"),
        Change::Fact { group, address, old, new } => {
            let message = match (old, new) {
                (Some((old, _)), Some((new, _))) => {
                    format!("`{address}` of {group} was `{old}` when {name} was released; it is `{new}` now")
                }
                (Some((old, _)), None) => format!("`{address}` of {group} was `{old}` when {name} was released; it is gone now"),
                (None, Some((new, _))) => format!("`{address}` of {group} came in after {name} was released: `{new}`"),
                (None, None) => format!("`{address}` of {group} changed after {name} was released"),
            };
            let old_place = old.as_ref().map(|(_, place)| *place);
            let at = new.as_ref().map(|(_, place)| *place).or(old_place).unwrap_or(release);
            let finding = findings.finding(name, at, message).here(if new.is_some() { "changed" } else { "as released" }).next(undo(name));
            match old_place.filter(|place| *place != at) {
                Some(place) => finding.also(place, "as released"),
                None => finding.also(release, "the release"),
            }
        }
        Change::Group { name: group, old, new } => {
            let (message, here) = match new {
                None => (format!("{group} is gone since {name} was released"), "as released"),
                Some(_) => (format!("{group} was put in under the release of {name}: it is dated before and not sealed"), "not sealed"),
            };
            let at = new.or(*old).unwrap_or(release);
            findings.finding(name, at, message).here(here).also(release, "the release").next(undo(name))
        }
        Change::Order { group, old, new } => findings
            .finding(name, *new, format!("the rows of {group} stand in another order than when {name} was released"))
            .here("another order")
            .also(*old, "as released")
            .next(undo(name)),
    }
}
