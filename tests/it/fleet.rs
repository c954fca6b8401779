//! A whole fleet in a folder: the program finds what is wrong with it, where it is wrong, and nothing else.

use assert_cmd::Command;
use serde_json::Value;

use crate::common::fleet::Fleet;
use crate::common::machines::Size;

#[test]
fn every_fault_sprinkled_into_a_fleet_is_found_at_its_place_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let fleet = Fleet { ledgers: 150, size: Size::of_bytes(14_000), faulty: 40, seed: 20_261 };
    let (_, announced) = fleet.write(folder.path()).unwrap();
    assert!(announced.len() > 40, "only {} faults", announced.len());
    let output = Command::cargo_bin("wayledger")
        .unwrap()
        .args(["lint", "--format", "json", "--today", "2026-11-01"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
    let page: Value = serde_json::from_slice(&output.stdout).unwrap();
    let text = |finding: &Value, pointer: &str| {
        finding
            .pointer(pointer)
            .map_or(String::new(), |value| value.as_str().map_or_else(|| value.to_string(), String::from))
    };
    let ledgers = page["ledgers"].as_array().unwrap().iter();
    let mut found: Vec<String> = ledgers
        .flat_map(|ledger| ledger["findings"].as_array().unwrap())
        // What is declared not to apply is no fault.
        .filter(|finding| finding["grade"] != "not judged" || finding["conceded"].is_null())
        .map(|finding| {
            let [file, line] = ["/at/file", "/at/line"].map(|pointer| text(finding, pointer));
            let [grade, rule, address] = ["/grade", "/rule", "/address"].map(|pointer| text(finding, pointer));
            format!("{file}:{line} {grade} {rule} {address}").trim_end().to_string()
        })
        .collect();
    found.sort();
    assert_eq!(found, announced);
}

#[test]
fn a_fleet_is_of_the_size_asked_for() {
    for bytes in [10_000, 14_000, 40_000] {
        let fleet = Fleet { ledgers: 120, size: Size::of_bytes(bytes), faulty: 10, seed: 1 };
        let total: usize = fleet.members().flat_map(|member| member.files).map(|(_, text)| text.len()).sum();
        let mean = total as i64 / 120;
        assert!((bytes * 4 / 5..=bytes * 6 / 5).contains(&mean), "{mean} bytes where {bytes} were asked");
    }
}
