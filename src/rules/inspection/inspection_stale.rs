//! What was inspected is still so: nothing beside the joint was slackened since.

use super::named;
use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::{Body, EventKind, Groove, RailId, Undone};
use crate::rules::{Case, Check, Cure, Findings, Ground, RequiredWork, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("inspection-stale"),
    group: RuleGroup::Inspection,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Since a joint was inspected, neither its own support nor a neighbour was loosened or shimmed, nor a whole segment beside it. Two supports away is an observation.",
    why: "A rail end moves with the seats beside it: 0.05 mm at the next support moves it by up to 0.020 mm, at the one after by 0.005 mm (computed for an even beam on supports).",
    limits: &[],
    source: "judgement from the computed movement of the rail end",
    wrong: r#"
machine m {
    axis X { rail a { segment 1200; segment 1200; support S1 at=960; joint-support J1 at=1200 length=200 } }
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
loosen X.a.S1 date="2026-04-17" by=fitter-2
"#,
    right: r#"
machine m {
    axis X { rail a { segment 1200; segment 1200; support S1 at=960; joint-support J1 at=1200 length=200 } }
}
loosen X.a.S1 date="2026-04-14" by=fitter-2
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
"#,
    reasons_from: &["inspect", "loosen", "shim"],
    follows_from: &[Ground::Records],
    asks_for: Some(RequiredWork::Inspection),
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

/// It asks for a new inspection; the others are worth a look.
fn proven_away(undone: &Undone) -> bool {
    undone.distance < 2
}

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let state = case.joint_state(id, joint);
    let records = state.records();
    let Some(first) = records.first() else { return Verdict::Awaits("it is not inspected") };
    let inspected = Verdict::Conforms(case.records[*first].place);
    if !records.iter().any(|record| case.slackened_since(id, *record)) {
        return inspected;
    }
    // Each proof with the record that gave it; the light stands for itself.
    let grooves = Groove::ALL.into_iter().filter_map(|groove| {
        let latest = state.grooves[groove as usize].as_ref()?;
        Some((Some(groove), latest.record))
    });
    let proofs: Vec<(Option<Groove>, usize)> =
        grooves.chain(state.light.as_ref().map(|light| (None, light.record))).collect();
    // Mostly all five come from one record, so what undid it is looked up once.
    let mut known: Vec<(usize, Option<Undone>)> = Vec::new();
    let mut undone = Vec::new();
    for (what, record) in &proofs {
        let answer = match known.iter().find(|(of, _)| of == record) {
            Some((_, answer)) => *answer,
            None => {
                let answer = case.joint_undone(id, joint, *record);
                known.push((*record, answer));
                answer
            }
        };
        undone.extend(answer.map(|answer| (*what, *record, answer)));
    }
    let heavy = undone.iter().any(|(_, _, undone)| proven_away(undone));
    undone.retain(|(_, _, undone)| proven_away(undone) == heavy);
    let Some((_, record, by)) = undone.iter().min_by_key(|(_, record, by)| (by.distance, case.timeline.rank[*record]))
    else {
        return inspected;
    };
    let stale: Vec<Groove> = undone.iter().filter_map(|(what, ..)| *what).collect();
    let light = undone.iter().any(|(what, ..)| what.is_none());
    let what = match (undone.len() == proofs.len(), light) {
        (true, _) => "the inspection".to_string(),
        (false, true) if stale.is_empty() => "the light check".to_string(),
        (false, true) => format!("light and {}", named(&stale)),
        (false, false) => format!("the reading of {}", named(&stale)),
    };
    findings.add(stale_finding(case, findings, id, joint, &Stale { what, record: *record, by: *by, heavy }));
    inspected
}

/// Proofs that are no longer sure, and why.
struct Stale {
    /// Which, in words.
    what: String,
    /// The record that gave them.
    record: usize,
    by: Undone,
    heavy: bool,
}

fn stale_finding(case: &Case, findings: &Findings, id: RailId, joint: usize, stale: &Stale) -> Finding {
    let Stale { what, record, by, heavy } = stale;
    let rail = case.machine.rail(id);
    let name = &rail.joints[joint].name;
    let done = match case.records[by.record].body {
        Body::Shim(_) => EventKind::Shimmed,
        Body::Fasten(_) => EventKind::Turned,
        _ => EventKind::Slackened,
    }
    .done();
    let day = case.records[by.record].date.map_or(String::new(), |date| format!(" on {}", *date));
    let support = &rail.supports[by.support].name;
    let which = match by.distance {
        0 => format!("its own support {support}"),
        1 => format!("its neighbour {support}"),
        _ => format!("{support}, two supports away,"),
    };
    let sure = case.timeline.certain(&case.records, by.record, *record);
    let (verdict, next) = if *heavy {
        ("is stale", format!("inspect light and all four grooves of {name} again, once it is tight"))
    } else {
        ("may have changed", format!("read the grooves of {name} again where a step is close to its limit"))
    };
    let mut finding = findings
        .finding(
            case.machine.joint_address(id, joint),
            case.records[*record].place,
            format!("{what} of {name} {verdict}: {which} was {done} after it{day}"),
        )
        .here(format!("inspected{}", crate::rules::fitting::on_day(&case.records[*record])))
        .also(by.place, format!("{support} was {done}"))
        .next(if sure {
            next
        } else {
            format!("{next}; if the inspection came later that day, give both records a time")
        });
    if !*heavy {
        finding.grade = Grade::Observation;
    }
    finding
}
