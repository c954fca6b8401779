//! After shims comes a survey that verifies them.

use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::{Body, Event, EventKind, RailId, ShimSense, SurveyKind, SurveyStage};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

use super::reading::{ReadStation, reference};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("shim-unverified"),
    group: RuleGroup::Gap,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "After the last shim under a rail, a verification survey shows what it did.",
    why: "A shim that is not seated, or a leaf that folded, shows only in a survey.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=2 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.07 }
shim X.b date="2026-04-17" by=fitter-2 { at S2 0.05 0.02 }
"#,
    right: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=2 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.07 }
shim X.b date="2026-04-17" by=fitter-2 { at S2 0.05 0.02 }
survey gap X.b date="2026-04-18" by=inspector-1 stage=verification { at S1 0; at S2 -0.01 }
"#,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some(last) = case.last_shimmed(id) else { return Verdict::NotRequired };
    let verified = last_verification(case, id);
    let state = || case.standing(id, kind(case, id)).latest().and_then(|record| case.state(record));
    let state = case.machine.rail(id).follows.is_some().then(state).flatten().filter(|of| !of.ties.is_empty());
    // Of surveys that are tied to each other, the last one may not have read where the shims are.
    let unread = |support: usize, event: &Event| {
        let beside = |it: &ReadStation| case.adjoining(id, it.row.position).contains(&support);
        let mut stations = state.iter().flat_map(|of| &of.stations);
        stations.any(|it| case.after(event.record, it.record) && beside(it))
    };
    if let Some(verified) = verified.filter(|verified| case.after(*verified, last))
        && state.is_none_or(|state| !case.shimmed_since_read(id, state))
    {
        return Verdict::Conforms(case.records[verified].place);
    }
    let mut shimmed: Vec<usize> = Vec::new();
    let mut first: Option<&Event> = None;
    for (support, events) in case.history(id).supports.iter().enumerate() {
        let event = events.iter().find(|event| {
            event.what == EventKind::Shimmed
                && (verified.is_none_or(|verified| case.after(event.record, verified)) || unread(support, event))
        });
        let Some(event) = event else { continue };
        shimmed.push(support);
        if first.is_none_or(|first| {
            (case.timeline.rank[event.record], event.place) < (case.timeline.rank[first.record], first.place)
        }) {
            first = Some(event);
        }
    }
    if let Some(first) = first {
        findings.add(unverified(case, findings, id, &shimmed, first, verified));
    }
    Verdict::Outstanding
}

fn unverified(
    case: &Case,
    findings: &Findings,
    id: RailId,
    shimmed: &[usize],
    first: &Event,
    verified: Option<usize>,
) -> Finding {
    let survey = match (&case.machine.rail(id).follows, kind(case, id)) {
        (Some(_), SurveyKind::Height) => "survey the height",
        (Some(_), _) => "survey the gap",
        (None, _) => "survey the straightness, or the gap of the rail that follows it,",
    };
    let loose: Vec<usize> = shimmed.iter().copied().filter(|support| case.loose(id, *support).is_some()).collect();
    let tighten = match case.ranges(id, &loose) {
        none if none.is_empty() => String::new(),
        names => format!("snug and full torque at {names}, then "),
    };
    let finding = findings
        .finding(
            case.machine.rail_address(id),
            first.place,
            format!("the shims at {} are not verified by a survey", case.ranges(id, shimmed)),
        )
        .here("shimmed, and not surveyed since")
        .next(format!("{tighten}{survey} with stage=verification"));
    match verified {
        Some(verified) => finding.also(case.records[verified].place, "the last verification came before"),
        None => finding,
    }
}

/// The kind of survey that shows what shims of a rail did.
pub(super) fn kind(case: &Case, id: RailId) -> SurveyKind {
    match case.machine.rail(id).shims.map(|sense| sense.value) {
        Some(ShimSense::Lift) => SurveyKind::Height,
        _ => SurveyKind::Gap,
    }
}

/// The last survey after shims that shows what those of a rail did. For a rail that follows none, any survey of it or
/// of the rails that follow it.
fn last_verification(case: &Case, id: RailId) -> Option<usize> {
    let follows = case.machine.rail(id).follows.is_some();
    let own = case.history(id).surveys.iter().filter(|record| {
        let Body::Survey(survey) = &case.ledger.records[**record].body else { return false };
        !follows || survey.kind.is_some_and(|of| of.value == kind(case, id))
    });
    let rails = 0..case.machine.axes[id.axis].rails.len();
    let others = rails
        .map(|rail| RailId { axis: id.axis, rail })
        .filter(|other| !follows && reference(case, *other) == Some(id));
    own.chain(others.flat_map(|other| case.history(other).surveys.iter()))
        .copied()
        .filter(|record| {
            let Body::Survey(survey) = &case.ledger.records[*record].body else { return false };
            survey.stage.is_some_and(|stage| stage.value != SurveyStage::AsFitted)
        })
        .max_by_key(|record| case.timeline.rank[*record])
}
