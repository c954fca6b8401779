//! Other people's programs in Python, each test with packages of its own from PyPI.

use std::path::Path;
use std::process::Command;

/// What a program says that ends well.
#[track_caller]
pub(crate) fn run(program: &str, arguments: &[&str], folder: &Path) -> String {
    let output = Command::new(program).args(arguments).current_dir(folder).output().expect(program);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{program} {arguments:?}: {said}");
    String::from_utf8(output.stdout).expect("text")
}

/// The Python within a folder, with a package.
pub(crate) const PYTHON: &str = "venv/bin/python";

/// Puts Python with a package into a folder.
pub(crate) fn install(package: &str, folder: &Path) {
    run("python3", &["-m", "venv", "venv"], folder);
    run("venv/bin/pip", &["install", "-q", package], folder);
}
