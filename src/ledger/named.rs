//! Entries by their names: in the order they stand, and found without walking past the others, so that a shop of
//! thousands of gauges takes no longer for each of them. And names that are numbered.

use std::collections::BTreeMap;
use std::ops::Deref;

use super::given::Name;

/// A list in which no name comes twice.
#[derive(Clone, Debug)]
pub struct Named<T> {
    all: Vec<T>,
    by_name: BTreeMap<Name, usize>,
}

impl<T> Named<T> {
    /// The entry of that name.
    pub fn get(&self, name: &str) -> Option<&T> {
        self.by_name.get(name).map(|index| &self.all[*index])
    }

    /// Takes an entry up, unless there is one of its name: then that one is given back.
    pub(super) fn put(&mut self, name: &str, new: T) -> Option<&T> {
        match self.by_name.get(name) {
            Some(index) => Some(&self.all[*index]),
            None => {
                self.by_name.insert(Name::new(name), self.all.len());
                self.all.push(new);
                None
            }
        }
    }
}

impl<T> Default for Named<T> {
    fn default() -> Self {
        Named { all: Vec::new(), by_name: BTreeMap::new() }
    }
}

impl<T> Deref for Named<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.all
    }
}

impl<'n, T> IntoIterator for &'n Named<T> {
    type Item = &'n T;
    type IntoIter = std::slice::Iter<'n, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.all.iter()
    }
}

/// A name as a number, so that names are mostly compared at once: shorter ones first, so that `S9` stands before `S10`.
/// Names beyond eight letters share one number and must be compared letter by letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct NameKey(u64);

impl NameKey {
    #[inline]
    pub fn of(name: &str) -> NameKey {
        match name.len() {
            0..=8 => NameKey(name.bytes().fold(0, |number, byte| number << 8 | u64::from(byte))),
            _ => NameKey(u64::MAX),
        }
    }
}

/// `S7`: a name with a number.
pub(super) fn numbered(prefix: &str, number: u32) -> Name {
    let mut digits = [0; 10];
    let (mut first, mut rest) = (digits.len(), number);
    while first == digits.len() || rest > 0 {
        first -= 1;
        digits[first] = b'0' + (rest % 10) as u8;
        rest /= 10;
    }
    [prefix, str::from_utf8(&digits[first..]).unwrap_or_default()].into_iter().collect()
}
