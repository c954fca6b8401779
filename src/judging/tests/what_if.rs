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

/// What other machines of the shop have stays theirs in a ledger as it would be; which records stand there too is told by
/// number, and numbers may have moved.
#[test]
fn what_lies_elsewhere_still_counts_in_a_ledger_as_it_would_be() {
    let text = "shop { shim-stock { leaf 0.05 count=1 }; profile R20 hole-pitch=60 { stock 1200 count=1 } }
        machine m { axis X { run to=1200; rail a profile=R20 { segment 1200 serial=K-1; supports S first=100 pitch=240 count=2 } } }
        shim X.a date=\"2026-04-10\" by=fitter-2 { at S1 0.05 }";
    let mut judged = crate::testing::judge(&[("machine.kdl", text)], &[]);
    let found = |ledger: crate::ledger::Ledger| -> Vec<String> {
        let rules = ["shim-stock", "segment-stock", "parts-mixed", "duplicate-name"];
        let all = judge_ledger(ledger, crate::testing::today()).findings;
        all.iter().filter(|it| rules.contains(&it.rule.as_str())).map(|it| it.rule.to_string()).collect()
    };
    assert_eq!(found(with(&judged.ledger, &[])), [""; 0], "alone it has what it needs");
    let folder = crate::world::Path("other".into());
    let name = |of: &str| crate::ledger::Name::new(of);
    let elsewhere = &mut judged.ledger.elsewhere;
    elsewhere.leaves.insert(crate::quantity::Length(50_000), 1);
    elsewhere.bars.insert((name("R20"), crate::quantity::Length(1_200_000_000)), 1);
    elsewhere.serials.insert(name("K-1"), folder.clone());
    elsewhere.name = Some(folder.clone());
    elsewhere.copies.push((0, folder));
    let after = with(&judged.ledger, &[]);
    assert_eq!(after.elsewhere.copies, []);
    let mut found = found(after);
    found.sort();
    assert_eq!(found, ["duplicate-name", "parts-mixed", "segment-stock", "shim-stock"]);
}
