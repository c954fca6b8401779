//! Paths as review pages want them: from the top of the repository, wherever the program was started.

use crate::world::Path;

/// Where the paths of findings start, seen from the top of the repository.
#[derive(Clone, Debug, Default)]
pub struct Root {
    /// The folder we stand in, from the top; empty at the top, or where there is no repository.
    prefix: String,
    /// The top itself, as an absolute path.
    top: Option<Path>,
}

impl Root {
    /// Standing in a folder below the top of a repository.
    pub fn new(prefix: &str, top: Option<&std::path::Path>) -> Root {
        let top = top.and_then(std::path::Path::to_str).map(|top| Path::normal(&top.replace('\\', "/")));
        Root { prefix: prefix.to_owned(), top }
    }

    /// A path of a finding, from the top of the repository. One that lies outside of it stays as it is.
    pub fn path(&self, seen: &str) -> String {
        let seen_path = Path::normal(seen);
        if seen.starts_with('/') {
            return match &self.top {
                Some(top) if seen_path.is_within(top) => seen_path.0[top.0.len()..].trim_start_matches('/').to_owned(),
                _ => seen_path.0,
            };
        }
        Path::normal(&format!("./{}/{}", self.prefix, seen_path.0)).0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_start_at_the_top_of_the_repository() {
        let root = Root::new("yard/hull", Some(std::path::Path::new("/work tree")));
        assert_eq!(root.path("machine.kdl"), "yard/hull/machine.kdl");
        assert_eq!(root.path("../shop.kdl"), "yard/shop.kdl");
        assert_eq!(root.path("/work tree/a/b.kdl"), "a/b.kdl");
        assert_eq!(root.path("/work tree 2/a/b.kdl"), "/work tree 2/a/b.kdl");
        assert_eq!(Root::default().path("a/b.kdl"), "a/b.kdl");
    }
}
