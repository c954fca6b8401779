//! From a judged ledger to its readings, record by record in the order of the files.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::reading::Reading;
use super::verdict::{FindingsByPlace, ReadingVerdict};
use crate::facts::steps::{JointState, joint_state};
use crate::facts::survey_state::CurrentSurveys;
use crate::facts::torque_window::window;
use crate::finding::{Limit, Locator, Place};
use crate::judging::lint::Judged;
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{
    Body, Fasten, FastenRow, HeldTorque, Inspect, Interface, Keyword, Ledger, Name, RailId, Record, Spanned, Stage,
    StationReading, Survey, SurveyKind, Target, TorqueReading,
};
use crate::quantity::{Amount, Length, Torque};
use crate::rules::Case;
use crate::rules::ReadingKind;

/// All readings of a ledger.
pub fn collect(judged: &Judged) -> Vec<Reading> {
    let ledger = &judged.ledger;
    let mut taker = ReadingCollector {
        ledger,
        // Limits do not depend on the day.
        case: Case::new(ledger, jiff::civil::Date::MIN),
        folder: judged.path.to_string(),
        machine: ledger.machine.name.as_ref().map(|name| name.to_string()).unwrap_or_default(),
        findings: FindingsByPlace::new(&judged.findings),
        locator: Locator::new(&ledger.sources),
        readings: Vec::new(),
        held: BTreeMap::new(),
        joints: BTreeMap::new(),
    };
    for (index, record) in ledger.records.iter().enumerate() {
        taker.record(index, record);
    }
    taker.readings
}

/// What each bolt of one support holds.
type SharedBolts = Rc<[Option<HeldTorque>]>;

struct ReadingCollector<'l> {
    ledger: &'l Ledger,
    /// By which limits each axis is judged.
    case: Case<'l>,
    folder: String,
    machine: String,
    findings: FindingsByPlace<'l>,
    locator: Locator<'l>,
    readings: Vec<Reading>,
    /// What bolts hold now and how joints stand now: asked for by every record of them, worked out once.
    held: BTreeMap<(RailId, usize, u8, u8), SharedBolts>,
    joints: BTreeMap<(RailId, usize), Rc<JointState<'l>>>,
}

/// Who read, with what, at which stage.
#[derive(Clone, Copy)]
struct ReadingHead<'l> {
    record: &'l Record,
    stage: &'static str,
    instrument: Option<&'l Spanned<Name>>,
}

/// What the rules say, before findings at the reading are looked at.
struct Judgement {
    /// The kind of reading that it is.
    kind: Option<ReadingKind>,
    /// What the ledger's history says; nothing where the reading counts.
    history: Option<ReadingVerdict>,
    /// Without a finding.
    otherwise: ReadingVerdict,
    limit: StatedLimit,
}

/// The limit of a reading and its source; both empty where none judges it by itself.
#[derive(Clone, Default)]
struct StatedLimit {
    text: String,
    source: String,
}

impl StatedLimit {
    fn from_limit(limit: impl Into<Limit>) -> StatedLimit {
        let limit = limit.into();
        StatedLimit { text: limit.text, source: limit.source }
    }
}

/// What light is held against: none, or the gap that it may show through.
fn light_limit(limits: &Rulebook) -> StatedLimit {
    match limits.most::<Length>(LimitName::LightGap) {
        None => StatedLimit::default(),
        Some((most, limit)) if most <= Length::ZERO => {
            StatedLimit::from_limit(Limit { text: "none".into(), ..limit.words() })
        }
        Some((_, limit)) => StatedLimit::from_limit(limit),
    }
}

const UNJUDGED: Judgement = Judgement {
    kind: None,
    history: None,
    otherwise: ReadingVerdict::Unjudged,
    limit: StatedLimit { text: String::new(), source: String::new() },
};

impl<'l> ReadingCollector<'l> {
    fn record(&mut self, index: usize, record: &'l Record) {
        let head = |stage, instrument| ReadingHead { record, stage, instrument };
        match &record.body {
            Body::Fasten(fasten) => {
                let head = head(fasten.stage.map_or("", |stage| stage.word()), fasten.wrench.as_ref());
                self.temperature(head, fasten.temperature);
                self.fasten(head, index, fasten);
            }
            Body::Inspect(inspect) => {
                let head = head(inspect.stage.map_or("", |stage| stage.word()), inspect.gauge.as_ref());
                self.temperature(head, inspect.temperature);
                self.inspect(head, index, inspect);
            }
            Body::Survey(survey) => {
                let head = head(survey.stage.map_or("", |stage| stage.word()), survey.gauge.as_ref());
                self.temperature(head, survey.temperature);
                self.survey(head, index, survey);
            }
            Body::Shim(shim) => {
                let Some(id) = record.rail() else { return };
                for row in &shim.rows {
                    let address = self.ledger.machine.support_address(id, row.support);
                    let now = self.ledger.shims(id, row.support, None).is_some_and(|(event, _)| event.record == index);
                    for leaf in &row.leaves {
                        let judged = Judgement {
                            kind: Some(ReadingKind::Shims),
                            history: (!now).then_some(ReadingVerdict::Replaced),
                            ..UNJUDGED
                        };
                        self.amount(head("", None), &address, "leaf".into(), *leaf, &[row.place], judged);
                    }
                }
            }
            Body::RunningForce(force) => {
                for row in &force.rows {
                    for (i, read) in row.forces.iter().enumerate() {
                        let again = if i > 0 { format!(" {}", i + 1) } else { String::new() };
                        let what = format!("force at {}{again}", row.position.number());
                        let judged = Judgement { kind: Some(ReadingKind::RunningForce), ..UNJUDGED };
                        let head = head("", force.gauge.as_ref());
                        self.amount(head, &on(record), what, *read, &[row.place, row.forces[0].place], judged);
                    }
                }
            }
            Body::Receive(receive) => {
                for part in &receive.parts {
                    let serial = part.serial.as_ref().map_or("", |serial| serial.as_str());
                    if let Some(length) = part.length {
                        self.amount(head("", None), serial, "length".into(), length, &[part.place], UNJUDGED);
                    }
                }
            }
            Body::Service(service) => {
                if let Some(travelled) = service.travelled {
                    let stage = service.task.map_or("", |task| task.word());
                    self.amount(head(stage, None), &on(record), "travelled".into(), travelled, &[], UNJUDGED);
                }
            }
            _ => {}
        }
    }

    fn temperature(&mut self, head: ReadingHead, temperature: Option<Spanned<crate::quantity::Temperature>>) {
        if let Some(temperature) = temperature {
            let judged = Judgement { kind: Some(ReadingKind::SurveyTemperature), ..UNJUDGED };
            self.amount(head, &on(head.record), "temperature".into(), temperature, &[], judged);
        }
    }

    fn fasten(&mut self, head: ReadingHead<'l>, index: usize, fasten: &Fasten) {
        let (Some(id), Some(stage)) = (head.record.rail(), fasten.stage) else { return };
        let kind = Some(if *stage == Stage::Full { ReadingKind::FullTorque } else { ReadingKind::SnugTorque });
        let limit = window(self.case.ledger, self.case.limits(id.axis), id, fasten.interface, *stage);
        // Without a window nothing says that a torque conforms.
        let otherwise = if limit.is_some() { ReadingVerdict::Conforming } else { ReadingVerdict::Unjudged };
        let limit = limit.map_or(StatedLimit::default(), |(.., limit)| StatedLimit::from_limit(limit));
        for row in &fasten.rows {
            let held = self.held(id, row.support, fasten.interface, *stage);
            let address = self.ledger.machine.support_address(id, row.support);
            let bolt = if fasten.interface == Interface::Base { "base bolt" } else { "bolt" };
            let history = |now: Option<&Option<HeldTorque>>| match now {
                Some(Some(now)) if now.record == index => None,
                Some(Some(_)) => Some(ReadingVerdict::Replaced),
                Some(None) => Some(ReadingVerdict::Stale),
                // More torques than bolts: its own finding says so.
                None => Some(ReadingVerdict::Unjudged),
            };
            let judged = |history| Judgement { kind, history, otherwise, limit: limit.clone() };
            match &row.what {
                TorqueReading::Read { .. } => {
                    for (i, torque) in fasten.torques_of(row).iter().enumerate() {
                        if let Some(torque) = torque {
                            let what = format!("{bolt} {}", i + 1);
                            self.amount(head, &address, what, *torque, &[], judged(history(held.get(i))));
                        }
                    }
                }
                TorqueReading::Clicked => {
                    for i in 0..held.len() {
                        if fasten.missed.binary_search_by_key(&(row.support, i), |missed| missed.value).is_ok() {
                            continue;
                        }
                        let what = format!("{bolt} {} clicked", i + 1);
                        let judged = judged(history(held.get(i)));
                        self.clicked(head, &address, what, row, fasten.setting, judged);
                    }
                }
            }
        }
    }

    fn held(&mut self, id: RailId, support: usize, interface: Interface, stage: Stage) -> SharedBolts {
        let ledger = self.ledger;
        let held = self.held.entry((id, support, interface as u8, stage as u8));
        Rc::clone(held.or_insert_with(|| ledger.held(id, support, interface, stage).into_vec().into()))
    }

    fn clicked(
        &mut self,
        head: ReadingHead<'l>,
        address: &str,
        what: String,
        row: &FastenRow,
        setting: Option<Spanned<Torque>>,
        mut judged: Judgement,
    ) {
        match setting {
            Some(setting) => {
                let written = self.written(setting.place);
                let value = Some((setting.value.number(), Torque::DIMENSION.plain_unit()));
                self.take(head, address, what, value, &written, row.place, &[setting.place], judged);
            }
            None => {
                judged.otherwise = ReadingVerdict::Undecided;
                self.take(head, address, what, None, "", row.place, &[head.record.place], judged);
            }
        }
    }

    fn inspect(&mut self, head: ReadingHead<'l>, index: usize, inspect: &Inspect) {
        let Some(Target::Joint(id, joint)) = head.record.target else { return };
        let address = on(head.record);
        let ledger = self.ledger;
        let state = self.joints.entry((id, joint)).or_insert_with(|| Rc::new(joint_state(ledger, id, joint)));
        let state = Rc::clone(state);
        // What was read while the rail was set is shown, and nothing is judged by it.
        let judged_as = |kind: ReadingKind| (!head.record.is_aligning()).then_some(kind);
        let otherwise = if head.record.is_aligning() { ReadingVerdict::Unjudged } else { ReadingVerdict::Conforming };
        let undone = self.ledger.joint_undone(id, joint, index).is_some_and(|undone| undone.distance < 2);
        let history = |latest: Option<usize>| match latest {
            _ if head.record.is_aligning() => None,
            Some(latest) if latest != index => Some(ReadingVerdict::Replaced),
            _ if undone => Some(ReadingVerdict::Stale),
            _ => None,
        };
        let limit = self.case.limits(id.axis).most::<Length>(LimitName::JointStep);
        let limit = limit.map_or(StatedLimit::default(), |(_, limit)| StatedLimit::from_limit(limit));
        for row in &inspect.grooves {
            let latest = state.grooves[row.groove as usize].map(|latest| latest.record);
            let judged = || Judgement {
                kind: judged_as(ReadingKind::Step),
                history: history(latest),
                otherwise,
                limit: limit.clone(),
            };
            let groove = row.groove.word();
            for (i, (before, after)) in row.pairs.iter().enumerate() {
                let again = if i > 0 { format!(" {}", i + 1) } else { String::new() };
                self.amount(head, &address, format!("{groove} before{again}"), *before, &[row.place], judged());
                self.amount(head, &address, format!("{groove} after{again}"), *after, &[row.place], judged());
                let step = after.value - before.value;
                let value = Some((step.number(), "mm"));
                self.take(head, &address, format!("{groove} difference{again}"), value, "", row.place, &[], judged());
            }
        }
        if let Some(light) = inspect.light {
            let judged = Judgement {
                kind: judged_as(ReadingKind::Light),
                history: history(state.light.map(|latest| latest.record)),
                otherwise,
                limit: light_limit(self.case.limits(id.axis)),
            };
            let seen = if *light { "seen" } else { "none" };
            self.take(head, &address, "light".into(), None, seen, light.place, &[], judged);
        }
        if let Some(feeler) = inspect.feeler {
            let judged = Judgement { kind: judged_as(ReadingKind::Light), history: history(None), ..UNJUDGED };
            self.amount(head, &address, "feeler".into(), feeler, &[], judged);
        }
    }

    fn survey(&mut self, head: ReadingHead<'l>, index: usize, survey: &Survey) {
        let (Some(id), Some(kind)) = (head.record.rail(), survey.kind) else { return };
        let (read, what) = match *kind {
            SurveyKind::Gap => (ReadingKind::Gap, "gap"),
            SurveyKind::Straightness => (ReadingKind::Straightness, "straightness"),
            SurveyKind::Height => (ReadingKind::Height, "height"),
        };
        let planes = CurrentSurveys::planes(self.ledger, id, *kind);
        let replaced = !planes.iter().any(|plane| plane.records(plane.now()).contains(&index));
        // Of surveys that are tied to each other, a later one may have read the same station again.
        let states: Vec<_> = planes.iter().filter_map(|plane| plane.tied(plane.latest()?)).collect();
        let read_again = |row: &StationReading| {
            states
                .iter()
                .filter(|state| state.records().contains(&index))
                .any(|state| state.stations.iter().any(|it| it.row.position == row.position && it.record != index))
        };
        // What was read while the rail was set is shown, and nothing is judged by it.
        let judged_as = |kind: ReadingKind| (!head.record.is_aligning()).then_some(kind);
        let history = |row: &StationReading| {
            if head.record.is_aligning() {
                None
            } else if replaced || read_again(row) {
                Some(ReadingVerdict::Replaced)
            } else {
                self.ledger.station_undone(id, row.position, index).map(|_| ReadingVerdict::Stale)
            }
        };
        let judged: Vec<(&StationReading, String, Judgement)> = survey
            .stations
            .iter()
            .map(|row| (row, what.to_owned(), Judgement { kind: judged_as(read), history: history(row), ..UNJUDGED }))
            .chain(survey.closure.iter().map(|row| {
                let judged = Judgement { kind: judged_as(ReadingKind::Closure), history: history(row), ..UNJUDGED };
                (row, format!("{what} closure"), judged)
            }))
            .collect();
        for (row, what, judged) in judged {
            let rail = self.ledger.machine.rail_address(id);
            let address = match row.support {
                Some(_) => format!("{rail}.{}", row.name),
                None => format!("{rail}@{}", row.position.number()),
            };
            for (i, reading) in row.readings.iter().enumerate() {
                let again = if i > 0 { format!(" {}", i + 1) } else { String::new() };
                let judged = Judgement { limit: StatedLimit::default(), ..judged };
                self.amount(head, &address, format!("{what}{again}"), *reading, &[row.place], judged);
            }
        }
    }

    /// A value as it stands in the text; a property stands there with its name.
    fn written(&self, place: Place) -> String {
        let text = self.ledger.sources.text(place);
        text.split_once('=').map_or(text, |(_, value)| value).to_owned()
    }

    fn amount<A: Amount>(
        &mut self,
        head: ReadingHead,
        address: &str,
        what: String,
        given: Spanned<A>,
        rows: &[Place],
        judged: Judgement,
    ) {
        let written = self.written(given.place);
        let value = Some((given.value.number(), A::DIMENSION.plain_unit()));
        self.take(head, address, what, value, &written, given.place, rows, judged);
    }

    #[expect(clippy::too_many_arguments, reason = "one row of the table, its cells given one by one")]
    fn take(
        &mut self,
        head: ReadingHead,
        address: &str,
        what: String,
        value: Option<(String, &'static str)>,
        written: &str,
        place: Place,
        rows: &[Place],
        judged: Judgement,
    ) {
        let record = head.record;
        let places: Vec<Place> = std::iter::once(place).chain(rows.iter().copied()).collect();
        let verdict = if !record.counts() {
            ReadingVerdict::Void
        } else {
            let found = judged.kind.and_then(|kind| self.findings.verdict(&places, kind));
            // A break that is told stands, whatever came after.
            let stands =
                found.filter(|found| matches!(found, ReadingVerdict::Nonconforming | ReadingVerdict::Conceded));
            match stands.or(judged.history).or(found).unwrap_or(judged.otherwise) {
                ReadingVerdict::Conforming if !self.ledger.is_read(address) => ReadingVerdict::NotJudged,
                verdict => verdict,
            }
        };
        let (value, unit) = value.map_or((None, ""), |(value, unit)| (Some(value), unit));
        let at = self.locator.locate(place);
        self.readings.push(Reading {
            ledger: self.folder.clone(),
            machine: self.machine.clone(),
            address: address.to_owned(),
            record: record.kind,
            stage: head.stage,
            what,
            written: written.to_owned(),
            value,
            unit,
            instrument: head.instrument.map(|name| name.to_string()).unwrap_or_default(),
            by: record.by.as_ref().map(|by| by.to_string()).unwrap_or_default(),
            date: record.date.map(|date| date.value.to_string()).unwrap_or_default(),
            verdict,
            limit: judged.limit.text,
            limit_source: judged.limit.source,
            rules: self.findings.rules(&places),
            file: at.file.to_owned(),
            line: at.line,
        });
    }
}

fn on(record: &Record) -> String {
    record.on.as_ref().map(|on| on.to_string()).unwrap_or_default()
}
