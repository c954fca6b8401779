//! Things that belong to numbered places, each place's own together and in the order they came.

use std::ops::{Index, Range};

/// A list of things for each place, all in one piece of memory.
#[derive(Clone, Debug)]
pub struct Groups<T> {
    all: Vec<T>,
    /// Where the things of each place end.
    ends: Vec<usize>,
}

impl<T: Copy> Groups<T> {
    /// Puts things to their places, of which there are so many.
    pub(super) fn new(places: usize, things: &[(usize, T)]) -> Groups<T> {
        let mut ends = vec![0; places];
        for (place, _) in things {
            ends[*place] += 1;
        }
        let mut before = 0;
        for count in &mut ends {
            (*count, before) = (before, before + *count);
        }
        // Now it is where each place begins, and filling it moves that to where it ends.
        let mut order = vec![0; things.len()];
        for (thing, (place, _)) in things.iter().enumerate() {
            order[ends[*place]] = thing;
            ends[*place] += 1;
        }
        Groups { all: order.into_iter().map(|thing| things[thing].1).collect(), ends }
    }
}

impl<T> Groups<T> {
    /// The things of all places, place by place.
    pub fn all(&self) -> &[T] {
        &self.all
    }

    /// The things of some places that follow each other.
    #[inline]
    pub fn within(&self, places: Range<usize>) -> &[T] {
        if places.is_empty() {
            return &[];
        }
        let begin = places.start.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.all[begin..self.ends[places.end - 1]]
    }

    /// The things of each place.
    pub fn iter(&self) -> impl Iterator<Item = &[T]> {
        (0..self.ends.len()).map(|place| &self[place])
    }
}

impl<T> Index<usize> for Groups<T> {
    type Output = [T];

    #[inline]
    fn index(&self, place: usize) -> &[T] {
        self.within(place..place + 1)
    }
}
