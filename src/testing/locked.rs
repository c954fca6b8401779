//! Where the packages lie that this build is locked to: what they ship is checked against.

use std::path::PathBuf;
use std::process::Command;

/// The folder of a package.
pub(crate) fn package(name: &str) -> PathBuf {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    // Only what this machine's build needs, and so has: no network here.
    let version = Command::new(&cargo).arg("-vV").output().expect("cargo runs").stdout;
    let version = String::from_utf8_lossy(&version).into_owned();
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).expect("cargo names its host");
    let out = Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--locked", "--offline"])
        .args(["--filter-platform", host, "--manifest-path"])
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml"))
        .output()
        .expect("cargo metadata runs");
    assert!(out.status.success(), "cargo metadata: {}", String::from_utf8_lossy(&out.stderr));
    let metadata: serde_json::Value = serde_json::from_slice(&out.stdout).expect("cargo metadata is JSON");
    let packages = metadata["packages"].as_array().expect("there are packages");
    let package = packages.iter().find(|package| package["name"] == name);
    let manifest = package.and_then(|package| package["manifest_path"].as_str());
    let manifest = manifest.unwrap_or_else(|| panic!("{name} is no dependency"));
    PathBuf::from(manifest).parent().expect("a manifest lies in a folder").to_path_buf()
}
