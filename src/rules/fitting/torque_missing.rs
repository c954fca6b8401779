//! Every bolt has its full torque.

use super::{INTERFACES, bolts_of};
use crate::facts::torque_sides::in_words;
use crate::finding::{Grade, Measure, RuleName, counted};
use crate::ledger::{EventKind, Interface, NodeDraft, RailId};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("torque-missing"),
    group: RuleGroup::Fitting,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Each bolt of each support has a full torque on record that nothing slackened since.",
    why: "A bolt nobody recorded is a bolt that may be loose. One loose support lets the joint beside it open.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; support S1 at=240; support S2 at=480 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; support S1 at=240; support S2 at=480 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 S2 }
"#,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

/// More single bolts than this are counted and not named.
const MOST_NAMED: usize = 6;

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    // Where one of them is recorded.
    let mut shown = None;
    for interface in INTERFACES {
        // Supports without any torque, and single bolts that others of their support are ahead of.
        let (mut whole, mut single) = (Vec::new(), Vec::new());
        for (support, it) in rail.supports.iter().enumerate() {
            // Base bolts are asked for where they are described.
            if interface == Interface::Base && it.base_bolts.is_none() {
                continue;
            }
            if let Some(record) = case.courses_of(id, interface)[support].tight {
                shown.get_or_insert(case.records[record].place);
                continue;
            }
            let bolts = case.torqued(id, support, interface);
            let open = bolts.iter().filter(|bolt| bolt.is_none()).count();
            if open > 0 && open == bolts.len() {
                whole.push(support);
            } else if open > 0 {
                let numbers = bolts.iter().enumerate().filter(|(_, bolt)| bolt.is_none()).map(|(at, _)| at + 1);
                single.push((support, numbers.collect::<Vec<usize>>()));
            } else if let Some(held) = bolts.iter().flatten().next() {
                shown.get_or_insert(held.place);
            }
        }
        report(case, findings, id, interface, &whole, &single);
    }
    match shown {
        Some(place) => Verdict::Conforms(place),
        None if rail.supports.is_empty() => Verdict::Awaits("no supports are described"),
        None => Verdict::NotJudged("no bolts of its supports are known"),
    }
}

fn report(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    interface: Interface,
    whole: &[usize],
    single: &[(usize, Vec<usize>)],
) {
    let rail = case.machine.rail(id);
    let count = whole.len() + single.len();
    let Some(first) = whole.first().copied().into_iter().chain(single.first().map(|(support, _)| *support)).min()
    else {
        return;
    };
    let mut parts = Vec::new();
    if !whole.is_empty() {
        parts.push(case.ranges(id, whole));
    }
    parts.extend(single.iter().take(MOST_NAMED).map(|(support, bolts)| {
        let numbers: Vec<String> = bolts.iter().map(usize::to_string).collect();
        let bolt = if bolts.len() == 1 { "bolt" } else { "bolts" };
        format!("{} ({bolt} {})", rail.supports[*support].name, numbers.join(", "))
    }));
    if single.len() > MOST_NAMED {
        parts.push(format!("and single bolts of {} more", single.len() - MOST_NAMED));
    }
    let names = parts.join(", ");
    let bolts = bolts_of(interface);
    let supports = if count == 1 { "support has" } else { "supports have" };
    let message = format!("{count} {supports} {bolts} without full torque: {names}");
    let mut finding = findings
        .finding(case.machine.rail_address(id), rail.place, message)
        .here(format!("{count} of {}", counted(rail.supports.len(), "support", "supports")))
        .found(Measure::too_large(count));
    // Where it was tight before, what slackened it is the other half of the matter.
    let events = &case.history(id).supports[first];
    if let Some(event) = events.iter().rev().find(|event| event.slackens(interface)) {
        let what = if event.what == EventKind::Shimmed { "shimmed" } else { "loosened" };
        finding = finding.also(event.place, format!("{} was {what} here", rail.supports[first].name));
    } else if let Some(held) = case.torqued(id, first, interface).into_iter().flatten().next() {
        finding = finding.also(held.place, format!("the other bolts of {}", rail.supports[first].name));
    } else if let Some(since) = rail.stands_since(Some(first), rail.supports[first].at) {
        let name = &rail.supports[first].name;
        finding = finding.also(since.place, format!("{name} or its rail came {}: what is older is history", *since));
    }
    let record = NodeDraft::new("fasten").value(&case.machine.rail_address(id)).property("stage", "full");
    let record = match interface {
        Interface::Rail => record.line(),
        Interface::Base => record.property("interface", "base").line(),
    };
    findings.add(finding.next(format!("tighten them {} and record it: {record} …", in_words(rail))));
}
