//! `how` at the command line: a number is asked for by its word.

use crate::common::yard::Yard;

#[test]
fn people_ask_for_a_number_by_its_word() {
    let yard = Yard::with_saw();
    let list = yard.wayledger(&["how", "X.left.J1", "--ledger", "saw"]);
    assert_eq!(list.code, 0, "{list:?}");
    assert!(list.out.contains("step-UL") && list.out.contains("0.01 mm"), "{}", list.out);
    let shown = yard.wayledger(&["how", "X.left.J1", "step-UL", "--ledger", "saw"]);
    assert_eq!(shown.code, 0, "{shown:?}");
    assert!(shown.out.contains("step of groove UL = 0.01 mm"), "{}", shown.out);
    assert!(shown.out.contains("2021-04-15.kdl:"), "the place of the reading: {}", shown.out);
    let unknown = yard.wayledger(&["how", "X.left.J1", "weight", "--ledger", "saw"]);
    assert_eq!(unknown.code, 2, "{unknown:?}");
    assert!(unknown.err.contains("step-UL"), "{}", unknown.err);
    assert_eq!(yard.wayledger(&["how", "X.left.J9", "--ledger", "saw"]).code, 2);
}
