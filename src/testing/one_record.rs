//! A ledger on the disk with one record, to be written to.

use std::fs;
use std::path::Path;

const SAW: &str = "machine saw {\n    axis X {\n        run from=0 to=1200\n    }\n}\n";
pub(crate) const ONE: &str = "service X date=\"2026-04-14\" by=fitter-2 task=lubricate\n";
pub(crate) const DAY: &str = "2026-04-14-fitter-2.kdl";

/// The ledger, which goes away with this value.
pub(crate) fn ledger() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("machine.kdl"), SAW).expect("written");
    fs::write(folder.path().join(DAY), ONE).expect("written");
    folder
}

/// What lies in a folder, in order.
pub(crate) fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("listed");
    let mut names: Vec<String> =
        entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}
