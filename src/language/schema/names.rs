//! Finds a name among the few that are known at one place, without comparing it with one after the other.

/// Some names in their order, each as a number that tells it from nearly all others.
#[derive(Debug, Default)]
pub(super) struct Names {
    keys: Vec<u32>,
}

impl Names {
    /// The place of a name. `known` gives the name that stands at a place.
    #[inline]
    pub(crate) fn find<'n>(&self, name: &str, known: impl Fn(usize) -> &'n str) -> Option<usize> {
        let key = key(name);
        // Of a name of two letters the key is all there is.
        self.keys
            .iter()
            .enumerate()
            .find(|&(place, other)| *other == key && (name.len() <= 2 || known(place) == name))
            .map(|(place, _)| place)
    }
}

impl<'n> FromIterator<&'n str> for Names {
    fn from_iter<I: IntoIterator<Item = &'n str>>(names: I) -> Names {
        Names { keys: names.into_iter().map(key).collect() }
    }
}

/// A name's length, first and last letter.
#[inline]
fn key(name: &str) -> u32 {
    match name.as_bytes() {
        [first, .., last] => (name.len() as u32) << 16 | u32::from(*first) << 8 | u32::from(*last),
        [only] => 1 << 16 | u32::from(*only),
        [] => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_alike_at_their_ends_are_told_apart() {
        let known = ["", "x", "UL", "UR", "base-bolt", "base-bot", "boat-butt", "rail-bolt"];
        let names: Names = known.into_iter().collect();
        for (place, name) in known.into_iter().enumerate() {
            assert_eq!(names.find(name, |place| known[place]), Some(place), "{name}");
        }
        let long = format!("U{}L", "x".repeat(65_536));
        for unknown in ["y", "LU", "base-butt", "bolt", "ü", long.as_str()] {
            assert_eq!(names.find(unknown, |place| known[place]), None, "{unknown}");
        }
    }
}
