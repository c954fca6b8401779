//! Text that is not KDL.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::UNREADABLE,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "The text can be read as KDL 2, and by people as a program reads it: no line ends at a character that editors show inside the line (U+000B, U+000C, U+0085, U+2028, U+2029, or a carriage return alone among other breaks) with something behind it.",
    why: "A place that cannot be read holds a fact that nobody sees. The rest of the file is still read and judged. What is read and not seen, as behind a comment that seems to go on, is worse.",
    limits: &[],
    source: "KDL 2.0.0",
    wrong: r#"
machine m {
    axis X {
        rail a { segment 1200; segment 12OO }
    }
}
"#,
    right: r#"
machine m {
    axis X {
        rail a { segment 1200; segment 1200 }
    }
}
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
