//! More than one ledger can hold.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::TOO_MUCH,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "In all, a ledger holds at most 20,000 supports, 4,000 segments, 500 other parts (axes, beams and their pieces, rails, parts of carriages, service intervals), 200,000 holes and as many bolts, 20,000 records (4,000 of them concessions and voids), and 200,000 rows of records with ranges written out. At most 10,000 findings are told of it.",
    why: "A slip in a count or a range means more than any machine has. Where a total is passed, nothing behind that place is read and nothing of the ledger is judged; where findings are left out, nobody can say that anything conforms.",
    limits: &[],
    source: "limits of this program, far beyond what a machine has",
    wrong: r#"
machine m { axis X { rail a { supports S first=100 pitch=240 count=24000 } } }
"#,
    right: r#"
machine m { axis X { rail a { supports S first=100 pitch=240 count=24 } } }
"#,
    never_conceded: true,
    ..Rule::PLAIN
};

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::finding::MOST_FINDINGS;
    use crate::ledger::CountedPart;

    /// The page states each total as the program has it.
    #[test]
    fn the_page_states_the_totals() {
        let told = |count: usize| match count / 1000 {
            0 => count.to_string(),
            thousands => format!("{thousands},{:03}", count % 1000),
        };
        for counted in CountedPart::ALL {
            assert!(RULE.what.contains(&told(counted.most())), "{counted:?}");
        }
        assert!(RULE.what.contains(&told(MOST_FINDINGS)));
    }
}
