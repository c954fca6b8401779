//! A table of what was looked through before, that never grows beyond its share of memory.
//!
//! It has two halves. When the newer one is full, the older one is forgotten: what is asked for again is learnt again.
//! Tables are only looked up, never listed, so order cannot leak.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// Words in the keys of one half: with what a table takes around them, about a tenth of the memory that a search may have.
const MOST_WORDS: usize = 5_000_000;

/// Entries in one half.
const MOST_ENTRIES: usize = 400_000;

#[derive(Debug, Default)]
pub(super) struct Memo<V> {
    newer: HashMap<Box<[u32]>, V, KeyHash>,
    older: HashMap<Box<[u32]>, V, KeyHash>,
    words: usize,
}

impl<V: Copy> Memo<V> {
    pub(super) fn new() -> Self {
        Self { newer: HashMap::default(), older: HashMap::default(), words: 0 }
    }

    pub(super) fn get(&self, key: &[u32]) -> Option<V> {
        self.newer.get(key).or_else(|| self.older.get(key)).copied()
    }

    pub(super) fn keep(&mut self, key: Vec<u32>, value: V) {
        if self.words > MOST_WORDS || self.newer.len() >= MOST_ENTRIES {
            self.older = std::mem::take(&mut self.newer);
            self.words = 0;
        }
        self.words += key.len();
        self.newer.insert(key.into(), value);
    }
}

/// A small, fast hash for keys of node numbers.
#[derive(Clone, Copy, Default)]
pub(super) struct KeyHasher(u64);

pub(super) type KeyHash = BuildHasherDefault<KeyHasher>;

impl Hasher for KeyHasher {
    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }

    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..chunk.len()].copy_from_slice(chunk);
            self.write_u64(u64::from_le_bytes(word));
        }
    }

    fn write_u64(&mut self, word: u64) {
        self.0 = (self.0.rotate_left(23) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }

    fn write_usize(&mut self, word: usize) {
        self.write_u64(word as u64);
    }
}
