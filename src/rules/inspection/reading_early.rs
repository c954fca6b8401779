//! What is read is read once the supports it rests on have their full torque.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use crate::facts::survey::SurveyReadings;
use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::{Body, Event, EventKind, RailId, SurveyKind, SurveyStage};
use crate::rules::facts::Torque;
use crate::rules::fitting::on_day;
use crate::rules::gap::{not_surveyed, subject};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("reading-early"),
    group: RuleGroup::Inspection,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "A joint, a survey and the running force are read after the full torque of the supports they rest on: for a joint its own support and one on either side; for straightness the station's support, or the two it lies between; for gap and height the same on both rails; for the running force all supports of the axis. What was read before the first full torque, a break too, says nothing of how the rail lies since, and is to be read again. Where no full torque is on record yet, torque-missing asks for it, and a break that was read stands.",
    why: "A rail moves when its bolts are tightened. What was read while they were loose does not hold.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { rail a { segment 1200; segment 1200; support S1 at=960; joint-support J1 at=1200 length=200 } }
}
inspect X.a.J1 date="2026-04-13" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked J1 S1 }
"#,
    right: r#"
machine m {
    axis X { rail a { segment 1200; segment 1200; support S1 at=960; joint-support J1 at=1200 length=200 } }
}
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked J1 S1 }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
"#,
    follows_from: &[Ground::Records],
    checks: &[Check::Joints(inspected), Check::Rails(surveyed), Check::Axes(pushed)],
    ..Rule::PLAIN
};

/// The supports that a reading came too early for, by rail, and those of which the ledger does not say.
#[derive(Default)]
struct Early {
    later: BTreeMap<RailId, Vec<usize>>,
    unsure: Option<(RailId, usize)>,
}

impl Early {
    /// Looks at a stretch of supports. Where one was slackened and was still loose, `others` is whether another rule
    /// says so.
    fn look(&mut self, case: &Case, id: RailId, supports: Range<usize>, record: usize, others: bool) {
        if case.settled_at(id, record) {
            return;
        }
        for support in supports {
            match case.torque_at(id, support, record) {
                Torque::There => {}
                Torque::Later if others && case.loose_at(id, support, record).is_some() => {}
                Torque::Later => {
                    let all = self.later.entry(id).or_default();
                    if let Err(at) = all.binary_search(&support) {
                        all.insert(at, support);
                    }
                }
                Torque::Unsure => {
                    self.unsure.get_or_insert((id, support));
                }
            }
        }
    }
}

const LOOSENED: Verdict = Verdict::Awaits("it is not read since a support was loosened");

/// What is said of something that a record read, once nothing shows that it was read too early.
fn tight(case: &Case, id: RailId, mut supports: Range<usize>, record: usize) -> Verdict {
    let courses = case.courses(id);
    if supports.is_empty() {
        Verdict::NotJudged("no support is described where it is read")
    } else if supports.all(|support| courses[support].tight.is_some() || case.tight(id, support, None)) {
        Verdict::Conforms(case.records[record].place)
    } else {
        Verdict::Awaits("a support that it rests on has no full torque yet")
    }
}

fn inspected(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let records = case.joint_state(id, joint).records();
    let beside = || case.beside_joint(id, joint);
    let mut verdict = Verdict::NotRequired;
    for &record in &records {
        if case.joint_undisturbed(id, joint) {
            verdict = verdict.and(tight(case, id, beside(), record));
            continue;
        }
        // What was loosened since is to be read again whenever it was read.
        if case.joint_slackened(id, joint, record) {
            verdict = verdict.and(LOOSENED);
            continue;
        }
        let mut early = Early::default();
        early.look(case, id, beside(), record, true);
        if early.later.is_empty() && early.unsure.is_none() {
            verdict = verdict.and(tight(case, id, beside(), record));
        } else {
            let name = &case.machine.rail(id).joints[joint].name;
            report(case, findings, record, &early, || EarlyWording {
                address: case.machine.joint_address(id, joint),
                what: name.to_string(),
                again: format!("read light and the four grooves of {name} again"),
            });
            break;
        }
    }
    if records.is_empty() { Verdict::Awaits("it is not inspected") } else { verdict }
}

fn surveyed(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let kinds = [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height];
    let read = kinds.map(|kind| survey(case, findings, id, kind));
    match read.into_iter().fold(Verdict::NotRequired, Verdict::and) {
        Verdict::NotRequired => not_surveyed(case, id, "it is not surveyed"),
        verdict => verdict,
    }
}

fn survey(case: &Case, findings: &mut Findings, id: RailId, kind: SurveyKind) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    // Of each place the last reading counts; the places that later surveys read.
    let (mut seen, mut later) = (BTreeSet::new(), Vec::new());
    for &record in case.ledger.history(id).surveys.iter().rev() {
        let Body::Survey(survey) = &case.ledger.records[record].body else { continue };
        if survey.kind.is_none_or(|of| of.value != kind) {
            continue;
        }
        let (Some(readings), Some(stage)) = (case.readings(record), survey.stage) else { continue };
        // torque-after-shim judges the supports that had been loosened before a survey that verifies.
        let others = stage.value != SurveyStage::AsFitted;
        let undisturbed = case.survey_undisturbed(record);
        let mut early = Early::default();
        // Where base bolts are described, what was loosened since is looked for station by station.
        let based = |rail: RailId| case.machine.rail(rail).supports.iter().any(|support| support.base_bolts.is_some());
        let settled =
            case.rails_read(id, kind).all(|rail| case.settled_at(rail, record) && (undisturbed || !based(rail)));
        if settled {
            verdict = verdict.and(Verdict::Conforms(case.records[record].place));
        } else {
            seen.extend(later.drain(..).flat_map(|of: &SurveyReadings| &of.stations).map(|it| it.row.position));
        }
        for station in readings.stations.iter().filter(|_| !settled) {
            let at = station.row.position;
            if seen.contains(&at) {
                continue;
            }
            if !undisturbed && case.station_slackened(id, kind, at, record) {
                verdict = verdict.and(LOOSENED);
                continue;
            }
            for rail in case.rails_read(id, kind) {
                if !undisturbed {
                    early.look(case, rail, case.holding(rail, at), record, others);
                }
                verdict = verdict.and(tight(case, rail, case.holding(rail, at), record));
            }
        }
        report(case, findings, record, &early, || EarlyWording {
            address: case.machine.rail_address(id),
            what: format!("the {}", subject(kind)),
            again: format!("survey the {} again", subject(kind)),
        });
        later.push(readings);
    }
    verdict
}

fn pushed(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let last = case.in_order().filter(|(_, record)| {
        let read = matches!(&record.body, Body::RunningForce(run) if !run.rows.is_empty());
        read && record.target.is_some_and(|target| target.axis() == axis)
    });
    // Whether it must be read is for `limit-unread` to say.
    let Some((record, _)) = last.last() else { return Verdict::NotRequired };
    let mut verdict = Verdict::NotRequired;
    let mut early = Early::default();
    for (id, _, rail) in case.rails().filter(|(id, ..)| id.axis == axis) {
        early.look(case, id, 0..rail.supports.len(), record, false);
        let loosened = case.slackened_since(id, record);
        let own = if loosened { LOOSENED } else { tight(case, id, 0..rail.supports.len(), record) };
        verdict = verdict.and(own);
    }
    let name = case.machine.axes[axis].name.as_str();
    report(case, findings, record, &early, || EarlyWording {
        address: name.to_string(),
        what: "the running force".to_string(),
        again: format!("read the running force of {name} again"),
    });
    verdict
}

/// What a finding says of the reading.
struct EarlyWording {
    address: String,
    what: String,
    /// What to do again.
    again: String,
}

fn report(case: &Case, findings: &mut Findings, record: usize, early: &Early, words: impl FnOnce() -> EarlyWording) {
    if !early.later.is_empty() {
        findings.add(too_early(case, findings, record, early, words()));
    } else if let Some((id, support)) = early.unsure {
        findings.add(unsure(case, findings, record, id, support, words()));
    }
}

/// The first full torque of a support that a record does not certainly follow.
fn tightened<'c>(case: &'c Case, id: RailId, support: usize, record: usize) -> Option<&'c Event> {
    let follows = |event: &&Event| {
        let certain = crate::rules::fitting::certain(case, event.record, record);
        event.what == EventKind::Full && (!certain || case.after(event.record, record))
    };
    case.ledger.history(id).supports[support].iter().find(follows)
}

fn too_early(case: &Case, findings: &Findings, record: usize, early: &Early, words: EarlyWording) -> Finding {
    let names: Vec<String> = early
        .later
        .iter()
        .map(|(id, supports)| format!("{} {}", case.machine.rail_address(*id), case.ranges(*id, supports)))
        .collect();
    let at = &case.ledger.records[record];
    let EarlyWording { address, what, again } = words;
    let mut finding = findings
        .finding(address, at.place, format!("{what} was read before full torque at {}", names.join(" and ")))
        .here(format!("read{}", on_day(at)))
        .next(format!("{again}, now that the supports are tight; or correct the date of what is dated wrongly"));
    for (id, supports) in &early.later {
        let event = supports.first().and_then(|support| tightened(case, *id, *support, record));
        if let (Some(event), Some(first)) = (event, supports.first()) {
            let name = &case.machine.rail(*id).supports[*first].name;
            let day = on_day(&case.ledger.records[event.record]);
            finding = finding.also(event.place, format!("full torque at {name}, recorded{day}"));
        }
    }
    finding
}

fn unsure(case: &Case, findings: &Findings, record: usize, id: RailId, support: usize, words: EarlyWording) -> Finding {
    let at = &case.ledger.records[record];
    let name = case.machine.support_address(id, support);
    let day = at.date.map_or(String::new(), |date| format!(" on {}", date.date));
    let mut finding = findings
        .finding(
            words.address,
            at.place,
            format!("nothing says whether {} was read before {name} got full torque{day}, or after", words.what),
        )
        .here("read, in one file")
        .next("give both records a time, as date=\"2026-04-14T08:10\": they are of one day in two files");
    if let Some(event) = tightened(case, id, support, record) {
        finding = finding.also(event.place, "full torque, in another");
    }
    finding
}
