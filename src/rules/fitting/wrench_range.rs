//! A torque wrench is used inside its range, and for what it can do.

use crate::finding::{Finding, Grade, Limit, Measure, Place, RuleName};
use crate::ledger::{Body, Fasten, Record, Spanned, TorqueReading, Wrench, WrenchKind};
use crate::quantity::Torque;
use crate::rules::flaws::Flaw;
use crate::rules::torques::RecordTorques;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

use super::bolts::on_day;
use super::shown;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("wrench-range"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Every torque of a record lies in the range of its wrench: one that does not is outstanding until the bolts are tightened again with a wrench that suits. A clicking wrench reads nothing, and an indicating wrench does not click.",
    why: "Outside its range a wrench is not calibrated: what it clicks at or shows there is a guess.",
    limits: &[],
    source: "ISO 6789-1: a torque tool is calibrated over its stated range",
    wrong: r#"
shop { wrench TW-1 kind=setting least=0.5 most=5 }
machine m { axis X { rail a { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
"#,
    right: r#"
shop { wrench TW-2 kind=setting least=4 most=20 }
machine m { axis X { rail a { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 }
"#,
    about: About::Taking,
    follows_from: &[Ground::Instrument],
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.ledger.records[index];
    let Body::Fasten(fasten) = &record.body else { return Verdict::NotRequired };
    let Some(at) = &fasten.wrench else { return Verdict::Awaits("no wrench is named") };
    let Some(wrench) = case.shop.wrench(at) else { return Verdict::Awaits("its wrench is not in the shop") };
    if fasten.rows.is_empty() && fasten.went {
        // Of all that it tightened nothing is there any more.
        return Verdict::NotRequired;
    }
    if case.wanting(index, Flaw::BeyondWrench) {
        range(findings, record, fasten, wrench);
    }
    kind(findings, record, fasten, wrench);
    if case.flawed(index, Flaw::BeyondWrench) {
        // Unless it is told of just now, it is history.
        Verdict::NotRequired
    } else if wrench.least.is_none() || wrench.most.is_none() {
        Verdict::NotJudged("the range of its wrench is not stated")
    } else if wrench.kind.is_none() {
        Verdict::NotJudged("the kind of its wrench is not stated")
    } else if !case.torques(index).is_some_and(RecordTorques::known) {
        Verdict::Awaits("no torque is recorded")
    } else {
        Verdict::Conforms(at.place)
    }
}

fn range(findings: &mut Findings, record: &Record, fasten: &Fasten, wrench: &Wrench) {
    // Those out of the range, each end by itself.
    let (mut low, mut high) = (Vec::<(Torque, Place)>::new(), Vec::<(Torque, Place)>::new());
    let mut take = |torque: &Spanned<Torque>| {
        if wrench.least.is_some_and(|least| torque.value < least.value) {
            low.push((torque.value, torque.place));
        }
        if wrench.most.is_some_and(|most| torque.value > most.value) {
            high.push((torque.value, torque.place));
        }
    };
    fasten.torques.iter().flatten().for_each(&mut take);
    // The setting counts where something clicked at it.
    if fasten.rows.iter().any(|row| matches!(row.what, TorqueReading::Clicked)) {
        fasten.setting.iter().for_each(&mut take);
    }
    let lowest = low.iter().min_by_key(|(torque, place)| (*torque, *place));
    if let (Some(least), Some((torque, place))) = (wrench.least, lowest) {
        let way = format!("{} is below the range of {}", shown(*torque), *wrench.name);
        let limit = format!("at least {}", shown(*least));
        let finding = findings.finding(record.address(), *place, way).found(Measure::too_small(*torque));
        findings.add(outside(finding, wrench, limit, least.place, low.len()));
    }
    let highest = high.iter().max_by_key(|(torque, place)| (*torque, std::cmp::Reverse(*place)));
    if let (Some(most), Some((torque, place))) = (wrench.most, highest) {
        let way = format!("{} is above the range of {}", shown(*torque), *wrench.name);
        let limit = format!("at most {}", shown(*most));
        let finding = findings.finding(record.address(), *place, way).found(Measure::too_large(*torque));
        findings.add(outside(finding, wrench, limit, most.place, high.len()));
    }
}

fn outside(mut finding: Finding, wrench: &Wrench, text: String, place: Place, count: usize) -> Finding {
    finding.grade = Grade::Outstanding;
    let here = if count > 1 { format!("{count} torques of this record are") } else { "this torque is".to_string() };
    let source = format!("range of wrench `{}`", *wrench.name);
    finding
        .here(format!("{here} outside it"))
        .limit(Limit { entry: None, text, source, set_at: Some(place) })
        .next("use a wrench whose range holds this torque and tighten again, or correct the wrench's name")
}

fn kind(findings: &mut Findings, record: &Record, fasten: &Fasten, wrench: &Wrench) {
    let Some(kind) = wrench.kind else { return };
    let wrong = fasten.rows.iter().find(|row| match (row.what, *kind) {
        (TorqueReading::Clicked, WrenchKind::Indicating) => true,
        (TorqueReading::Read { .. }, WrenchKind::Setting) => fasten.torques_of(row).iter().any(Option::is_some),
        _ => false,
    });
    let Some(row) = wrong else { return };
    let (message, next) = match *kind {
        WrenchKind::Indicating => (
            format!("`clicked` with {}, which does not click but reads", *wrench.name),
            "write what it showed at each bolt, as `at S1 10.4 10.5`, or correct the wrench's name",
        ),
        WrenchKind::Setting => (
            format!("torques read with {}, which only clicks at its setting", *wrench.name),
            "write setting=… and `clicked S1`, or correct the wrench's name",
        ),
    };
    findings.add(
        findings
            .finding(record.address(), row.place, message)
            .here(format!("used{}", on_day(record)))
            .also(kind.place, format!("kind of {}", *wrench.name))
            .next(next),
    );
}
