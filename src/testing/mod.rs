//! What the tests and the benches share: linting a text from memory, random machines, ways to break them.

pub(crate) mod cited;
pub(crate) mod exports;
pub(crate) mod faults;
pub(crate) mod fixes;
pub(crate) mod fleet;
pub(crate) mod locked;
pub(crate) mod machines;
pub(crate) mod one_record;
pub(crate) mod pieces;
pub(crate) mod yard;

use wayledger::files::Path;
use wayledger::lint::{Finding, Grade, Judged, judge_ledger};
use wayledger::model::{Ledger, TextFile};

/// The day tests judge by, unless they say otherwise.
pub(crate) fn today() -> jiff::civil::Date {
    jiff::civil::date(2026, 11, 1)
}

/// Judges some files as one ledger: each a name and its text.
pub(crate) fn judge(files: &[(&str, &str)], shops: &[&str]) -> Judged {
    let read = |name: &str, text: &str| TextFile::read(Path(format!("m/{name}")), text.as_bytes().to_vec());
    let files = files.iter().map(|(name, text)| read(name, text)).collect();
    let shops: Vec<TextFile> =
        shops.iter().map(|text| TextFile::read(Path("shop.kdl".into()), text.as_bytes().to_vec())).collect();
    judge_ledger(Ledger::new(Path("m".into()), files, &shops), today())
}

/// Judges one text as a machine file that holds everything. A few lines describe little, so what is not judged is left out.
pub(crate) fn lint_text(text: &str) -> Vec<Finding> {
    let mut findings = judge(&[("machine.kdl", text)], &[]).findings;
    findings.retain(|finding| finding.grade != Grade::NotJudged);
    findings
}

/// The rules that found fault with a text, with the addresses.
pub(crate) fn found(text: &str) -> Vec<String> {
    lint_text(text)
        .iter()
        .map(|finding| format!("{} {}", finding.rule, finding.address).trim_end().to_string())
        .collect()
}

/// Holds a committed page against what it is made from. `UPDATE_PAGES=1` writes it anew.
pub(crate) fn same_page(file: &str, now: &str) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    if std::env::var_os("UPDATE_PAGES").is_some() {
        std::fs::write(&path, now).expect("the page can be written");
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(committed == now, "{file} differs from what is made now; UPDATE_PAGES=1 writes it anew:\n{now}");
}
