//! Entries by their names: in the order they stand, and found without walking past the others, so that a shop of
//! thousands of gauges takes no longer for each of them.

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
