//! What was shimmed or slackened is tightened again before it is inspected or verified.

use smallvec::SmallVec;

use crate::finding::{Finding, Grade, Place, RuleName};
use crate::ledger::{Event, EventKind, RailId, SurveyKind};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

use super::reading::subject;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("torque-after-shim"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "When a verification survey or a joint inspection was taken, every support beside it that had been shimmed or slackened had its full torque again.",
    why: "A rail moves when its bolts are tightened. What was read while they were loose does not hold.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=2 } }
}
shim X.b date="2026-04-17" by=fitter-2 { at S2 0.05 }
survey gap X.b date="2026-04-18" by=inspector-1 stage=verification { at S1 0; at S2 -0.01 }
"#,
    right: r#"
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=2 } }
}
shim X.b date="2026-04-17" by=fitter-2 { at S2 0.05 }
fasten X.b date="2026-04-17" by=fitter-2 stage=full setting=10.5 { clicked S2 }
survey gap X.b date="2026-04-18" by=inspector-1 stage=verification { at S1 0; at S2 -0.01 }
"#,
    reasons_from: &["fasten", "loosen", "shim"],
    follows_from: &[Ground::Records],
    checks: &[Check::Joints(inspected), Check::Rails(verified)],
    ..Rule::PLAIN
};

fn inspected(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::Awaits("it is not inspected");
    for record in case.joint_state(id, joint).records() {
        let loose = loose(case, id, case.beside_joint(id, joint), record);
        report(case, findings, record, &[(id, loose)], || {
            let name = &case.machine.rail(id).joints[joint].name;
            TorqueWording {
                address: case.machine.joint_address(id, joint),
                did: "the joint was inspected".into(),
                again: format!("inspect {name} again, now that its supports are tight"),
            }
        });
        verdict = Verdict::Conforms(case.records[record].place);
    }
    verdict
}

fn verified(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let shimmed = case.last_shimmed(id).is_some();
    let mut verdict = if shimmed { Verdict::Awaits("no verification survey") } else { Verdict::NotRequired };
    for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
        let records = case.planes(id, kind).iter().flat_map(|plane| plane.records(plane.verifications(case)));
        for record in records.filter(|record| case.readings(*record).is_some_and(|of| of.verifies)) {
            let all = |rail: RailId| 0..case.machine.rail(rail).supports.len();
            let loose: SmallVec<[_; 2]> =
                case.rails_read(id, kind).map(|rail| (rail, loose(case, rail, all(rail), record))).collect();
            report(case, findings, record, &loose, || TorqueWording {
                address: case.machine.rail_address(id),
                did: format!("the {} was verified", subject(kind)),
                again: format!("survey the {} again, now that the supports are tight", subject(kind)),
            });
            verdict = Verdict::Conforms(case.records[record].place);
        }
    }
    verdict
}

/// The supports of a stretch that were loose when a record was made, and what had loosened them.
fn loose<'l>(case: &Case<'l>, id: RailId, supports: std::ops::Range<usize>, when: usize) -> Vec<(usize, &'l Event)> {
    if !case.slackened_before(id, when) {
        return Vec::new();
    }
    let ledger = case.ledger;
    let (rail, history, courses) = (ledger.machine.rail(id), ledger.history(id), case.courses(id));
    // Base bolts that are described are followed on their own.
    let plainly_tight = |support: usize| {
        rail.supports[support].base_bolts.is_none()
            && courses[support].tight.is_some_and(|tight| case.after(when, tight))
    };
    let closer =
        supports.filter(|support| history.supports[*support].iter().any(Event::undoes) && !plainly_tight(*support));
    closer.filter_map(|support| Some((support, ledger.loose_at(id, support, when)?))).collect()
}

/// What a finding says of the work that was done too early.
struct TorqueWording {
    address: String,
    did: String,
    /// What to do again.
    again: String,
}

fn report(
    case: &Case,
    findings: &mut Findings,
    record: usize,
    loose: &[(RailId, Vec<(usize, &Event)>)],
    words: impl FnOnce() -> TorqueWording,
) {
    let mut names: Vec<String> = Vec::new();
    let mut causes: Vec<(Place, EventKind, String)> = Vec::new();
    for (id, supports) in loose {
        let all: Vec<usize> = supports.iter().map(|(support, _)| *support).collect();
        if all.is_empty() {
            continue;
        }
        names.push(format!("{} {}", case.machine.rail_address(*id), case.ranges(*id, &all)));
        let (support, event) = supports[0];
        causes.push((event.place, event.what, case.machine.rail(*id).supports[support].name.to_string()));
    }
    if names.is_empty() {
        return;
    }
    let TorqueWording { address, did, again } = words();
    let mut finding: Finding = findings
        .finding(
            address,
            case.ledger.records[record].place,
            format!("{did} before full torque was back on {}", names.join(" and ")),
        )
        .here("taken while they were loose")
        .next(format!("{again}, or record when they were tightened"));
    for (place, what, name) in causes {
        let what = what.done();
        finding = finding.also(place, format!("{name} was {what} and not tightened again before"));
    }
    findings.add(finding);
}
