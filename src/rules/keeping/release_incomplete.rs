//! A released axis has nothing outstanding.

use jiff::civil::Date;

use crate::finding::within;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::ledger::seal::{records_under, release_of};
use crate::ledger::{Instrument, void_line};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("release-incomplete"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Once an axis is released, nothing about it is outstanding, neither left open then nor come open since, and what was judged for the seal is still judged. What a rule finds that came after the seal is an observation.",
    why: "Who runs a released machine takes it that everything was done and shown.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 600; support S1 at=240; support S2 at=480 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
release X date="2026-04-20" by=engineer-1
"#,
    right: r#"
shop { wrench TW-2 kind=setting least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { rail a { segment 600; support S1 at=240; support S2 at=480 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 S2 }
release X date="2026-04-20" by=engineer-1
"#,
    follows_from: &[Ground::Records, Ground::Described],
    never_conceded: true,
    never_stands: true,
    checks: &[Check::Afterwards(check)],
    ..Rule::PLAIN
};

/// More places than this are counted and not shown.
const MOST_SHOWN: usize = 6;

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some((release, sealed)) = release_of(case.ledger, index) else { continue };
        if verdict == Verdict::NotRequired {
            verdict = Verdict::Conforms(case.records[release].place);
        }
        let open: Vec<&Finding> = findings
            .all
            .iter()
            .filter(|finding| match finding.grade {
                Grade::Outstanding => true,
                Grade::NotJudged => sealed.asked(finding.rule.as_str()).is_some_and(|asked| asked.judged_all),
                _ => false,
            })
            .filter(|finding| finding.conceded.is_none())
            .filter(|finding| within(&finding.address, &axis.name))
            // A hold is never itself broken; it stops the next release.
            .filter(|finding| finding.rule != super::hold_in_force::RULE.name)
            .collect();
        let corrected = corrected(case, findings, index, release);
        if !corrected.is_empty() {
            verdict = Verdict::Broken;
        }
        if open.is_empty() {
            findings.all.extend(corrected);
            continue;
        }
        let items = if open.len() == 1 { "1 item is".to_string() } else { format!("{} items are", open.len()) };
        let unjudged = open.iter().filter(|other| other.grade == Grade::NotJudged).count();
        let how = match unjudged {
            0 => "outstanding",
            _ if unjudged == open.len() => "not judged",
            _ => "outstanding or not judged",
        };
        let name = &*axis.name;
        let withdraw = void_line("release", name, case.ledger.records[release].date.map(|date| date.value));
        let mut finding = findings
            .finding(
                axis.name.value.clone(),
                case.ledger.records[release].place,
                format!("{} is released, and {items} {how}", *axis.name),
            )
            .here("released")
            .found(Measure::too_large(open.len()))
            .next(format!(
                "{}; until then {name} must not be used as released. For rework withdraw the release first: {withdraw}; then read again what became stale, lift the hold and release it anew",
                match unjudged {
                    0 => "do and record what is outstanding",
                    _ if unjudged == open.len() => "describe what is not judged",
                    _ => "describe what is not judged, do and record what is outstanding",
                },
            ));
        for other in open.iter().take(MOST_SHOWN) {
            finding = finding.also(other.at.place, format!("{} {}", other.rule, other.address));
        }
        finding.by_date = open.iter().all(|other| other.by_date);
        // What was open then is for the release to answer; what came open since is as before, work to be done.
        if open.iter().any(|other| !other.by_date && !rests_later(case, release, other)) {
            finding.cure = Some(Cure::Writing);
        }
        findings.add(finding);
        findings.all.extend(corrected);
    }
    verdict
}

/// The records under the release that were corrected since: what was released is not what stands now.
fn corrected(case: &Case, findings: &Findings, axis: usize, release: usize) -> Vec<Finding> {
    // To know a release's records each one's facts are read anew, and few ledgers hold a correction.
    if (0..case.records.len()).all(|index| case.ledger.corrected_by(index).is_none()) {
        return Vec::new();
    }
    let under = records_under(case.ledger, axis);
    let name = &case.machine.axes[axis].name;
    let of = |index: &usize| {
        let record = &case.records[*index];
        let by = case.ledger.corrected_by(*index).filter(|by| !under.contains(by))?;
        let day = record.date.map_or(String::new(), |date| format!(" of {}", *date));
        let message =
            format!("{} is released, and a `{}`{day} under the release was corrected since", **name, record.kind);
        let mut finding = findings
            .finding(name.value.clone(), case.records[by].place, message)
            .here("the correction")
            .also(record.place, "what was released")
            .next(format!(
                "withdraw the release: {}; then lift the hold and release it anew",
                void_line("release", name, case.ledger.records[release].date.map(|date| date.value))
            ));
        finding.cure = Some(Cure::Writing);
        Some(finding)
    };
    under.iter().filter_map(of).collect()
}

/// Whether what a finding shows came after the release: one of the records, a calibration, or what somebody said against an
/// instrument.
fn rests_later(case: &Case, release: usize, finding: &Finding) -> bool {
    let released = case.records[release].date.map(|date| date.date);
    let later = |day: Date| released.is_some_and(|released| day > released);
    let mut calibrations = case.shop.instruments().flat_map(Instrument::calibrations);
    let mut doubts = case.shop.instruments().flat_map(Instrument::doubts);
    finding.places().any(|place| case.ledger.record_at(place).is_some_and(|record| case.after(record, release)))
        || calibrations.any(|it| later(it.on.date) && finding.places().any(|place| place == it.place))
        || doubts
            .any(|it| it.said.on.is_some_and(|on| later(on.date)) && finding.places().any(|place| place == it.place))
}
