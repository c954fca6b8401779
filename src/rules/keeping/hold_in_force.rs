//! What is held is not released.

use crate::finding::{Grade, RuleName, within};
use crate::ledger::{Body, Disposition, Keyword, NodeDraft, OnHold, lift_line};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("hold-in-force"),
    group: RuleGroup::Keeping,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "No hold is in force, and no release was withdrawn, without a `lift` at the same address since. A lift by rework or repair has work or a reading there behind the hold to show for it. One that scraps the part or gives it another requirement leaves the hold in force, until a later lift says that the part was exchanged. A hold is never broken: it lets in the breaking readings at its address up to its own moment, and keeps the axis from release.",
    why: "A bad reading is honest and must be kept. A hold tells it from a slip of the finger, and nobody releases the axis past it.",
    limits: &[],
    source: "ISO 9001:2015, 8.7: what does not conform is identified and controlled; ISO 9000:2015, 3.12, for what was done about it",
    wrong: r#"
machine m { axis X { run to=2400; rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.05 }
hold X.a.J1 date="2026-04-15" by=inspector-1 reason="read twice: the step is there"
"#,
    right: r#"
machine m { axis X { run to=2400; rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.05 }
hold X.a.J1 date="2026-04-15" by=inspector-1 reason="read twice: the step is there"
inspect X.a.J1 date="2026-04-20" by=inspector-1 { light none; UL 0 -> 0.005 }
lift X.a.J1 date="2026-04-20" by=inspector-1 disposition=rework reason="aligned anew and read again"
"#,
    checks: &[Check::Records(check)],
    never_conceded: true,
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let Some(on) = hold_of(case, index) else { return Verdict::NotRequired };
    let record = &case.records[index];
    let (reason, held) = match &record.body {
        Body::Hold(hold) => (hold.reason.as_ref(), "is on hold since"),
        Body::Void(void) => (void.reason.as_ref(), "is on hold since its release was withdrawn on"),
        _ => return Verdict::NotRequired,
    };
    let Some(address) = &record.on else { return Verdict::NotJudged("nothing says what is held") };
    let since = record.date.map_or(String::new(), |date| date.value.to_string());
    let reason = reason.map_or(String::new(), |reason| format!(": {}", **reason));
    if let Some(lift) = on.lifted {
        // A release that was withdrawn is given anew only over the whole axis.
        let asked = matches!(record.body, Body::Hold(_)) && is_work(case, lift);
        let shown = !asked || case.worked_at(address).is_some_and(|last| case.after(last, index));
        if shown {
            return Verdict::Conforms(case.records[lift].place);
        }
        findings.add(
            findings
                .finding(
                    address.value.clone(),
                    case.records[lift].place,
                    format!("the hold on {} since {since} is lifted as worked on, and nothing shows it", **address),
                )
                .here("no work and no reading there since the hold")
                .also(record.place, "this hold")
                .next("record what was done, and read again what it changed; where nothing was done, withdraw the lift and write what was decided"),
        );
        return Verdict::Outstanding;
    }
    let lift = || lift_line(address, Disposition::Rework.word());
    let finding = findings
        .finding(address.value.clone(), record.place, format!("{} {held} {since}{reason}", **address))
        .here("this hold");
    findings.add(match on.disposed {
        None if !asked_where(case, index) => finding.next(format!(
            "say what is wrong and where it is: {}; put it right and lift that, then this: {}",
            NodeDraft::new("hold").value(&format!("{}…", **address)).unsigned().line(),
            lift()
        )),
        None => finding.next(format!("put right what is held, then record it: {}", lift())),
        Some(disposed) => finding
            .also(case.records[disposed].place, "the part does not stay as it is")
            .next(format!("exchange it, describe and read what is there now, then record it: {}", lift())),
    });
    Verdict::Outstanding
}

/// Whether somebody said what is wrong: a withdrawn release alone says only that something is.
fn asked_where(case: &Case, index: usize) -> bool {
    let record = &case.records[index];
    let (Body::Void(_), Some(address)) = (&record.body, &record.on) else { return true };
    let mut holds = case.holds.iter().map(|on| &case.records[on.record]).filter(|it| matches!(it.body, Body::Hold(_)));
    holds.any(|hold| {
        hold.on.as_ref().is_some_and(|on| within(on, address)) && hold.date.map(|it| *it) >= record.date.map(|it| *it)
    })
}

fn is_work(case: &Case, lift: usize) -> bool {
    matches!(&case.records[lift].body, Body::Lift(lift) if lift.is_work())
}

/// The hold that a record put on. Holds stand in the order of the timeline.
fn hold_of(case: &Case, record: usize) -> Option<OnHold> {
    let rank = |record: usize| case.timeline.rank[record];
    let at = case.holds.binary_search_by_key(&rank(record), |on| rank(on.record)).ok()?;
    Some(case.holds[at])
}
