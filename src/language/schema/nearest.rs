//! The known name a misspelt one most likely means.

/// Words that people write for a word of the language, and what the language calls it: terms of standards and of the trade
/// in use beside it, too far from it to be slips of the finger.
const OTHERWISE: [(&str, &str); 7] = [
    ("covers", "length"),
    ("rail-at", "track"),
    ("run-force", "running-force"),
    ("case", "load-case"),
    ("clicking", "setting"),
    ("reading", "indicating"),
    ("square", "normal"),
];

/// The nearest of the known names, if one is near enough to be worth showing.
pub(crate) fn nearest<'n>(written: &str, known: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    near(written, known).min_by_key(|&(distance, name)| (distance, unlike(written, name))).map(|(_, name)| name)
}

/// How unlike two names are that are equally near: by how many characters more or less, then by what stands before the
/// numbers at their ends and by these,
/// so that `S69` rather means `S59` than `S6`.
fn unlike(written: &str, known: &str) -> (usize, bool, u64) {
    let split = |name: &str| {
        let word = name.trim_end_matches(|c: char| c.is_ascii_digit()).len();
        (name[..word].to_lowercase(), name[word..].parse::<u64>().unwrap_or(0))
    };
    let ((word, number), (known_word, known_number)) = (split(written), split(known));
    (written.len().abs_diff(known.len()), word != known_word, number.abs_diff(known_number))
}

/// The one known name that is near, if there is no other: then a slip can mean nothing else.
pub(crate) fn only_near<'n>(written: &str, known: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let mut near = near(written, known);
    let (_, name) = near.next()?;
    near.next().is_none().then_some(name)
}

/// The known names near enough to a written one, with their distances.
fn near<'n>(written: &str, known: impl IntoIterator<Item = &'n str>) -> impl Iterator<Item = (usize, &'n str)> {
    let lower = written.to_lowercase();
    let allowed = (written.chars().count() / 3).max(1);
    let otherwise = OTHERWISE.iter().find(|(word, _)| *word == lower).map(|(_, name)| *name);
    // A very long word is no slip of the finger, and comparing it would be slow.
    let known = known.into_iter().take(if written.len() > 60 { 0 } else { usize::MAX });
    known.filter_map(move |name| {
        // Letters put in, left out, changed, or swapped with their neighbour.
        let distance = if otherwise == Some(name) { 0 } else { strsim::osa_distance(&lower, &name.to_lowercase()) };
        (distance <= allowed || name.starts_with(&lower) && lower.len() >= 3).then_some((distance, name))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_slips_and_nothing_else() {
        let known = ["segment", "supports", "stroke", "graduation"];
        assert_eq!(nearest("segmnet", known), Some("segment"));
        assert_eq!(nearest("Segment", known), Some("segment"));
        assert_eq!(nearest("support", known), Some("supports"));
        assert_eq!(nearest("grad", known), Some("graduation"));
        assert_eq!(nearest("wrench", known), None);
        assert_eq!(only_near("segmnet", known), Some("segment"));
        assert_eq!(only_near("UX", ["UL", "UR", "LL"]), None, "it may mean either");
        assert_eq!(nearest(&"segment".repeat(9), known), None);
        assert_eq!(nearest("S69", ["S6", "S9", "S49", "S59"]), Some("S59"));
        assert_eq!(nearest("S16", ["S1", "S6", "S12", "S15", "S18"]), Some("S15"));
    }

    #[test]
    fn another_word_for_it_is_known_where_the_word_belongs() {
        assert_eq!(nearest("covers", ["at", "length", "base-bolts"]), Some("length"));
        assert_eq!(nearest("reading", ["indicating", "setting"]), Some("indicating"));
        // Where something nearer is known, and where the word means nothing.
        assert_eq!(nearest("reading", ["readings", "setting"]), Some("readings"));
        assert_eq!(nearest("covers", ["at", "pitch"]), None);
    }
}
