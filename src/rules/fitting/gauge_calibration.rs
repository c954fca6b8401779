//! What was read was read with a calibrated instrument.
//!
//! A record is judged by the calibration that was the latest on its own date, so that a later one alters nothing.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::finding::{Finding, Grade, Limit, Measure, Place, RuleName, counted};
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{Absent, Against, Body, Calibration, Instrument, StatedDoubt, TorqueReading};
use crate::rules::facts::{InstrumentUse, InstrumentUses};
use crate::rules::margin::could_turn;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gauge-calibration"),
    group: RuleGroup::Fitting,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "On the date of each record, the shop had its gauge or wrench, and its calibration was valid. A record without one does not count until a later one that does covers the same; then it is history. What was read since the last good calibration does not count either once the next one found the instrument outside its permissible error, or it failed: all of it, or what an `error` that the calibration states could turn. Likewise what was read while somebody states that it was wrong (`doubt`). What no error could turn still counts, and is told once an axis. Where it was adjusted and nothing says how it was found, that is not judged. A calibration that runs out soon is mentioned while work with it goes on.",
    why: "A reading is worth what its gauge is worth. When a gauge turns out to be wrong, all that it read is in doubt.",
    limits: &[LimitName::CalibrationMonths, LimitName::CalibrationCycles, LimitName::DueSoon],
    source: "ISO 6789 (2003 edition): 12 months or 5000 cycles, unless the calibration states when it is due; ISO 9001:2015, 7.1.5.2: what earlier results are worth once equipment is found unfit",
    wrong: r#"
shop { gauge DI-4 { calibrated "2025-01-13" due="2026-01-13" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none }
"#,
    right: r#"
shop { gauge DI-4 { calibrated "2025-01-13" due="2026-01-13"; calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none }
"#,
    conceded_though_missing: true,
    about: About::Taking,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Instruments(check)],
    ..Rule::PLAIN
};

/// What is wrong with a use. The order is that of the findings.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum CalibrationMistake {
    /// The shop did not have it yet.
    NotYetThere,
    /// It had it no more.
    NoMoreThere,
    NoCalibration,
    BeforeFirst,
    Failed,
    RanOut,
    Cycles,
    /// The next calibration found the instrument wrong, or somebody says so.
    InDoubt,
}

/// Every dated use of every instrument that the shop has, wrenches after gauges.
pub(in crate::rules) fn all_uses<'l>(case: &Case<'l>) -> InstrumentUses<'l> {
    let mut uses = InstrumentUses::new();
    for (index, record) in case.in_order() {
        // A rail is set with any gauge: nothing is judged by what that read.
        if record.is_aligning() {
            continue;
        }
        let Some((instrument, place)) = Instrument::for_record(case.ledger, record) else { continue };
        let Some(date) = record.date else { continue };
        let key = (matches!(instrument, Instrument::Wrench(_)), instrument.name());
        let all = &mut uses.entry(key).or_insert_with(|| (instrument, Vec::new())).1;
        let before = all.last().map_or(0, |last: &InstrumentUse| last.before + last.bolts);
        let bolts = if cycles_count(instrument) { bolts(case, index) } else { 0 };
        all.push(InstrumentUse { record: index, date: date.date, place, before, bolts });
    }
    uses
}

impl<'l> Case<'l> {
    /// The days on which an instrument was used without a calibration that held, by whether it is a wrench and its name.
    pub fn doubtful_days(&self) -> BTreeMap<(bool, &'l str), Vec<Date>> {
        let days = |(instrument, uses): &(Instrument<'l>, Vec<InstrumentUse>)| {
            let wrong = (0..uses.len()).filter(|index| judge(self, *instrument, uses, *index).is_some());
            wrong.map(|index| uses[index].date).collect()
        };
        self.uses().iter().map(|(name, uses)| (*name, days(uses))).collect()
    }
}

/// What is wrong with some uses on an axis, and where that is said.
type WrongUse = (CalibrationMistake, Option<Place>, Option<usize>);

/// Uses with what speaks against them.
type UsesAgainst<A> = (A, Vec<InstrumentUse>);

/// The records whose instrument had no calibration that held on their day.
pub(in crate::rules) fn uncalibrated(case: &Case) -> Vec<usize> {
    let mut found = Vec::new();
    for (instrument, uses) in case.uses().values() {
        let wrong = |index: &usize| judge(case, *instrument, uses, *index).is_some();
        found.extend((0..uses.len()).filter(wrong).map(|index| uses[index].record));
    }
    found
}

fn check(case: &Case, instrument: Instrument, findings: &mut Findings) -> Verdict {
    let key = (matches!(instrument, Instrument::Wrench(_)), instrument.name());
    // Of two of one name the first is meant.
    let used = case.uses().get(&key).filter(|(first, _)| first.place() == instrument.place());
    let Some((_, uses)) = used else { return Verdict::NotRequired };
    // One finding an axis, so that none hides behind another's.
    let mut wrong: BTreeMap<WrongUse, UsesAgainst<Option<Against>>> = BTreeMap::new();
    let mut stay: BTreeMap<(Place, Option<usize>), UsesAgainst<Against>> = BTreeMap::new();
    let mut valid = None;
    for (index, one) in uses.iter().enumerate() {
        let axis = axis_of(case, one);
        match judge(case, instrument, uses, index) {
            Some(_) if case.covered(one.record) => {}
            Some((what, against)) => {
                let key = (what, against.map(Against::place), axis);
                wrong.entry(key).or_insert_with(|| (against, Vec::new())).1.push(*one);
            }
            None => {
                valid = Some(one.date);
                if let Some(against) = instrument.in_doubt(one.date).next().filter(|_| !case.covered(one.record)) {
                    stay.entry((against.place(), axis)).or_insert_with(|| (against, Vec::new())).1.push(*one);
                }
            }
        }
    }
    let doubted = !wrong.is_empty();
    let unsaid = uses
        .iter()
        .any(|one| instrument.calibration_after(one.date).is_some_and(|it| it.adjusted && it.as_found.is_none()));
    for ((what, ..), (against, uses)) in wrong {
        report(case, findings, instrument, what, against, &uses);
    }
    for (against, uses) in stay.into_values() {
        tell_what_stays(case, findings, instrument, against, &uses);
    }
    soon(case, findings, instrument, uses);
    match valid.and_then(|day| instrument.calibration_on(day)) {
        _ if !doubted && unsaid => Verdict::NotJudged("it was adjusted, and nothing says how it was found before"),
        Some(calibration) if !doubted => Verdict::Conforms(calibration.place),
        _ if doubted => Verdict::Awaits("a record made with it does not count"),
        // All work with it is history.
        _ => Verdict::NotRequired,
    }
}

/// Whether a wrench has a calibration that ends by its cycles, since it does not say when it is due.
fn cycles_count(instrument: Instrument) -> bool {
    matches!(instrument, Instrument::Wrench(wrench) if wrench.calibrations.iter().any(|of| of.due.is_none()))
}

/// The bolts that a record says were tightened.
fn bolts(case: &Case, index: usize) -> i64 {
    let record = &case.records[index];
    let (Body::Fasten(fasten), Some(id)) = (&record.body, record.rail()) else { return 0 };
    let rail = case.machine.rail(id);
    let of_row = |row: &crate::ledger::FastenRow| match row.what {
        TorqueReading::Clicked => rail.supports[row.support].bolt_count(fasten.interface).unwrap_or(1),
        TorqueReading::Read { .. } => fasten.torques_of(row).iter().flatten().count(),
    };
    fasten.rows.iter().map(of_row).sum::<usize>() as i64
}

fn axis_of(case: &Case, one: &InstrumentUse) -> Option<usize> {
    case.records[one.record].target.map(|target| target.axis())
}

/// The limits that apply to a record: those of its axis.
fn limits<'l>(case: &Case<'l>, one: &InstrumentUse) -> &'l Rulebook {
    axis_of(case, one).map_or(&case.ledger.rulebook, |axis| case.limits(axis))
}

/// What a finding says of the day a calibration is due.
fn due_limit(book: &Rulebook, calibration: &Calibration, day: Date) -> Option<Limit> {
    if let Some(due) = calibration.due {
        let certificate = calibration.certificate.as_ref();
        let source = certificate.map_or("its calibration".into(), |number| format!("certificate {}", **number));
        return Some(Limit { entry: None, text: format!("until {day}"), source, set_at: Some(due.place) });
    }
    let (months, limit) = book.most_count(LimitName::CalibrationMonths)?;
    Some(Limit { text: format!("{months} months: until {day}"), ..limit.words() })
}

fn judge<'l>(
    case: &Case,
    instrument: Instrument<'l>,
    uses: &[InstrumentUse],
    index: usize,
) -> Option<(CalibrationMistake, Option<Against<'l>>)> {
    let one = &uses[index];
    match instrument.absent_on(one.date) {
        Some(Absent::NotYet(_)) => return Some((CalibrationMistake::NotYetThere, None)),
        Some(Absent::NoMore(_)) => return Some((CalibrationMistake::NoMoreThere, None)),
        None => {}
    }
    if instrument.calibrations().is_empty() {
        return Some((CalibrationMistake::NoCalibration, None));
    }
    let Some(valid) = instrument.calibration_on(one.date) else {
        let first = instrument.calibrations().iter().min_by_key(|c| c.on.value);
        return Some((CalibrationMistake::BeforeFirst, first.map(Against::Calibration)));
    };
    if valid.failed {
        return Some((CalibrationMistake::Failed, Some(Against::Calibration(valid))));
    }
    let book = limits(case, one);
    if valid.last_day(book).is_some_and(|due| one.date > due) {
        return Some((CalibrationMistake::RanOut, Some(Against::Calibration(valid))));
    }
    if valid.due.is_none()
        && let Some((most, _)) = book.most_count(LimitName::CalibrationCycles)
        && cycles(instrument, valid, &uses[..=index]).is_some_and(|cycles| cycles > most)
    {
        return Some((CalibrationMistake::Cycles, Some(Against::Calibration(valid))));
    }
    let turns = |against: &Against| against.error().is_none_or(|error| could_turn(case, book, one.record, error));
    instrument.in_doubt(one.date).find(turns).map(|against| (CalibrationMistake::InDoubt, Some(against)))
}

/// The cycles that a wrench has certainly made since a calibration, up to the last of some uses: by its own counter where it was
/// read, or the bolts this ledger knows of, whichever is more. Nothing for a gauge.
fn cycles(instrument: Instrument, since: &Calibration, uses: &[InstrumentUse]) -> Option<i64> {
    let Instrument::Wrench(wrench) = instrument else { return None };
    let last = uses.last()?;
    let day = last.date;
    let counted = since.cycles.and_then(|start| {
        let read = wrench.cycles.iter().filter(|(_, on)| on.date <= day && on.date >= since.on.date);
        read.map(|(count, _)| i64::from(count.value) - i64::from(start.value)).max()
    });
    // The uses stand in the order of their dates.
    let start = uses.partition_point(|one| one.date < since.on.date);
    let here = last.before + last.bolts - uses.get(start)?.before;
    Some(counted.unwrap_or(0).max(here))
}

fn report(
    case: &Case,
    findings: &mut Findings,
    instrument: Instrument,
    what: CalibrationMistake,
    against: Option<Against>,
    uses: &[InstrumentUse],
) {
    let calibration = against.and_then(Against::calibration);
    let (Some(first), Some(last)) = (uses.first(), uses.last()) else { return };
    let name = instrument.name();
    let error = against.and_then(Against::error).filter(|_| what == CalibrationMistake::InDoubt);
    let on = calibration.map_or(String::new(), |calibration| calibration.on.date.to_string());
    let records = if uses.len() == 1 { "1 record".to_string() } else { format!("{} records", uses.len()) };
    let not_there = instrument
        .absent_on(first.date)
        .filter(|_| matches!(what, CalibrationMistake::NotYetThere | CalibrationMistake::NoMoreThere));
    let absent = match not_there {
        Some(Absent::NotYet(day)) => format!("before the shop had it, from {}", *day),
        Some(Absent::NoMore(day)) => format!("after the shop had it last, until {}", *day),
        None => String::new(),
    };
    let (message, label) = match what {
        CalibrationMistake::NotYetThere | CalibrationMistake::NoMoreThere => {
            (format!("{records} made with {name} {absent}"), String::new())
        }
        CalibrationMistake::NoCalibration => {
            (format!("{records} made with {name}, of which no calibration is known"), String::new())
        }
        CalibrationMistake::BeforeFirst => {
            (format!("{records} made with {name} before its first calibration"), format!("first calibrated on {on}"))
        }
        CalibrationMistake::Failed => {
            (format!("{records} made with {name} after it failed its calibration"), format!("failed on {on}"))
        }
        CalibrationMistake::RanOut => {
            (format!("{records} made with {name} after its calibration ran out"), format!("calibrated on {on}"))
        }
        CalibrationMistake::Cycles => {
            (format!("{records} made with {name} beyond its cycles"), format!("calibrated on {on}"))
        }
        CalibrationMistake::InDoubt => {
            let (how, label) = match (against, calibration.is_some_and(|calibration| calibration.failed)) {
                (Some(Against::Doubt(doubt)), _) => ("while it is said to have been wrong", doubted(doubt)),
                (_, true) => ("before it failed its next calibration", format!("failed on {on}")),
                (_, false) => {
                    ("before its next calibration found it outside its error", format!("found outside on {on}"))
                }
            };
            let which = if error.is_some() { ", whose result its error could turn" } else { "" };
            (format!("{records} made with {name} {how}{which}"), label)
        }
    };
    let again = if matches!(instrument, Instrument::Wrench(_)) { "tighten" } else { "read" };
    let next = match what {
        CalibrationMistake::NotYetThere | CalibrationMistake::NoMoreThere => {
            format!(
                "correct the date or the name of the instrument; where {name} was used then, its days in the shop file; else {again} again"
            )
        }
        CalibrationMistake::NoCalibration => {
            format!("add its calibration to the shop file: calibrated \"…\" due=\"…\" under {name}")
        }
        CalibrationMistake::InDoubt if error.is_none() => format!(
            "{again} again with an instrument that is in order, or concede it; or state by how much it was off{} (error=…): only what that could turn is in doubt then",
            if calibration.is_some() { " at that calibration" } else { "" }
        ),
        CalibrationMistake::InDoubt => {
            format!("{again} again with an instrument that is in order, or concede it with the reason why it holds")
        }
        CalibrationMistake::Failed => format!("{again} again with an instrument that is in order"),
        _ => format!(
            "{again} again with a calibrated instrument; or have this one calibrated and, if it is found good, concede these records"
        ),
    };
    let address = case.records[first.record].address();
    let mut finding =
        findings.finding(address, first.place, message).here(format!("used on {}", first.date)).next(next);
    finding = match (against, not_there) {
        (Some(against), _) => finding.also(against.place(), label),
        (None, Some(Absent::NotYet(day))) => finding.also(day.place, "there from this day"),
        (None, Some(Absent::NoMore(day))) => finding.also(day.place, "there until this day"),
        (None, None) => finding.also(instrument.place(), "no calibration"),
    };
    if error.is_some() {
        finding = with_margins(case, finding, uses);
    } else if last.record != first.record {
        finding = finding.also(last.place, format!("last used so on {}", last.date));
    }
    if let (CalibrationMistake::RanOut, Some(calibration)) = (what, calibration)
        && let Some(due) = calibration.last_day(limits(case, first))
        && let Some(limit) = due_limit(limits(case, first), calibration, due)
    {
        finding = finding.found(Measure::days_late(days(due, last.date))).limit(limit);
    }
    if let (CalibrationMistake::Cycles, Some((_, limit))) =
        (what, limits(case, first).most_count(LimitName::CalibrationCycles))
    {
        finding = finding.limit(limit);
    }
    findings.add(finding);
}

/// What a finding says at a doubt.
fn doubted(doubt: &StatedDoubt) -> String {
    let to = doubt.to.map_or(String::new(), |to| format!(" to {}", to.date));
    let error = doubt.error.map_or(String::new(), |error| format!(", by at most {}", *error));
    format!("wrong from {}{to}{error}, says {}", doubt.from.date, doubt.said)
}

/// More records than this are counted and not shown with their margins; `trace` shows them all.
const MOST_SHOWN: usize = 6;

/// Says at each record how near its limit it lies.
fn with_margins(case: &Case, finding: Finding, uses: &[InstrumentUse]) -> Finding {
    let margin = |one: &InstrumentUse| case.nearest_limit(one.record).map(|number| number.words());
    let mut finding = match margin(&uses[0]) {
        Some(words) => finding.here(format!("used on {}: {words}", uses[0].date)),
        None => finding,
    };
    for one in uses.iter().skip(1).take(MOST_SHOWN - 1) {
        let words = margin(one).unwrap_or("its result cannot be worked out".into());
        finding = finding.also(one.place, format!("used on {}: {words}", one.date));
    }
    match uses.get(MOST_SHOWN..).and_then(|more| Some((more.len(), more.last()?))) {
        Some((more, last)) => {
            finding.also(last.place, format!("used on {}: the last of {}", last.date, counted(more, "more", "more")))
        }
        None => finding,
    }
}

/// What was made while the instrument was wrong, and yet counts: its error could not turn it.
fn tell_what_stays(
    case: &Case,
    findings: &mut Findings,
    instrument: Instrument,
    against: Against,
    uses: &[InstrumentUse],
) {
    let first = &uses[0];
    let address = case.records[first.record].address();
    let (records, count) = if uses.len() == 1 { ("record", "counts") } else { ("records", "count") };
    let message = format!(
        "{} {records} made with {} while it was wrong still {count}: the error that is stated could turn no result of {}",
        uses.len(),
        instrument.name(),
        if uses.len() == 1 { "it" } else { "them" },
    );
    let label = match against {
        Against::Calibration(calibration) => format!("found outside on {}", calibration.on.date),
        Against::Doubt(doubt) => doubted(doubt),
    };
    let finding = findings
        .finding(address, first.place, message)
        .here(format!("used on {}", first.date))
        .also(against.place(), label)
        .next("nothing; `wayledger trace` lists them with what is left to their limits");
    let mut finding = with_margins(case, finding, uses);
    finding.grade = Grade::Observation;
    findings.add(finding);
}

fn days(from: Date, to: Date) -> i64 {
    (to - from).get_days().into()
}

/// An instrument in use whose calibration runs out soon, or has run out since: by today's limits, for it is asked
/// whether work with it may go on.
fn soon(case: &Case, findings: &mut Findings, instrument: Instrument, uses: &[InstrumentUse]) {
    let book = &case.ledger.rulebook;
    let Some((within, _)) = book.most_count(LimitName::DueSoon) else { return };
    let Some(last) = uses.iter().max_by_key(|one| one.date) else { return };
    // Work with it goes on where it was used as lately as the warning reaches ahead.
    let idle = days(last.date, case.today);
    let Some(valid) = instrument.calibration_on(case.today).filter(|valid| !valid.failed) else { return };
    if instrument.absent_on(case.today).is_some() {
        return;
    }
    let Some(due) = valid.last_day(book) else { return };
    let left = days(case.today, due);
    if !(0..=within).contains(&idle) || left > within || last.date > due {
        return;
    }
    let Some(limit) = due_limit(book, valid, due) else { return };
    let when = match left {
        0 => "today".to_string(),
        1 => "tomorrow".to_string(),
        2.. => format!("in {left} days"),
        -1 => "yesterday".to_string(),
        _ => format!("{} days ago", -left),
    };
    let ran = if left < 0 { "ran out" } else { "runs out" };
    let address = case.records[last.record].address();
    let mut finding = findings
        .finding(address, last.place, format!("the calibration of {} {ran} {when}, on {due}", instrument.name()))
        .here(format!("last used on {}", last.date))
        .also(valid.place, "its calibration")
        .limit(limit)
        .next("have it calibrated before it is used again")
        .by_date();
    finding.grade = Grade::Observation;
    findings.add(finding);
}
