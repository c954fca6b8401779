//! Each segment is as long as the part that came in under its serial number.

use crate::finding::{Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("length-mismatch"),
    group: RuleGroup::Fitting,
    cure: Cure::AtMachine,
    what: "Each segment is as long as the part that came in under its serial number was measured to be. A longer part may have been cut to it where its profile may be cut; a shorter one cannot have become it.",
    why: "Joints, holes and supports are laid out by the described lengths: one that is wrong moves all that lie behind it.",
    limits: &[LimitName::ReceivedLength],
    holds: &[LimitName::ReceivedLength],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200 serial=K-118 } } }
receive date="2026-03-30" by=inspector-1 { part serial=K-118 length=1440 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1440 serial=K-118 } } }
receive date="2026-03-30" by=inspector-1 { part serial=K-118 length=1440 }
"#,
    reasons_from: &["receive"],
    follows_from: &[Ground::Described, Ground::Records],
    checks: &[Check::Segments(check)],
    ..Rule::PLAIN
};

/// Asked only of the segment that a serial number means: where it stands twice, or in two machines, that is another rule's.
fn check(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let segment = &rail.segments[index];
    let Some(serial) = segment.serial.as_ref().filter(|serial| !case.elsewhere.serials.contains_key(&serial.value))
    else {
        return Verdict::NotRequired;
    };
    let part = case.parts().get(serial.as_str()).filter(|part| part.fitted == Some((id, index)));
    let received = part.and_then(|part| part.received).filter(|part| !part.rejected);
    let Some(came) = received.and_then(|part| part.length) else { return Verdict::NotRequired };
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::ReceivedLength) else {
        return Verdict::NotRequired;
    };
    let off = (*came - *segment.length).abs();
    if off <= most {
        return Verdict::Conforms(came.place);
    }
    let profile = rail.profile.as_ref().and_then(|name| case.shop.profile(name));
    if *came > *segment.length && profile.is_some_and(|profile| profile.cutting_allowed()) {
        return Verdict::NotRequired;
    }
    findings.add(
        findings
            .finding(
                case.machine.segment_address(id, index),
                segment.length.place,
                format!("the segment is {} here, and {} as it came in", *segment.length, *came),
            )
            .here("as described")
            .also(came.place, "as it came in")
            .found(Measure::too_large(off))
            .limit(limit)
            .next("measure it again, and correct whichever is wrong"),
    );
    Verdict::Broken
}
