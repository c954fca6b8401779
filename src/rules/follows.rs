//! What only follows from a fault that has a finding of its own.

use super::catalogue::rule;
use super::{Case, RuleGroup, keeping};
use crate::finding::{Finding, Grade, Place, within};

/// Whether a finding only follows from a fault in the text, which has a finding of its own.
///
/// Where the description of a rail is damaged, nothing derived from it is judged; where a record is damaged or
/// lost, no rule that reasons from what is not there; and where either is, nothing is called outstanding.
pub(super) fn follows_from_damage(case: &Case, finding: &Finding) -> bool {
    let rule = rule(finding.rule);
    let layout = rule.is_some_and(|rule| rule.group == RuleGroup::Layout);
    // That something is held is said, not reasoned from what is not there.
    let outstanding = finding.grade == Grade::Outstanding && finding.rule != keeping::hold_in_force::RULE.name;
    // What nobody can tell is no matter where what is told cannot be read.
    let open = outstanding || finding.grade == Grade::NotJudged;
    if case.half_described && (layout && outstanding || finding.grade == Grade::NotJudged) {
        return true;
    }
    let kinds = rule.map_or(&[][..], |rule| rule.reasons_from);
    if case.lost.iter().any(|lost| {
        let there = lost.rail.is_none_or(|id| within(&finding.address, &case.machine.rail_address(id)));
        there && (open || kinds.contains(&lost.kind))
    }) {
        return true;
    }
    if !layout && !open && kinds.is_empty() && finding.rule != keeping::described_after::RULE.name {
        return false;
    }
    let mut damaged = case.rails().filter(|(_, _, rail)| rail.damaged);
    let touches =
        |whole: Place| finding.at.place.lies_in(whole) || finding.also.iter().any(|label| label.place.lies_in(whole));
    damaged.any(|(id, _, rail)| touches(rail.whole) || within(&finding.address, &case.machine.rail_address(id)))
}
