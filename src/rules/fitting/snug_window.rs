//! The snug torque of every bolt lies in its window.

use super::window;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Stage;
use crate::rules::{Check, Cure, Ground, ReadingKind, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("snug-window"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The snug torque of each bolt lies in the window of its fastener, or else of the rulebook; both ends conform. The default of the rulebook holds for M6 of class 10.9 or 12.9 into steel alone: any other fastener needs a window of its own, and bolts of which nobody says what they are cannot be judged.",
    why: "Snugged too lightly the rail does not come to its datum faces; too hard it sticks where it is and does not slide home.",
    limits: &[LimitName::SnugTorque],
    holds: &[LimitName::SnugTorque],
    source: "common practice, no source; the window of a fastener is the shop's own",
    wrong: r#"
shop { fastener rb thread=M6 class="10.9" into=steel }
machine m { axis X { rail a rail-bolt=rb { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=snug setting=2.5 { clicked S1 }
"#,
    right: r#"
shop { fastener rb thread=M6 class="10.9" into=steel }
machine m { axis X { rail a rail-bolt=rb { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=snug setting=2 { clicked S1 }
"#,
    judges: &[ReadingKind::SnugTorque],
    about_each_place: true,
    follows_from: &[Ground::Described],
    checks: &[Check::Rails(|case, id, findings| window::check(case, id, findings, Stage::Snug))],
    ..Rule::PLAIN
};
