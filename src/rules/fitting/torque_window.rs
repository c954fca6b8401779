//! The full torque of every bolt lies in its window.

use super::window;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Stage;
use crate::rules::{Check, Cure, Ground, ReadingKind, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("torque-window"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The full torque that each bolt holds lies in the window of its fastener, or else of the rulebook; both ends conform. A torque over it stands until the bolt is loosened, or found turned: tightening again takes nothing off. The default of the rulebook holds for M6 of class 10.9 or 12.9 into steel alone: any other fastener needs a window of its own, one being proposed by VDI 2230, and bolts of which nobody says what they are cannot be judged.",
    why: "A bolt below the window lets the rail creep; one above it may have yielded, or dents the seat and bends the rail.",
    limits: &[LimitName::FullTorque],
    holds: &[LimitName::FullTorque],
    source: "common practice, no source; the window of a fastener is the shop's own",
    wrong: r#"
shop {
    profile R20 hole-pitch=60 end-distance=30
    fastener rb thread=M6 class="10.9" into=steel
}
machine m { axis X { rail a profile=R20 rail-bolt=rb { segment 1200; support S1 at=240 length=80 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full { at S1 11.4 }
"#,
    right: r#"
shop {
    profile R20 hole-pitch=60 end-distance=30
    fastener rb thread=M6 class="10.9" into=steel
}
machine m { axis X { rail a profile=R20 rail-bolt=rb { segment 1200; support S1 at=240 length=80 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full { at S1 11 }
"#,
    judges: &[ReadingKind::FullTorque],
    about_each_place: true,
    follows_from: &[Ground::Described],
    checks: &[Check::Rails(|case, id, findings| window::check(case, id, findings, Stage::Full))],
    ..Rule::PLAIN
};
