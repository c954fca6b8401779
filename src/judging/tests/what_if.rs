//! A ledger as it would be is judged over all that the ledger was read from, attached files included, so that nothing is
//! told as new that was there before.

use crate::finding::Finding;
use crate::judging::lint::{judge_ledger, read, read_shops};
use crate::judging::what_if::{with, with_text};
use crate::world::ledgers::find_ledgers;
use crate::world::{Disk, World as _};

/// Nothing changed, nothing is said anew: every example and every fault, word for word.
#[test]
fn a_ledger_in_which_nothing_changes_is_judged_as_it_is() {
    let disk = Disk::at(env!("CARGO_MANIFEST_DIR")).expect("a folder").on(crate::testing::today());
    let found = find_ledgers(&disk, &crate::world::Path("example-ledgers".into())).expect("ledgers").found;
    let shops = read_shops(&disk, &found);
    let (mut ledgers, mut findings, mut attached) = (0, 0, 0);
    for found in &found {
        let (ledger, _) = read(&disk, found, &shops);
        let judged = judge_ledger(ledger, disk.today());
        let machine = judged.path.join("machine.kdl");
        let text = judged.ledger.sources.text_of(&machine).expect("every ledger has one").to_string();
        let today = disk.today();
        let same = judge_ledger(with(&judged.ledger, &[]), today);
        for after in [same, with_text(&judged.ledger, &machine, text, today)] {
            let said = |all: &[Finding]| -> Vec<String> {
                all.iter().map(|it| format!("{} {} {} {}", it.rule, it.address, it.message, it.next)).collect()
            };
            assert_eq!(said(&after.findings), said(&judged.findings), "{}", found.folder);
            assert_eq!(after.ledger.attachments, judged.ledger.attachments);
        }
        ledgers += 1;
        findings += judged.findings.len();
        attached += judged.ledger.attachments.len();
    }
    assert!(ledgers > 40 && findings > 60 && attached > 0, "{ledgers}, {findings}, {attached}");
}
