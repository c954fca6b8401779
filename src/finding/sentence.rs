//! A finding as one paragraph, for places that show no picture of the text; and a number with its noun.

use super::Finding;

/// A number with its noun: `1 rail`, `2 rails`.
pub(crate) fn counted<N: std::fmt::Display + PartialEq + From<u8>>(count: N, one: &str, many: &str) -> String {
    let word = if count == N::from(1) { one } else { many };
    format!("{count} {word}")
}

/// What is wrong, against which limit from which source, what to do next, and who has accepted it. Not yet made
/// harmless for the format it goes into.
pub fn sentence(finding: &Finding) -> String {
    let mut parts = vec![finding.message.clone()];
    if let Some(limit) = &finding.limit {
        let found = finding.found.map_or(String::new(), |found| format!("found {found}; "));
        let entry = limit.entry.map_or(String::new(), |entry| format!("{entry}: "));
        parts.push(format!("{found}limit {} ({entry}{})", limit.text, limit.source));
    }
    if !finding.next.is_empty() {
        parts.push(format!("next: {}", finding.next));
    }
    if finding.by_date {
        parts.push("this depends on today's date".to_owned());
    }
    if let Some(conceded) = &finding.conceded {
        let until = conceded.until.as_ref().map_or(String::new(), |until| format!(" until {until}"));
        parts.push(format!("accepted by concession of {}{until}: {}", conceded.by, conceded.reason));
    }
    parts.join(". ")
}
