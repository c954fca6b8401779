//! Whether two spellings of a name are one person: case, separators and letters that look alike tell nobody apart.

use std::sync::LazyLock;

use unicode_security::confusable_detection::skeleton;

/// Whether two names are of one person. Letters that look alike are those of Unicode Technical Standard 39, section 4: two
/// texts are confusable where they have the same skeleton.
pub(crate) fn same_person(one: &str, other: &str) -> bool {
    one == other || {
        let keys = person_keys(other);
        person_keys(one).iter().any(|key| keys.contains(key))
    }
}

/// What two spellings of one person's name have at least one of in common. Case and likeness do not go together, as a great
/// `I` looks like `l` and is written small as `i`: so there is one key with case taken away first and one with it last.
pub(crate) fn person_keys(name: &str) -> [String; 2] {
    let plain: String = name.chars().filter(|letter| letter.is_alphanumeric()).collect();
    let small = |text: &str| text.to_lowercase();
    // What has no letter and no digit is nobody else's name.
    if plain.is_empty() {
        return [name.to_owned(), name.to_owned()];
    }
    [small(&alike(&small(&plain))), small(&alike(&plain))]
}

/// What is the same for all names that look like this one, separators told apart: for things, which are often numbered.
pub(crate) fn look(name: &str) -> String {
    alike(name)
}

/// What is the same for all texts that look like this one.
fn alike(text: &str) -> String {
    // That of an ASCII text is that of each of its letters, and nearly all names are: they are looked up.
    static LETTERS: LazyLock<Vec<String>> =
        LazyLock::new(|| (0..128u8).map(|byte| skeleton(&char::from(byte).to_string()).collect()).collect());
    match text.is_ascii() {
        true => text.bytes().map(|byte| LETTERS[usize::from(byte)].as_str()).collect(),
        false => skeleton(text).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_that_are_looked_up_are_alike_as_the_whole_text_is() {
        let letters = || (0..128u8).map(char::from).filter(|letter| letter.is_alphanumeric());
        for (one, other) in letters().flat_map(|one| letters().map(move |other| (one, other))) {
            let text = format!("{one}{other}{one}");
            assert_eq!(alike(&text), skeleton(&text).collect::<String>(), "{text}");
        }
    }

    #[test]
    fn case_separators_and_look_alikes_tell_nobody_apart() {
        // The look-alikes are from confusables.txt of Unicode 16: U+0441, U+0435, U+0456, U+2010, U+FF26, U+1D41F, U+0406.
        for same in [
            "f-1",
            "F-1",
            "f_1",
            "F 1",
            "f.1",
            "f1",
            "f\u{2010}1",
            "\u{ff26}-1",
            "\u{1d41f}-1",
            "f-l",
            "f-I",
            "f-\u{406}",
        ] {
            assert!(same_person("f-1", same), "{same}: {:?} {:?}", person_keys("f-1"), person_keys(same));
        }
        assert!(same_person("inspector-1", "insp\u{435}\u{441}tor-1"));
        assert!(same_person("\u{417}-1", "\u{437}-1") && same_person("\u{417}-1", "3-1"), "case, and likeness");
        for other in ["f-2", "g-1", "f-11", "fitter-1", "1", ""] {
            assert!(!same_person("f-1", other), "{other}");
        }
        assert!(!same_person("-", "_") && same_person("-", "-"));
    }
}
