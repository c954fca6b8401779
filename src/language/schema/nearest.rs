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
pub fn nearest<'n>(written: &str, known: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    // A very long word is no slip of the finger, and comparing it would be slow.
    if written.len() > 60 {
        return None;
    }
    let lower = written.to_lowercase();
    let allowed = (written.chars().count() / 3).max(1);
    let otherwise = OTHERWISE.iter().find(|(word, _)| *word == lower).map(|(_, name)| *name);
    let far = |name: &str| match otherwise == Some(name) {
        true => 0,
        // Letters put in, left out, changed, or swapped with their neighbour.
        false => strsim::osa_distance(&lower, &name.to_lowercase()),
    };
    known
        .into_iter()
        .map(|name| (far(name), name))
        .filter(|&(distance, name)| distance <= allowed || name.starts_with(&lower) && lower.len() >= 3)
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, name)| name)
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
