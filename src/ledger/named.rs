//! Entries by their names: in the order they stand, and found without walking past the others, so that a shop of
//! thousands of gauges takes no longer for each of them. And names that are numbered.

use std::collections::BTreeMap;
use std::ops::Deref;

use super::spanned::Name;

/// A list in which no name comes twice.
#[derive(Clone, Debug)]
pub struct Named<T> {
    all: Vec<T>,
    by_key: BTreeMap<NameKey, usize>,
    /// Those whose names share one key.
    by_long_name: BTreeMap<Name, usize>,
}

impl<T> Named<T> {
    /// The entry of that name.
    pub fn get(&self, name: &str) -> Option<&T> {
        self.index(name).map(|index| &self.all[index])
    }

    pub(super) fn get_mut(&mut self, name: &str) -> Option<&mut T> {
        self.index(name).map(|index| &mut self.all[index])
    }

    fn index(&self, name: &str) -> Option<usize> {
        let key = NameKey::new(name);
        if key.is_shared() { self.by_long_name.get(name) } else { self.by_key.get(&key) }.copied()
    }

    /// Takes an entry up, unless there is one of its name: then that one is given back.
    pub(super) fn put(&mut self, name: &str, new: T) -> Option<&T> {
        if let Some(index) = self.index(name) {
            return Some(&self.all[index]);
        }
        let key = NameKey::new(name);
        if key.is_shared() {
            self.by_long_name.insert(Name::new(name), self.all.len());
        } else {
            self.by_key.insert(key, self.all.len());
        }
        self.all.push(new);
        None
    }
}

impl<T> Default for Named<T> {
    fn default() -> Self {
        Named { all: Vec::new(), by_key: BTreeMap::new(), by_long_name: BTreeMap::new() }
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
/// Names beyond seven letters share one number and must be compared letter by letter; any other has its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct NameKey(u64);

impl NameKey {
    #[inline]
    pub(crate) fn new(name: &str) -> NameKey {
        match name.len() {
            // The length stands before the letters.
            length @ 0..=7 => NameKey(name.bytes().fold(length as u64, |number, byte| number << 8 | u64::from(byte))),
            _ => NameKey(u64::MAX),
        }
    }

    /// It stands for more than one name.
    #[inline]
    pub(crate) fn is_shared(self) -> bool {
        self.0 == u64::MAX
    }
}

/// `S7`: a name with a number.
pub(super) fn numbered(prefix: &str, number: u32) -> Name {
    // Filled from its end, and long enough for any prefix that people write.
    let mut letters = [0; 24];
    let (mut first, mut rest) = (letters.len(), number);
    while first == letters.len() || rest > 0 {
        first -= 1;
        letters[first] = b'0' + (rest % 10) as u8;
        rest /= 10;
    }
    let text = |letters| str::from_utf8(letters).unwrap_or_default();
    match first.checked_sub(prefix.len()) {
        Some(begin) => {
            letters[begin..first].copy_from_slice(prefix.as_bytes());
            Name::new(text(&letters[begin..]))
        }
        None => [prefix, text(&letters[first..])].into_iter().collect(),
    }
}
