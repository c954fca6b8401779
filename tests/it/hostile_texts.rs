//! Texts and folders made to take the square of their size. There is no clock here: what is counted is how often the
//! world is asked, and how much is said; a search that is repeated for each of many thousand things would not come back.

use std::sync::atomic::{AtomicUsize, Ordering};

use jiff::civil::Date;
use wayledger::files::{EntryKind, Listed, Memory, Path, ReadError, World, find_all};
use wayledger::format::Style;
use wayledger::lint::Locator;

use crate::common::{judge, lint_text};
use crate::fuzz::lint::pieces;

/// A world that counts what it is asked.
struct Counting {
    world: Memory,
    asked: AtomicUsize,
}

impl World for Counting {
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, ReadError> {
        self.asked.fetch_add(1, Ordering::Relaxed);
        self.world.list(folder)
    }

    fn kind(&self, path: &Path) -> Result<EntryKind, ReadError> {
        self.asked.fetch_add(1, Ordering::Relaxed);
        self.world.kind(path)
    }

    fn read(&self, file: &Path) -> Result<Vec<u8>, ReadError> {
        self.asked.fetch_add(1, Ordering::Relaxed);
        self.world.read(file)
    }

    fn parent(&self, path: &Path) -> Option<Path> {
        self.world.parent(path)
    }

    fn today(&self) -> Date {
        self.world.today()
    }
}

/// How often a folder of so many files is asked about until its one ledger is found.
fn asked(files: usize) -> usize {
    let mut world = Memory::new(crate::common::today()).with("m/machine.kdl", "machine m");
    for number in 0..files {
        world = world.with(&format!("m/photos/{number}.txt"), "");
    }
    let world = Counting { world, asked: AtomicUsize::new(0) };
    let found = find_all(&world, &[Path::default()]).expect("it can be listed").found;
    assert_eq!((found.len(), found[0].files.len()), (1, 1));
    world.asked.into_inner()
}

#[test]
fn a_folder_of_many_entries_is_listed_once() {
    assert_eq!(asked(1_000), asked(100_000));
}

#[test]
fn many_findings_on_one_endless_line_have_their_places() {
    let text = format!("machine m\n{}", "µµ 1;".repeat(9_000));
    let judged = judge(&[("machine.kdl", &text)], &[]);
    let unknown: Vec<_> = judged.findings.iter().filter(|finding| finding.rule.as_str() == "unknown-node").collect();
    assert_eq!(unknown.len(), 9_000);
    let locator = Locator::new(&judged.ledger.sources);
    for (number, finding) in unknown.iter().enumerate() {
        let at = locator.locate(finding.at.place);
        // Five characters each, of seven bytes.
        assert_eq!((at.line, at.column), (2, number as u32 * 5 + 1));
    }
    let out = pieces("json", &judged, Style::default()).concat();
    assert!(out.len() < 9_000 * 650, "{}", out.len());
}

/// An unknown name is compared with the known ones, and from some number on only named.
#[test]
fn many_unknown_names_among_many_known_ones_are_each_told() {
    let supports = "supports S first=240 pitch=240 count=3000 length=80";
    let rows: String = (0..3_000).map(|n| format!("at Q{n} 10\n")).collect();
    let text = format!(
        "machine m {{\naxis X {{\nrun from=0 to=720480\nrail a {{ segment 720480; {supports} }}\n}}\n}}\n\
         fasten X.a date=\"2026-04-14\" by=fitter-1 stage=full {{\n{rows}}}\n"
    );
    let findings = lint_text(&text);
    let unknown: Vec<_> = findings.iter().filter(|finding| finding.rule.as_str() == "unknown-reference").collect();
    assert_eq!(unknown.len(), 3_000);
    assert!(unknown.iter().all(|finding| finding.message.contains("`Q") && !finding.next.is_empty()));
    assert!(unknown[0].next.contains('S'), "{}", unknown[0].next);
    assert!(unknown[2_999].next.contains("mend the names above first"), "{}", unknown[2_999].next);
}

/// Each withdrawal finds its own record among thousands, and those of nothing are each told.
#[test]
fn many_records_and_as_many_withdrawals() {
    let moment =
        |n: usize| format!("2026-{:02}-{:02}T{:02}:{:02}", 1 + n / 40_320, 1 + n / 1440 % 28, n / 60 % 24, n % 60);
    let mut text = String::from("machine m { axis X { rail a { segment 1200 } } }\n");
    for n in 0..1_300 {
        let at = moment(n);
        text += &format!("service X date=\"{at}\" by=fitter-1 task=lubricate\n");
        text += &format!("void service X of=\"{at}\" date=\"2026-10-01\" by=fitter-1 reason=\"read twice\"\n");
        text +=
            &format!("void service X of=\"2025-{}\" date=\"2026-10-01\" by=fitter-1 reason=\"as agreed\"\n", &at[5..]);
    }
    let judged = judge(&[("machine.kdl", &text)], &[]);
    assert_eq!(
        judged.ledger.records.iter().filter(|record| record.kind == "service" && !record.counts()).count(),
        1_300
    );
    let unknown = judged.findings.iter().filter(|finding| finding.rule.as_str() == "unknown-reference").count();
    assert_eq!(unknown, 1_300);
}
