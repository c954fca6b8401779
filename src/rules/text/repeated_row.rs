//! A record says what it says of one support, station or part in one row.

use smallvec::SmallVec;

use crate::finding::names;
use crate::finding::{Grade, Measure, Place};
use crate::ledger::{Body, Fasten, FastenRow, Record, Spanned, TorqueReading};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: names::REPEATED_ROW,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No record has two rows about the same: a bolt tightened twice, whether it is named, in a range or by its joint's name; a bolt missed or turned twice; a station read twice, by name or by position; shims of one support; a place of the running force; a serial number that came in. Repeated readings stand in one row. Rows that share a support and no bolt are in order, and so is a support that is named twice as loosened: that says no more than once.",
    why: "Of two rows one would count and the other vanish, and nobody could tell which of them is true.",
    limits: &[],
    source: "schema/language.md: more readings in one row are repeats",
    wrong: r#"
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full { at S1 14.5 10.5; at S2 10.5 10.5; at S1 10.5 10.5 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
fasten X.a date="2026-04-14T08:00" by=fitter-2 stage=full { at S1 14.5 10.5; at S2 10.5 10.5 }
fasten X.a date="2026-04-14T08:30" by=fitter-2 stage=full { at S1 10.5 10.5 }
"#,
    never_conceded: true,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

/// More places than this are counted and not shown.
const MOST_SHOWN: usize = 6;

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let (what, again) = match &record.body {
        Body::Fasten(fasten) => {
            let again = tightened(fasten);
            match again.is_empty() {
                false => ("tightened", named(case, record, again)),
                true => match named_bolts(case, record, &fasten.missed) {
                    missed if missed.is_empty() => ("said to have turned", named_bolts(case, record, &fasten.turned)),
                    missed => ("said to have missed", missed),
                },
            }
        }
        Body::Survey(survey) => {
            let rows = survey.stations.iter().map(|row| (row.position, row.place));
            let name = |at: usize| survey.stations[at].name.to_string();
            ("read", twice(rows).into_iter().map(|(at, places)| (name(at), places)).collect())
        }
        Body::Shim(shim) => {
            let again = twice(shim.rows.iter().map(|row| (row.support, row.place))).into_iter();
            let again = again.map(|(at, places)| (shim.rows[at].support, places)).collect();
            ("shimmed", named(case, record, again))
        }
        Body::RunningForce(run) => {
            let again = twice(run.rows.iter().map(|row| (*row.position, row.place)));
            let name = |at: usize| run.rows[at].position.to_string();
            ("read", again.into_iter().map(|(at, places)| (name(at), places)).collect())
        }
        Body::Receive(receive) => {
            let serials: Vec<_> = receive.parts.iter().filter_map(|part| part.serial.as_ref()).collect();
            let again = twice(serials.iter().map(|serial| (serial.as_str(), serial.place)));
            let name = |at: usize| serials[at].to_string();
            ("received", again.into_iter().map(|(at, places)| (name(at), places)).collect())
        }
        _ => return Verdict::NotRequired,
    };
    if again.is_empty() {
        return Verdict::Conforms(record.place);
    }
    report(findings, record, what, &again);
    Verdict::Broken
}

/// Those of some rows that are about the same as one before: the index of the one before, and both places. Of three rows
/// about the same the third is held against the second.
fn twice<K: Ord + Clone>(rows: impl Iterator<Item = (K, Place)> + Clone) -> Vec<(usize, (Place, Place))> {
    // Mostly they are in order, or in the opposite one.
    let ascending = rows.clone().is_sorted_by(|a, b| a.0 < b.0);
    if ascending || rows.clone().is_sorted_by(|a, b| a.0 > b.0) {
        return Vec::new();
    }
    let mut sorted: Vec<(K, usize, Place)> = rows.enumerate().map(|(at, (key, place))| (key, at, place)).collect();
    sorted.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
    let mut again: Vec<(usize, (Place, Place))> =
        sorted.windows(2).filter(|two| two[0].0 == two[1].0).map(|two| (two[0].1, (two[0].2, two[1].2))).collect();
    again.sort_by_key(|(at, _)| *at);
    again
}

/// Whether no support is named twice: so it is in most records, which follow no order along the rail.
fn all_differ(supports: impl Iterator<Item = usize>) -> bool {
    let mut seen: SmallVec<[u64; 4]> = SmallVec::new();
    for support in supports {
        let (word, bit) = (support / 64, 1 << (support % 64));
        if word >= seen.len() {
            seen.resize(word + 1, 0);
        }
        if seen[word] & bit != 0 {
            return false;
        }
        seen[word] |= bit;
    }
    true
}

/// The supports of which a bolt was tightened twice.
fn tightened(fasten: &Fasten) -> Vec<(usize, (Place, Place))> {
    if all_differ(fasten.rows.iter().map(|row| row.support)) {
        return Vec::new();
    }
    // The rows of a support may share out its bolts.
    let mut rows: Vec<&FastenRow> = fasten.rows.iter().collect();
    rows.sort_by_key(|row| row.support);
    let mut found = Vec::new();
    for same in rows.chunk_by(|a, b| a.support == b.support) {
        let clash = same.iter().enumerate().find_map(|(at, row)| {
            let earlier = same[..at].iter().find(|earlier| share_a_bolt(fasten, earlier, row))?;
            Some((row.support, (earlier.place, row.place)))
        });
        found.extend(clash);
    }
    found
}

fn share_a_bolt(fasten: &Fasten, a: &FastenRow, b: &FastenRow) -> bool {
    match (a.what, b.what) {
        (TorqueReading::Clicked, TorqueReading::Clicked) => true,
        (TorqueReading::Clicked, _) => fasten.torques_of(b).iter().any(Option::is_some),
        (_, TorqueReading::Clicked) => fasten.torques_of(a).iter().any(Option::is_some),
        _ => fasten.torques_of(a).iter().zip(fasten.torques_of(b)).any(|(a, b)| a.is_some() && b.is_some()),
    }
}

/// The bolts that one and the same is said of twice.
fn named_bolts(case: &Case, record: &Record, bolts: &[Spanned<(usize, usize)>]) -> Vec<(String, (Place, Place))> {
    let Some(id) = record.rail() else { return Vec::new() };
    let again = bolts.windows(2).filter(|two| two[0].value == two[1].value);
    let name = |(support, bolt): (usize, usize)| {
        format!("bolt {} of {}", bolt + 1, case.machine.rail(id).supports[support].name)
    };
    again.map(|two| (name(two[0].value), (two[0].place, two[1].place))).collect()
}

fn named(case: &Case, record: &Record, again: Vec<(usize, (Place, Place))>) -> Vec<(String, (Place, Place))> {
    let Some(id) = record.rail() else { return Vec::new() };
    let name = |support: usize| case.machine.rail(id).supports[support].name.to_string();
    again.into_iter().map(|(support, places)| (name(support), places)).collect()
}

fn report(findings: &mut Findings, record: &Record, what: &str, again: &[(String, (Place, Place))]) {
    let mut names: Vec<&str> = again.iter().map(|(name, _)| name.as_str()).collect();
    names.dedup();
    let more = match names.len().saturating_sub(MOST_SHOWN) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let (stand, address) = (if names.len() == 1 { "is" } else { "are" }, record.address());
    let (_, (_, second)) = again[0];
    let shown = names[..names.len().min(MOST_SHOWN)].join(", ");
    let mut finding = findings
        .finding(address, second, format!("{shown}{more} {stand} {what} twice in one record"))
        .here(format!("{} again", again[0].0))
        .found(Measure::too_large(names.len()))
        .next(match record.body {
            Body::Fasten(_) => "keep the row that is true; what was tightened again later is a record of its own, with its time",
            Body::RunningForce(_) => "keep the row that is true; where both were read, write them in one row as repeats",
            Body::Survey(_) => "keep the row that is true; where both were read, write them in one row as repeats, or the second as `closure`",
            _ => "keep the row that is true; what changed later is a record of its own, with its time",
        });
    for (at, (name, (first, second))) in again.iter().take(MOST_SHOWN).enumerate() {
        if first != second {
            finding = finding.also(*first, format!("{name} before"));
        }
        if at > 0 {
            finding = finding.also(*second, format!("{name} again"));
        }
    }
    findings.add(finding);
}
