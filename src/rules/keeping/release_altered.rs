//! What was released is still what stands there.

use std::collections::BTreeSet;

use crate::finding::{Finding, Grade, Measure, Place, RuleName};
use crate::ledger::seal::{MACHINE, Releases, SealChange, changes, is_record};
use crate::ledger::{Body, Record, Target, void_line};
use crate::quantity::Moment;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("release-altered"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Nothing that a release rests on changed since: description, records, instruments with their calibrations, and the seal itself. What is added later and dated later is no change; comments, spacing and the spelling of numbers are free. A release that was withdrawn, or that a later one replaced, still holds the records it names, and no longer the description. A release takes the place of one in force only where it says so (`supersedes`).",
    why: "A record that can change silently proves nothing. The seal shows what changed, the old value and the new one.",
    limits: &[],
    source: "SHA-256 over the meaning of the text, FIPS 180-4",
    wrong: r#"
machine m { axis X { run to=1200; rail a { segment 1200 serial=K-2 } } }
release X date="2026-04-20" by=engineer-1 edition=1 seal="34c121e51b39cfc4c7d1b3fe9e44987ce71a05722893019ee1647eb269f472c8" {
    sealed "machine" digest="a6f6837f7470ad956c7200f891f50e76e428ab2554a13786bdafcd16c15d2f01" {
        fact "name" "m"
    }
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
release X date="2026-04-20" by=engineer-1 edition=1 seal="34c121e51b39cfc4c7d1b3fe9e44987ce71a05722893019ee1647eb269f472c8" {
    sealed "machine" digest="a6f6837f7470ad956c7200f891f50e76e428ab2554a13786bdafcd16c15d2f01" {
        fact "name" "m"
    }
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
    follows_from: &[Ground::Records],
    never_conceded: true,
    never_stands: true,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

/// More changes than this are counted and not named one by one.
const MOST_NAMED: usize = 40;

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let sealed = |record: &&Record| {
        let seal = matches!(&record.body, Body::Release(release) if release.seal.is_some());
        seal && record.target == Some(Target::Axis(axis))
    };
    let all = all(case, axis);
    if all.is_empty() {
        let seal = case.records.iter().rev().find(sealed);
        return seal.map_or(Verdict::NotRequired, |seal| Verdict::Conforms(seal.place));
    }
    all.into_iter().for_each(|(finding, _)| findings.add(finding));
    Verdict::Broken
}

/// What was altered under the releases of an axis, so that it cannot be released anew, and a release in force that nothing
/// sealed: it is withdrawn first, or it would seem to be covered by the new one.
pub(in crate::rules) fn against(case: &Case, axis: usize) -> Vec<Finding> {
    all(case, axis).into_iter().map(|(finding, _)| finding).collect()
}

/// What changed under each release of an axis, and whether that was sealed at all.
fn all(case: &Case, axis: usize) -> Vec<(Finding, bool)> {
    let name = case.machine.axes[axis].name.as_str();
    let mut found: Vec<(Finding, bool)> = Vec::new();
    let Releases { in_force, earlier } = Releases::for_axis(case.ledger, axis);
    found.extend(unsaid(case, axis).into_iter().map(|finding| (finding, true)));
    let in_force = in_force.map(|(record, release)| (record, changes(case.ledger, axis, record, release)));
    for (record, changes) in in_force.into_iter().chain(earlier) {
        // What another release holds too is told once.
        let told: BTreeSet<Place> = found.iter().map(|(finding, _)| finding.at.place).collect();
        let mut count = 0;
        for change in &changes {
            if count < MOST_NAMED || !told.is_empty() {
                let finding = finding(case, name, record, change);
                if told.contains(&finding.at.place) {
                    continue;
                }
                if count < MOST_NAMED {
                    found.push((finding, !matches!(change, SealChange::Unsealed { .. })));
                }
            }
            count += 1;
        }
        if count > MOST_NAMED {
            let place = case.ledger.records[record].place;
            let more = count - MOST_NAMED;
            let more = start(name, place, format!("{more} more facts changed since {name} was released"))
                .here("the release")
                .found(Measure::too_large(count))
                .next(undo(name, case.ledger.records[record].date.map(|date| date.value)));
            found.push((more, true));
        }
    }
    found
}

/// A release that takes the place of another one in force and does not say so: what that one was sealed over would be held
/// by nobody any more.
fn unsaid(case: &Case, axis: usize) -> Vec<Finding> {
    let releases = || {
        let of = |(index, record): (usize, &'_ Record)| match &record.body {
            Body::Release(release) if record.target == Some(Target::Axis(axis)) => Some((index, release.supersedes)),
            _ => None,
        };
        case.in_order().filter_map(of)
    };
    let pairs = releases().zip(releases().skip(1)).filter_map(|((before, _), (later, supersedes))| {
        let is = case.records[before].date;
        let names = supersedes.is_some_and(|of| is.is_some_and(|is| is.is_meant_by(*of)));
        (!names).then_some((&case.records[later], &case.records[before]))
    });
    pairs.map(|(later, before)| not_said(case, axis, later, before)).collect()
}

fn not_said(case: &Case, axis: usize, later: &Record, before: &Record) -> Finding {
    let name = case.machine.axes[axis].name.as_str();
    let day = before.date.map_or(String::new(), |date| format!(" of {}", *date));
    start(name, later.place, format!("{name} is released here while its release{day} was in force"))
        .here("does not say that it replaces the other")
        .also(before.place, "not withdrawn")
        .next(format!("where records were only added, `wayledger release {name} --supersedes …` writes what it replaces; for rework withdraw the earlier release: {}; and release anew", void_line("release", name, before.date.map(|date| date.value))))
}

fn start(name: &str, place: Place, message: String) -> Finding {
    Finding::new(RULE.name, RULE.grade, name, place, message)
}

fn undo(name: &str, of: Option<Moment>) -> String {
    format!(
        "undo the change; where it is right, withdraw that release first: {}; then prove what it touches again and release {name} anew",
        void_line("release", name, of)
    )
}

/// A record is never rewritten, whatever became of the release that names it.
const UNDO_RECORD: &str = "put the record back as it was; where it was wrong, correct it by a record that says `replaces`, or withdraw it by `void`";

fn finding(case: &Case, name: &str, index: usize, change: &SealChange) -> Finding {
    let release = case.ledger.records[index].place;
    let of = case.ledger.records[index].date.map(|date| date.value);
    let undo = |name: &str, group: &str| if is_record(group) { UNDO_RECORD.to_string() } else { undo(name, of) };
    match change {
        SealChange::Unsealed { place } => {
            start(name, *place, format!("the release of {name} carries no seal, so nobody can tell what changed since"))
                .here("no seal")
                .next(format!("release it with `wayledger release {name}`, which writes the seal"))
        }
        SealChange::Edition { edition, place } => {
            let of = edition.map_or("of no edition".to_string(), |edition| format!("of edition {edition}"));
            start(name, *place, format!("the seal of {name} is {of}, which this program does not know: nobody can tell what changed since"))
                .here("not known")
                .next("take the release record back from Git as it was written; where a later version of the program wrote it, use that one")
        }
        SealChange::Swapped { first: (first, at), then: (then, place), sealed } => {
            start(name, *place, format!("{then} came after {first} when {name} was released, and no longer certainly does"))
                .here("came after")
                .also(*at, "came first")
                .also(*sealed, "as released")
                .next("put the records back in the order they had; which files they stand in is free as long as that stays")
        }
        SealChange::Meant { by: (by, place), was, now, sealed } => {
            let finding = start(name, *place, format!("{by} meant {was} when {name} was released, and no longer does"))
                .here("means another one")
                .also(*sealed, "as released")
                .next("put the records back as they were");
            match now {
                Some(now) => finding.also(*now, "meant now"),
                None => finding,
            }
        }
        SealChange::Seal { group: Some(group), place } => {
            start(name, *place, format!("the seal of {name} was itself changed: its part about `{group}` does not fit"))
                .here("does not fit its digest")
                .next("take the release record back from Git as it was written")
        }
        SealChange::Seal { group: None, place } => start(
            name,
            *place,
            format!(
                "the seal of {name} was itself changed: its digest does not fit its parts, or what else the release says"
            ),
        )
        .here("does not fit the seal")
        .next("take the release record back from Git as it was written"),
        SealChange::Fact { group, address, old, new } => {
            let message = match (old, new) {
                (Some((old, _)), Some((new, _))) => {
                    format!("`{address}` of {group} was `{old}` when {name} was released; it is `{new}` now")
                }
                (Some((old, _)), None) => {
                    format!("`{address}` of {group} was `{old}` when {name} was released; it is gone now")
                }
                (None, Some((new, _))) => format!("`{address}` of {group} came in after {name} was released: `{new}`"),
                (None, None) => format!("`{address}` of {group} changed after {name} was released"),
            };
            let old_place = old.as_ref().map(|(_, place)| *place);
            let at = new.as_ref().map(|(_, place)| *place).or(old_place).unwrap_or(release);
            let next = match group == MACHINE && address == "name" {
                true => format!("give the machine its name back; a copy of the ledger is another machine, on which {name} is not released: take the release out of the copy"),
                false => undo(name, group),
            };
            let finding =
                start(name, at, message).here(if new.is_some() { "changed" } else { "as released" }).next(next);
            match old_place.filter(|place| *place != at) {
                Some(place) => finding.also(place, "as released"),
                None => finding.also(release, "the release"),
            }
        }
        SealChange::Group { name: group, old, new } => {
            let written = |index: usize| case.ledger.records[index].written.map(|date| date.value);
            let that_day = |place: Place| {
                let dates = case.ledger.record_at(place).and_then(written).zip(written(index));
                dates.is_some_and(|(own, release)| {
                    let timed = own.minute.is_some() && release.minute.is_some() && own.minute != release.minute;
                    own.date == release.date && !timed
                })
            };
            if let Some(place) = new.filter(|place| that_day(*place)) {
                return start(name, place, format!("{group} is not under the release of {name}, and nothing says that it came after it"))
                    .here("dated the day of the release")
                    .also(release, "the release")
                    .next("write the time of day, where it came later; else it was put in under the seal: take it out");
            }
            let (message, here) = match new {
                None => (format!("{group} is gone since {name} was released"), "as released"),
                Some(_) => (
                    format!("{group} was put in under the release of {name}: it is dated before and not sealed"),
                    "not sealed",
                ),
            };
            let at = new.or(*old).unwrap_or(release);
            start(name, at, message).here(here).also(release, "the release").next(undo(name, group))
        }
        SealChange::Order { group, old, new } => {
            start(name, *new, format!("the rows of {group} stand in another order than when {name} was released"))
                .here("another order")
                .also(*old, "as released")
                .next(undo(name, group))
        }
    }
}
