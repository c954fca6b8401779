//! What is stated of an instrument stays.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::INSTRUMENT_ALTERED,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "What others have of an instrument's calibrations, counts of cycles and doubts, and of its first and last day in the shop, is stated still, as it was. A word that was not stated may be added, but for one that takes back: an error or an end of a doubt, how an instrument that failed was found, what became of one found outside. An error that is added to such a calibration is observed. Doubts, and calibrations that found fault or adjusted, are held against the last commit too.",
    why: "What was read with an instrument that was wrong does not count until it is read again. Who could take the fault away could make all of it count.",
    source: "common practice, no source",
    before: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
shop {
    gauge DI-4 kind=dial-indicator { calibrated "2026-01-12"; calibrated "2026-08-30" result=failed }
    doubt DI-4 date="2026-06-01" by=inspector-1 from="2026-03-01" reason="stylus found bent"
}
"#,
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
shop {
    gauge DI-4 kind=dial-indicator { calibrated "2026-01-12"; calibrated "2026-08-30" result=failed }
}
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
shop {
    gauge DI-4 kind=dial-indicator { calibrated "2026-01-12"; calibrated "2026-08-30" result=failed certificate="C-9" }
    doubt DI-4 date="2026-06-01" by=inspector-1 from="2026-03-01" reason="stylus found bent" {
        void date="2026-06-08" by=inspector-2 reason="it was DI-5 that fell"
    }
}
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
