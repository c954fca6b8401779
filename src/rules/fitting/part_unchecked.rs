//! What is described of a part was read off it when it came in.

use crate::finding::{Grade, Measure, RuleName};
use crate::ledger::{Body, RailId, ReceivedPart};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("part-unchecked"),
    group: RuleGroup::Fitting,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Of a part that is fitted, the record of what came in states all that the description states of it: profile, length, lot, and the marks of its ends; a length beyond the longest bar of the profile is none. One finding a record.",
    why: "The description says what should lie there, the record of goods what does. Where the record is silent nothing was compared, and a bar of another lot or an end of another joint is found at the machine.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200 serial=K-1 lot="7731"; segment 1200 serial=K-2 lot="7731" } } }
receive date="2026-03-30" by=inspector-1 { part serial=K-1 length=1200; part serial=K-2 lot="7731" length=1200 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 serial=K-1 lot="7731"; segment 1200 serial=K-2 lot="7731" } } }
receive date="2026-03-30" by=inspector-1 { part serial=K-1 lot="7731" length=1200; part serial=K-2 lot="7731" length=1200 }
"#,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

/// More parts than this are counted and not named.
const MOST_NAMED: usize = 4;

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Receive(receive) = &record.body else { return Verdict::NotRequired };
    let mut silent: Vec<(&ReceivedPart, Vec<&str>)> = Vec::new();
    let mut compared = false;
    for part in &receive.parts {
        let Some(fitted) = part.serial.as_ref().and_then(|serial| case.parts().get(serial.as_str())?.fitted) else {
            continue;
        };
        compared = true;
        let unsaid = unsaid(case, fitted, part);
        if !unsaid.is_empty() {
            silent.push((part, unsaid));
        }
    }
    let Some((first, _)) = silent.first() else {
        return if compared { Verdict::Conforms(record.place) } else { Verdict::NotRequired };
    };
    let name = |part: &ReceivedPart| part.serial.as_ref().map_or(String::new(), |serial| serial.to_string());
    let mut told: Vec<String> = silent
        .iter()
        .take(MOST_NAMED)
        .map(|(part, unsaid)| format!("the {} of {}", unsaid.join(", "), name(part)))
        .collect();
    if let Some(more) = silent.len().checked_sub(MOST_NAMED).filter(|more| *more > 0) {
        told.push(format!("something of {more} more"));
    }
    findings.add(
        findings
            .finding(
                "",
                first.place,
                format!("what came in was not compared with what is described: {}", told.join("; ")),
            )
            .here("not told of this part")
            .found(Measure::too_large(silent.len()))
            .next("read it off the parts and add it to the record of what came in"),
    );
    Verdict::Conforms(record.place)
}

/// What is described of a segment and not told of the part.
fn unsaid(case: &Case, (id, segment): (RailId, usize), part: &ReceivedPart) -> Vec<&'static str> {
    let rail = case.machine.rail(id);
    let described = &rail.segments[segment];
    // A bar that is longer than all there are was not measured so.
    let bars = rail.profile.as_ref().and_then(|name| case.shop.profile(name)).map_or(&[][..], |profile| &profile.stock);
    let longest = bars.iter().map(|(bar, _)| **bar).max();
    let measured = part.length.is_some_and(|length| longest.is_none_or(|longest| *length <= longest));
    let pairs = [
        ("profile", rail.profile.is_some(), part.profile.is_some()),
        ("length", true, measured),
        ("lot", described.lot.is_some(), part.lot.is_some()),
        ("near mark", described.near_mark.is_some(), part.near_mark.is_some()),
        ("far mark", described.far_mark.is_some(), part.far_mark.is_some()),
    ];
    pairs.into_iter().filter(|(_, described, told)| *described && !told).map(|(what, ..)| what).collect()
}
