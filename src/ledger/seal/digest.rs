//! The digest of a group of facts, and the seal over all groups.

use sha2::{Digest, Sha256};

/// SHA-256 of the facts of a group, order and spelling of the text left out where they mean nothing.
pub(super) fn digest<'f>(name: &str, ordered: bool, facts: impl Iterator<Item = (&'f str, &'f str)>) -> String {
    let mut facts: Vec<_> = facts.collect();
    if !ordered {
        facts.sort_unstable();
    }
    let mut hash = Sha256::new();
    part(&mut hash, name);
    for (address, value) in facts {
        part(&mut hash, address);
        part(&mut hash, value);
    }
    hex(hash)
}

/// SHA-256 over all that the release itself says, its seal left out, and over all groups.
pub(super) fn seal<'g>(
    own: impl Iterator<Item = (&'g str, &'g str)>,
    groups: impl Iterator<Item = (&'g str, &'g str)>,
) -> String {
    let mut hash = Sha256::new();
    part(&mut hash, &digest("release", false, own));
    for (name, digest) in groups {
        part(&mut hash, name);
        part(&mut hash, digest);
    }
    hex(hash)
}

/// Each text with its length in front, so that no two lists of texts run together.
fn part(hash: &mut Sha256, text: &str) {
    hash.update((text.len() as u64).to_be_bytes());
    hash.update(text.as_bytes());
}

fn hex(hash: Sha256) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let halves = |byte: u8| [byte >> 4, byte & 15].map(|half| char::from(DIGITS[usize::from(half)]));
    hash.finalize().into_iter().flat_map(halves).collect()
}
