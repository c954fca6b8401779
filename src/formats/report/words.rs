//! What papers and pictures say of parts of a report, in the same words.

use crate::views::report::{FindingCounts, Gap, LiftReport, RailReport, Signed, SupportTorque};

/// `2 nonconformities, 1 outstanding`; `none`.
pub(crate) fn counts(counts: &FindingCounts) -> String {
    let words = [
        (counts.nonconformities, if counts.nonconformities == 1 { "nonconformity" } else { "nonconformities" }),
        (counts.outstanding, "outstanding"),
        (counts.not_judged, "not judged"),
        (counts.observations, if counts.observations == 1 { "observation" } else { "observations" }),
        (counts.conceded, "accepted by concession"),
        (counts.not_applicable, "declared not applicable"),
    ];
    let mut said: Vec<String> =
        words.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}")).collect();
    if counts.held > 0 {
        said[0] = format!("{} ({} held)", said[0], counts.held);
    }
    if said.is_empty() { "none".into() } else { said.join(", ") }
}

/// `on 2026-04-15 by inspector-1`.
pub(crate) fn signed(signed: &Signed) -> String {
    let date = signed.date.as_ref().map_or("on no known day".into(), |date| format!("on {date}"));
    signed.by.as_ref().map_or(date.clone(), |by| format!("{date} by {by}"))
}

/// What a picture and a paper say of a gap in one sentence.
/// `scrap on 2026-04-20 by inspector-1: cracked`: what was done about something that was held.
pub(crate) fn lifted(lift: &LiftReport) -> String {
    let done = lift.disposition.as_deref().unwrap_or("lifted");
    let reason = lift.reason.as_ref().map_or(String::new(), |reason| format!(": {reason}"));
    format!("{done} {}{reason}", signed(&lift.signed))
}

pub(crate) fn gap_in_words(rail: &RailReport, gap: &Gap) -> String {
    let mut parts = Vec::new();
    if let Some(range) = gap.range_before {
        parts.push(format!("{range} before shims"));
    }
    if let Some(range) = gap.range_predicted {
        parts.push(format!("{range} to be expected with them"));
    }
    if let Some(range) = gap.range_after {
        parts.push(format!("{range} in the last survey"));
    }
    let limit = gap.most.map_or("no limit".to_string(), |most| format!("limit {most}"));
    let follows = gap.follows.as_ref().map_or(String::new(), |follows| format!(" to {follows}"));
    if parts.is_empty() {
        return format!("The {} of {}{follows} is not surveyed yet; {limit}.", gap.kind, rail.address);
    }
    format!("The {} of {}{follows} varies by {}; {limit}.", gap.kind, rail.address, parts.join(", "))
}

/// The bolts of a support in words: `10.5 10.4 – 9.8 under`.
pub(crate) fn bolts(support: &SupportTorque) -> String {
    let bolts = support.bolts.iter().map(|bolt| {
        let number = match (bolt.held, bolt.torque) {
            (false, _) => "–".to_string(),
            (true, None) => "clicked".into(),
            (true, Some(torque)) => crate::facts::torque_window::shown(torque).trim_end_matches(" N·m").to_string(),
        };
        bolt.off.map_or(number.clone(), |off| format!("{number} {off}"))
    });
    bolts.collect::<Vec<_>>().join(", ")
}
