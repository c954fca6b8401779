//! The one kind of path everything above `world` sees, and the arithmetic on it. It is text, not an operating system
//! path, so that a work tree, a git revision and a test print the same bytes for the same file.

use std::fmt;

/// The path of a file or folder in a world: relative to where the world stands, `/` between parts, `..` only in front.
/// `""` is the folder the world stands in. This is what findings print, so it never is absolute unless the user's own
/// argument was.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Path(pub String);

impl fmt::Display for Path {
    /// As text for a person; the folder the world stands in shows as `.`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.shown())
    }
}

/// A path as a person reads it; the folder the world stands in shows as `.`.
pub(crate) fn shown_path(path: &str) -> &str {
    if path.is_empty() { "." } else { path }
}

impl From<&str> for Path {
    fn from(text: &str) -> Self {
        Self(text.to_owned())
    }
}

impl Path {
    /// As a person reads it.
    pub(crate) fn shown(&self) -> &str {
        shown_path(&self.0)
    }

    /// The path of `name` in this folder.
    #[must_use]
    pub fn join(&self, name: &str) -> Self {
        if self.0.is_empty() {
            Self(name.to_owned())
        } else if self.0.ends_with('/') {
            Self(format!("{}{name}", self.0))
        } else {
            Self(format!("{}/{name}", self.0))
        }
    }

    /// The last part, or `""` where there is none.
    #[must_use]
    pub fn name(&self) -> &str {
        self.0.rsplit('/').next().unwrap_or_default()
    }

    /// The folder this path stands in, by its text alone. Nothing for `""`, for `/`, and for paths that only climb:
    /// what is above those, only the world knows.
    #[must_use]
    pub fn parent(&self) -> Option<Self> {
        if self.0.is_empty() || self.0 == "/" || self.name() == ".." {
            return None;
        }
        Some(match self.0.rfind('/') {
            Some(0) => Self("/".to_owned()),
            Some(at) => Self(self.0[..at].to_owned()),
            None => Self::default(),
        })
    }

    /// Whether the name says that this is a file of a ledger.
    #[must_use]
    pub fn is_kdl(&self) -> bool {
        self.name().ends_with(".kdl")
    }

    /// Whether the name looks as if it were meant for a file of a ledger, however it is written.
    #[must_use]
    pub fn looks_like_kdl(&self) -> bool {
        looks_like_kdl(self.0.as_bytes())
    }

    /// Whether this path is `folder` or lies below it, by their text alone.
    #[must_use]
    pub fn is_within(&self, folder: &Self) -> bool {
        if folder.0.is_empty() {
            return !self.0.starts_with('/') && self.0 != ".." && !self.0.starts_with("../");
        }
        match self.0.strip_prefix(&folder.0) {
            Some("") => true,
            Some(rest) => {
                let below = rest.strip_prefix('/').unwrap_or(rest);
                (rest.starts_with('/') || folder.0 == "/") && below != ".." && !below.starts_with("../")
            }
            None => false,
        }
    }

    /// A typed path in its normal form: no `.`, no empty parts, `..` only in front. By its text alone.
    #[must_use]
    pub fn normal(typed: &str) -> Self {
        let absolute = typed.starts_with('/');
        let mut parts: Vec<&str> = Vec::new();
        for part in typed.split('/') {
            match part {
                "" | "." => {}
                ".." if parts.last().is_some_and(|&last| last != "..") => {
                    parts.pop();
                }
                ".." if absolute => {}
                _ => parts.push(part),
            }
        }
        Self(format!("{}{}", if absolute { "/" } else { "" }, parts.join("/")))
    }
}

/// Whether a path ends as a file of a ledger does, in letters of any size, with dots or signs behind it that nobody sees.
#[must_use]
pub(crate) fn looks_like_kdl(path: &[u8]) -> bool {
    let ends = |seen: &[u8]| seen.len() >= 4 && seen[seen.len() - 4..].eq_ignore_ascii_case(b".kdl");
    match path.last() {
        Some(end) if end.is_ascii_alphanumeric() => ends(path),
        _ => {
            // Three of the last bytes may be a part of a sign.
            let tail = String::from_utf8_lossy(&path[path.len().saturating_sub(MOST_LOOKED_AT)..]);
            ends(tail.trim_end_matches(|c| c == '.' || is_unseen(c)).as_bytes())
        }
    }
}

/// No name that anybody means ends in more than that of what nobody sees.
const MOST_LOOKED_AT: usize = 256;

/// Whether nobody sees a sign at the end of a name.
pub(crate) fn is_unseen(c: char) -> bool {
    let has_no_width = matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}');
    c.is_whitespace() || c.is_control() || has_no_width
}

/// A name as text. Bytes that are not UTF-8 show as `\xHH`; the second value says whether there were none.
#[must_use]
pub(crate) fn shown(name: &[u8]) -> (String, bool) {
    if let Ok(text) = std::str::from_utf8(name) {
        return (text.to_owned(), true);
    }
    let mut text = String::new();
    for chunk in name.utf8_chunks() {
        text.push_str(chunk.valid());
        for byte in chunk.invalid() {
            text.push_str(&format!("\\x{byte:02X}"));
        }
    }
    (text, false)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_form_keeps_dots_only_in_front() {
        for (typed, normal) in [
            ("", ""),
            (".", ""),
            ("./a//b/./c/", "a/b/c"),
            ("a/../b", "b"),
            ("a/../../b", "../b"),
            ("../../x/..", "../.."),
            ("/a/../../b", "/b"),
            ("/", "/"),
        ] {
            assert_eq!(Path::normal(typed).0, normal, "{typed}");
        }
    }

    #[test]
    fn parent_and_join_are_each_others_undoing() {
        for (folder, name) in [("", "a"), ("a", "b"), ("..", "b"), ("/", "a"), ("/a/b", "c")] {
            let path = Path::from(folder).join(name);
            assert_eq!(path.parent(), Some(Path::from(folder)));
            assert_eq!(path.name(), name);
            assert!(path.is_within(&Path::from(folder)), "{path} in {folder}");
        }
        for top in ["", "/", "..", "../.."] {
            assert_eq!(Path::from(top).parent(), None, "{top}");
        }
    }

    #[test]
    fn within_compares_whole_parts() {
        assert!(!Path::from("ab").is_within(&Path::from("a")));
        assert!(!Path::from("../x").is_within(&Path::from("")));
        assert!(!Path::from("../../x").is_within(&Path::from("..")));
        assert!(Path::from("a").is_within(&Path::from("a")));
    }

    #[test]
    fn bytes_that_are_not_text_show_as_escapes() {
        assert_eq!(shown(b"seam\xff\x80.kdl"), ("seam\\xFF\\x80.kdl".to_owned(), false));
        assert_eq!(shown("Flußkran.kdl".as_bytes()), ("Flußkran.kdl".to_owned(), true));
    }
}
