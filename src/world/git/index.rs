//! Whether the index certainly holds no link, told from the bytes of git's index file without asking git for each path in
//! it. It may say no too often: then git lists the whole index.
//!
//! The format is git's own, documented as `gitformat-index`. In versions 2 to 4 every entry has its mode as a big-endian
//! number of 32 bits, so a file without those four bytes has no link. Of a split index (extension `link`) the entries lie
//! in another file, and of a sparse one (extension `sdir`) some are not listed.
//!
//! In versions 2 and 3 entries fill whole eights behind the 12 bytes of the head, and the mode is their byte 24: there it
//! stands four bytes behind a multiple of eight. The number of a file and its size, which may be the same four bytes, do not.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

use memchr::memmem::Finder;

/// What a file without a link has none of: the mode 120000 of a link, and the names of both extensions. A size below 16 MB
/// stands behind `link`.
const SIGNS: [&[u8]; 3] = [LINK, b"link\x00", b"sdir"];
const LINK: &[u8] = b"\x00\x00\xa0\x00";
/// So many bytes are looked at together.
const CHUNK: usize = 64 * 1024;
/// One less than the longest sign: so many bytes are looked at again, since a sign may lie across two chunks.
const OVERLAP: usize = 4;

/// Whether an index file certainly holds no link.
pub(super) fn is_without_links(index: &Path) -> bool {
    File::open(index).is_ok_and(|file| has_no_sign(file).unwrap_or(false))
}

fn has_no_sign(mut index: impl Read) -> std::io::Result<bool> {
    let mut head = [0; 8];
    index.read_exact(&mut head)?;
    if !(head.starts_with(b"DIRC") && matches!(head[4..], [0, 0, 0, 2..=4])) {
        return Ok(false);
    }
    let in_eights = head[7] < 4;
    let signs = SIGNS.map(Finder::new);
    // Where in the file the bytes at hand begin.
    let mut from = head.len();
    let mut bytes = vec![0; OVERLAP + CHUNK];
    let mut kept = 0;
    loop {
        let read = match index.read(&mut bytes[kept..]) {
            Ok(0) => return Ok(true),
            Ok(read) => read,
            Err(error) if error.kind() == ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        let end = kept + read;
        for sign in &signs {
            let mut at = 0;
            while let Some(found) = sign.find(&bytes[at..end]) {
                at += found;
                if !in_eights || sign.needle() != LINK || (from + at) % 8 == 4 {
                    return Ok(false);
                }
                at += 1;
            }
        }
        kept = end.min(OVERLAP);
        from += end - kept;
        bytes.copy_within(end - kept..end, 0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An index of version 2 as `gitformat-index` describes it, as far as it matters here.
    fn index(version: u8, filling: usize, then: &[u8]) -> Vec<u8> {
        let mut bytes = [&b"DIRC"[..], &[0, 0, 0, version]].concat();
        bytes.extend(std::iter::repeat_n(b'x', filling));
        bytes.extend(then);
        bytes.extend([b'x'; 40]);
        bytes
    }

    /// Gives one byte less than a chunk at most, and now and then only a few.
    struct Slow<'b>(&'b [u8], usize);

    impl Read for Slow<'_> {
        fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
            self.1 = (self.1 * 7 + 3) % CHUNK;
            let most = into.len().min(self.1.max(8));
            self.0.read(&mut into[..most])
        }
    }

    #[test]
    fn a_sign_is_seen_wherever_it_lies() {
        for sign in SIGNS {
            for filling in (0..20).chain(CHUNK - 20..CHUNK + 20).chain(2 * CHUNK - 20..2 * CHUNK + 20) {
                let elsewhere = sign == LINK && filling % 8 != 4;
                for (version, unseen) in [(2, elsewhere), (3, elsewhere), (4, false)] {
                    let bytes = index(version, filling, sign);
                    assert_eq!(has_no_sign(&bytes[..]).unwrap(), unseen, "{sign:?} behind {filling}");
                    assert_eq!(has_no_sign(Slow(&bytes, filling)).unwrap(), unseen, "{sign:?} behind {filling}");
                }
                assert!(has_no_sign(&index(2, filling, &sign[1..])[..]).unwrap(), "{sign:?} behind {filling}");
            }
        }
    }

    #[test]
    fn what_is_not_known_may_hold_a_link() {
        assert!(has_no_sign(&index(3, 9, b"")[..]).unwrap() && has_no_sign(&index(4, 9, b"")[..]).unwrap());
        assert!(!has_no_sign(&index(1, 9, b"")[..]).unwrap() && !has_no_sign(&index(5, 9, b"")[..]).unwrap());
        assert!(!has_no_sign(&b"PACK\x00\x00\x00\x02x"[..]).unwrap());
        assert!(has_no_sign(&b"DIRC"[..]).is_err());
        assert!(!is_without_links(Path::new("no such file")));
    }
}
